//! What a panel says of itself and hears of others: that it is there, what its people hold, and that they stopped everything.
//!
//! A panel that has not been heard for the length of a lease and its margin holds nothing here any more: it has not heard this one either, and shows
//! its own routes over machines that are driven elsewhere as out of touch. Its last will alone lets nothing go.

use std::collections::{BTreeMap, BTreeSet};

use description::LinkKind;

use super::said::{HoldSaid, ServerSaid, StopSaid, write};
use super::{Broker, Message, SERVER_EXPIRY, Told};
use crate::link::broker::lease::Clocks;
use crate::{Elsewhere, HeldBy, Hold, Moment, Railroad, Said, Stands, State};

/// The most panels that are kept in mind.
const SERVERS_MAX: usize = 256;

/// What of a panel the others have to know.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Panel {
    /// Every machine that it moves over a link of its own, by name.
    pub shares: BTreeMap<String, Share>,
    /// What its people hold: machine, by what, the note or the route's id, who.
    pub holds: Vec<(String, HeldBy, Said, Said)>,
    /// When everything was stopped.
    pub stopped: Option<Moment>,
}

/// A machine that a panel moves over a link of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    /// Whether that link is in touch.
    pub may: bool,
    /// How the machine is, by that link.
    pub stands: Stands,
}

/// What of a panel the others have to know.
pub fn panel_of(railroad: &Railroad, state: &State) -> Panel {
    let mut panel = Panel { stopped: state.stopped().map(|stop| stop.since), ..Panel::default() };
    for (id, machine) in railroad.machines() {
        let Some(link) = railroad.link_of(id) else { continue };
        let kind = link.described.and_then(|at| railroad.plan().network.described.links.get(at));
        if !kind.is_some_and(|link| matches!(link.kind, LinkKind::Broker { .. })) {
            let share = Share { may: state.reaches(&link.name), stands: state.standing(id).told() };
            panel.shares.insert(machine.name.clone(), share);
        }
        let Some(lever) = machine.lever else { continue };
        if let Some(lock) = state.lock(lever) {
            panel.holds.push((machine.name.clone(), HeldBy::Lock, lock.note.clone(), lock.by.clone()));
        }
        if let Some(held) = state.holder(railroad, lever)
            && let Some(route) = railroad.route(held.route)
        {
            panel.holds.push((machine.name.clone(), HeldBy::Route, Said::new(&route.id), held.by.clone()));
        }
    }
    panel
}

/// Another panel's server.
#[derive(Clone, Debug)]
pub(super) struct Server {
    heard: Moment,
    holds: BTreeMap<(String, HeldBy), Hold>,
    /// The last stop of it that was heeded.
    stop: Option<u64>,
}

impl Server {
    fn new(now: Clocks) -> Self {
        Self { heard: now.passed, holds: BTreeMap::new(), stop: None }
    }
}

impl Broker {
    /// The panel is so now.
    pub fn show(&mut self, panel: Panel, now: Clocks) {
        if panel == self.panel {
            return;
        }
        let is_said = (&panel.holds, panel.stopped) == (&self.panel.holds, self.panel.stopped);
        let was_stopped = self.panel.stopped.is_some();
        self.panel = panel;
        self.is_stopped_elsewhere &= self.panel.stopped.is_some();
        if !is_said {
            self.presence = None;
        }
        if let (Some(stop), false, Some(_)) = (self.own_stop(), was_stopped, self.since) {
            let said = StopSaid { server: self.me.clone(), name: self.called.clone(), stop };
            let (topic, payload) = (format!("{}/stop", self.topic), write(&said));
            // Before all that waits.
            self.out.insert(0, Message { topic, payload, retain: false, expiry: None });
        }
        self.tick(now);
    }

    /// The stop that this panel's own people asked for.
    fn own_stop(&self) -> Option<u64> {
        self.panel.stopped.filter(|_| !self.is_stopped_elsewhere).map(|since| since.0)
    }

    pub(super) fn be_present(&mut self, now: Clocks) {
        if self.presence.is_some_and(|said| now.passed.since(said) < self.terms.renewal) {
            return;
        }
        self.presence = Some(now.passed);
        let holds = self.panel.holds.iter();
        let holds = holds.map(|(machine, held_by, note, by)| HoldSaid::new(machine, *held_by, note, by));
        let said = ServerSaid { here: true, stop: self.own_stop(), holds: holds.collect(), ..self.gone() };
        let message = self.presence_of(&said);
        self.out.push(message);
    }

    pub(super) fn presence_of(&self, said: &ServerSaid) -> Message {
        let topic = format!("{}/server/{}", self.topic, self.me);
        Message { topic, payload: write(said), retain: true, expiry: Some(SERVER_EXPIRY) }
    }

    pub(super) fn gone(&self) -> ServerSaid {
        let (server, name) = (self.me.clone(), self.called.clone());
        ServerSaid { server, name, here: false, stop: None, holds: Vec::new() }
    }

    pub(super) fn hear_server(&mut self, said: &ServerSaid, now: Clocks) {
        // What it holds is let go when its time has passed, not because its connection was lost.
        if said.server == self.me || !said.here {
            return;
        }
        if !self.servers.contains_key(&said.server) && self.servers.len() >= SERVERS_MAX {
            return;
        }
        let panel = Said::new(&said.name);
        let is_known = |hold: &&HoldSaid| self.machines.contains_key(&hold.machine);
        let holds: BTreeMap<(String, HeldBy), Hold> = (said.holds.iter().filter(is_known))
            .map(|hold| {
                let (note, by) = (Said::new(&hold.note), Said::new(&hold.by));
                let is = Hold { held_by: hold.held_by(), panel: panel.clone(), note, by };
                ((hold.machine.clone(), hold.held_by()), is)
            })
            .collect();
        let server = self.servers.entry(said.server.clone()).or_insert_with(|| Server::new(now));
        server.heard = now.passed;
        let before = std::mem::replace(&mut server.holds, holds.clone());
        self.tell_holds(&said.server, &before, &holds);
        if let Some(stop) = said.stop {
            self.hear_stop(&said.server, &said.name, stop, now);
        }
    }

    fn tell_holds(
        &mut self,
        server: &str,
        before: &BTreeMap<(String, HeldBy), Hold>,
        now: &BTreeMap<(String, HeldBy), Hold>,
    ) {
        let keys: BTreeSet<_> = before.keys().chain(now.keys()).cloned().collect();
        for (machine, by) in keys {
            let (was, is) = (before.get(&(machine.clone(), by)), now.get(&(machine.clone(), by)));
            let server = Said::new(server);
            match is {
                Some(hold) if was != is => {
                    let hold = hold.clone();
                    self.told.push(Told::Elsewhere(Elsewhere::Held { machine, server, hold }));
                }
                Some(_) => {}
                None => self.told.push(Told::Elsewhere(Elsewhere::LetGo { machine, server, by })),
            }
        }
    }

    /// A stop is heeded once: that the other panel is still stopped does not stop this one again after people let it go on.
    pub(super) fn hear_stop(&mut self, server: &str, name: &str, stop: u64, now: Clocks) {
        if server == self.me {
            return;
        }
        if self.servers.contains_key(server) || self.servers.len() < SERVERS_MAX {
            let known = self.servers.entry(server.to_owned()).or_insert_with(|| Server::new(now));
            if known.stop.replace(stop) == Some(stop) {
                return;
            }
        }
        if self.panel.stopped.is_none() {
            self.is_stopped_elsewhere = true;
            self.told.push(Told::Stop(Said::new(&format!("the panel {name}"))));
        }
    }

    pub(super) fn let_go_of_the_silent(&mut self, since: Moment, now: Clocks) {
        let patience = self.terms.wait(self.terms.length);
        let is_silent = |server: &Server| now.passed.since(server.heard.max(since)) >= patience;
        let silent: Vec<String> =
            self.servers.iter().filter(|(_, server)| is_silent(server)).map(|(id, _)| id.clone()).collect();
        for id in silent {
            if let Some(server) = self.servers.remove(&id) {
                self.tell_holds(&id, &server.holds, &BTreeMap::new());
            }
        }
    }
}
