//! A lever that no route needs: nothing that a train does depends on it.
//!
//! A lever all of whose tracks are out of every stop's reach is not counted: that they are has been said.

use crate::track_unreachable::reach;
use network::Lever;
use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    if crate::routes_are_partial(plan) || plan.routes.is_empty() {
        return Vec::new();
    }
    let mut needed = vec![false; network.levers.len()];
    for (machine, _) in plan.routes.iter().flat_map(|route| &route.needs) {
        needed[network.machine(*machine).lever.index()] = true;
    }
    let reached = reach(network);
    let in_reach = |lever: &Lever| {
        let joints = lever.machines.iter().map(|&machine| network.joint(network.machine(machine).joint));
        joints.flat_map(|joint| &joint.tracks).any(|track| reached[track.index()])
    };
    let idle = network.levers.iter().zip(needed).filter(|(lever, needed)| !needed && in_reach(lever));
    idle.map(|(lever, _)| {
        let message = format!("no route needs `{}`", lever.id);
        Diagnostic::warning(code::LEVER_ON_NO_ROUTE, lever.span, message).help(
            "check where its legs lead, and whether a track beyond them should be a stop: `stop = true` in its [track.*]",
        )
    })
    .collect()
}
