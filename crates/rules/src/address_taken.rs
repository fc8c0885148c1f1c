//! An address that the description says something else uses.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    for lever in crate::placed(plan).filter(|lever| lever.control.is_none()) {
        let address = lever.address.value.number();
        let taken = plan.network.described.system.taken.iter();
        for range in taken.filter(|range| (range.value.0..=range.value.1).contains(&address)) {
            let message =
                format!("`{}` is at address {address}, which is taken", plan.network.lever(lever.lever).id);
            notes.push(
                Diagnostic::error(code::ADDRESS_TAKEN, crate::address_span(plan, lever), message)
                    .help("write another address, or take it out of `taken`")
                    .related(range.span, "taken here, by something else"),
            );
        }
    }
    notes
}
