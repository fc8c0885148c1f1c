//! The record of a finished plan: everything in the plan as built, everything that is no more as retired. No row of the
//! record before is lost: what it is about is in the new one, or retired there.

use super::wires::wires_built;
use super::{Kept, tracks_of};
use crate::model::Plan;
use description::record::{
    AccessoryBuilt, DecoderBuilt, Entries, Entry, LeverBuilt, MachineBuilt, Record, Retired, StripBuilt,
};
use network::Network;
use std::collections::{BTreeMap, BTreeSet};

/// What to write down when this plan is built, `before` being what was written down so far.
pub fn record_of(plan: &Plan, before: &Record) -> Record {
    let network = &plan.network;
    let kept = Kept::of(network, before);
    let mut record = Record {
        layout: Some(layout(network, before)),
        levers: levers(plan, &kept),
        accessories: accessories(plan, before),
        strips: strips(plan, before),
        decoders: decoders(plan, before),
        machines: machines(plan, &kept),
        wires: wires_built(plan, &kept),
        findings: renamed(&before.findings, network, &kept),
        retired: before.retired.clone(),
        remarks: before.remarks.clone(),
    };
    retire(&mut record, before, &kept);
    record
}

fn layout(network: &Network, before: &Record) -> Entry<String> {
    let name = network.described.layout.name.clone();
    Entry {
        remarks: before.layout.iter().flat_map(|layout| layout.remarks.clone()).collect(),
        ..Entry::new(name)
    }
}

/// A row, with the remarks of the row it goes on.
pub(super) fn entry<T>(value: T, before: Option<&Vec<String>>) -> Entry<T> {
    Entry { remarks: before.cloned().unwrap_or_default(), ..Entry::new(value) }
}

fn levers(plan: &Plan, kept: &Kept<'_>) -> Entries<LeverBuilt> {
    let network = &plan.network;
    let was: BTreeMap<_, _> =
        kept.record.levers.iter().filter_map(|(id, entry)| Some((kept.lever_now(id)?, entry))).collect();
    plan.levers
        .iter()
        .map(|planned| {
            let lever = network.lever(planned.lever);
            let built = LeverBuilt {
                number: planned.number.value,
                address: Some(planned.address.value.number()),
                moves: lever.machines.iter().map(|machine| network.machine(*machine).name.clone()).collect(),
            };
            let remarks = was.get(&planned.lever).map(|entry| &entry.remarks);
            (lever.id.clone(), entry(built, remarks))
        })
        .collect()
}

/// One that found no address is not built: a layout with any has an error.
fn accessories(plan: &Plan, before: &Record) -> Entries<AccessoryBuilt> {
    let placed = plan.accessories.iter().filter_map(|planned| Some((planned, planned.address.as_ref()?)));
    placed
        .map(|(planned, address)| {
            let key = plan.network.accessory(planned.accessory).key();
            let built =
                AccessoryBuilt { address: address.value.number(), number: Some(planned.number.value) };
            let remarks = before.accessories.get(&key).map(|entry| &entry.remarks);
            (key, entry(built, remarks))
        })
        .collect()
}

fn strips(plan: &Plan, before: &Record) -> Entries<StripBuilt> {
    let cab =
        |chain: u16| plan.chains.iter().find(|other| other.number == chain).map(|chain| chain.cab.value);
    let was: BTreeMap<&str, &Vec<String>> = plan
        .strips_built
        .iter()
        .filter_map(|(name, panel)| Some((panel.as_str(), &before.strips.get(name)?.remarks)))
        .collect();
    plan.strips
        .iter()
        .map(|strip| {
            let built = StripBuilt {
                first_address: strip.first.value.number(),
                chain: strip.chain,
                cab: cab(strip.chain),
            };
            (strip.panel.clone(), entry(built, was.get(strip.panel.as_str()).copied()))
        })
        .collect()
}

fn decoders(plan: &Plan, before: &Record) -> Entries<DecoderBuilt> {
    plan.decoders
        .iter()
        .map(|decoder| {
            let built = DecoderBuilt {
                part: decoder.part.clone(),
                at: decoder.at.as_ref().map(|at| at.value.clone()),
                first_address: decoder.first.value.number(),
                outputs: decoder.outputs,
            };
            let remarks = before.decoders.get(&decoder.id).map(|entry| &entry.remarks);
            (decoder.id.clone(), entry(built, remarks))
        })
        .collect()
}

fn machines(plan: &Plan, kept: &Kept<'_>) -> Entries<MachineBuilt> {
    let network = &plan.network;
    let was: BTreeMap<_, _> = kept
        .record
        .machines
        .iter()
        .filter_map(|(name, entry)| Some((kept.machine_now(name)?, &entry.remarks)))
        .collect();
    let mut entries = Entries::new();
    for address in &plan.addresses {
        for &id in &address.machines {
            let machine = network.machine(id);
            let built = MachineBuilt {
                decoder: address
                    .decoder
                    .and_then(|index| plan.decoders.get(index))
                    .map(|decoder| decoder.id.clone()),
                address: Some(address.address.number()),
                tracks: tracks_of(network, machine.joint).into_iter().map(str::to_owned).collect(),
            };
            entries.insert(machine.name.clone(), entry(built, was.get(&id).copied()));
        }
    }
    entries
}

/// Rows about machines, under the names that the machines have now.
pub(super) fn renamed<T: Clone>(entries: &Entries<T>, network: &Network, kept: &Kept<'_>) -> Entries<T> {
    let mut moved: Vec<(String, Entry<T>)> = Vec::new();
    let mut stay = Entries::new();
    for (about, entry) in entries {
        match about_now(about, network, kept) {
            Some(now) if now != *about => moved.push((now, entry.clone())),
            _ => drop(stay.insert(about.clone(), entry.clone())),
        }
    }
    for (now, entry) in moved {
        // Where the new name is in use already both rows stay, the one under its old name.
        if let std::collections::btree_map::Entry::Vacant(place) = stay.entry(now) {
            place.insert(entry);
        }
    }
    stay
}

/// `machine NAME` or `machine NAME and more`, with the name that the machine has now.
fn about_now(about: &str, network: &Network, kept: &Kept<'_>) -> Option<String> {
    let rest = about.strip_prefix("machine ")?;
    // Names may hold spaces: the longest that is known is meant.
    let mut ends = rest.match_indices(' ').map(|(at, _)| at).chain([rest.len()]).rev();
    let (name, machine) = ends.find_map(|end| Some((&rest[..end], kept.machine_now(&rest[..end])?)))?;
    Some(format!("machine {}{}", network.machine(machine).name, &rest[name.len()..]))
}

/// Retires what was in use before and is no more, and takes back what a pin has put into use again.
fn retire(record: &mut Record, before: &Record, kept: &Kept<'_>) {
    let mut in_use: BTreeSet<Retired> = BTreeSet::new();
    for lever in record.levers.values() {
        in_use.insert(Retired::Number(lever.value.number));
        in_use.extend(lever.value.address.map(Retired::Address));
    }
    for other in record.accessories.values() {
        in_use.insert(Retired::Address(other.value.address));
        in_use.extend(other.value.number.map(Retired::Number));
    }
    in_use.extend(record.decoders.keys().cloned().map(Retired::Decoder));
    in_use.extend(record.wires.values().map(|wire| Retired::Wire(wire.value.id.clone())));
    let mut retired: Vec<(Retired, String, &Vec<String>)> = Vec::new();
    for (id, lever) in before.levers.iter().filter(|(id, _)| kept.lever_now(id).is_none()) {
        let was = format!("lever {id}");
        retired.push((Retired::Number(lever.value.number), was.clone(), &lever.remarks));
        retired.extend(lever.value.address.map(|address| (Retired::Address(address), was, &lever.remarks)));
    }
    for (key, remarks, other) in kept.accessories_gone() {
        retired.push((Retired::Address(other.address), key.to_owned(), remarks));
        retired.extend(other.number.map(|number| (Retired::Number(number), key.to_owned(), remarks)));
    }
    for (id, decoder) in &before.decoders {
        let at = decoder.value.at.as_ref().map_or_else(String::new, |at| format!(" at {at}"));
        retired.push((Retired::Decoder(id.clone()), format!("{}{at}", decoder.value.part), &decoder.remarks));
    }
    for (about, wire) in &before.wires {
        retired.push((Retired::Wire(wire.value.id.clone()), about.clone(), &wire.remarks));
    }
    record.retired.retain(|what, _| !in_use.contains(what));
    for (what, was, remarks) in retired {
        if !in_use.contains(&what) {
            record.retired.entry(what).or_insert_with(|| entry(was, Some(remarks)));
        }
    }
}
