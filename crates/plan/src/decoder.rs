//! Decoders: which blocks of outputs answer the addresses in use, and where each decoder goes.
//!
//! For each way of driving a motor the addresses are covered from the lowest up: a decoder's block starts on a board and
//! takes all its outputs. A decoder goes where most of its machines stand. Finding the least cable is a later matter;
//! this gives a true plan, not yet the cheapest.

use crate::address::Addressed;
use crate::model::{Decoder, PlannedAddress};
use crate::reason::{BLOCK_OF_BOARD, MOST_MACHINES};
use description::{Drive, Part, Role};
use network::{LeverId, MachineId, Network};
use notice::{Because, Decided, natural};
use packet::UserAddress;
use std::collections::{BTreeMap, BTreeSet};

/// The outputs of a decoder whose part does not say.
const OUTPUTS_USUAL: u16 = 8;

/// The outputs that a board has, unless the part says otherwise.
const BOARD_USUAL: u16 = 4;

/// Covers every address in use with decoders.
pub(crate) fn place_decoders(
    network: &Network,
    addressed: &Addressed,
) -> (Vec<Decoder>, Vec<PlannedAddress>) {
    let unplaced: BTreeSet<LeverId> = addressed.unplaced.iter().copied().collect();
    let mut levers: Vec<(UserAddress, LeverId)> = addressed
        .levers
        .iter()
        .filter(|lever| !unplaced.contains(&lever.lever))
        .map(|lever| (lever.address.value, lever.lever))
        .collect();
    levers.sort_unstable();
    let mut decoders: Vec<Decoder> = Vec::new();
    // The decoder that covers an address, for each way of driving.
    let mut open: BTreeMap<Drive, usize> = BTreeMap::new();
    let mut covered: Vec<(UserAddress, LeverId, Option<usize>)> = Vec::new();
    for &(address, lever) in &levers {
        let drive = drive_of(network, network.lever(lever).machines.first().copied());
        let fits = open.get(&drive).copied().filter(|&index| {
            let decoder = &decoders[index];
            address.number() - decoder.first.value.number() < decoder.outputs
        });
        let index = fits.or_else(|| {
            let (part, facts) = part_for(network, drive)?;
            decoders.push(block_for(part, facts, address)?);
            open.insert(drive, decoders.len() - 1);
            Some(decoders.len() - 1)
        });
        covered.push((address, lever, index));
    }
    let mut order: Vec<usize> = (0..decoders.len()).collect();
    order.sort_by_key(|&index| (decoders[index].first.value, index));
    for (rank, &index) in order.iter().enumerate() {
        decoders[index].id = format!("D{}", rank + 1);
        let machines: Vec<MachineId> = covered
            .iter()
            .filter(|(_, _, decoder)| *decoder == Some(index))
            .flat_map(|(_, lever, _)| network.lever(*lever).machines.iter().copied())
            .collect();
        decoders[index].at = place_for(network, &machines);
    }
    let rank_of = |index: usize| order.iter().position(|&other| other == index);
    let addresses = covered
        .into_iter()
        .map(|(address, lever, decoder)| PlannedAddress {
            address,
            lever,
            machines: network.lever(lever).machines.clone(),
            decoder: decoder.and_then(rank_of),
        })
        .collect();
    let decoders = order.iter().map(|&index| decoders[index].clone()).collect();
    (decoders, addresses)
}

fn drive_of(network: &Network, machine: Option<MachineId>) -> Drive {
    machine
        .and_then(|machine| network.described.parts.get(&network.machine(machine).motor))
        .and_then(|part| part.drive)
        .unwrap_or(Drive::Stall)
}

/// The default decoder if it drives this, else the first in the library that does.
fn part_for(network: &Network, drive: Drive) -> Option<(&str, &Part)> {
    let parts = &network.described.parts;
    let usual = network.described.defaults.decoder.value.as_str();
    let drives = |part: &Part| part.role == Role::Decoder && part.drives.contains(&drive);
    parts
        .get_key_value(usual)
        .filter(|(_, part)| drives(part))
        .or_else(|| parts.iter().find(|(_, part)| drives(part)))
        .map(|(name, part)| (name.as_str(), part))
}

/// The decoder whose block of outputs holds `address`, starting on a board.
fn block_for(name: &str, part: &Part, address: UserAddress) -> Option<Decoder> {
    let outputs = part.outputs.unwrap_or(OUTPUTS_USUAL);
    let board = part.aligned.unwrap_or(BOARD_USUAL).max(1);
    let first = UserAddress::new((address.number() - 1) / board * board + 1)?;
    let saw = [outputs.into(), board.into(), address.number().into()];
    Some(Decoder {
        id: String::new(),
        part: name.to_owned(),
        at: None,
        first: Decided::new(first, Because::new(&BLOCK_OF_BOARD, saw)),
        outputs,
    })
}

/// The place where most of these machines stand; the first in natural order when several have as many.
fn place_for(network: &Network, machines: &[MachineId]) -> Option<Decided<String>> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for machine in machines {
        if let Some(at) = &network.joint(network.machine(*machine).joint).at {
            *counts.entry(at).or_default() += 1;
        }
    }
    let mut places: Vec<(&str, usize)> = counts.into_iter().collect();
    places.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| natural(a.0, b.0)));
    let &(place, count) = places.first()?;
    Some(Decided::new(place.to_owned(), Because::new(&MOST_MACHINES, [count.into(), machines.len().into()])))
}
