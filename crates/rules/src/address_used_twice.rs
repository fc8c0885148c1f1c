//! Two levers, signals or lights at one address: throwing one throws the other.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut claims = crate::claims(plan);
    claims.sort_by_key(|claim| (claim.address, claim.span));
    claims
        .windows(2)
        .filter_map(|pair| match pair {
            [first, second] if first.address == second.address => {
                let message = format!(
                    "`{}` and `{}` are both at address {}",
                    first.id,
                    second.id,
                    first.address.number()
                );
                let help = if first.is_lever && second.is_lever {
                    "write another address for one of them, or put both under one [lever.*] if they should move together"
                } else {
                    "write another address for one of them, or leave one of the pins out"
                };
                let note = Diagnostic::error(code::ADDRESS_USED_TWICE, second.span, message)
                    .help(help)
                    .related(first.span, format!("`{}` is here", first.id));
                let strips = pair.iter().filter_map(|claim| plan.strips.get(claim.strip?));
                Some(strips.fold(note, |note, strip| crate::beside_start(plan, strip, note)))
            }
            _ => None,
        })
        .collect()
}
