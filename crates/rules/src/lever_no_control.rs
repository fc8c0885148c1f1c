//! A lever that no panel has: nobody can throw it.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let idle: Vec<_> = plan.levers.iter().filter(|lever| lever.control.is_none()).collect();
    let Some(first) = idle.first() else { return Vec::new() };
    if plan.strips.is_empty() {
        let message = "no panel has a control for any lever";
        let span = network.lever(first.lever).span;
        return vec![
            Diagnostic::warning(code::LEVER_NO_CONTROL, span, message)
                .help("describe a strip:\n[panel.west]\nkind = \"strip\""),
        ];
    }
    idle.iter()
        .map(|lever| {
            let lever = network.lever(lever.lever);
            let message = format!("no panel has a control for `{}`", lever.id);
            Diagnostic::warning(code::LEVER_NO_CONTROL, lever.span, message)
                .help(format!("add \"{}\" to the `controls` of a panel", lever.id))
        })
        .collect()
}
