//! What other panels say over a message broker: which machines they drive and where those stand, what they hold, what they would not do.
//!
//! It reaches the core as one kind of event and is written down as it came, so that a replay shows what people saw. A machine that nobody drives
//! whom this panel can hear is shown as not known, never as where it was last sent.

use network::{MachineId, Position};

use crate::apply::NotOnRailroad;
use crate::{Moment, Railroad, Said, Standing, State};

/// Something that was said over a message broker, or follows from nothing being said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Elsewhere {
    /// A machine can be thrown again: over this link.
    Reached {
        /// Its name.
        machine: String,
        /// The link: one of this panel's own, or the broker where another panel drives the machine.
        over: Said,
    },
    /// A machine cannot be thrown from here.
    Lost {
        /// Its name.
        machine: String,
        /// Why.
        why: Said,
        /// Whether this panel's own link still says where it stands.
        is_seen: bool,
    },
    /// The panel that drives a machine says how it is.
    Stands {
        /// Its name.
        machine: String,
        /// How.
        stands: Stands,
    },
    /// Another panel holds a machine.
    Held {
        /// Its name.
        machine: String,
        /// The id of the other panel's server.
        server: Said,
        /// How.
        hold: Hold,
    },
    /// Another panel holds a machine no more.
    LetGo {
        /// Its name.
        machine: String,
        /// The id of the other panel's server.
        server: Said,
        /// What it held it by.
        by: HeldBy,
    },
    /// The panel that drives a machine did not throw it.
    Declined {
        /// Its name.
        machine: String,
        /// Why.
        why: Said,
    },
}

impl Elsewhere {
    /// The machine that it is about.
    pub fn machine(&self) -> &str {
        match self {
            Self::Reached { machine, .. }
            | Self::Lost { machine, .. }
            | Self::Stands { machine, .. }
            | Self::Held { machine, .. }
            | Self::LetGo { machine, .. }
            | Self::Declined { machine, .. } => machine,
        }
    }
}

/// How a machine is, by the panel that drives it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stands {
    /// It does not know.
    #[default]
    Unknown,
    /// It reported that it stands there.
    At(Position),
    /// It was sent there and has yet to report.
    Moving(Position),
    /// It was sent there and cannot report.
    Sent(Position),
    /// It was sent there and has not reported in time.
    Overdue(Position),
}

/// What another panel holds a machine by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeldBy {
    /// Someone locked its lever there.
    Lock,
    /// A route is set there.
    Route,
}

/// How another panel holds a machine.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Hold {
    /// By what.
    pub held_by: HeldBy,
    /// What the other panel is called.
    pub panel: Said,
    /// The note of the lock, or the id of the route.
    pub note: Said,
    /// Who asked for it there.
    pub by: Said,
}

impl Hold {
    /// The hold in words that follow on "is".
    pub fn words(&self) -> String {
        let by = if self.by.is_empty() { String::new() } else { format!(" by {}", self.by) };
        match self.held_by {
            HeldBy::Lock => format!("locked on the panel {}{by}: “{}”", self.panel, self.note),
            HeldBy::Route => format!("held by the route {}, set on the panel {}{by}", self.note, self.panel),
        }
    }
}

impl State {
    pub(crate) fn hear_elsewhere(
        &mut self,
        railroad: &Railroad,
        said: &Elsewhere,
        at: Moment,
    ) -> Result<(), NotOnRailroad> {
        let name = said.machine();
        let unknown = || NotOnRailroad::Machine(name.to_owned());
        let id = railroad.machine_named(name).ok_or_else(unknown)?;
        let standing = self.machines.get_mut(id.index()).ok_or_else(unknown)?;
        match said {
            Elsewhere::Reached { over, .. } => {
                self.away.remove(&id);
                self.over.insert(id, over.clone());
            }
            Elsewhere::Lost { why, is_seen, .. } => {
                if !is_seen {
                    *standing = Standing { inverted: standing.inverted, ..Standing::default() };
                }
                self.over.remove(&id);
                self.away.insert(id, why.clone());
            }
            Elsewhere::Stands { stands, .. } => standing.take(*stands, at),
            Elsewhere::Held { server, hold, .. } => {
                self.elsewhere.insert((id, server.clone(), hold.held_by), hold.clone());
            }
            Elsewhere::LetGo { server, by, .. } => {
                self.elsewhere.remove(&(id, server.clone(), *by));
            }
            Elsewhere::Declined { why, .. } => {
                self.declined.insert(id, why.clone());
            }
        }
        Ok(())
    }

    /// Why a machine that panels share cannot be thrown from here; none when it can.
    pub fn away(&self, machine: MachineId) -> Option<&Said> {
        self.away.get(&machine)
    }

    /// The link over which a machine that panels share is thrown now; none of one that is not shared.
    pub fn over(&self, machine: MachineId) -> Option<&Said> {
        self.over.get(&machine)
    }

    /// Why the panel that drives a machine did not throw it when it was last asked.
    pub fn declined(&self, machine: MachineId) -> Option<&Said> {
        self.declined.get(&machine)
    }

    /// How other panels than this hold a machine.
    pub fn held_elsewhere<'a>(
        &'a self,
        machine: MachineId,
        but: Option<&'a Said>,
    ) -> impl Iterator<Item = &'a Hold> {
        let holds = self
            .elsewhere
            .iter()
            .filter(move |((held, server, _), _)| *held == machine && but != Some(server));
        holds.map(|(_, hold)| hold)
    }

    /// All that is known from other panels, as what was said last.
    pub(crate) fn elsewhere_said(&self, railroad: &Railroad) -> Vec<Elsewhere> {
        let name =
            |id: &MachineId| railroad.machine(*id).map(|machine| machine.name.clone()).unwrap_or_default();
        let reached =
            self.over.iter().map(|(id, over)| Elsewhere::Reached { machine: name(id), over: over.clone() });
        // Its standing has a row of its own, so nothing is to be forgotten.
        let lost = self.away.iter().map(|(id, why)| Elsewhere::Lost {
            machine: name(id),
            why: why.clone(),
            is_seen: true,
        });
        let held = self.elsewhere.iter().map(|((id, server, _), hold)| Elsewhere::Held {
            machine: name(id),
            server: server.clone(),
            hold: hold.clone(),
        });
        let declined =
            self.declined.iter().map(|(id, why)| Elsewhere::Declined { machine: name(id), why: why.clone() });
        reached.chain(lost).chain(held).chain(declined).collect()
    }
}

impl Standing {
    fn take(&mut self, stands: Stands, at: Moment) {
        let before = *self;
        *self = match stands {
            Stands::Unknown => Self::default(),
            Stands::At(position) => {
                Self { commanded: Some(position), confirmed: Some(position), ..Self::default() }
            }
            Stands::Moving(to) => {
                let since = before.waiting_since.filter(|_| before.commanded == Some(to)).unwrap_or(at);
                let confirmed = before.confirmed;
                Self { commanded: Some(to), confirmed, waiting_since: Some(since), ..Self::default() }
            }
            Stands::Sent(to) => Self { commanded: Some(to), ..Self::default() },
            Stands::Overdue(to) => {
                Self { commanded: Some(to), waiting_since: Some(at), overdue: true, ..Self::default() }
            }
        };
        // Which way round it moves is the record's to say.
        self.inverted = before.inverted;
    }

    /// The same for other panels.
    pub(crate) fn told(self) -> Stands {
        match self.sight() {
            crate::Sight::At(position) => Stands::At(position),
            crate::Sight::Moving(to) | crate::Sight::Waiting(to) => Stands::Moving(to),
            crate::Sight::Sent(to) => Stands::Sent(to),
            crate::Sight::Overdue(to) => Stands::Overdue(to),
            crate::Sight::NotKnown | crate::Sight::Apart => Stands::Unknown,
        }
    }
}
