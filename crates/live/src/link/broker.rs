//! A panel's part on a message broker, without its socket: messages come in and go out, time is an input.
//!
//! Several panels share one railroad. A machine that a panel moves over another link of its own may be driven by it; `lease` says by whom at a time. A
//! machine that is driven elsewhere is thrown by asking, and shown as whoever drives it says. What a panel's people hold, it says with its presence, and
//! the others refuse to throw it. What is said, and on which topics, stands in `said`; what follows for a panel, in `panel`.

mod ask;
mod lease;
mod panel;
mod said;

use std::collections::BTreeMap;

use description::LinkKind;
use plan::model::LeverNumber;

pub use ask::Asked;
pub use lease::{Clocks, LeaseSaid, Permit, Terms};
pub use panel::{Panel, Share, panel_of};
pub use said::{PAYLOAD_MAX, level_of};

use crate::link::broker::ask::Asks;
use crate::link::broker::lease::{Fence, Lease};
use crate::link::broker::panel::Server;
use crate::link::broker::said::{Heard, MachineSaid, read, write};
use crate::{Elsewhere, Moment, Railroad, Reach, Said, Stands, Wait};

/// How long the broker keeps what a panel that is gone said of itself.
const SERVER_EXPIRY: Wait = Wait(60_000);

/// A message for the broker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// Its topic.
    pub topic: String,
    /// Its payload.
    pub payload: Vec<u8>,
    /// Whether the broker keeps it for those who come later.
    pub retain: bool,
    /// After how long the broker is to drop it.
    pub expiry: Option<Wait>,
}

/// What follows for the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// Something that another panel said.
    Elsewhere(Elsewhere),
    /// Everything is to stop, as this panel asks.
    Stop(Said),
    /// Another panel asks for a lever to be thrown. It wants an answer.
    Asked(Asked),
}

/// A panel's part on the broker.
#[derive(Clone, Debug)]
pub struct Broker {
    terms: Terms,
    me: String,
    called: String,
    link: Said,
    topic: String,
    machines: BTreeMap<String, Machine>,
    panel: Panel,
    servers: BTreeMap<String, Server>,
    /// Since when it is subscribed; none while it is not.
    since: Option<Moment>,
    presence: Option<Moment>,
    asks: Asks,
    /// Whether the stop that is on came from another panel.
    is_stopped_elsewhere: bool,
    out: Vec<Message>,
    told: Vec<Told>,
}

#[derive(Clone, Debug)]
struct Machine {
    lever: Option<LeverNumber>,
    /// This panel's own link to it; none where the broker is all there is.
    own: Option<Said>,
    lease: Lease,
    /// How it is by the message of the highest fence.
    stands: Option<(Fence, Stands)>,
    /// What was published last, and in which epoch.
    published: Option<(u64, Stands)>,
    way: Way,
    /// Whether what the panel shows of it came from elsewhere.
    is_hearsay: bool,
}

/// Who drives a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Way {
    NotSaid,
    Here,
    There(Fence, Stands),
    Nowhere(&'static str),
}

impl Broker {
    /// The part of a panel whose server has this id, on this link of kind `broker`; none where it is of another kind.
    ///
    /// The id is to be new each time a server starts: what it said before its memory was lost is another's to it.
    pub fn of(railroad: &Railroad, reach: &Reach, me: &str, terms: Terms) -> Option<Self> {
        let described = railroad.plan().network.described.links.get(reach.described?)?;
        let LinkKind::Broker { topic, name, .. } = &described.kind else { return None };
        let shares = railroad.shares_over(reach);
        let machine = |(id, machine): (network::MachineId, &crate::Machine)| {
            let own = railroad.link_of(id).filter(|own| own.name != reach.name);
            if own.is_some() && !shares || own.is_none() && !reach.machines.contains(&id) {
                return None;
            }
            let machine_of = Machine {
                lever: machine.lever,
                own: own.map(|own| Said::whole(&own.name)),
                lease: Lease::default(),
                stands: None,
                published: None,
                way: Way::NotSaid,
                is_hearsay: own.is_none(),
            };
            Some((machine.name.clone(), machine_of))
        };
        let called = name.as_ref().map_or(railroad.layout(), |name| &name.value);
        Some(Self {
            terms,
            me: me.to_owned(),
            called: Said::new(called).to_string(),
            link: Said::whole(&reach.name),
            topic: topic.value.clone(),
            machines: railroad.machines().filter_map(machine).collect(),
            panel: Panel::default(),
            servers: BTreeMap::new(),
            since: None,
            presence: None,
            asks: Asks::default(),
            is_stopped_elsewhere: false,
            out: Vec::new(),
            told: Vec::new(),
        })
    }

    /// What people and the log call the link.
    pub fn name(&self) -> &Said {
        &self.link
    }

    /// What to subscribe to.
    pub fn subscriptions(&self) -> Vec<String> {
        let all = ["lease/+", "machine/+", "server/+", "ask/+", "stop"];
        let mut topics: Vec<String> = all.iter().map(|each| format!("{}/{each}", self.topic)).collect();
        topics.push(format!("{}/answer/{}", self.topic, self.me));
        topics
    }

    /// What the broker is to say when the connection is lost.
    pub fn will(&self) -> Message {
        self.presence_of(&self.gone())
    }

    /// It is subscribed.
    pub fn connected(&mut self, now: Clocks) {
        self.since = Some(now.passed);
        self.presence = None;
        for machine in self.machines.values_mut() {
            machine.published = None;
        }
        self.tick(now);
    }

    /// The connection is gone, and with it all that waited to go out.
    pub fn disconnected(&mut self, now: Clocks) {
        self.since = None;
        self.out.clear();
        self.machines.values_mut().for_each(|machine| machine.lease.disconnected());
        self.look(now);
    }

    /// Time has passed.
    pub fn tick(&mut self, now: Clocks) {
        if let Some(since) = self.since {
            for (name, machine) in &mut self.machines {
                let may = machine.own.is_some() && self.panel.shares.get(name).is_some_and(|share| share.may);
                let (me, terms) = (&self.me, self.terms);
                let topic = || format!("{}/lease/{}", self.topic, level_of(name));
                if let Some(said) = machine.lease.due(me, since, may, now, terms) {
                    let payload = write(&said);
                    self.out.push(Message { topic: topic(), payload, retain: true, expiry: None });
                }
                if let Some(said) = machine.lease.objection(me, now, terms) {
                    let payload = write(&said);
                    self.out.push(Message { topic: topic(), payload, retain: false, expiry: None });
                }
            }
            self.be_present(now);
            self.let_go_of_the_silent(since, now);
        }
        self.asks.forget(now);
        self.look(now);
        self.publish_states(now);
    }

    /// When time matters next: it is to be told often, for leases are short.
    pub fn next_due(&self) -> Wait {
        Wait(self.terms.renewal.0 / 10)
    }

    /// A message came in. What cannot be read says nothing.
    pub fn hear(&mut self, topic: &str, payload: &[u8], is_kept: bool, now: Clocks) {
        match read(&self.topic, topic, payload, self.terms) {
            Some(Heard::Lease(name, said)) => {
                if let Some(machine) = self.machines.get_mut(&name) {
                    machine.lease.hear(&self.me, &said, is_kept, now, self.terms);
                }
            }
            Some(Heard::Machine(name, said)) => self.hear_state(&name, &said),
            Some(Heard::Server(said)) => self.hear_server(&said, now),
            Some(Heard::Ask(name, said)) if !is_kept => self.hear_ask(&name, said, now),
            Some(Heard::Answer(said)) => self.hear_answer(&said),
            Some(Heard::Stop(said)) if !is_kept => self.hear_stop(&said.server, &said.name, said.stop, now),
            // An ask or a stop is never kept; one that was is somebody's mistake, and old.
            Some(Heard::Ask(..) | Heard::Stop(_)) | None => {}
        }
        self.tick(now);
    }

    fn hear_state(&mut self, name: &str, said: &MachineSaid) {
        let Some(machine) = self.machines.get_mut(name) else { return };
        let fence = (said.epoch, said.server.clone());
        if said.server == self.me || fence < machine.lease.highest {
            return;
        }
        if let Some(stands) = said.stands() {
            machine.lease.highest = fence.clone();
            machine.stands = Some((fence, stands));
        }
    }

    /// Finds who drives each machine now, and says what has changed.
    fn look(&mut self, now: Clocks) {
        for (name, machine) in &mut self.machines {
            let way = machine.way(self.since, now, self.terms);
            if way == machine.way {
                continue;
            }
            let machine_name = name.clone();
            let mut tell = |said| self.told.push(Told::Elsewhere(said));
            match &way {
                Way::Here => {
                    let over = machine.own.clone().unwrap_or_default();
                    tell(Elsewhere::Reached { machine: machine_name, over });
                    machine.is_hearsay = false;
                }
                Way::There(_, stands) => {
                    if !matches!(machine.way, Way::There(..)) {
                        tell(Elsewhere::Reached { machine: machine_name.clone(), over: self.link.clone() });
                    }
                    if !matches!(&machine.way, Way::There(_, before) if before == stands) {
                        tell(Elsewhere::Stands { machine: machine_name, stands: *stands });
                    }
                    machine.is_hearsay = true;
                }
                Way::Nowhere(why) => tell(Elsewhere::Lost {
                    machine: machine_name,
                    why: Said::whole(why),
                    is_seen: !machine.is_hearsay,
                }),
                Way::NotSaid => {}
            }
            machine.way = way;
        }
    }

    fn publish_states(&mut self, now: Clocks) {
        if self.since.is_none() {
            return;
        }
        for (name, machine) in &mut self.machines {
            let (Some(epoch), Some(share)) = (machine.lease.held(now), self.panel.shares.get(name)) else {
                continue;
            };
            let shown = (epoch, share.stands);
            if machine.published != Some(shown) {
                machine.published = Some(shown);
                let topic = format!("{}/machine/{}", self.topic, level_of(name));
                let payload = write(&MachineSaid::new(&self.me, epoch, share.stands));
                self.out.push(Message { topic, payload, retain: true, expiry: None });
            }
        }
    }

    /// In which epoch, and by whose server, a machine is driven, as far as this panel knows.
    pub fn driven(&self, name: &str, now: Clocks) -> Option<(u64, &str)> {
        let lease = &self.machines.get(name)?.lease;
        let own = lease.held(now).map(|epoch| (epoch, self.me.as_str()));
        own.or_else(|| lease.holder(now, self.terms).map(|(fence, _)| (fence.0, fence.1.as_str())))
    }

    /// The permit to drive a machine over this panel's own link.
    pub fn permit(&self, name: &str) -> Option<Permit> {
        self.machines.get(name)?.lease.permit()
    }

    /// The machines that are shared.
    pub fn machines(&self) -> impl Iterator<Item = &str> {
        self.machines.keys().map(String::as_str)
    }

    /// What is to go out now. It is gone from here then.
    pub fn take(&mut self) -> Vec<Message> {
        std::mem::take(&mut self.out)
    }

    /// What follows for the panel. It is gone from here then.
    pub fn told(&mut self) -> Vec<Told> {
        std::mem::take(&mut self.told)
    }
}

impl Machine {
    fn way(&self, since: Option<Moment>, now: Clocks, terms: Terms) -> Way {
        if self.lease.held(now).is_some() {
            return Way::Here;
        }
        let Some(since) = since else {
            return Way::Nowhere("the message broker is out of touch, so nobody knows who else drives it");
        };
        if let Some((fence, _)) = self.lease.holder(now, terms) {
            let stands = self.stands.as_ref().filter(|(said, _)| said == fence).map(|(_, stands)| *stands);
            return Way::There(fence.clone(), stands.unwrap_or_default());
        }
        if now.passed < since.after(terms.wait(terms.length)) {
            return Way::Nowhere("the panel listens first whether another one drives it");
        }
        Way::Nowhere("no panel that moves it is in touch")
    }
}
