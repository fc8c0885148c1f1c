//! The route table: from one stop to another, with each lever's position in the order a train meets it.
//!
//! Routes stand under the stop they start from. A book of more than [`ROUTES_PRINTED_MAX`] routes, or of routes that need
//! more than `ENTRIES_PRINTED_MAX` machines, would be carried in a barrow, so the rest is counted, and said to be left out.

use network::{LeverId, Position, Route};
use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;
use crate::room::rows_printed;

/// The most routes that are printed.
pub const ROUTES_PRINTED_MAX: usize = 1_000;

/// The first routes, at most so many, that a table has room for.
pub(crate) fn printed(routes: &[Route], most: usize) -> &[Route] {
    let count = rows_printed(routes.iter().map(|route| route.needs.len()), most);
    routes.get(..count).unwrap_or(routes)
}

/// The routes by their first stop, and how many are left out: `(groups, left_out)`.
pub(crate) fn routes(ledger: &Ledger<'_>) -> Dict {
    let all = &ledger.plan.routes;
    let printed = printed(all, ROUTES_PRINTED_MAX);
    let numbered: Vec<(usize, &Route)> = (1..).zip(printed).collect();
    let groups: Array = numbered
        .chunk_by(|(_, one), (_, next)| one.from() == next.from())
        .filter_map(|group| {
            let from = ledger.track(group.first()?.1.from());
            // Track ids are in the natural order of the names, which is how a destination is looked up.
            let mut by_destination = group.to_vec();
            by_destination.sort_by_key(|(_, route)| route.to());
            let rows: Array = by_destination
                .into_iter()
                .map(|(number, route)| row(ledger, number, route).into_value())
                .collect();
            Some(dict! { "from" => from, "routes" => rows }.into_value())
        })
        .collect();
    dict! { "groups" => groups, "left_out" => all.len() - printed.len() }
}

/// A route: `(number, to, over, levers)`; the number is its place in the plan.
fn row(ledger: &Ledger<'_>, number: usize, route: &Route) -> Dict {
    let between = route.tracks.get(1..route.tracks.len() - 1).unwrap_or_default();
    let levers: Array = levers_on(ledger, route)
        .into_iter()
        .map(|(lever, position)| {
            dict! { "lever" => ledger.lever(lever), "position" => position.word() }.into_value()
        })
        .collect();
    dict! {
        "number" => number,
        "to" => ledger.track(route.to()),
        "over" => between.iter().map(|&track| ledger.track(track)).collect::<Array>(),
        "levers" => levers,
    }
}

/// The levers of a route in the order a train meets their first machine, each with the position it needs.
pub(crate) fn levers_on(ledger: &Ledger<'_>, route: &Route) -> Vec<(LeverId, Position)> {
    let network = &ledger.plan.network;
    let mut met: Vec<(LeverId, Position)> = Vec::new();
    for (machine, position) in route.passes.iter().flat_map(|&pass| network.met(pass)) {
        let lever = (network.machine(machine).lever, position);
        if !met.contains(&lever) {
            met.push(lever);
        }
    }
    met
}
