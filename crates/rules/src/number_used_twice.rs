//! Two levers with one number: nobody can tell which is meant.

use notice::{Diagnostic, Span, code};
use plan::model::{Plan, PlannedLever};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut levers: Vec<&PlannedLever> = plan.levers.iter().collect();
    levers.sort_by_key(|lever| (lever.number.value, span(plan, lever)));
    let name = |lever: &PlannedLever| &plan.network.lever(lever.lever).id;
    levers
        .windows(2)
        .filter_map(|pair| match pair {
            [first, second] if first.number.value == second.number.value => {
                let message = format!(
                    "`{}` and `{}` both have number {}",
                    name(first),
                    name(second),
                    first.number.value
                );
                Some(
                    Diagnostic::error(code::NUMBER_USED_TWICE, span(plan, second), message)
                        .help("pin another number for one of them, or leave one pin out")
                        .related(span(plan, first), format!("`{}` has it here", name(first))),
                )
            }
            _ => None,
        })
        .collect()
}

fn span(plan: &Plan, lever: &PlannedLever) -> Span {
    let pin = plan.network.pin(lever.lever, |pins| pins.number);
    pin.map_or(plan.network.lever(lever.lever).span, |pin| pin.span)
}
