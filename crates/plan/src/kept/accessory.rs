//! Signals and lights beside the record: who is who by kind and id alone, what each keeps, and where the two differ.

use super::Kept;
use crate::model::Plan;
use description::record::{AccessoryBuilt, Record};
use network::{AccessoryId, Network};
use notice::{Diagnostic, Span, code};
use std::collections::{BTreeMap, BTreeSet};

/// The rows of signals and lights, by who they are now.
pub(super) fn again<'r>(
    network: &Network,
    record: &'r Record,
) -> BTreeMap<AccessoryId, (&'r str, &'r AccessoryBuilt)> {
    let mut again = BTreeMap::new();
    for (index, accessory) in network.accessories.iter().enumerate() {
        if let Some((key, entry)) = record.accessories.get_key_value(&accessory.key()) {
            again.insert(AccessoryId::at(index), (key.as_str(), &entry.value));
        }
    }
    again
}

/// What signals and lights are pinned to, of one kind of pin.
pub(super) fn pins(
    network: &Network,
    which: fn(&description::Pins) -> Option<notice::Spanned<u16>>,
) -> BTreeSet<u16> {
    network.accessories.iter().filter_map(|accessory| which(&accessory.pins)).map(|pin| pin.value).collect()
}

impl<'r> Kept<'r> {
    /// The signal or light that a row of the record is about now.
    pub(crate) fn accessory_now(&self, built: &str) -> Option<AccessoryId> {
        self.accessories.iter().find(|(_, (key, _))| *key == built).map(|(id, _)| *id)
    }

    /// Rows of signals and lights that are described no more.
    pub(crate) fn accessories_gone(
        &self,
    ) -> impl Iterator<Item = (&'r str, &'r Vec<String>, &'r AccessoryBuilt)> {
        let rows = self.record.accessories.iter();
        let rows = rows.filter(|(key, _)| self.accessory_now(key).is_none());
        rows.map(|(key, entry)| (key.as_str(), &entry.remarks, &entry.value))
    }

    /// The address that a signal or light keeps, unless it is pinned to another.
    pub(crate) fn accessory_address(&self, accessory: AccessoryId) -> Option<u16> {
        self.stay_at.get(&accessory).copied()
    }

    /// The number that a signal or light keeps, unless it is pinned to another.
    pub(crate) fn accessory_number(&self, network: &Network, accessory: AccessoryId) -> Option<u16> {
        let number = self.accessories.get(&accessory)?.1.number?;
        let is_pinned = self.accessory_numbers.contains(&number) || self.pinned_numbers.contains_key(&number);
        (!is_pinned && network.accessory(accessory).pins.number.is_none()).then_some(number)
    }

    /// Numbers that signals and lights are pinned to or keep: no lever may be given one.
    pub(crate) fn accessory_numbers(&self, network: &Network) -> BTreeSet<u16> {
        let all = (0..network.accessories.len()).map(AccessoryId::at);
        let kept = all.filter_map(|accessory| self.accessory_number(network, accessory));
        self.accessory_numbers.iter().copied().chain(kept).collect()
    }

    /// Addresses that signals and lights are pinned to or keep.
    pub(crate) fn accessory_addresses(&self) -> impl Iterator<Item = u16> {
        self.accessory_addresses.iter().chain(self.stay_at.values()).copied()
    }

    /// What each signal or light keeps: nobody else is pinned to it, nothing else uses it, and the system reaches it.
    pub(super) fn accessory_addresses_of(&self, network: &Network) -> BTreeMap<AccessoryId, u16> {
        let system = &network.described.system;
        let stays = |accessory: AccessoryId, address: u16| {
            let ranges = &system.taken;
            let is_taken = ranges.iter().any(|range| (range.value.0..=range.value.1).contains(&address));
            let is_pinned =
                self.accessory_addresses.contains(&address) || self.pinned_addresses.contains_key(&address);
            let is_free = network.accessory(accessory).pins.address.is_none();
            is_free && !is_taken && !is_pinned && address <= system.last_address
        };
        let built = self.accessories.iter().map(|(id, (_, built))| (*id, built.address));
        built.filter(|(id, address)| stays(*id, *address)).collect()
    }
}

/// Every row of a signal or light that the plan does not have as it is built.
pub(super) fn explain_accessories(plan: &Plan, kept: &Kept<'_>) -> Vec<Diagnostic> {
    let network = &plan.network;
    let mut notes = Vec::new();
    for (key, entry) in &kept.record.accessories {
        let built = &entry.value;
        let planned = kept.accessory_now(key).and_then(|now| plan.accessory(now));
        let Some(planned) = planned else {
            notes.push(gone(key, built, entry.span));
            continue;
        };
        let accessory = network.accessory(planned.accessory);
        let address = planned.address.as_ref().map(|address| address.value.number());
        let rows = [
            ("number", built.number, Some(planned.number.value), accessory.pins.number),
            ("address", Some(built.address), address, accessory.pins.address),
        ];
        for (what, was, is, pin) in rows {
            let (Some(was), Some(is)) = (was, is) else { continue };
            if was == is {
                continue;
            }
            notes.push(match pin.filter(|pin| pin.value == is) {
                Some(pin) => {
                    let says = format!("`{key}` is built with {what} {was}, and pinned to {is}");
                    Diagnostic::warning(code::RECORD_PINNED_OVER, pin.span, says)
                        .help(format!("the pin wins; delete it if {was} is to stay, or `throwbar plan --keep` once {is} is set"))
                        .related(entry.span, format!("built with {was}"))
                }
                None => {
                    let says = format!("`{key}` is built with {what} {was}, and has to have {is}");
                    Diagnostic::warning(code::RECORD_DIFFERS, entry.span, says)
                        .help(format!("set it to {is}, then `throwbar plan --keep`; or take away what else has {was}"))
                        .related(accessory.span, "it is described here")
                }
            });
        }
    }
    notes
}

fn gone(key: &str, built: &AccessoryBuilt, span: Span) -> Diagnostic {
    let (has, stay) = match built.number {
        Some(number) => (format!("number {number} and address {}", built.address), "stay"),
        None => (format!("address {}", built.address), "stays"),
    };
    let says = format!("`{key}` is built with {has}, and is described no more");
    Diagnostic::warning(code::RECORD_GONE, span, says).help(format!(
        "`throwbar plan --keep` notes that {has} {stay} out of use; if it is there all the same, put it back into layout.toml"
    ))
}
