//! One event in, its effects out. Nothing changes here; see [`State::apply`].
//!
//! What follows from an event is found on a copy of the state, entry by entry, so that a later entry of one event sees what
//! the earlier ones made of it. What people ask for stands in `asked`, what links and the clock say in `heard`.

mod asked;
mod heard;

use std::borrow::Cow;

use network::{MachineId, Position};
use plan::model::LeverNumber;

use crate::{Elsewhere, Entry, Found, Happened, Moment, Railroad, Refusal, RouteId, Said, State, Wait};

/// How long a machine may take to report before the panel says that it has not: twice the slowest stall motor that the
/// trade expects to meet (about 3 s from stop to stop; common practice, no source).
pub const CONFIRM_WAIT: Wait = Wait(6_000);

/// The most bursts that may wait for the coils' supply.
pub const WAITING_MAX: usize = 64;

/// Something that reaches the panel from outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// Someone asks for a lever to be thrown.
    Throw {
        /// Which.
        lever: LeverNumber,
        /// To where.
        position: Position,
        /// Who.
        by: Said,
    },
    /// Someone asks for the last throw to be taken back.
    Undo {
        /// Who.
        by: Said,
    },
    /// Someone asks for a route.
    SetRoute {
        /// Which.
        route: RouteId,
        /// Who.
        by: Said,
    },
    /// Someone asks for a route that need not be held: it is released by itself once it is set.
    SetOnce {
        /// Which.
        route: RouteId,
        /// Who.
        by: Said,
    },
    /// Someone needs a route no more.
    ReleaseRoute {
        /// Which.
        route: RouteId,
        /// Who.
        by: Said,
    },
    /// Someone wants a lever left alone.
    Lock {
        /// Which.
        lever: LeverNumber,
        /// Why.
        note: Said,
        /// Who.
        by: Said,
    },
    /// Someone says that a lever may be thrown again.
    Unlock {
        /// Which.
        lever: LeverNumber,
        /// Who.
        by: Said,
    },
    /// Someone stops everything.
    Stop {
        /// Who.
        by: Said,
    },
    /// Someone lets everything go on.
    Resume {
        /// Who.
        by: Said,
    },
    /// Someone has tried a step of commissioning.
    Find(Found),
    /// Someone turns everyone to a step of commissioning.
    TurnTo {
        /// The key of the step.
        step: Said,
        /// Who.
        by: Said,
    },
    /// A link reports where a machine stands.
    Confirmed {
        /// Which.
        machine: MachineId,
        /// Where it stands.
        position: Position,
    },
    /// A link dropped a machine's command: it had no room for it, or was lost before it went out.
    QueueFull {
        /// Which.
        machine: MachineId,
    },
    /// A link reaches its machines.
    LinkUp {
        /// Its name.
        link: Said,
    },
    /// A link does not reach its machines any more.
    LinkDown {
        /// Its name.
        link: Said,
    },
    /// Another panel, for which its server of this id speaks, asks for a lever to be thrown.
    ThrowFor {
        /// Which.
        lever: LeverNumber,
        /// To where.
        position: Position,
        /// Who.
        by: Said,
        /// The server: what it holds itself does not keep it from throwing.
        server: Said,
    },
    /// Another panel said something over a message broker.
    Elsewhere(Elsewhere),
    /// The panel was closed, and is open again.
    Opened,
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
    /// Ask every link for its emergency stop.
    StopLinks,
    /// Ask every link to let trains run again.
    ResumeLinks,
    /// Tell every open page how this lever is now.
    Announce {
        /// Which.
        lever: LeverNumber,
    },
    /// Tell every open page what routes are set, whether all is stopped and how the links are.
    AnnouncePanel,
    /// Tell the one who asked why not.
    Refuse(Refusal),
}

/// What follows from an event, seen from this state, at this moment.
pub fn step(railroad: &Railroad, state: &State, event: &Event, at: Moment) -> Vec<Effect> {
    let mut doing = Doing::new(railroad, state, at);
    match doing.take(event) {
        Ok(()) => doing.effects(),
        Err(refusal) => vec![Effect::Refuse(refusal)],
    }
}

/// Why a route could not be set now; none when it could.
pub fn why_not(railroad: &Railroad, state: &State, route: RouteId) -> Option<Refusal> {
    // No moment matters: nothing is thrown.
    Doing::new(railroad, state, Moment(0)).may_be_set(route, false).err()
}

/// What follows from an event so far.
struct Doing<'a> {
    railroad: &'a Railroad,
    /// The state with everything recorded so far applied.
    state: Cow<'a, State>,
    at: Moment,
    records: Vec<Entry>,
    moves: Vec<Effect>,
    levers: Vec<LeverNumber>,
    panel: bool,
}

impl<'a> Doing<'a> {
    fn new(railroad: &'a Railroad, state: &'a State, at: Moment) -> Self {
        let state = Cow::Borrowed(state);
        Self { railroad, state, at, records: Vec::new(), moves: Vec::new(), levers: Vec::new(), panel: false }
    }

    fn take(&mut self, event: &Event) -> Result<(), Refusal> {
        match event {
            Event::Throw { lever, position, by } => self.throw(*lever, *position, by, None),
            Event::ThrowFor { lever, position, by, server } => {
                self.throw(*lever, *position, by, Some(server))
            }
            Event::Undo { by } => self.undo(by),
            Event::SetRoute { route, by } => self.set_route(*route, by, false),
            Event::SetOnce { route, by } => self.set_route(*route, by, true),
            Event::ReleaseRoute { route, by } => self.release_route(*route, by),
            Event::Lock { lever, note, by } => self.lock(*lever, note, by),
            Event::Unlock { lever, by } => self.unlock(*lever, by),
            Event::Stop { by } => {
                self.stop(by);
                Ok(())
            }
            Event::Resume { by } => self.resume(by),
            Event::Find(found) => self.find(found),
            Event::TurnTo { step, by } => {
                self.record(Happened::Turned { step: step.clone(), by: by.clone() });
                self.panel = true;
                Ok(())
            }
            Event::Confirmed { machine, position } => self.confirm(*machine, *position),
            Event::QueueFull { machine } => self.not_sent(*machine),
            Event::LinkUp { link } => {
                self.link_up(link);
                Ok(())
            }
            Event::LinkDown { link } => {
                self.link_down(link);
                Ok(())
            }
            Event::Elsewhere(said) => self.hear_elsewhere(said),
            Event::Opened => {
                self.let_go_elsewhere();
                self.drop_waiting();
                self.heed_inverted();
                Ok(())
            }
            Event::Tick => {
                self.find_overdue();
                self.fire();
                self.release_done();
                Ok(())
            }
        }
    }

    /// What was reported while a machine was not known to be inverted says the opposite of where it stands, or does not: both have
    /// been seen under benchworks.
    fn heed_inverted(&mut self) {
        let railroad = self.railroad;
        let differs = |id: MachineId, inverted: bool| self.state.standing(id).inverted != inverted;
        let differing = railroad.machines().filter(|&(id, machine)| differs(id, machine.inverted));
        for machine in differing.map(|(_, machine)| machine).collect::<Vec<_>>() {
            self.record(Happened::Inverted { machine: machine.name.clone(), inverted: machine.inverted });
            if let Some(lever) = machine.lever {
                self.announce(lever);
            }
        }
    }

    /// Writes something down. What this module writes is on the railroad, so it can be applied.
    fn record(&mut self, what: Happened) {
        let entry = Entry { at: self.at, what };
        let applied = self.state.to_mut().apply(self.railroad, &entry);
        debug_assert!(applied.is_ok(), "{applied:?}");
        self.records.push(entry);
    }

    fn announce(&mut self, lever: LeverNumber) {
        if !self.levers.contains(&lever) {
            self.levers.push(lever);
        }
        self.panel |= self.state.holder(self.railroad, lever).is_some();
    }

    fn send(&mut self, lever: LeverNumber, position: Position) {
        let machines = self.railroad.lever(lever).map_or(&[][..], |lever| &lever.machines);
        self.moves.extend(machines.iter().map(|&machine| Effect::Send { machine, position }));
        self.announce(lever);
    }

    /// Throws what waits, burst by burst, as far as the supply bears it now.
    fn fire(&mut self) {
        while let Some(burst) = self.state.waiting.front().cloned() {
            let coils = |lever: LeverNumber| self.railroad.lever(lever).map_or(0, |lever| lever.coils);
            let coils = burst.iter().map(|waiting| coils(waiting.0)).sum();
            if !self.state.supply_bears(self.railroad, coils, self.at) {
                return;
            }
            for (lever, position) in burst {
                self.record(Happened::Fired { lever, position });
                self.send(lever, position);
            }
        }
    }

    /// Writes down which routes have become set.
    fn find_set(&mut self) {
        let is_set = |held: &&crate::HeldRoute| {
            !held.complete && self.state.route_sight(self.railroad, held) == crate::RouteSight::Set
        };
        let set: Vec<RouteId> = self.state.held.iter().filter(is_set).map(|held| held.route).collect();
        for name in set.into_iter().filter_map(|route| self.railroad.route_name(route)) {
            self.record(Happened::Set { route: name });
            self.panel = true;
        }
        self.release_done();
    }

    /// Releases routes that were to be set once: when every machine has reported, or all was sent to one that cannot.
    fn release_done(&mut self) {
        let is_done = |held: &&crate::HeldRoute| {
            let sight = || self.state.route_sight(self.railroad, held);
            held.once && (held.complete || matches!(sight(), crate::RouteSight::Unproven(_)))
        };
        let done: Vec<RouteId> = self.state.held.iter().filter(is_done).map(|held| held.route).collect();
        for name in done.into_iter().filter_map(|route| self.railroad.route_name(route)) {
            let levers: Vec<LeverNumber> = name.levers.iter().map(|lever| lever.0).collect();
            self.record(Happened::Released { route: name, by: Said::default() });
            for lever in levers {
                self.announce(lever);
            }
            self.panel = true;
        }
    }

    fn drop_waiting(&mut self) {
        let levers: Vec<LeverNumber> = self.state.waiting.iter().flatten().map(|waiting| waiting.0).collect();
        if !levers.is_empty() {
            self.record(Happened::Dropped);
            for lever in levers {
                self.announce(lever);
            }
        }
    }

    fn effects(self) -> Vec<Effect> {
        let records = self.records.into_iter().map(Effect::Record);
        let levers = self.levers.into_iter().map(|lever| Effect::Announce { lever });
        let panel = self.panel.then_some(Effect::AnnouncePanel);
        records.chain(self.moves).chain(levers).chain(panel).collect()
    }
}
