//! Two levers at one address: throwing one throws the other.

use notice::{Diagnostic, code};
use plan::model::{Plan, PlannedLever};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut levers: Vec<&PlannedLever> = crate::placed(plan).collect();
    levers.sort_by_key(|lever| (lever.address.value, crate::address_span(plan, lever), lever.lever));
    let name = |lever: &PlannedLever| &plan.network.lever(lever.lever).id;
    levers
        .windows(2)
        .filter_map(|pair| match pair {
            [first, second] if first.address.value == second.address.value => {
                let message = format!(
                    "`{}` and `{}` are both at address {}",
                    name(first),
                    name(second),
                    first.address.value.number()
                );
                let help = "write another address for one of them, or put both under one [lever.*] if they should move together";
                let note = Diagnostic::error(code::ADDRESS_USED_TWICE, crate::address_span(plan, second), message)
                    .help(help)
                    .related(crate::address_span(plan, first), format!("`{}` is here", name(first)));
                let strips = pair.iter().filter_map(|lever| plan.strips.get(lever.control?.strip));
                Some(strips.fold(note, |note, strip| crate::beside_start(plan, strip, note)))
            }
            _ => None,
        })
        .collect()
}
