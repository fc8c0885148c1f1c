//! Throws that are asked of whoever drives a machine, and what came of them.
//!
//! One throw of a lever is one ask, however many machines the lever moves, and is done once however often it is heard. An ask names the renewal of the
//! lease that the one who asks heard last: by that, and not by anyone's clock, its driver knows how long it was under way.

use network::Position;
use plan::model::LeverNumber;

use super::said::{AnswerSaid, AskSaid, write};
use super::{Broker, Message, Told, Way, level_of};
use crate::link::broker::lease::Clocks;
use crate::{Elsewhere, Moment, Said, Wait};

/// How long the broker keeps an ask that it cannot hand out.
const ASK_EXPIRY: Wait = Wait(1_000);

/// How old the renewal may be that an ask names: heard up to one and a half seconds ago, and then under way.
const ASK_FRESH: Wait = Wait(3_500);

/// How long an answer is of interest, and how long an ask is remembered so that it is not done twice.
const ANSWER_EXPIRY: Wait = Wait(10_000);

/// The most asks that are remembered.
const ASKS_MAX: usize = 1_024;

/// That another panel asks for a lever to be thrown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The ask's own name, for the answer.
    pub ask: String,
    /// Whose server asks.
    pub server: Said,
    /// The lever of the machine.
    pub lever: LeverNumber,
    /// To where.
    pub position: Position,
    /// Who.
    pub by: Said,
}

/// Asks of others that were heard, and the last one of this panel.
#[derive(Clone, Debug, Default)]
pub(super) struct Asks {
    heard: Vec<HeardAsk>,
    last: Option<OwnAsk>,
    count: u64,
}

#[derive(Clone, Debug)]
struct HeardAsk {
    server: String,
    ask: String,
    lever: LeverNumber,
    /// The machines that it was heard for and that no answer has gone out for.
    machines: Vec<String>,
    at: Moment,
    /// Whether it was done, and if not why; none as long as the panel has not said.
    came: Option<(bool, String)>,
}

#[derive(Clone, Debug)]
struct OwnAsk {
    lever: LeverNumber,
    position: Position,
    at: Moment,
    ask: String,
}

impl Asks {
    pub(super) fn forget(&mut self, now: Clocks) {
        self.heard.retain(|heard| now.passed.since(heard.at) < ANSWER_EXPIRY);
    }

    fn name(&mut self, lever: Option<LeverNumber>, position: Position, at: Moment) -> String {
        let is_same = |own: &OwnAsk| Some(own.lever) == lever && own.position == position && own.at == at;
        if let Some(own) = self.last.as_ref().filter(|own| is_same(own)) {
            return own.ask.clone();
        }
        self.count += 1;
        let ask = self.count.to_string();
        self.last = lever.map(|lever| OwnAsk { lever, position, at, ask: ask.clone() });
        ask
    }
}

impl Broker {
    /// The panel asks for a machine that is driven elsewhere: false when nothing will be asked.
    ///
    /// `at` is when its lever was thrown: what was thrown at one moment is one ask.
    pub fn throw(&mut self, name: &str, position: Position, at: Moment, now: Clocks) -> bool {
        let Some(machine) = self.machines.get(name) else { return false };
        let holder = machine.lease.holder(now, self.terms);
        let (Some((fence, serial)), Some(_)) = (holder, self.since) else { return false };
        let said = AskSaid {
            ask: self.asks.name(machine.lever, position, at),
            server: self.me.clone(),
            position: position.into(),
            epoch: fence.0,
            serial,
            by: format!("the panel {}", self.called),
        };
        let topic = format!("{}/ask/{}", self.topic, level_of(name));
        let payload = write(&said);
        self.out.push(Message { topic, payload, retain: false, expiry: Some(ASK_EXPIRY) });
        true
    }

    pub(super) fn hear_ask(&mut self, name: &str, said: AskSaid, now: Clocks) {
        let Some(machine) = self.machines.get(name) else { return };
        let (Some(epoch), Some(lever)) = (machine.lease.held(now), machine.lever) else { return };
        let is_known =
            |heard: &HeardAsk| heard.server == said.server && heard.ask == said.ask && heard.lever == lever;
        if let Some(index) = self.asks.heard.iter().position(is_known) {
            // The other machine of a lever that was thrown for this ask, or the same message once more.
            let known = &mut self.asks.heard[index];
            match known.came.clone() {
                Some((done, says)) => self.answer(&said.server, &said.ask, name, done, says),
                None if known.machines.iter().all(|machine| machine != name) => {
                    known.machines.push(name.to_owned());
                }
                None => {}
            }
            return;
        }
        let is_fresh = said.epoch == epoch && machine.lease.is_recent(said.serial, now, ASK_FRESH);
        if !is_fresh || self.asks.heard.len() >= ASKS_MAX {
            let says = if is_fresh {
                "Too much is asked at once. Try again."
            } else {
                "It was under way for too long, so nothing was thrown. Try again."
            };
            self.answer(&said.server, &said.ask, name, false, says.to_owned());
            return;
        }
        let (server, ask) = (said.server.clone(), said.ask.clone());
        self.asks.heard.push(HeardAsk {
            server,
            ask,
            lever,
            machines: vec![name.to_owned()],
            at: now.passed,
            came: None,
        });
        self.told.push(Told::Asked(Asked {
            ask: said.ask,
            server: Said::new(&said.server),
            lever,
            position: said.position.into(),
            by: Said::new(&said.by),
        }));
    }

    /// What came of an ask: why not, where nothing was thrown.
    pub fn answered(&mut self, asked: &Asked, why_not: Option<String>) {
        let (done, says) = (why_not.is_none(), why_not.unwrap_or_default());
        let mut machines = Vec::new();
        for heard in &mut self.asks.heard {
            if heard.server == asked.server.as_str() && heard.ask == asked.ask && heard.lever == asked.lever {
                heard.came = Some((done, says.clone()));
                machines.append(&mut heard.machines);
            }
        }
        for machine in machines {
            self.answer(asked.server.as_str(), &asked.ask, &machine, done, says.clone());
        }
    }

    fn answer(&mut self, server: &str, ask: &str, machine: &str, done: bool, says: String) {
        if self.since.is_none() {
            return;
        }
        let said = AnswerSaid { ask: ask.to_owned(), machine: machine.to_owned(), done, says };
        let topic = format!("{}/answer/{server}", self.topic);
        self.out.push(Message { topic, payload: write(&said), retain: false, expiry: Some(ANSWER_EXPIRY) });
    }

    pub(super) fn hear_answer(&mut self, said: &AnswerSaid) {
        let Some(machine) = self.machines.get(&said.machine).filter(|_| !said.done) else { return };
        let why = Said::new(&said.says);
        self.told.push(Told::Elsewhere(Elsewhere::Declined { machine: said.machine.clone(), why }));
        // It was not moved, so it is as whoever drives it said before.
        if let Way::There(_, stands) = machine.way {
            let machine = said.machine.clone();
            self.told.push(Told::Elsewhere(Elsewhere::Stands { machine, stands }));
        }
    }
}
