//! Stops that hang together by rail while no chain of routes leads from some of them to the others.
//!
//! A train may run route after route and turn back at each stop, so what counts is whether routes join all the stops, one
//! to the next. A stop on no route at all has a finding of its own.

use network::{Network, TrackId};
use notice::{Diagnostic, code};
use plan::model::Plan;
use std::collections::BTreeMap;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    if crate::routes_are_partial(plan) {
        return Vec::new();
    }
    let mut by_route = Groups::new(network.tracks.len());
    for route in &plan.routes {
        by_route.join(route.from(), route.to());
    }
    let mut by_rail = joined_by_rail(network);
    // For each stretch of railroad, its groups of stops that routes join, in the order of their first stops.
    let mut railroads: BTreeMap<usize, BTreeMap<usize, Vec<TrackId>>> = BTreeMap::new();
    for stop in network.stops() {
        let groups = railroads.entry(by_rail.group(stop)).or_default();
        groups.entry(by_route.group(stop)).or_default().push(stop);
    }
    let mut notes = Vec::new();
    for groups in railroads.values() {
        let groups: Vec<&Vec<TrackId>> = groups.values().filter(|stops| stops.len() > 1).collect();
        // Of groups of one size the first is taken as the one that the others are apart from.
        let Some(largest) = groups.iter().rev().max_by_key(|stops| stops.len()) else { continue };
        for stops in groups.iter().filter(|stops| stops[0] != largest[0]) {
            let names: Vec<String> = stops.iter().take(3).map(|&stop| tick(network, stop)).collect();
            let more = if stops.len() > 3 { format!(" and {} more", stops.len() - 3) } else { String::new() };
            let message = format!(
                "no route, nor one route after another, leads from {}{more} to {}",
                names.join(", "),
                tick(network, largest[0])
            );
            notes.push(
                Diagnostic::warning(code::STOPS_NO_ROUTE, network.track(stops[0]).span, message)
                    .help(
                        "a train may not turn back between stops, nor run over one turnout twice: make a track between \
                         them a stop (`stop = true`)",
                    )
                    .related(network.track(largest[0]).span, "the other stop"),
            );
        }
    }
    notes
}

fn tick(network: &Network, track: TrackId) -> String {
    format!("`{}`", network.track(track).name)
}

/// Tracks that some move joins, however a train would have to turn back to use several.
fn joined_by_rail(network: &Network) -> Groups {
    let mut groups = Groups::new(network.tracks.len());
    for joint in &network.joints {
        for way in &joint.moves {
            let [a, b] = way.ports.map(|port| joint.tracks[usize::from(port)]);
            groups.join(a, b);
        }
    }
    groups
}

/// Tracks in groups; a group is named by the index of its first track.
struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn group(&mut self, track: TrackId) -> usize {
        let mut index = track.index();
        while self.0[index] != index {
            self.0[index] = self.0[self.0[index]];
            index = self.0[index];
        }
        index
    }

    fn join(&mut self, a: TrackId, b: TrackId) {
        let (a, b) = (self.group(a), self.group(b));
        self.0[a.max(b)] = a.min(b);
    }
}
