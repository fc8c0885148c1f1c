//! The decoder list: what each decoder is, where it sits, which addresses it answers and what its outputs drive.

use std::collections::BTreeMap;

use plan::model::{Decoder, PlannedAddress};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// Every decoder in the order of the plan.
pub(crate) fn decoders(ledger: &Ledger<'_>) -> Array {
    ledger
        .plan
        .decoders
        .iter()
        .enumerate()
        .map(|(index, decoder)| {
            let used = ledger.plan.addresses.iter().filter(|planned| planned.decoder == Some(index));
            card(ledger, decoder, &used.map(|planned| (planned.address.number(), planned)).collect())
                .into_value()
        })
        .collect()
}

/// One decoder: `(id, part, at, first, last, used, outputs)`.
fn card(ledger: &Ledger<'_>, decoder: &Decoder, used: &BTreeMap<u16, &PlannedAddress>) -> Dict {
    let first = u32::from(decoder.first.value.number());
    let outputs: Array = (1..=decoder.outputs)
        .map(|output| {
            let address = first + u32::from(output) - 1;
            let planned = u16::try_from(address).ok().and_then(|address| used.get(&address));
            dict! {
                "output" => output,
                "address" => address,
                "lever" => planned.map_or(Value::None, |planned| ledger.lever(planned.lever).into_value()),
                "machines" => planned.map(|planned| ledger.machines(&planned.machines)).unwrap_or_default(),
            }
            .into_value()
        })
        .collect();
    dict! {
        "id" => ledger.words(&decoder.id),
        "part" => ledger.words(&decoder.part),
        "at" => ledger.words_if(decoder.at.as_ref().map(|at| at.value.as_str())),
        "first" => first,
        "last" => first + u32::from(decoder.outputs.saturating_sub(1)),
        "used" => used.len(),
        "outputs" => outputs,
    }
}
