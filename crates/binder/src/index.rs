//! The index: every lever, machine, track, address and place, in the order people look things up.
//!
//! Only the entries are made here. On which pages they stand, the templates find out when the pages are set: every
//! sheet leaves a mark `(kind, key)` where it speaks of something, and an entry gathers the marks with its key.

use std::collections::BTreeSet;

use notice::natural;
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// The index, group by group: each `(title, kind, entries)`, each entry `(key, text)`.
pub(crate) fn index(ledger: &Ledger<'_>) -> Array {
    let plan = ledger.plan;
    let network = &plan.network;
    let levers = plan.levers.iter().enumerate().map(|(row, planned)| {
        let lever = ledger.lever(planned.lever);
        dict! { "key" => row, "lever" => lever }
    });
    let named = |names: Vec<Value>| {
        names.into_iter().map(|name| dict! { "key" => name.clone(), "text" => name }).collect()
    };
    let machines = network.machines.iter().map(|machine| ledger.words(&machine.name)).collect();
    let tracks = network.tracks.iter().map(|track| ledger.words(&track.name)).collect();
    let places = places(ledger).into_iter().map(|place| ledger.words(place)).collect();
    let others = plan.accessories.iter().filter_map(|planned| planned.address.as_ref());
    let others = others.map(|address| address.value.number());
    let addresses: BTreeSet<u16> =
        plan.addresses.iter().map(|planned| planned.address.number()).chain(others).collect();
    let addresses = addresses.into_iter().map(IntoValue::into_value).collect();
    [
        group("Levers", "lever", levers.collect()),
        group("Machines", "machine", named(machines)),
        group("Tracks", "track", named(tracks)),
        group("Places", "place", named(places)),
        group("Addresses", "address", named(addresses)),
    ]
    .into_iter()
    .map(IntoValue::into_value)
    .collect()
}

fn group(title: &str, kind: &str, entries: Vec<Dict>) -> Dict {
    let entries: Array = entries.into_iter().map(IntoValue::into_value).collect();
    dict! { "title" => title, "kind" => kind, "entries" => entries }
}

/// The names of all places that a sheet speaks of, in natural order.
fn places<'a>(ledger: &Ledger<'a>) -> Vec<&'a str> {
    let plan = ledger.plan;
    let joints = plan.network.joints.iter().filter(|joint| !joint.machines.is_empty());
    let at_joints = joints.filter_map(|joint| joint.at.as_deref());
    let at_decoders =
        plan.decoders.iter().filter_map(|decoder| decoder.at.as_ref()).map(|at| at.value.as_str());
    let at_strips = plan.strips.iter().filter_map(|strip| strip.at.as_deref());
    let names: BTreeSet<&str> = at_joints.chain(at_decoders).chain(at_strips).collect();
    let mut names: Vec<&str> = names.into_iter().collect();
    names.sort_by(|a, b| natural(a, b));
    names
}
