//! The address map: every board of four that is in use, and what is at each of its outputs.
//!
//! An output in use carries its lever and machines, or its signal or light; one that the description gives to something else says so; every
//! other one is free.

use std::collections::{BTreeMap, BTreeSet};

use network::AccessoryId;
use packet::UserAddress;
use plan::model::PlannedAddress;
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// Every board in use, with the scheme that the system counts in: `(scheme, boards)`.
pub(crate) fn boards(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    let used: BTreeMap<u16, &PlannedAddress> =
        plan.addresses.iter().map(|planned| (planned.address.number(), planned)).collect();
    let others: BTreeMap<u16, AccessoryId> = plan
        .accessories
        .iter()
        .filter_map(|planned| Some((planned.address.as_ref()?.value.number(), planned.accessory)))
        .collect();
    let in_use = used.keys().chain(others.keys()).filter_map(|address| UserAddress::new(*address));
    let firsts: BTreeSet<u16> = in_use.map(|address| address.number() + 1 - address.output()).collect();
    let boards: Array = firsts
        .into_iter()
        .filter_map(UserAddress::new)
        .map(|first| {
            let outputs: Array = (first.number()..first.number() + 4)
                .filter_map(UserAddress::new)
                .map(|address| {
                    let number = address.number();
                    let (lever, other) = (used.get(&number).copied(), others.get(&number).copied());
                    output(ledger, address, lever, other).into_value()
                })
                .collect();
            dict! { "board" => first.board(), "outputs" => outputs }.into_value()
        })
        .collect();
    dict! { "scheme" => plan.scheme().word(), "boards" => boards }
}

/// One output: `(address, output, use, lever, machines, decoder)`; use is `lever`, `other` (a signal or light,
/// which then stands as the lever), `taken` or `free`.
fn output(
    ledger: &Ledger<'_>,
    address: UserAddress,
    planned: Option<&PlannedAddress>,
    other: Option<AccessoryId>,
) -> Dict {
    let plan = ledger.plan;
    let taken = plan.network.described.system.taken.iter().any(|range| {
        let (first, last) = range.value;
        (first..=last).contains(&address.number())
    });
    let purpose = match (planned, other, taken) {
        (Some(_), _, _) => "lever",
        (None, Some(_), _) => "other",
        (None, None, true) => "taken",
        (None, None, false) => "free",
    };
    let lever = planned.map(|planned| ledger.lever(planned.lever));
    let lever = lever.or_else(|| other.map(|accessory| ledger.accessory(accessory)));
    let drives = planned.and_then(|planned| planned.decoder);
    let drives = drives.or_else(|| plan.accessory(other?)?.decoder);
    let decoder = drives.and_then(|index| plan.decoders.get(index));
    dict! {
        "address" => address.number(),
        "output" => address.output(),
        "use" => purpose,
        "lever" => lever.map_or(Value::None, IntoValue::into_value),
        "machines" => planned.map(|planned| ledger.machines(&planned.machines)).unwrap_or_default(),
        "decoder" => decoder.map(|decoder| ledger.words(&decoder.id)),
    }
}
