//! Where everything stands, as far as it is known, and what is held.
//!
//! Of each machine two things are kept apart: where it was sent and where it said that it stands. A lever is shown in a
//! position only when all its machines have said so since they were last sent; everything else is shown as what it is:
//! on its way, waiting for the supply, without a report, in two positions, or not known.
//!
//! How an entry changes the state stands in `apply`.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use network::{MachineId, Position};
use plan::model::LeverNumber;

use crate::{Found, HeldBy, Hold, Lever, Moment, Railroad, RouteId, Said, Wait};

/// How long the coils' supply rests between two bursts: a capacitor-discharge unit is charged again in about a second (common
/// practice, no source).
pub const BURST_WAIT: Wait = Wait(1_000);

/// The most throws that can be taken back, one after the other.
pub const UNDO_MAX: usize = 100;

/// The most steps of commissioning whose findings are held at a time; all of them are in the journal.
pub const FOUND_MAX: usize = 50_000;

/// What is known of every machine, and what people hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    pub(crate) machines: Vec<Standing>,
    /// Levers that wait for the supply, burst by burst.
    pub(crate) waiting: VecDeque<Vec<(LeverNumber, Position)>>,
    /// The burst that the supply gave last.
    pub(crate) burst: Option<Burst>,
    pub(crate) held: Vec<HeldRoute>,
    pub(crate) locks: BTreeMap<LeverNumber, Lock>,
    /// Levers that people threw, each with where it stood before; the last one last.
    pub(crate) throws: Vec<(LeverNumber, Option<Position>)>,
    pub(crate) stopped: Option<Stop>,
    pub(crate) links_down: BTreeSet<Said>,
    /// What steps of commissioning came to, by their keys.
    pub(crate) found: BTreeMap<Said, Found>,
    /// The step that everyone was turned to.
    pub(crate) turned: Option<Said>,
    /// Machines that panels share and that cannot be thrown from here, with why.
    pub(crate) away: BTreeMap<MachineId, Said>,
    /// Machines that panels share, with the link over which they are thrown now.
    pub(crate) over: BTreeMap<MachineId, Said>,
    /// What other panels hold, by machine, server and how.
    pub(crate) elsewhere: BTreeMap<(MachineId, Said, HeldBy), Hold>,
    /// Why machines were not thrown by the panel that was asked last.
    pub(crate) declined: BTreeMap<MachineId, Said>,
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
    /// Whether it has reported the other position since it was sent: it may be wired the wrong way round.
    pub contrary: bool,
    /// Whether all this was seen while the record called it inverted.
    pub inverted: bool,
}

/// Coils that fired together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Burst {
    /// When the last of them did.
    pub at: Moment,
    /// How many they were.
    pub coils: usize,
}

/// A route that someone asked for and nobody has released.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeldRoute {
    /// Which.
    pub route: RouteId,
    /// Who asked for it.
    pub by: Said,
    /// When.
    pub since: Moment,
    /// Whether all its machines have reported since.
    pub complete: bool,
    /// Whether it is released by itself once it is set.
    pub once: bool,
}

/// Why a lever may not be thrown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lock {
    /// What whoever locked it wrote.
    pub note: Said,
    /// Who.
    pub by: Said,
    /// When.
    pub since: Moment,
}

/// That everything is stopped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stop {
    /// Who stopped it.
    pub by: Said,
    /// When.
    pub since: Moment,
}

/// What may truly be said of a machine or a lever.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sight {
    /// It has never reported and was never sent anywhere.
    NotKnown,
    /// It is to be thrown there when the supply of its coils is ready.
    Waiting(Position),
    /// It was sent there and has yet to report.
    Moving(Position),
    /// It was sent there and has not reported in time.
    Overdue(Position),
    /// It was sent there by a link that cannot say whether it arrived.
    Sent(Position),
    /// It reported that it stands there.
    At(Position),
    /// The machines of one lever stand in different positions.
    Apart,
}

/// What may truly be said of a route that someone asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RouteSight {
    /// So many of its levers have yet to report.
    Setting(usize),
    /// Every machine of its levers has reported that it stands right.
    Set,
    /// Everything was sent where it is needed, and the link of this machine cannot say whether it arrived.
    Unproven(MachineId),
    /// A machine of it has not reported in time.
    NoReport(MachineId),
    /// A machine of it stands otherwise, and nobody sent it there.
    Strayed(MachineId),
    /// Another panel set a route at the same moment that cannot stand beside it; this is one lever of it.
    Disputed(LeverNumber),
    /// This lever of it is out of touch: another panel may throw it.
    OutOfTouch(LeverNumber),
    /// A lever of it was not thrown, because everything was stopped or the panel was closed.
    NotThrown(LeverNumber),
}

impl State {
    /// Nothing known of any machine of this railroad.
    pub fn unknown(railroad: &Railroad) -> Self {
        Self {
            machines: vec![Standing::default(); railroad.machines().count()],
            waiting: VecDeque::new(),
            burst: None,
            held: Vec::new(),
            locks: BTreeMap::new(),
            throws: Vec::new(),
            stopped: None,
            links_down: BTreeSet::new(),
            found: BTreeMap::new(),
            turned: None,
            away: BTreeMap::new(),
            over: BTreeMap::new(),
            elsewhere: BTreeMap::new(),
            declined: BTreeMap::new(),
        }
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
        if let Some(to) = self.waits_for(lever.number) {
            return Sight::Waiting(to);
        }
        lever
            .machines
            .iter()
            .map(|&machine| self.standing(machine).sight())
            .reduce(both)
            .unwrap_or(Sight::NotKnown)
    }

    /// Where a lever will be thrown when the supply is ready.
    pub(crate) fn waits_for(&self, lever: LeverNumber) -> Option<Position> {
        self.waiting.iter().flatten().find(|waiting| waiting.0 == lever).map(|waiting| waiting.1)
    }

    /// Every route that someone asked for, in the order of asking.
    pub fn held(&self) -> &[HeldRoute] {
        &self.held
    }

    /// The route that holds a lever.
    pub fn holder(&self, railroad: &Railroad, lever: LeverNumber) -> Option<&HeldRoute> {
        self.held.iter().find(|held| railroad.holds(held.route, lever))
    }

    /// Why a lever is locked; none when it is not.
    pub fn lock(&self, lever: LeverNumber) -> Option<&Lock> {
        self.locks.get(&lever)
    }

    /// What steps of commissioning came to, by their keys.
    pub fn found(&self) -> &BTreeMap<Said, Found> {
        &self.found
    }

    /// The step of commissioning that everyone was turned to; none when that is the next one.
    pub fn turned(&self) -> Option<&Said> {
        self.turned.as_ref()
    }

    /// Who stopped everything; none when nothing is stopped.
    pub fn stopped(&self) -> Option<&Stop> {
        self.stopped.as_ref()
    }

    /// Whether a link reaches its machines, as far as it said.
    pub fn reaches(&self, link: &str) -> bool {
        !self.links_down.contains(&Said::whole(link))
    }

    /// The throw that would be undone, and where the lever stood before, where that is known.
    pub fn last_throw(&self) -> Option<(LeverNumber, Option<Position>)> {
        self.throws.last().copied()
    }

    /// What may truly be said of a route that someone asked for.
    pub fn route_sight(&self, railroad: &Railroad, held: &HeldRoute) -> RouteSight {
        let levers = railroad.route(held.route).and_then(|route| route.levers.as_ref());
        let (mut left, mut unproven) = (0, None);
        for (&number, &position) in levers.into_iter().flatten() {
            let Some(lever) = railroad.lever(number) else { return RouteSight::NotThrown(number) };
            if lever.machines.iter().any(|machine| self.away.contains_key(machine)) {
                return RouteSight::OutOfTouch(number);
            }
            if self.is_disputed(railroad, held.route, lever) {
                return RouteSight::Disputed(number);
            }
            match self.sight(lever) {
                Sight::At(at) if at == position => {}
                Sight::Waiting(_) => left += 1,
                Sight::Moving(to) if to == position => left += 1,
                Sight::Overdue(_) => return self.fault(lever, position, held),
                Sight::Sent(to) if to == position => unproven = unproven.or_else(|| self.unproven(lever)),
                Sight::Moving(_) | Sight::Sent(_) | Sight::At(_) | Sight::Apart | Sight::NotKnown => {
                    return self.fault(lever, position, held);
                }
            }
        }
        match (left, unproven) {
            (0, None) => RouteSight::Set,
            (0, Some(machine)) => RouteSight::Unproven(machine),
            _ => RouteSight::Setting(left),
        }
    }

    /// Whether a route of another panel is in the way: both were set before either panel heard of the other.
    fn is_disputed(&self, railroad: &Railroad, route: RouteId, lever: &Lever) -> bool {
        self.elsewhere.iter().filter(|((_, _, by), _)| *by == HeldBy::Route).any(|((machine, ..), hold)| {
            let other = railroad.route_called(hold.note.as_str()).filter(|other| *other != route);
            lever.machines.contains(machine)
                || other.is_some_and(|other| crate::refusal::shared(railroad, route, other).is_some())
        })
    }

    fn unproven(&self, lever: &Lever) -> Option<MachineId> {
        let is_sent = |machine: &MachineId| matches!(self.standing(*machine).sight(), Sight::Sent(_));
        lever.machines.iter().copied().find(is_sent)
    }

    /// What is wrong with a lever that a route needs.
    fn fault(&self, lever: &Lever, needed: Position, held: &HeldRoute) -> RouteSight {
        let sights = || lever.machines.iter().map(|&machine| (machine, self.standing(machine).sight()));
        if let Some((machine, _)) = sights().find(|(_, sight)| matches!(sight, Sight::Overdue(_))) {
            return RouteSight::NoReport(machine);
        }
        let sent = self.commanded(lever) == Some(needed);
        match sights().find(|(_, sight)| *sight == Sight::At(needed.other())) {
            Some((machine, _)) if held.complete || sent => RouteSight::Strayed(machine),
            _ => RouteSight::NotThrown(lever.number),
        }
    }

    /// When the supply is ready for the next burst; none when nothing waits for it.
    pub fn next_burst(&self) -> Option<Moment> {
        self.waiting.front()?;
        Some(self.burst.map_or(Moment(0), |burst| burst.at.after(BURST_WAIT)))
    }

    /// Whether so many more coils may fire now. A clock that was set back must not keep the supply busy for years.
    pub(crate) fn supply_bears(&self, railroad: &Railroad, coils: usize, at: Moment) -> bool {
        coils == 0
            || self.supply_rested(at)
            || self.burst.is_some_and(|burst| burst.coils + coils <= railroad.coils_at_once())
    }

    pub(crate) fn supply_rested(&self, at: Moment) -> bool {
        self.burst.is_none_or(|burst| at < burst.at || at.since(burst.at) >= BURST_WAIT)
    }
}

impl Standing {
    /// What may truly be said of this machine.
    pub fn sight(self) -> Sight {
        match (self.waiting_since, self.commanded, self.confirmed) {
            (_, Some(to), None) if self.overdue => Sight::Overdue(to),
            (Some(_), Some(to), _) if self.overdue => Sight::Overdue(to),
            (Some(_), Some(to), _) => Sight::Moving(to),
            (_, _, Some(position)) => Sight::At(position),
            // Nothing is awaited of a link that cannot report.
            (None, Some(to), None) => Sight::Sent(to),
            (_, None, None) => Sight::NotKnown,
        }
    }
}

/// What may be said of two machines together.
fn both(a: Sight, b: Sight) -> Sight {
    match (a, b) {
        (Sight::Overdue(to), _) | (_, Sight::Overdue(to)) => Sight::Overdue(to),
        (Sight::Waiting(to), _) | (_, Sight::Waiting(to)) => Sight::Waiting(to),
        (Sight::Moving(to), _) | (_, Sight::Moving(to)) => Sight::Moving(to),
        (Sight::NotKnown, _) | (_, Sight::NotKnown) => Sight::NotKnown,
        (Sight::Sent(to), _) | (_, Sight::Sent(to)) => Sight::Sent(to),
        (Sight::At(a), Sight::At(b)) if a == b => Sight::At(a),
        (Sight::At(_) | Sight::Apart, _) => Sight::Apart,
    }
}
