//! One event in, its effects out. Nothing changes here; see [`State::apply`].

use network::{MachineId, Position};
use plan::model::LeverNumber;

use crate::{Entry, Happened, Moment, Railroad, State, Wait};

/// How long a machine may take to report before the panel says that it has not: twice the slowest stall motor that the
/// trade expects to meet (about 3 s from stop to stop; common practice, no source).
pub const CONFIRM_WAIT: Wait = Wait(6_000);

/// Something that reaches the panel from outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// Someone asks for a lever to be thrown.
    Throw {
        /// Which.
        lever: LeverNumber,
        /// To where.
        position: Position,
    },
    /// A link reports where a machine stands.
    Confirmed {
        /// Which.
        machine: MachineId,
        /// Where it stands.
        position: Position,
    },
    /// Time has passed.
    Tick,
}

/// Something that the outside has to do, in the order given. All records come first and are written down and applied
/// before anything else is done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Write this down, durably, then apply it to the state.
    Record(Entry),
    /// Move this machine.
    Send {
        /// Which.
        machine: MachineId,
        /// To where.
        position: Position,
    },
    /// Tell every open page how this lever is now.
    Announce {
        /// Which.
        lever: LeverNumber,
    },
    /// Tell the one who asked why not.
    Refuse(Refusal),
}

/// Why an event was not accepted. Its words are for a visitor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// No lever carries the number.
    #[error("There is no lever {0} on this railroad.")]
    LeverUnknown(LeverNumber),
    /// A link spoke of a machine that the plan does not have.
    #[error("A report came from a machine that is not on this railroad.")]
    MachineUnknown,
}

/// What follows from an event, seen from this state, at this moment.
pub fn step(railroad: &Railroad, state: &State, event: &Event, at: Moment) -> Vec<Effect> {
    match *event {
        Event::Throw { lever, position } => throw(railroad, lever, position, at),
        Event::Confirmed { machine, position } => confirm(railroad, machine, position, at),
        Event::Tick => find_overdue(railroad, state, at),
    }
}

fn throw(railroad: &Railroad, number: LeverNumber, position: Position, at: Moment) -> Vec<Effect> {
    let Some(lever) = railroad.lever(number) else {
        return vec![Effect::Refuse(Refusal::LeverUnknown(number))];
    };
    let record = Effect::Record(Entry { at, what: Happened::Thrown { lever: number, position } });
    let sends = lever.machines.iter().map(|&machine| Effect::Send { machine, position });
    std::iter::once(record).chain(sends).chain([Effect::Announce { lever: number }]).collect()
}

fn confirm(railroad: &Railroad, id: MachineId, position: Position, at: Moment) -> Vec<Effect> {
    let Some(machine) = railroad.machine(id) else {
        return vec![Effect::Refuse(Refusal::MachineUnknown)];
    };
    let what = Happened::Confirmed { machine: machine.name.clone(), position };
    let announce = machine.lever.map(|lever| Effect::Announce { lever });
    std::iter::once(Effect::Record(Entry { at, what })).chain(announce).collect()
}

fn find_overdue(railroad: &Railroad, state: &State, at: Moment) -> Vec<Effect> {
    let overdue = railroad.machines().filter(|&(id, _)| {
        let standing = state.standing(id);
        let since = standing.waiting_since;
        !standing.overdue && since.is_some_and(|since| at.since(since) >= CONFIRM_WAIT)
    });
    let (mut effects, mut announcements) = (Vec::new(), Vec::new());
    for (_, machine) in overdue {
        let what = Happened::Overdue { machine: machine.name.clone() };
        effects.push(Effect::Record(Entry { at, what }));
        announcements.extend(machine.lever.map(|lever| Effect::Announce { lever }));
    }
    announcements.dedup();
    effects.extend(announcements);
    effects
}
