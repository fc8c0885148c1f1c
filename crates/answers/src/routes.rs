//! `show routes`.

use crate::SCHEMA;
use network::{LeverId, Position, Route};
use plan::model::Plan;
use serde::Serialize;
use std::collections::BTreeMap;

/// `show routes`: every path between two stops.
#[derive(Debug, Serialize)]
pub struct RoutesAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// The tracks where routes begin and end.
    pub stops: Vec<String>,
    /// One entry for a path, whichever way it is driven.
    pub routes: Vec<RouteRow>,
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

/// The ids of all routes of a plan, in the order of [`Plan::routes`].
pub fn route_ids(plan: &Plan) -> Vec<String> {
    let name = |track| plan.network.track(track).name.as_str();
    let mut totals: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for route in &plan.routes {
        *totals.entry((name(route.from()), name(route.to()))).or_default() += 1;
    }
    let mut seen: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    plan.routes
        .iter()
        .map(|route| {
            let stops = (name(route.from()), name(route.to()));
            let count = seen.entry(stops).or_default();
            *count += 1;
            match totals.get(&stops) {
                Some(1) => format!("{} – {}", stops.0, stops.1),
                _ => format!("{} – {} ({count})", stops.0, stops.1),
            }
        })
        .collect()
}

/// Answers `show routes`.
pub fn routes(plan: &Plan) -> RoutesAnswer {
    let network = &plan.network;
    let numbers = plan.numbers();
    RoutesAnswer {
        schema: SCHEMA,
        stops: network.stops().map(|stop| network.track(stop).name.clone()).collect(),
        routes: plan
            .routes
            .iter()
            .zip(route_ids(plan))
            .map(|(route, id)| row(plan, &numbers, route, id))
            .collect(),
    }
}

fn row(plan: &Plan, numbers: &BTreeMap<LeverId, u16>, route: &Route, id: String) -> RouteRow {
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
    }
}

/// Metres, rounded to a millionth, so that a sum of feet prints without a tail of digits.
fn to_micrometres(metres: f64) -> f64 {
    (metres * 1e6).round() / 1e6
}
