//! A crossover whose two ends do not move together.
//!
//! # Source
//! Both ends of a crossover are under one control: common practice, no source.

use network::JointKind;
use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let crossovers = network.joints.iter().filter(|joint| matches!(joint.kind, JointKind::Crossover { .. }));
    crossovers
        .filter_map(|joint| {
            let [a, b] = joint.machines.as_slice() else { return None };
            let (lever_a, lever_b) = (network.machine(*a).lever, network.machine(*b).lever);
            if lever_a == lever_b {
                return None;
            }
            let other = if network.lever(lever_a).span == joint.span { lever_b } else { lever_a };
            let message = format!(
                "`{}` and `{}`, the two ends of crossover `{}`, are moved by different levers",
                network.machine(*a).name,
                network.machine(*b).name,
                joint.id
            );
            Some(
                Diagnostic::error(code::CROSSOVER_APART, network.lever(other).span, message)
                    .help(format!("let the lever move both: moves = [\"{}\"]", joint.id))
                    .related(joint.span, "the crossover"),
            )
        })
        .collect()
}
