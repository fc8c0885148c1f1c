//! A lever that fires more coil machines at once than the supply bears.

use notice::{Diagnostic, code};
use plan::burst::coil_count;
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let supply = &network.described.defaults.supply.value;
    let said = network.described.parts.get(supply).is_some_and(|part| part.gives.is_some());
    if !said {
        return Vec::new();
    }
    let most = plan.coils_at_once.value;
    plan.levers
        .iter()
        .filter_map(|planned| {
            let coils = coil_count(network, planned.lever);
            let lever = network.lever(planned.lever);
            (coils > usize::from(most)).then(|| {
                let message = format!(
                    "lever `{}` fires {coils} coil machines at once, and `{supply}` bears {most}",
                    lever.id
                );
                Diagnostic::warning(code::COILS_EXCEED_SUPPLY, lever.span, message)
                    .help("give its machines levers of their own, or feed them from a supply that gives more")
            })
        })
        .collect()
}
