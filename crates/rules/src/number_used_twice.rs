//! Two levers, signals or lights with one number: nobody can tell which is meant.

use notice::{Diagnostic, Span, code};
use plan::model::{Plan, PlannedLever};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let levers = plan
        .levers
        .iter()
        .map(|lever| (lever.number.value, span(plan, lever), plan.network.lever(lever.lever).id.as_str()));
    let others = plan.accessories.iter().map(|planned| {
        let accessory = plan.network.accessory(planned.accessory);
        let span = accessory.pins.number.map_or(accessory.span, |pin| pin.span);
        (planned.number.value, span, accessory.id.as_str())
    });
    let mut all: Vec<(u16, Span, &str)> = levers.chain(others).collect();
    all.sort_by_key(|(number, span, _)| (*number, *span));
    all.windows(2)
        .filter_map(|pair| match pair {
            [(number, first_span, first), (other, span, second)] if number == other => {
                let message = format!("`{first}` and `{second}` both have number {number}");
                Some(
                    Diagnostic::error(code::NUMBER_USED_TWICE, *span, message)
                        .help("pin another number for one of them, or leave one pin out")
                        .related(*first_span, format!("`{first}` has it here")),
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
