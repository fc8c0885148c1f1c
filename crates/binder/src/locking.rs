//! The locking table: for each route the levers it needs and the routes it excludes, for each lever the routes that need it
//! either way, and the most routes that can be set at once.
//!
//! A route goes by a number: its place in the plan, which is its place in the list that the program prints. Routes that
//! exclude each other come in two kinds: those that need a lever in different positions cannot be set at once, whoever
//! tries; those that only share track can, and somebody has to keep them apart.

use std::collections::{BTreeMap, BTreeSet};

use network::{LeverId, Position, Route, lock};
use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;
use crate::routes::printed;
use crate::runs::{runs, runs_or_all_but};

/// The most routes of a locking table; more would fill a book with lists of numbers.
pub const LOCKED_ROUTES_PRINTED_MAX: usize = 500;

/// The table: `(routes, levers, largest, pairs, incompatible, conflicting, left_out)`.
pub(crate) fn locking(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    let printed = printed(&plan.routes, LOCKED_ROUTES_PRINTED_MAX);
    let locking = lock(&plan.network, printed);
    let mut by_lever = vec![Vec::new(); printed.len()];
    let mut by_track = vec![Vec::new(); printed.len()];
    for (a, b, incompatible) in locking.pairs() {
        let kind = if incompatible { &mut by_lever } else { &mut by_track };
        kind[a].push(b + 1);
        kind[b].push(a + 1);
    }
    let rows = printed.iter().enumerate().map(|(index, route)| {
        let others: Vec<usize> = (1..=printed.len()).filter(|&number| number != index + 1).collect();
        let excluded = |kind: &mut [Vec<usize>]| {
            kind[index].sort_unstable();
            runs_or_all_but(&kind[index], &others)
        };
        let (by_lever, by_track) = (excluded(&mut by_lever), excluded(&mut by_track));
        row(ledger, index, route, by_lever, by_track).into_value()
    });
    dict! {
        "routes" => rows.collect::<Array>(),
        "levers" => levers(ledger, printed),
        "largest" => dict! {
            "routes" => locking.largest.routes.iter().map(|&index| named(ledger, index).into_value()).collect::<Array>(),
            "bound" => locking.largest.bound,
            "proven" => locking.largest.proven(),
        },
        "pairs" => printed.len() * printed.len().saturating_sub(1) / 2,
        "incompatible" => locking.incompatible_count(),
        "conflicting" => locking.conflicting_count(),
        "left_out" => plan.routes.len() - printed.len(),
    }
}

/// A route by its number and its two stops: `(number, from, to)`.
pub(crate) fn named(ledger: &Ledger<'_>, index: usize) -> Dict {
    let route = &ledger.plan.routes[index];
    dict! {
        "number" => index + 1,
        "from" => ledger.track(route.from()),
        "to" => ledger.track(route.to()),
    }
}

/// A route: `(route, normal, reverse, by_lever, by_track)`.
fn row(ledger: &Ledger<'_>, index: usize, route: &Route, by_lever: String, by_track: String) -> Dict {
    let levers = levers_of(ledger, route);
    let numbers = |wanted: Position| {
        let levers = levers.iter().filter(|(_, position)| *position == wanted);
        levers.map(|&(lever, _)| ledger.lever(lever).into_value()).collect::<Array>()
    };
    dict! {
        "route" => named(ledger, index),
        "normal" => numbers(Position::Normal),
        "reverse" => numbers(Position::Reverse),
        "by_lever" => by_lever,
        "by_track" => by_track,
    }
}

/// The levers that a route needs, by their numbers.
fn levers_of(ledger: &Ledger<'_>, route: &Route) -> Vec<(LeverId, Position)> {
    let machine_lever = |&(machine, position)| (ledger.plan.network.machine(machine).lever, position);
    let levers: BTreeSet<(LeverId, Position)> = route.needs.iter().map(machine_lever).collect();
    let mut levers: Vec<_> = levers.into_iter().collect();
    levers.sort_by_key(|&(lever, position)| {
        (ledger.planned(lever).map(|planned| planned.number.value), lever, position)
    });
    levers
}

/// Every lever in the order of the numbers: `(lever, normal, reverse)`, the routes that need it so.
fn levers(ledger: &Ledger<'_>, routes: &[Route]) -> Array {
    let mut users: BTreeMap<(LeverId, Position), Vec<usize>> = BTreeMap::new();
    for (index, route) in routes.iter().enumerate() {
        for need in levers_of(ledger, route) {
            users.entry(need).or_default().push(index + 1);
        }
    }
    let of = |lever: LeverId, position: Position| {
        runs(users.get(&(lever, position)).into_iter().flatten().copied())
    };
    let rows = ledger.plan.levers.iter().map(|planned| {
        let lever = planned.lever;
        dict! {
            "lever" => ledger.lever(lever),
            "normal" => of(lever, Position::Normal),
            "reverse" => of(lever, Position::Reverse),
        }
        .into_value()
    });
    rows.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_routes_than_are_printed_are_counted() {
        let mut plan = testkit::plan_of(include_str!("../../../demo/first-module/layout.toml"));
        let one = plan.routes.clone();
        while plan.routes.len() <= LOCKED_ROUTES_PRINTED_MAX {
            plan.routes.extend(one.clone());
        }
        let table = locking(&Ledger::of(&plan));
        let left_out = (plan.routes.len() - LOCKED_ROUTES_PRINTED_MAX).into_value();
        assert_eq!(table.get("left_out"), Ok(&left_out));
        let rows = table.get("routes").unwrap().clone().cast::<Array>().unwrap();
        assert_eq!(rows.len(), LOCKED_ROUTES_PRINTED_MAX);
    }
}
