//! An address that the description says something else uses.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    for claim in crate::claims(plan).into_iter().filter(|claim| claim.strip.is_none()) {
        let address = claim.address.number();
        let taken = plan.network.described.system.taken.iter();
        for range in taken.filter(|range| (range.value.0..=range.value.1).contains(&address)) {
            let message = format!("`{}` is at address {address}, which is taken", claim.id);
            notes.push(
                Diagnostic::error(code::ADDRESS_TAKEN, claim.span, message)
                    .help("write another address, or take it out of `taken`")
                    .related(range.span, "taken here, by something else"),
            );
        }
    }
    notes
}
