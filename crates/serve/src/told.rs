//! The JSON that pages and programs are told: its only types, converted by hand, so that a change of the core cannot
//! change it unnoticed. Members in `snake_case`; none is removed or renamed once released.

use live::{Railroad, Sight};
use network::MoveShape;
use serde::Serialize;
use utoipa::ToSchema;

use crate::snapshot::{LeverNow, RouteNow, Snapshot, hint, look, route_look, words};

/// The panel, or what has changed of it.
#[derive(Serialize, ToSchema)]
pub(crate) struct PanelTold {
    schema: u8,
    /// To be sent back to go on from here.
    id: String,
    /// True when `levers` holds every lever; false when it holds those that changed.
    whole: bool,
    /// What the page was made from; a page made from something else loads itself again.
    sheet: String,
    /// Whether the layout is a modelled one.
    simulated: bool,
    /// What keeps throws from being taken.
    trouble: Option<String>,
    levers: Vec<LeverTold>,
    /// Every route that someone asked for.
    routes: Vec<RouteTold>,
    /// That everything is stopped; null when nothing is.
    stopped: Option<StopTold>,
    /// The throw that would be undone; null when there is none.
    last_throw: Option<LastThrowTold>,
    links: Vec<LinkTold>,
    /// Grows whenever something was found out in commissioning, or everyone was turned to another step of it.
    commissioning: u64,
    journal: JournalTold,
}

/// A route that someone asked for.
#[derive(Serialize, ToSchema)]
pub(crate) struct RouteTold {
    /// What it is set and released by.
    route: String,
    /// One of `setting`, `set`, `fault`.
    state: &'static str,
    /// The state in words.
    says: String,
    /// False when it releases itself once it is set.
    hold: bool,
    /// Who asked for it; empty when they did not say.
    by: String,
    /// When, in milliseconds since 1970.
    since_ms: u64,
    tracks: Vec<String>,
    /// Each machine it needs and its position.
    machines: Vec<(String, &'static str)>,
    /// The joints it runs through, and whether along their straight or a curved leg.
    joints: Vec<(String, &'static str)>,
}

/// That everything is stopped.
#[derive(Serialize, ToSchema)]
struct StopTold {
    by: String,
    since_ms: u64,
    says: String,
}

/// The throw that would be undone.
#[derive(Serialize, ToSchema)]
struct LastThrowTold {
    lever: u16,
    /// Where it would be thrown back to; null when that is not known.
    back_to: Option<&'static str>,
    says: String,
}

/// One link.
#[derive(Serialize, ToSchema)]
struct LinkTold {
    link: String,
    in_touch: bool,
    /// Why it is out of touch; null when it is in touch, or nobody knows.
    says: Option<String>,
}

/// The journal.
#[derive(Serialize, ToSchema)]
struct JournalTold {
    rows: u64,
}

/// Why a lever is locked.
#[derive(Serialize, ToSchema)]
struct LockTold {
    note: String,
    by: String,
}

/// One lever.
#[derive(Serialize, ToSchema)]
pub(crate) struct LeverTold {
    number: u16,
    /// What the description calls it.
    id: String,
    name: String,
    /// Where it stands; null while that is not known.
    position: Option<&'static str>,
    /// Where it was thrown last; null when it never was.
    commanded: Option<&'static str>,
    /// One of `normal`, `reverse`, `to-normal`, `to-reverse`, `overdue`, `apart`, `unknown`.
    state: &'static str,
    /// The state in words.
    says: String,
    /// What to do about it when its machines did not do as they were told; null when they did.
    hint: Option<String>,
    /// The address of this panel at which that fault is narrowed down by taps; null with `hint`.
    faults: Option<String>,
    /// Where one press throws it.
    next: &'static str,
    /// Why it is locked; null when it is not.
    lock: Option<LockTold>,
    /// The route that holds it; null when none does.
    route: Option<String>,
    machines: Vec<MachineTold>,
}

/// One machine.
#[derive(Serialize, ToSchema)]
struct MachineTold {
    machine: String,
    position: Option<&'static str>,
    state: &'static str,
}

/// The answer to a throw that was taken.
#[derive(Serialize, ToSchema)]
pub(crate) struct ThrowTold {
    schema: u8,
    lever: LeverTold,
}

impl PanelTold {
    /// What has changed since this change; everything when there is none to go on from.
    pub(crate) fn since(railroad: &Railroad, snapshot: &Snapshot, since: Option<u64>, sheet: &str) -> Self {
        let news = snapshot.levers.iter().filter(|lever| since.is_none_or(|since| lever.changed > since));
        let links = snapshot.links.iter();
        let links = links.map(|(link, in_touch)| LinkTold {
            link: link.clone(),
            in_touch: *in_touch,
            says: snapshot.link_troubles.get(link).cloned(),
        });
        Self {
            schema: 1,
            id: snapshot.id(),
            whole: since.is_none(),
            sheet: sheet.to_owned(),
            simulated: railroad.is_simulated(),
            trouble: snapshot.trouble.clone(),
            levers: news.map(LeverTold::from).collect(),
            routes: snapshot.routes.iter().map(|route| RouteTold::of(railroad, route)).collect(),
            stopped: snapshot.stopped.as_ref().map(|stop| StopTold {
                by: stop.by.to_string(),
                since_ms: stop.since.0,
                says: stop_words(stop),
            }),
            last_throw: snapshot.last_throw.map(|(lever, back_to)| LastThrowTold {
                lever,
                back_to: back_to.map(network::Position::word),
                says: last_throw_words(lever, back_to),
            }),
            links: links.collect(),
            commissioning: snapshot.trial_change,
            journal: JournalTold { rows: snapshot.rows },
        }
    }
}

impl From<&LeverNow> for LeverTold {
    fn from(lever: &LeverNow) -> Self {
        let (hint, faults) = hint(lever).unzip();
        let machines = lever.machines.iter().map(|(machine, sight)| MachineTold {
            machine: machine.clone(),
            position: position(*sight),
            state: look(*sight),
        });
        Self {
            number: lever.number,
            id: lever.id.clone(),
            name: lever.name.clone(),
            position: position(lever.sight),
            commanded: lever.commanded.map(network::Position::word),
            state: look(lever.sight),
            says: words(lever),
            hint,
            faults,
            next: lever.next().word(),
            lock: lever
                .lock
                .as_ref()
                .map(|lock| LockTold { note: lock.note.to_string(), by: lock.by.to_string() }),
            route: lever.route.clone(),
            machines: machines.collect(),
        }
    }
}

impl RouteTold {
    pub(crate) fn of(railroad: &Railroad, now: &RouteNow) -> Self {
        let plan = railroad.plan();
        let (network, route) = (&plan.network, plan.routes.get(now.route.index()));
        let tracks = route.map_or(&[][..], |route| &route.tracks);
        let needs = route.map_or(&[][..], |route| &route.needs);
        let passes = route.map_or(&[][..], |route| &route.passes);
        let joint = |pass: &network::Pass| {
            let joint = network.joint(pass.joint);
            let curved =
                joint.moves.get(pass.move_index as usize).map(|way| way.shape) == Some(MoveShape::Diverging);
            (joint.id.clone(), if curved { "curved" } else { "straight" })
        };
        let machine = |&(id, position): &(network::MachineId, network::Position)| {
            (network.machine(id).name.clone(), position.word())
        };
        Self {
            route: now.id.clone(),
            state: route_look(now.sight),
            says: now.says.clone(),
            hold: !now.once,
            by: now.by.clone(),
            since_ms: now.since.0,
            tracks: tracks.iter().map(|&track| network.track(track).name.clone()).collect(),
            machines: needs.iter().map(machine).collect(),
            joints: passes.iter().map(joint).collect(),
        }
    }
}

/// That everything is stopped, and by whom.
pub(crate) fn stop_words(stop: &live::Stop) -> String {
    if stop.by.is_empty() {
        "Everything is stopped: trains were asked to stop, and no lever is thrown.".to_owned()
    } else {
        format!("Everything was stopped by {}: trains were asked to stop, and no lever is thrown.", stop.by)
    }
}

/// What would be undone.
pub(crate) fn last_throw_words(lever: u16, back_to: Option<network::Position>) -> String {
    match back_to {
        Some(position) => format!("Last thrown: lever {lever}. It was {} before.", position.word()),
        None => format!("Last thrown: lever {lever}. Where it stood before is not known."),
    }
}

impl From<&LeverNow> for ThrowTold {
    fn from(lever: &LeverNow) -> Self {
        Self { schema: 1, lever: lever.into() }
    }
}

fn position(sight: Sight) -> Option<&'static str> {
    match sight {
        Sight::At(position) => Some(position.word()),
        Sight::NotKnown
        | Sight::Waiting(_)
        | Sight::Moving(_)
        | Sight::Sent(_)
        | Sight::Overdue(_)
        | Sight::Apart => None,
    }
}
