//! `show routes`.

use crate::{SCHEMA, because};
use network::{LeverId, Position, Route, TrackId};
use notice::Decided;
use plan::burst::throw_order;
use plan::model::{NamedRoute, Plan};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// `show routes`: every path between two stops.
#[derive(Debug, Serialize)]
pub struct RoutesAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// The tracks where routes begin and end.
    pub stops: Vec<String>,
    /// One entry for a path, whichever way it is driven.
    pub routes: Vec<RouteRow>,
    /// False when the list ends before all routes are in it.
    pub complete: bool,
}

/// One route.
#[derive(Debug, Serialize)]
pub struct RouteRow {
    /// The two stops, and a count in brackets where there are several ways.
    pub id: String,
    /// One stop.
    pub from: String,
    /// The other.
    pub to: String,
    /// All its tracks.
    pub tracks: Vec<String>,
    /// The levers it needs, by number.
    pub levers: Vec<LeverPosition>,
    /// The machines it needs.
    pub machines: Vec<MachinePosition>,
    /// How long it is; null where a length is missing.
    pub length_m: Option<f64>,
    /// The name the user gives it.
    pub name: Option<String>,
    /// Whether it is the one to set of all between its stops.
    pub preferred: bool,
    /// Why, where there are others.
    pub because: Vec<String>,
    /// The levers to throw, those in one list at once and each list after the one before it.
    pub throws: Vec<Vec<u16>>,
}

/// A lever and how it has to stand.
#[derive(Debug, Serialize)]
pub struct LeverPosition {
    /// The number on the panel.
    pub number: u16,
    /// `normal` or `reverse`.
    pub position: &'static str,
}

/// A machine and how it has to stand.
#[derive(Debug, Serialize)]
pub struct MachinePosition {
    /// The machine.
    pub machine: String,
    /// `normal` or `reverse`.
    pub position: &'static str,
}

/// Answers `show routes`.
pub fn routes(plan: &Plan) -> RoutesAnswer {
    let network = &plan.network;
    let numbers = plan.numbers();
    let chosen = Chosen::new(plan);
    RoutesAnswer {
        schema: SCHEMA,
        stops: network.stops().map(|stop| network.track(stop).name.clone()).collect(),
        routes: plan
            .routes
            .iter()
            .zip(plan::route_ids(plan))
            .enumerate()
            .map(|(index, (route, id))| row(plan, &numbers, route, id, &chosen, index))
            .collect(),
        complete: plan.routes_complete,
    }
}

/// Which routes are named, and which are preferred.
struct Chosen<'a> {
    named: BTreeMap<usize, &'a NamedRoute>,
    preferred: BTreeMap<usize, &'a Decided<usize>>,
    /// Stops with several routes between them.
    several: BTreeSet<(TrackId, TrackId)>,
}

impl<'a> Chosen<'a> {
    fn new(plan: &'a Plan) -> Self {
        let ends = |index: usize| (plan.routes[index].from(), plan.routes[index].to());
        Self {
            named: plan.named.iter().rev().map(|named| (named.route.value, named)).collect(),
            preferred: plan.preferred.iter().map(|decided| (decided.value, decided)).collect(),
            several: plan.preferred.iter().map(|decided| ends(decided.value)).collect(),
        }
    }

    fn is_preferred(&self, index: usize, route: &Route) -> bool {
        self.preferred.contains_key(&index) || !self.several.contains(&(route.from(), route.to()))
    }
}

fn row(
    plan: &Plan,
    numbers: &BTreeMap<LeverId, u16>,
    route: &Route,
    id: String,
    chosen: &Chosen<'_>,
    index: usize,
) -> RouteRow {
    let network = &plan.network;
    let mut levers: BTreeMap<u16, Position> = BTreeMap::new();
    for &(machine, position) in &route.needs {
        if let Some(number) = numbers.get(&network.machine(machine).lever) {
            levers.insert(*number, position);
        }
    }
    RouteRow {
        id,
        from: network.track(route.from()).name.clone(),
        to: network.track(route.to()).name.clone(),
        tracks: route.tracks.iter().map(|track| network.track(*track).name.clone()).collect(),
        levers: levers
            .into_iter()
            .map(|(number, position)| LeverPosition { number, position: position.word() })
            .collect(),
        machines: route
            .needs
            .iter()
            .map(|(machine, position)| MachinePosition {
                machine: network.machine(*machine).name.clone(),
                position: position.word(),
            })
            .collect(),
        length_m: route
            .tracks
            .iter()
            .map(|track| network.track(*track).length)
            .sum::<Option<measure::Length>>()
            .map(|length| to_micrometres(length.value())),
        name: chosen.named.get(&index).map(|named| named.name.clone()),
        preferred: chosen.is_preferred(index, route),
        because: chosen.preferred.get(&index).map_or_else(Vec::new, |decided| because(decided)),
        throws: throw_order(plan, numbers, route),
    }
}

/// Metres, rounded to a millionth, so that a sum of feet prints without a tail of digits.
fn to_micrometres(metres: f64) -> f64 {
    (metres * 1e6).round() / 1e6
}
