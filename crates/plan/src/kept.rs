//! What is built, beside what is described: who of the record is who of the network, and what each keeps.
//!
//! Machines are known again by their names, or else by the tracks of their joint; levers by the machines they move, and by
//! their ids. Numbers, and addresses, then go from the levers of the record to those of the network so that the fewest have
//! to change: the pairing of the greatest weight, where a pair weighs one for each machine that keeps what it has and one for
//! a lever that keeps its own. A pin is never asked to give way, and no lever gets what another one is pinned to.
//!
//! What is kept is decided here and in the modules that number, lay strips and assign addresses; [`explain`] says where the
//! finished plan and the record differ, row by row; [`write`] makes the record of a finished plan.

mod accessory;
mod explain;
mod strip;
mod wires;
mod write;

pub(crate) use explain::explain;
pub(crate) use strip::{StripDescribed, StripsBuilt};
pub use write::record_of;

use crate::pairing::{Edge, heaviest};
use description::record::{AccessoryBuilt, Finding, LeverBuilt, MachineBuilt, Record, Retired};
use network::{AccessoryId, JointId, LeverId, MachineId, Network};
use notice::natural;
use std::collections::{BTreeMap, BTreeSet};

/// A record beside the network that it is about.
pub(crate) struct Kept<'r> {
    pub(crate) record: &'r Record,
    /// The machine that each machine of the record is now, by its name there.
    machines: BTreeMap<&'r str, MachineId>,
    /// The lever that each lever of the record is now, by its id there.
    levers: BTreeMap<&'r str, LeverId>,
    /// The numbers that levers keep, each with the lever of the record it comes from.
    numbers: BTreeMap<LeverId, (u16, &'r str)>,
    /// The addresses that levers keep where they can, likewise.
    addresses: BTreeMap<LeverId, (u16, &'r str)>,
    /// Numbers and addresses that somebody is pinned to.
    pub(crate) pinned_numbers: BTreeMap<u16, LeverId>,
    pub(crate) pinned_addresses: BTreeMap<u16, LeverId>,
    /// The rows of signals and lights in the record, by who they are now: known again by kind and id alone.
    accessories: BTreeMap<AccessoryId, (&'r str, &'r AccessoryBuilt)>,
    /// Numbers and addresses that signals and lights are pinned to.
    accessory_numbers: BTreeSet<u16>,
    accessory_addresses: BTreeSet<u16>,
    /// The addresses that signals and lights keep.
    stay_at: BTreeMap<AccessoryId, u16>,
}

impl<'r> Kept<'r> {
    pub(crate) fn of(network: &Network, record: &'r Record) -> Self {
        let pins = |which: fn(&description::Pins) -> Option<notice::Spanned<u16>>| {
            let levers = (0..network.levers.len()).map(LeverId::at);
            // The first in the order of levers, as where two are pinned to one number an error is reported anyway.
            let mut pins = BTreeMap::new();
            for (lever, pin) in levers.filter_map(|lever| Some((lever, network.pin(lever, which)?))) {
                pins.entry(pin.value).or_insert(lever);
            }
            pins
        };
        let mut kept = Self {
            record,
            machines: machines_again(network, record),
            levers: BTreeMap::new(),
            numbers: BTreeMap::new(),
            addresses: BTreeMap::new(),
            pinned_numbers: pins(|pins| pins.number),
            pinned_addresses: pins(|pins| pins.address),
            accessories: accessory::again(network, record),
            accessory_numbers: accessory::pins(network, |pins| pins.number),
            accessory_addresses: accessory::pins(network, |pins| pins.address),
            stay_at: BTreeMap::new(),
        };
        kept.stay_at = kept.accessory_addresses_of(network);
        if record.levers.is_empty() {
            return kept;
        }
        let known = kept.known(network);
        kept.levers =
            kept.pair(&known, |_, _| true).into_iter().map(|(lever, built)| (built, lever)).collect();
        let numbers = kept.pair(&known, |lever, built| kept.may_keep_number(network, lever, built));
        kept.numbers =
            numbers.into_iter().map(|(lever, id)| (lever, (record.levers[id].value.number, id))).collect();
        let addresses = kept.pair(&known, |lever, built| {
            built.address.is_some_and(|address| kept.may_keep_address(network, lever, address))
        });
        let address = |id: &str| record.levers[id].value.address;
        kept.addresses =
            addresses.into_iter().filter_map(|(lever, id)| Some((lever, (address(id)?, id)))).collect();
        kept
    }

    /// What was found out, by what it is about now.
    pub(crate) fn findings(&self, network: &Network) -> BTreeMap<String, Finding> {
        let renamed = write::renamed(&self.record.findings, network, self);
        renamed.into_iter().map(|(about, entry)| (about, entry.value)).collect()
    }

    /// Whether the record knows of no number, used or retired.
    pub(crate) fn is_unnumbered(&self) -> bool {
        let numbers = self.record.retired.keys().filter(|retired| matches!(retired, Retired::Number(_)));
        let others = self.record.accessories.values().filter(|other| other.value.number.is_some());
        self.record.levers.is_empty() && numbers.count() == 0 && others.count() == 0
    }

    /// The number that a lever keeps, and the lever of the record that it comes from.
    pub(crate) fn number_built(&self, lever: LeverId) -> Option<(u16, &'r str)> {
        self.numbers.get(&lever).copied()
    }

    /// The address that a lever keeps, unless it stands on a strip that commands others.
    pub(crate) fn address(&self, lever: LeverId) -> Option<u16> {
        self.addresses.get(&lever).map(|(address, _)| *address)
    }

    /// All addresses that levers keep.
    pub(crate) fn addresses(&self) -> impl Iterator<Item = (LeverId, u16)> {
        self.addresses.iter().map(|(lever, (address, _))| (*lever, *address))
    }

    /// Numbers that no lever may be given anew: retired, or of levers that are gone.
    pub(crate) fn numbers_out_of_use(&self) -> BTreeSet<u16> {
        let retired = self.record.retired.keys().filter_map(|retired| match retired {
            Retired::Number(number) => Some(*number),
            Retired::Address(_) | Retired::Wire(_) | Retired::Decoder(_) => None,
        });
        let others = self.accessories_gone().filter_map(|(_, _, other)| other.number);
        retired.chain(self.gone().map(|lever| lever.number)).chain(others).collect()
    }

    /// Addresses that nothing may be given anew: retired, of levers that are gone, or of other things.
    pub(crate) fn addresses_out_of_use(&self) -> BTreeSet<u16> {
        let retired = self.record.retired.keys().filter_map(|retired| match retired {
            Retired::Address(address) => Some(*address),
            Retired::Number(_) | Retired::Wire(_) | Retired::Decoder(_) => None,
        });
        let others = self.accessories_gone().map(|(_, _, other)| other.address);
        retired.chain(self.gone().filter_map(|lever| lever.address)).chain(others).collect()
    }

    /// Names of decoders that no new one may be given.
    pub(crate) fn decoders_out_of_use(&self) -> BTreeSet<String> {
        let retired = self.record.retired.keys().filter_map(|retired| match retired {
            Retired::Decoder(id) => Some(id.clone()),
            Retired::Number(_) | Retired::Address(_) | Retired::Wire(_) => None,
        });
        retired.chain(self.record.decoders.keys().cloned()).collect()
    }

    /// The decoder of the record that drives a machine.
    pub(crate) fn decoder_of(&self, machine: MachineId) -> Option<&'r str> {
        let was = self.machines.iter().find(|(_, now)| **now == machine)?;
        self.record.machines.get(*was.0)?.value.decoder.as_deref()
    }

    /// Levers of the record whose place no lever of the network takes.
    fn gone(&self) -> impl Iterator<Item = &'r LeverBuilt> {
        let levers = self.record.levers.iter();
        levers.filter(|(id, _)| !self.levers.contains_key(id.as_str())).map(|(_, lever)| &lever.value)
    }

    /// The lever that a lever of the record is now.
    pub(crate) fn lever_now(&self, built: &str) -> Option<LeverId> {
        self.levers.get(built).copied()
    }

    /// The machine that a machine of the record is now.
    pub(crate) fn machine_now(&self, built: &str) -> Option<MachineId> {
        self.machines.get(built).copied()
    }

    /// For each lever: the levers of the record that it has machines of, or its id, with how much that weighs.
    fn known(&self, network: &Network) -> Vec<(LeverId, &'r str, i64)> {
        let record = self.record;
        let mut weights: BTreeMap<(LeverId, &'r str), i64> = BTreeMap::new();
        for (id, built) in &record.levers {
            for machine in built.value.moves.iter().filter_map(|name| self.machine_now(name)) {
                *weights.entry((network.machine(machine).lever, id)).or_default() += SHARED;
            }
        }
        for (index, lever) in network.levers.iter().enumerate() {
            if let Some((id, _)) = record.levers.get_key_value(&lever.id) {
                *weights.entry((LeverId::at(index), id)).or_default() += SHARED + SAME_ID;
            }
        }
        weights.into_iter().map(|((lever, id), weight)| (lever, id, weight)).collect()
    }

    fn pair(
        &self,
        known: &[(LeverId, &'r str, i64)],
        may: impl Fn(LeverId, &LeverBuilt) -> bool,
    ) -> Vec<(LeverId, &'r str)> {
        let levers: Vec<LeverId> = dedup(known.iter().map(|(lever, _, _)| *lever).collect());
        let mut ids: Vec<&'r str> = known.iter().map(|(_, id, _)| *id).collect();
        ids.sort_by(|a, b| natural(a, b));
        ids.dedup();
        let place: BTreeMap<&str, usize> = ids.iter().enumerate().map(|(at, id)| (*id, at)).collect();
        let edges: Vec<Edge> = known
            .iter()
            .filter(|(lever, id, _)| may(*lever, &self.record.levers[*id].value))
            .filter_map(|(lever, id, weight)| Some((levers.binary_search(lever).ok()?, place[*id], *weight)))
            .collect();
        let paired = heaviest(levers.len(), &edges).into_iter().enumerate();
        paired.filter_map(|(lever, id)| Some((levers[lever], ids[id?]))).collect()
    }

    fn may_keep_number(&self, network: &Network, lever: LeverId, built: &LeverBuilt) -> bool {
        let pin = network.pin(lever, |pins| pins.number);
        let owner = self.pinned_numbers.get(&built.number);
        pin.is_none_or(|pin| pin.value == built.number)
            && owner.is_none_or(|owner| *owner == lever)
            && (pin.is_some() || !self.accessory_numbers.contains(&built.number))
    }

    fn may_keep_address(&self, network: &Network, lever: LeverId, address: u16) -> bool {
        let pin = network.pin(lever, |pins| pins.address);
        let owner = self.pinned_addresses.get(&address);
        let system = &network.described.system;
        let is_taken = system.taken.iter().any(|range| (range.value.0..=range.value.1).contains(&address));
        pin.is_none_or(|pin| pin.value == address)
            && owner.is_none_or(|owner| *owner == lever)
            && (pin.is_some()
                || !is_taken
                    && address <= system.last_address
                    && !self.accessory_addresses.contains(&address))
    }
}

/// What a pair weighs for each machine that keeps what it has, and for a lever that keeps its own plate.
const SHARED: i64 = 8;

/// Of pairs that weigh the same the one under the same id is wanted.
const SAME_ID: i64 = 1;

fn dedup<T: Ord>(mut list: Vec<T>) -> Vec<T> {
    list.sort_unstable();
    list.dedup();
    list
}

/// The machines of the record in the network: by name, and whatever is left by the tracks of its joint.
fn machines_again<'r>(network: &Network, record: &'r Record) -> BTreeMap<&'r str, MachineId> {
    // A lever may name machines that have no row of their own.
    let named = record.levers.values().flat_map(|lever| &lever.value.moves).chain(record.machines.keys());
    let mut names: Vec<&'r str> = named.map(String::as_str).collect();
    names.sort_by(|a, b| natural(a, b));
    names.dedup();
    let mut by_name: BTreeMap<&str, MachineId> = BTreeMap::new();
    for (index, machine) in network.machines.iter().enumerate() {
        by_name.entry(&machine.name).or_insert(MachineId::at(index));
    }
    let mut again: BTreeMap<&'r str, MachineId> =
        names.iter().filter_map(|name| Some((*name, *by_name.get(name)?))).collect();
    // The machines of one joint have the same tracks, so they are told apart by their order.
    let mut left: BTreeMap<Vec<&str>, Vec<&'r str>> = BTreeMap::new();
    for name in names.iter().filter(|name| !again.contains_key(*name)) {
        if let Some(MachineBuilt { tracks, .. }) = record.machines.get(*name).map(|entry| &entry.value)
            && !tracks.is_empty()
        {
            left.entry(tracks.iter().map(String::as_str).collect()).or_default().push(name);
        }
    }
    let met: BTreeSet<MachineId> = again.values().copied().collect();
    for index in 0..network.joints.len() {
        let joint = network.joint(JointId::at(index));
        let tracks = tracks_of(network, JointId::at(index));
        let Some(names) = left.get(&tracks) else { continue };
        if names.len() == joint.machines.len() && joint.machines.iter().all(|machine| !met.contains(machine))
        {
            again.extend(names.iter().copied().zip(joint.machines.iter().copied()));
            left.remove(&tracks);
        }
    }
    again
}

/// The names of a joint's tracks, in its order.
pub(crate) fn tracks_of(network: &Network, joint: JointId) -> Vec<&str> {
    network.joint(joint).tracks.iter().map(|track| network.track(*track).name.as_str()).collect()
}
