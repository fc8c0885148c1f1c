//! One lever that moves both machines of a three-way turnout: it would set them both reverse, which no train may run over.

use network::JointKind;
use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let threeways = network.joints.iter().filter(|joint| joint.kind == JointKind::Threeway);
    threeways
        .filter_map(|joint| {
            let [left, right] = joint.machines.as_slice() else { return None };
            let lever = network.machine(*left).lever;
            (lever == network.machine(*right).lever).then(|| {
                let message = format!(
                    "`{}` would set both machines of three-way `{}` reverse",
                    network.lever(lever).id,
                    joint.id
                );
                Diagnostic::error(code::THREEWAY_BOTH, network.lever(lever).span, message)
                    .help("give its left and right machines a lever each")
                    .related(joint.span, "the three-way turnout")
            })
        })
        .collect()
}
