//! What every table, sheet and screen calls a route: its two stops, and a count where several routes join them.

use std::collections::BTreeMap;

use crate::model::Plan;

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
