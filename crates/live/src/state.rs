//! Where everything stands, as far as it is known.
//!
//! Of each machine two things are kept apart: where it was sent and where it said that it stands. A lever is shown in a
//! position only when all its machines have said so since they were last sent; everything else is shown as what it is:
//! on its way, without a report, in two positions, or not known.

use network::{MachineId, Position};
use plan::model::LeverNumber;

use crate::{Entry, Happened, Lever, Moment, Railroad};

/// What is known of every machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    machines: Vec<Standing>,
}

/// What is known of one machine. At first, nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// Where it was sent last.
    pub commanded: Option<Position>,
    /// Where it last said it stands.
    pub confirmed: Option<Position>,
    /// Since when its report is awaited; none when nothing is.
    pub waiting_since: Option<Moment>,
    /// Whether the report has been awaited too long.
    pub overdue: bool,
}

/// What may truly be said of a machine or a lever.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sight {
    /// It has never reported and was never sent anywhere.
    NotKnown,
    /// It was sent there and has yet to report.
    Moving(Position),
    /// It was sent there and has not reported in time.
    Overdue(Position),
    /// It reported that it stands there.
    At(Position),
    /// The machines of one lever stand in different positions.
    Apart,
}

/// An entry speaks of a lever or a machine that this railroad does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotOnRailroad {
    /// No such lever.
    #[error("there is no lever {0}")]
    Lever(LeverNumber),
    /// No such machine.
    #[error("there is no machine {0}")]
    Machine(String),
}

impl State {
    /// Nothing known of any machine of this railroad.
    pub fn unknown(railroad: &Railroad) -> Self {
        Self { machines: vec![Standing::default(); railroad.machines().count()] }
    }

    /// Takes in one entry that has been written down. This is the only way in which the state changes.
    ///
    /// # Errors
    /// When the entry speaks of something that is not on this railroad; the state is then as before.
    pub fn apply(&mut self, railroad: &Railroad, entry: &Entry) -> Result<(), NotOnRailroad> {
        match &entry.what {
            Happened::Thrown { lever, position } => {
                let lever = railroad.lever(*lever).ok_or(NotOnRailroad::Lever(*lever))?;
                for &machine in &lever.machines {
                    if let Some(standing) = self.machines.get_mut(machine.index()) {
                        standing.commanded = Some(*position);
                        standing.waiting_since = Some(entry.at);
                        standing.overdue = false;
                    }
                }
            }
            Happened::Confirmed { machine, position } => {
                let standing = self.named(railroad, machine)?;
                standing.confirmed = Some(*position);
                // A report of the old position while it is on its way is no arrival.
                if standing.commanded.is_none_or(|commanded| commanded == *position) {
                    standing.waiting_since = None;
                    standing.overdue = false;
                }
            }
            Happened::Overdue { machine } => self.named(railroad, machine)?.overdue = true,
        }
        Ok(())
    }

    fn named(&mut self, railroad: &Railroad, machine: &str) -> Result<&mut Standing, NotOnRailroad> {
        railroad
            .machine_named(machine)
            .and_then(|id| self.machines.get_mut(id.index()))
            .ok_or_else(|| NotOnRailroad::Machine(machine.to_owned()))
    }

    /// What is known of one machine: nothing, of one that is not on the railroad.
    pub fn standing(&self, machine: MachineId) -> Standing {
        self.machines.get(machine.index()).copied().unwrap_or_default()
    }

    /// Where the machines of a lever were sent last: the answer to "what was this lever thrown to".
    pub fn commanded(&self, lever: &Lever) -> Option<Position> {
        lever.machines.first().and_then(|&machine| self.standing(machine).commanded)
    }

    /// What may truly be said of a lever: the least certain thing that is true of any of its machines.
    pub fn sight(&self, lever: &Lever) -> Sight {
        lever
            .machines
            .iter()
            .map(|&machine| self.standing(machine).sight())
            .reduce(both)
            .unwrap_or(Sight::NotKnown)
    }
}

impl Standing {
    /// What may truly be said of this machine.
    pub fn sight(self) -> Sight {
        match (self.waiting_since, self.commanded, self.confirmed) {
            (Some(_), Some(to), _) if self.overdue => Sight::Overdue(to),
            (Some(_), Some(to), _) => Sight::Moving(to),
            (_, _, Some(position)) => Sight::At(position),
            (_, _, None) => Sight::NotKnown,
        }
    }
}

/// What may be said of two machines together.
fn both(a: Sight, b: Sight) -> Sight {
    match (a, b) {
        (Sight::Overdue(to), _) | (_, Sight::Overdue(to)) => Sight::Overdue(to),
        (Sight::Moving(to), _) | (_, Sight::Moving(to)) => Sight::Moving(to),
        (Sight::NotKnown, _) | (_, Sight::NotKnown) => Sight::NotKnown,
        (Sight::At(a), Sight::At(b)) if a == b => Sight::At(a),
        (Sight::At(_) | Sight::Apart, _) => Sight::Apart,
    }
}
