//! A route that needs the machines of one lever in both positions, so that it can never be set.

use network::{JointKind, LeverId, Position};
use notice::{Diagnostic, code};
use plan::model::Plan;
use std::collections::BTreeMap;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let mut clashes: BTreeMap<LeverId, Vec<String>> = BTreeMap::new();
    for route in &plan.routes {
        let mut wanted: BTreeMap<LeverId, Position> = BTreeMap::new();
        for &(machine, position) in &route.needs {
            // Both machines of a three-way under one lever is another mistake, reported as such.
            if network.joint(network.machine(machine).joint).kind == JointKind::Threeway {
                continue;
            }
            let lever = network.machine(machine).lever;
            if *wanted.entry(lever).or_insert(position) != position {
                let from = &network.track(route.from()).name;
                clashes
                    .entry(lever)
                    .or_default()
                    .push(format!("`{from}` to `{}`", network.track(route.to()).name));
                break;
            }
        }
    }
    clashes
        .into_iter()
        .map(|(lever, routes)| {
            let lever = network.lever(lever);
            let others = match routes.len() - 1 {
                0 => String::new(),
                count => format!(" and {count} more"),
            };
            let message = format!(
                "the route {}{others} can never be set: it needs `{}` both normal and reverse",
                routes[0], lever.id
            );
            Diagnostic::warning(code::ROUTE_LEVER_CLASH, lever.span, message)
                .help("give its machines levers of their own, or swap which leg is normal with `normal = \"diverging\"`")
        })
        .collect()
}
