//! A stop that no train can leave or reach.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    if crate::routes_are_partial(plan) {
        return Vec::new();
    }
    let mut reached = vec![false; network.tracks.len()];
    for route in &plan.routes {
        reached[route.from().index()] = true;
        reached[route.to().index()] = true;
    }
    network
        .stops()
        .filter(|stop| !reached[stop.index()])
        .map(|stop| {
            let track = network.track(stop);
            let message = format!("no route leads from `{}` to another stop", track.name);
            Diagnostic::warning(code::STOP_ON_NO_ROUTE, track.span, message)
                .help("check what is at its ends; a train may not turn back on the way, so a stop in between may be missing")
        })
        .collect()
}
