//! A machine that every route needs in the same position: one of its legs leads nowhere a train stops.

use network::{MachineId, Position};
use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    if crate::routes_are_partial(plan) {
        return Vec::new();
    }
    let mut seen = vec![[false; 2]; network.machines.len()];
    for (machine, position) in plan.routes.iter().flat_map(|route| &route.needs) {
        seen[machine.index()][usize::from(*position == Position::Reverse)] = true;
    }
    let lonely = seen.iter().enumerate().filter_map(|(index, seen)| match seen {
        [true, false] => Some((MachineId::at(index), Position::Reverse)),
        [false, true] => Some((MachineId::at(index), Position::Normal)),
        _ => None,
    });
    lonely
        .map(|(machine, never)| {
            let machine = network.machine(machine);
            let message = format!("no route needs `{}` {}", machine.name, never.word());
            Diagnostic::warning(code::MACHINE_ONE_POSITION, network.joint(machine.joint).span, message).help(
                "check where that leg leads, and whether a track beyond it should be a stop: `stop = true` in its [track.*]",
            )
        })
        .collect()
}
