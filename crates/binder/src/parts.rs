//! The parts needed: what, how many, and why.

use typst::foundations::{Array, IntoValue, dict};

use crate::ledger::Ledger;

/// Every part in the order of the plan: each `(what, count, reasons)`.
pub(crate) fn parts(ledger: &Ledger<'_>) -> Array {
    let parts = ledger.plan.parts.iter();
    parts
        .map(|part| {
            dict! {
                "what" => ledger.words(&part.what),
                "count" => part.count.value,
                "reasons" => ledger.reasons(part.count.because()),
            }
            .into_value()
        })
        .collect()
}
