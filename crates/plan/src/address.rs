//! Accessory addresses: one for each lever. A lever on a strip has the address of its pair; any other lever has its
//! pinned address, or the one it is built with, or the lowest that is free.

mod clash;

use crate::kept::Kept;
use crate::model::{Control, PlannedAccessory, PlannedLever};
use crate::number::Numbered;
use crate::reason::{FIRST_FREE, KEPT_BUILT, NONE_FREE, PAIR_COMMANDS, PINNED, STRIPS_KEPT_WHOLE};
use crate::strip::Chained;
use description::PanelKind;
use network::{AccessoryId, LeverId, Network};
use notice::{Because, Decided, Diagnostic, code};
use packet::UserAddress;
use std::collections::{BTreeMap, BTreeSet};

/// Levers with their addresses, in the order of the numbers.
pub(crate) struct Addressed {
    pub(crate) levers: Vec<PlannedLever>,
    pub(crate) unplaced: Vec<LeverId>,
    /// Levers that nothing ties to the address they have here.
    pub(crate) loose: BTreeSet<LeverId>,
    /// Addresses that are not for loose levers.
    pub(crate) reserved: BTreeSet<u16>,
    /// Names that no new decoder may have.
    pub(crate) decoders_out_of_use: BTreeSet<String>,
    /// Signals and lights, in the order of the network; none before they are decided.
    pub(crate) others: Vec<PlannedAccessory>,
    /// Those that nothing ties to the address they have here.
    pub(crate) loose_others: BTreeSet<AccessoryId>,
}

/// Who answers an address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Who {
    /// A lever's machines.
    Lever(LeverId),
    /// A signal or light.
    Other(AccessoryId),
}

impl Addressed {
    /// Everybody with the address that they have.
    pub(crate) fn all(&self) -> impl Iterator<Item = (Who, u16)> {
        let levers = self.levers.iter().map(|row| (Who::Lever(row.lever), row.address.value.number()));
        let address = |row: &PlannedAccessory| Some(row.address.as_ref()?.value.number());
        let others =
            self.others.iter().filter_map(move |row| Some((Who::Other(row.accessory), address(row)?)));
        levers.chain(others)
    }

    /// The address of somebody.
    pub(crate) fn address_of(&self, who: Who) -> Option<UserAddress> {
        match who {
            Who::Lever(lever) => {
                self.levers.iter().find(|row| row.lever == lever).map(|row| row.address.value)
            }
            Who::Other(id) => {
                let row = self.others.iter().find(|row| row.accessory == id);
                row.and_then(|row| row.address.as_ref()).map(|address| address.value)
            }
        }
    }

    /// Whether somebody's buttons are on a strip, whose pair then has its address.
    pub(crate) fn is_on_strip(&self, who: Who) -> bool {
        match who {
            Who::Lever(lever) => self.levers.iter().any(|row| row.lever == lever && row.control.is_some()),
            Who::Other(id) => self.others.iter().any(|row| row.accessory == id && row.control.is_some()),
        }
    }

    /// Who has an address.
    pub(crate) fn who_at(&self, address: UserAddress) -> Option<Who> {
        let lever = self.levers.iter().find(|row| row.address.value == address);
        let is_at = |row: &&PlannedAccessory| row.address.as_ref().is_some_and(|own| own.value == address);
        let other = || self.others.iter().find(is_at);
        lever.map(|row| Who::Lever(row.lever)).or_else(|| other().map(|row| Who::Other(row.accessory)))
    }

    /// Gives somebody another address.
    pub(crate) fn set(&mut self, who: Who, address: Decided<UserAddress>) {
        match who {
            Who::Lever(lever) => {
                if let Some(row) = self.levers.iter_mut().find(|row| row.lever == lever) {
                    row.address = address;
                }
            }
            Who::Other(id) => {
                if let Some(row) = self.others.iter_mut().find(|row| row.accessory == id) {
                    row.address = Some(address);
                }
            }
        }
    }

    /// Ties somebody to the address that it has.
    pub(crate) fn tie(&mut self, who: Who) {
        match who {
            Who::Lever(lever) => drop(self.loose.remove(&lever)),
            Who::Other(id) => drop(self.loose_others.remove(&id)),
        }
        self.reserved.extend(self.address_of(who).map(UserAddress::number));
    }
}

/// Gives every lever an address.
pub(crate) fn assign_addresses(
    network: &Network,
    numbered: &[Numbered],
    chained: &Chained,
    kept: &Kept<'_>,
    notes: &mut Vec<Diagnostic>,
) -> Addressed {
    let mut on_strip: BTreeMap<LeverId, (Control, Decided<UserAddress>)> = BTreeMap::new();
    let mut used: BTreeSet<u16> = BTreeSet::new();
    for (index, strip) in chained.strips.iter().enumerate() {
        let pairs = (1u16..).zip(&strip.pairs);
        for (pair, lever) in pairs {
            let Some(address) = strip.first.value.number().checked_add(pair - 1).and_then(UserAddress::new)
            else {
                break;
            };
            used.insert(address.number());
            if let Some(lever) = lever {
                let why = Because::new(&PAIR_COMMANDS, [pair.into(), strip.panel.as_str().into()]);
                let control = Control { strip: index, pair };
                let decided = Decided::new(address, why);
                let decided = if kept.address(*lever) == Some(address.number()) {
                    let words = format!("address {}", address.number());
                    decided.and(Because::new(&KEPT_BUILT, [words.into()]))
                } else {
                    decided
                };
                on_strip.entry(*lever).or_insert((control, decided));
            }
        }
    }
    used.extend(taken(network));
    let pin_of = |lever| network.pin(lever, |pins| pins.address);
    used.extend(
        numbered
            .iter()
            .filter(|numbered| !on_strip.contains_key(&numbered.lever))
            .filter_map(|numbered| pin_of(numbered.lever))
            .map(|pin| pin.value),
    );
    used.extend(kept.addresses_out_of_use());
    used.extend(kept.accessory_addresses());
    let off_strips = kept.addresses().filter(|(lever, _)| !on_strip.contains_key(lever));
    used.extend(off_strips.map(|(_, address)| address));
    let reserved = used.clone();
    let mut unplaced = Vec::new();
    let mut loose = BTreeSet::new();
    let levers: Vec<PlannedLever> = numbered
        .iter()
        .map(|numbered| {
            let lever = numbered.lever;
            let (control, address) = match on_strip.remove(&lever) {
                Some((control, address)) => (Some(control), address),
                None => {
                    let count = used.len();
                    let address = off_strip(network, lever, kept, &mut used, &mut unplaced);
                    // Only what was free before has been taken now.
                    if used.len() > count {
                        loose.insert(lever);
                    }
                    (None, address)
                }
            };
            PlannedLever { lever, number: numbered.number.clone(), line: numbered.line, control, address }
        })
        .collect();
    if let Some(&first) = unplaced.first() {
        notes.push(none_free(network, chained, kept, &levers, &loose, first));
    }
    let decoders_out_of_use = kept.decoders_out_of_use();
    let (others, loose_others) = (Vec::new(), BTreeSet::new());
    Addressed { levers, unplaced, loose, reserved, decoders_out_of_use, others, loose_others }
}

/// The finding about the first lever without an address, with the statements that leave it none.
fn none_free(
    network: &Network,
    chained: &Chained,
    kept: &Kept<'_>,
    levers: &[PlannedLever],
    loose: &BTreeSet<LeverId>,
    first: LeverId,
) -> Diagnostic {
    let last = network.described.system.last_address;
    let message = format!("no address up to {last} is free for `{}`", network.lever(first).id);
    let help = "free some of `taken` in [system], raise `last_address`, or describe fewer levers";
    let clash = clash::find(network, chained, kept, levers, loose);
    let more = clash.len().saturating_sub(clash::LISTED_MAX);
    let help = match more {
        0 => help.to_owned(),
        more => format!("{help}; {more} more statements like those named stand in the way"),
    };
    let note = Diagnostic::error(code::ADDRESS_NONE_FREE, network.lever(first).span, message).help(help);
    let listed = clash.into_iter().take(clash::LISTED_MAX);
    listed.fold(note, |note, (span, words)| note.related(span, words))
}

/// Every address that something else uses.
fn taken(network: &Network) -> Vec<u16> {
    // Ranges may lie over one another any number of times; each address is looked at once.
    let mut ranges: Vec<(u16, u16)> =
        network.described.system.taken.iter().map(|range| range.value).collect();
    ranges.sort_unstable();
    let (mut taken, mut next) = (Vec::new(), 1);
    for (low, high) in ranges {
        taken.extend(low.max(next)..=high);
        next = next.max(high.saturating_add(1));
    }
    taken
}

/// The address of a lever that stands on no strip.
fn off_strip(
    network: &Network,
    lever: LeverId,
    kept: &Kept<'_>,
    used: &mut BTreeSet<u16>,
    unplaced: &mut Vec<LeverId>,
) -> Decided<UserAddress> {
    if let Some(pin) = network.pin(lever, |pins| pins.address)
        && let Some(address) = UserAddress::new(pin.value)
    {
        let words = format!("address = {}", pin.value);
        return Decided::new(address, Because::new(&PINNED, [words.into()]));
    }
    if let Some(address) = kept.address(lever).and_then(UserAddress::new) {
        let words = format!("address {}", address.number());
        return Decided::new(address, Because::new(&KEPT_BUILT, [words.into()]));
    }
    let last = network.described.system.last_address;
    let free = (1..=last).find(|number| !used.contains(number));
    match free.and_then(UserAddress::new) {
        Some(address) => {
            used.insert(address.number());
            let address = Decided::new(address, Because::new(&FIRST_FREE, [address.number().into()]));
            if network.described.panels.iter().any(|panel| panel.kind == PanelKind::Strip) {
                address.and(Because::new(&STRIPS_KEPT_WHOLE, []))
            } else {
                address
            }
        }
        None => {
            unplaced.push(lever);
            // Only ever seen beside the error above; nothing is built from it.
            let beyond = UserAddress::LAST;
            Decided::new(beyond, Because::new(&NONE_FREE, [last.into()]))
        }
    }
}
