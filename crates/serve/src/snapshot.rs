//! What may truly be shown of the whole panel at one moment, and the words for it.

use std::collections::BTreeMap;
use std::sync::Arc;

use live::link::Fault;
use live::{HeldBy, HeldRoute, Lock, Moment, Railroad, RouteId, RouteSight, Said, Sight, Sign, State, Stop};
use network::Position;
use plan::model::LeverNumber;

/// The panel at one moment.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// Which opening of the panel this is: when it was opened, in milliseconds since 1970.
    pub run: u64,
    /// How many changes there have been since.
    pub change: u64,
    /// False once the panel is closing.
    pub open: bool,
    /// What keeps throws from being taken, in words for the operator; none when nothing does.
    pub trouble: Option<String>,
    /// Every lever, by number.
    pub levers: Vec<LeverNow>,
    /// Every route that someone asked for, in the order of asking.
    pub routes: Vec<RouteNow>,
    /// Who stopped everything; none when nothing is stopped.
    pub stopped: Option<Stop>,
    /// The throw that would be undone, and where the lever stood before, where that is known.
    pub last_throw: Option<(LeverNumber, Option<Position>)>,
    /// Every link by its name, and whether it reaches its machines.
    pub links: Vec<(String, bool)>,
    /// Why a link is out of touch, by its name, where that is known.
    pub link_troubles: BTreeMap<String, String>,
    /// Machines that get slow, or miss reports.
    pub signs: Vec<Sign>,
    /// The change that touched commissioning last.
    pub trial_change: u64,
    /// Machines of the modelled layout into which someone put a fault, and who.
    pub put_in: BTreeMap<String, (Fault, Said)>,
    /// How many rows the journal has.
    pub rows: u64,
    /// The number of the first row that is still in the journal, and when it was written, where older ones were put aside.
    pub rows_from: Option<(u64, Moment)>,
    /// Why old rows could not be put aside; none when they could, or all stay.
    pub aside_trouble: Option<String>,
    /// The state that all this was seen in.
    pub(crate) state: Arc<State>,
    /// The railroad that it was seen on.
    pub(crate) railroad: Arc<Railroad>,
}

/// A route that someone asked for, at one moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RouteNow {
    /// Which.
    pub route: RouteId,
    /// What the plan's tables call it.
    pub id: String,
    /// What may be said of it.
    pub sight: RouteSight,
    /// The same in words.
    pub says: String,
    /// Who asked for it; empty when they did not say.
    pub by: String,
    /// When.
    pub since: Moment,
    /// Whether it releases itself once it is set.
    pub once: bool,
}

/// One lever at one moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeverNow {
    /// Its number.
    pub number: LeverNumber,
    /// What the description calls it, and with it the diagram.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What may be said of it.
    pub sight: Sight,
    /// Where it was thrown last.
    pub commanded: Option<Position>,
    /// Each machine's name and what may be said of it.
    pub machines: Vec<(String, Sight)>,
    /// Why it is locked; none when it is not.
    pub lock: Option<Lock>,
    /// The route that holds it.
    pub route: Option<String>,
    /// Why it cannot be thrown from here, how other panels hold it, and why the panel that was asked last did not throw it, in words.
    pub elsewhere: Vec<String>,
    /// Whether a machine of it has reported the other position since it was sent.
    pub contrary: bool,
    /// The change that touched it last.
    pub changed: u64,
}

impl Snapshot {
    /// The panel when it is opened.
    pub(crate) fn first(railroad: &Arc<Railroad>, state: &State, at: Moment, rows: u64) -> Self {
        let mut first = Self {
            run: at.0,
            change: 0,
            open: true,
            trouble: None,
            levers: railroad.levers().map(|lever| LeverNow::see(railroad, state, lever, 0)).collect(),
            routes: Vec::new(),
            stopped: None,
            last_throw: None,
            links: Vec::new(),
            link_troubles: BTreeMap::new(),
            signs: Vec::new(),
            trial_change: 0,
            put_in: BTreeMap::new(),
            rows,
            rows_from: None,
            aside_trouble: None,
            state: Arc::new(state.clone()),
            railroad: Arc::clone(railroad),
        };
        first.see(railroad, state, rows);
        first
    }

    /// Looks at everything but the levers again.
    pub(crate) fn see(&mut self, railroad: &Railroad, state: &State, rows: u64) {
        self.routes = state.held().iter().map(|held| RouteNow::see(railroad, state, held)).collect();
        self.stopped = state.stopped().cloned();
        self.last_throw = state.last_throw();
        let links = railroad.links().iter();
        self.links = links.map(|link| (link.name.clone(), state.reaches(&link.name))).collect();
        self.rows = rows;
        self.state = Arc::new(state.clone());
    }

    /// The lever of this number.
    pub fn lever(&self, number: LeverNumber) -> Option<&LeverNow> {
        self.levers.iter().find(|lever| lever.number == number)
    }

    /// The name of this state of the panel, for a stream that wants to go on from it.
    pub fn id(&self) -> String {
        format!("{}.{}", self.run, self.change)
    }

    /// The change that an id names, when it is an id of this opening of the panel.
    pub fn change_of(&self, id: &str) -> Option<u64> {
        let (run, change) = id.split_once('.')?;
        let change = change.parse().ok().filter(|&change| change <= self.change)?;
        (run.parse() == Ok(self.run)).then_some(change)
    }
}

impl LeverNow {
    pub(crate) fn see(railroad: &Railroad, state: &State, lever: &live::Lever, changed: u64) -> Self {
        let machines = lever.machines.iter().filter_map(|&id| {
            let machine = railroad.machine(id)?;
            Some((machine.name.clone(), state.standing(id).sight()))
        });
        Self {
            number: lever.number,
            id: lever.id.clone(),
            name: lever.name.clone(),
            sight: state.sight(lever),
            commanded: state.commanded(lever),
            contrary: lever.machines.iter().any(|&machine| state.standing(machine).contrary),
            lock: state.lock(lever.number).cloned().or_else(|| locked_elsewhere(state, lever)),
            elsewhere: elsewhere(state, lever),
            route: state
                .holder(railroad, lever.number)
                .and_then(|held| railroad.route(held.route))
                .map(|route| route.id.clone()),
            machines: machines.collect(),
            changed,
        }
    }

    /// Where one press throws it: to the other position; to the same one again when no report came.
    pub fn next(&self) -> Position {
        match self.sight {
            Sight::At(position)
            | Sight::Moving(position)
            | Sight::Waiting(position)
            | Sight::Sent(position) => position.other(),
            Sight::Overdue(position) => position,
            Sight::NotKnown | Sight::Apart => self.commanded.unwrap_or(Position::Normal),
        }
    }
}

/// The word by which style sheet and script know it.
pub(crate) fn look(sight: Sight) -> &'static str {
    match sight {
        Sight::NotKnown => "unknown",
        // What nobody has seen arrive is drawn as sent, however long ago it was.
        Sight::Moving(to) | Sight::Waiting(to) | Sight::Sent(to) => match to {
            Position::Normal => "to-normal",
            Position::Reverse => "to-reverse",
        },
        Sight::Overdue(_) => "overdue",
        Sight::At(position) => position.word(),
        Sight::Apart => "apart",
    }
}

/// The words that people read and hear about a lever.
pub(crate) fn words(lever: &LeverNow) -> String {
    let mut words = vec![sight_words(lever)];
    words.extend(lever.elsewhere.iter().cloned());
    words.join("; ")
}

fn sight_words(lever: &LeverNow) -> String {
    match lever.sight {
        Sight::NotKnown => "not known".to_owned(),
        Sight::Waiting(to) => format!("waits for the supply, then {}", to.word()),
        Sight::Moving(to) => format!("moving to {}", to.word()),
        Sight::Sent(to) => format!("sent to {}; it cannot report", to.word()),
        Sight::Overdue(to) if lever.contrary => {
            format!("sent to {}, but reports {}", to.word(), to.other().word())
        }
        Sight::Overdue(to) => format!("sent to {}, no report", to.word()),
        Sight::At(position) => position.word().to_owned(),
        Sight::Apart => {
            let machines = lever.machines.iter().filter_map(|(machine, sight)| match sight {
                Sight::At(position) => Some(format!("{machine} {}", position.word())),
                Sight::NotKnown
                | Sight::Waiting(_)
                | Sight::Moving(_)
                | Sight::Sent(_)
                | Sight::Overdue(_)
                | Sight::Apart => None,
            });
            format!("apart: {}", machines.collect::<Vec<_>>().join(", "))
        }
    }
}

/// What to do about a lever whose machines did not do as they were told, and the address at which the panel narrows the fault
/// down; none when they did.
pub(crate) fn hint(lever: &LeverNow) -> Option<(String, String)> {
    let (seen, saw) = match lever.sight {
        Sight::Overdue(_) if lever.contrary => ("they lie the other way", "moves the wrong way"),
        Sight::Overdue(_) => ("they did not move", "does not move"),
        Sight::NotKnown
        | Sight::Waiting(_)
        | Sight::Moving(_)
        | Sight::Sent(_)
        | Sight::At(_)
        | Sight::Apart => {
            return None;
        }
    };
    let number = lever.number;
    let at = format!("/faults?saw=lever%20{number}%20{}", saw.replace(' ', "%20"));
    Some((format!("Look at its points. If {seen}, find the fault."), at))
}

/// A lock of another panel, shown as one of this.
fn locked_elsewhere(state: &State, lever: &live::Lever) -> Option<Lock> {
    let mut holds = lever.machines.iter().flat_map(|&machine| state.held_elsewhere(machine, None));
    let hold = holds.find(|hold| hold.held_by == HeldBy::Lock)?;
    let note = Said::new(&format!("{} (on the panel {})", hold.note, hold.panel));
    Some(Lock { note, by: hold.by.clone(), since: Moment(0) })
}

/// What other panels have to do with a lever.
fn elsewhere(state: &State, lever: &live::Lever) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for &machine in &lever.machines {
        let away = state.away(machine).map(|why| format!("out of touch: {why}"));
        let held = state.held_elsewhere(machine, None).map(live::Hold::words);
        let declined = state.declined(machine).map(|why| format!("not thrown: {why}"));
        for words in away.into_iter().chain(held).chain(declined) {
            if !said.contains(&words) {
                said.push(words);
            }
        }
    }
    said
}

/// What people call a lever: its name where it has one that says more than its number.
pub(crate) fn called(lever: &LeverNow) -> String {
    if lever.name.is_empty() || lever.name == lever.number.to_string() {
        format!("Lever {}", lever.number)
    } else {
        lever.name.clone()
    }
}

impl RouteNow {
    fn see(railroad: &Railroad, state: &State, held: &HeldRoute) -> Self {
        let sight = state.route_sight(railroad, held);
        Self {
            route: held.route,
            id: railroad.route(held.route).map(|route| route.id.clone()).unwrap_or_default(),
            sight,
            says: if held.once && matches!(sight, RouteSight::Setting(_)) {
                format!("{}; then it is released", route_words(railroad, state, sight))
            } else {
                route_words(railroad, state, sight)
            },
            by: held.by.to_string(),
            since: held.since,
            once: held.once,
        }
    }
}

/// The word by which style sheet and script know how a route is.
pub(crate) fn route_look(sight: RouteSight) -> &'static str {
    match sight {
        RouteSight::Set => "set",
        // Dashed, as all that is not proven.
        RouteSight::Setting(_) | RouteSight::Unproven(_) => "setting",
        RouteSight::NoReport(_)
        | RouteSight::Strayed(_)
        | RouteSight::OutOfTouch(_)
        | RouteSight::Disputed(_)
        | RouteSight::NotThrown(_) => "fault",
    }
}

fn route_words(railroad: &Railroad, state: &State, sight: RouteSight) -> String {
    let machine = |id| railroad.machine(id).map(|machine| machine.name.clone()).unwrap_or_default();
    match sight {
        RouteSight::Set => "set: every machine has reported".to_owned(),
        RouteSight::Setting(1) => "being set: one lever has yet to report".to_owned(),
        RouteSight::Setting(left) => format!("being set: {left} levers have yet to report"),
        RouteSight::Unproven(id) => format!(
            "thrown, not proven: machine {} cannot report; look at its points before a train runs",
            machine(id)
        ),
        RouteSight::NoReport(id) if state.standing(id).contrary => {
            format!(
                "not set: machine {} reports the other position; it may be wired the wrong way round",
                machine(id)
            )
        }
        RouteSight::NoReport(id) => {
            format!("not set: machine {} does not report; go and look at its points", machine(id))
        }
        RouteSight::Strayed(id) => {
            format!("not safe: machine {} moved and nobody sent it; go and look at its points", machine(id))
        }
        RouteSight::Disputed(lever) => format!(
            "not safe: another panel set a route in its way at the same moment (lever {lever}); release one of them"
        ),
        RouteSight::OutOfTouch(lever) => {
            format!("not safe: lever {lever} is out of touch, and another panel may throw it")
        }
        RouteSight::NotThrown(lever) => format!("not set: lever {lever} was not thrown; set the route again"),
    }
}
