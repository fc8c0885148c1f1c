//! Decoders: which blocks of outputs answer the addresses in use, where each decoder goes, and which outputs the levers that no
//! strip, pin or record ties to an address get.
//!
//! What is built stays: a decoder of the record keeps its place, its addresses and what it drives. For the rest
//! [`crate::placement`] finds the fewest decoders to buy and then the least cable; here the layout is put into its terms
//! ([`case`]) and its answer into addresses ([`deal`]).

mod case;
mod deal;
mod pinned;

use crate::accessory::settle_undriven;
use crate::address::{Addressed, Who};
use crate::distance::Distances;
use crate::kept::Kept;
use crate::model::{Cable, Decoder, PlannedAddress, PlannedLever};
use crate::placement::{Placed, solve};
use crate::reason::{KEPT_BUILT, SET_ANEW};
use case::{Layout, Standing};
use description::{Drive, Part, Role};
use network::{AccessoryId, LeverId, MachineId, Network};
use notice::{Because, Decided, natural};
use packet::UserAddress;
use std::collections::{BTreeMap, BTreeSet};

/// The work after which the search for the least cable ends: some seconds.
const WORK_MAX: u64 = 400_000_000;

/// The outputs of a decoder whose part does not say.
const OUTPUTS_USUAL: u16 = 8;

/// The outputs that a board has, unless the part says otherwise.
const BOARD_USUAL: u16 = 4;

/// The decoders of a plan, and what they drive.
pub(crate) struct Driven {
    pub(crate) decoders: Vec<Decoder>,
    pub(crate) addresses: Vec<PlannedAddress>,
    pub(crate) cable: Cable,
}

/// What one output drives: machines of one lever, or the lamps of a signal or light.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    who: Who,
    /// The machines; none of a signal or light.
    machines: Vec<MachineId>,
    /// What it takes, in amperes.
    amps: f64,
    /// How they are driven, and which of the outputs at the lever's address this is: several where one output is too weak for all.
    class: (Drive, usize),
    /// Whether any output will do.
    is_loose: bool,
}

/// Covers every address in use with decoders, and moves the levers whose addresses are free to the outputs that are best for them.
pub(crate) fn place_decoders(
    network: &Network,
    addressed: &mut Addressed,
    distances: &Distances,
    kept: &Kept<'_>,
) -> Driven {
    let unplaced: BTreeSet<LeverId> = addressed.unplaced.iter().copied().collect();
    let levers = addressed.levers.iter().filter(|lever| !unplaced.contains(&lever.lever));
    let mut groups: Vec<Group> =
        levers.flat_map(|lever| groups_of(network, lever, addressed.loose.contains(&lever.lever))).collect();
    groups.extend(addressed.others.iter().filter(|other| other.address.is_some()).map(|other| Group {
        who: Who::Other(other.accessory),
        machines: Vec::new(),
        amps: lamp_amps(network, other.accessory),
        class: (Drive::Lamp, 0),
        is_loose: addressed.loose_others.contains(&other.accessory),
    }));
    let mut standing = standing(network, kept);
    set_anew(network, kept, addressed, &mut standing);
    let built = standing.len();
    let pins = pinned::seat_pinned(network, addressed, distances, kept, &mut groups, &mut standing);
    let has_new = standing.len() > built;
    let mut layout = Layout::new(network, addressed, distances, &groups, &standing, &pins, kept);
    // Where a new decoder that the user names goes was decided before the rest, so nothing is proven of all together.
    layout.tries_all &= !has_new;
    let served = layout.place(true).or_else(|| layout.place(false));
    let mut driven = match served {
        Some(served) => deal::deal(&layout, &served, addressed),
        None => Driven { decoders: Vec::new(), addresses: Vec::new(), cable: Cable::unknown() },
    };
    pinned::count(&layout, built, &mut driven.cable);
    add_undriven(network, addressed, &unplaced, &mut driven);
    driven.addresses.sort_by_key(|row| (row.address, row.lever, row.decoder));
    settle_undriven(network, addressed, &driven.decoders);
    driven
}

/// What the machines of a lever need outputs for: one for each way of driving, and more where one output cannot bear them all.
fn groups_of(network: &Network, lever: &PlannedLever, is_loose: bool) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for &machine in &network.lever(lever.lever).machines {
        let Some(motor) = motor_of(network, machine) else { continue };
        if motor.decoder_inside {
            continue;
        }
        let drive = motor.drive.unwrap_or(Drive::Stall);
        let amps = motor.draw.map_or(0.0, measure::Current::value);
        let bears = part_for(network, drive)
            .and_then(|(_, part)| part.gives)
            .map_or(f64::INFINITY, measure::Current::value);
        let same = groups.iter().filter(|group| group.class.0 == drive).count();
        let fits = |group: &&mut Group| group.class.0 == drive && group.amps + amps <= bears + 1e-9;
        match groups.iter_mut().find(fits) {
            Some(group) => {
                group.machines.push(machine);
                group.amps += amps;
            }
            None => {
                let (who, class) = (Who::Lever(lever.lever), (drive, same));
                groups.push(Group { who, machines: vec![machine], amps, class, is_loose });
            }
        }
    }
    // What needs two outputs at one address is tied to it, and so is what is set up in the machine itself.
    let has_inside = network.lever(lever.lever).machines.iter().any(|machine| is_inside(network, *machine));
    let is_loose = is_loose && groups.len() == 1 && !has_inside;
    groups.into_iter().map(|group| Group { is_loose, ..group }).collect()
}

/// What the lamps of a signal or light take while they are on: what is written, else what one of its lamps takes.
pub(crate) fn lamp_amps(network: &Network, accessory: AccessoryId) -> f64 {
    let accessory = network.accessory(accessory);
    let part = || network.described.parts.get(&accessory.part).and_then(|part| part.draw);
    accessory.draw.or_else(part).map_or(0.0, measure::Current::value)
}

/// The places of what a group drives, as far as they are known.
fn places_of<'a>(network: &'a Network, group: &Group) -> Vec<&'a str> {
    let of_machine = |machine: &MachineId| network.joint(network.machine(*machine).joint).at.as_deref();
    match group.who {
        Who::Lever(_) => group.machines.iter().filter_map(of_machine).collect(),
        Who::Other(accessory) => network.accessory(accessory).at.as_deref().into_iter().collect(),
    }
}

/// The decoder that the user pins a group to, by its id.
fn pin_of(network: &Network, group: &Group) -> Option<notice::Spanned<String>> {
    match group.who {
        Who::Lever(lever) => network.pin(lever, |pins| pins.decoder.clone()),
        Who::Other(accessory) => network.accessory(accessory).pins.decoder.clone(),
    }
}

fn motor_of(network: &Network, machine: MachineId) -> Option<&Part> {
    network.described.parts.get(&network.machine(machine).motor)
}

fn is_inside(network: &Network, machine: MachineId) -> bool {
    motor_of(network, machine).is_some_and(|motor| motor.decoder_inside)
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

/// The decoders of the record whose part is still one.
fn standing(network: &Network, kept: &Kept<'_>) -> Vec<Standing> {
    let parts = &network.described.parts;
    let mut standing: Vec<Standing> = Vec::new();
    for (id, entry) in &kept.record.decoders {
        let built = &entry.value;
        let Some(part) = parts.get(&built.part).filter(|part| part.role == Role::Decoder) else { continue };
        let Some(first) = UserAddress::new(built.first_address) else { continue };
        let words = format!("decoder {id}");
        let why = || Because::new(&KEPT_BUILT, [words.clone().into()]);
        standing.push(Standing {
            drives: part.drives.clone(),
            decoder: Decoder {
                id: id.clone(),
                part: built.part.clone(),
                at: built.at.clone().map(|at| Decided::new(at, why())),
                first: Decided::new(first, why()),
                outputs: built.outputs,
            },
        });
    }
    standing.sort_by(|a, b| natural(&a.decoder.id, &b.decoder.id));
    standing
}

/// Sets decoders to other addresses where all that they drive has moved away from them: that is less work than another decoder.
fn set_anew(network: &Network, kept: &Kept<'_>, addressed: &Addressed, standing: &mut [Standing]) {
    let mut wanted: BTreeMap<&str, BTreeSet<u16>> = BTreeMap::new();
    for lever in addressed.levers.iter().filter(|lever| !addressed.loose.contains(&lever.lever)) {
        for machine in &network.lever(lever.lever).machines {
            if let Some(id) = kept.decoder_of(*machine) {
                wanted.entry(id).or_default().insert(lever.address.value.number());
            }
        }
    }
    for index in 0..standing.len() {
        let (first, last) = case::range_of(&standing[index].decoder);
        let Some(addresses) = wanted.get(standing[index].decoder.id.as_str()) else { continue };
        let Some(&lowest) = addresses.first().filter(|_| addresses.range(first..=last).next().is_none())
        else {
            continue;
        };
        let part = network.described.parts.get(&standing[index].decoder.part);
        let board = part.and_then(|part| part.aligned).unwrap_or(BOARD_USUAL).max(1);
        let span = last - first;
        let first = (lowest - 1) / board * board + 1;
        let last = first.saturating_add(span);
        let clear = standing.iter().enumerate().filter(|(other, _)| *other != index).all(|(_, other)| {
            let (from, to) = case::range_of(&other.decoder);
            last < from || to < first
        });
        if let Some(first) = UserAddress::new(first).filter(|_| clear) {
            let id = standing[index].decoder.id.as_str();
            let why = Because::new(&SET_ANEW, [id.into(), lowest.into()]);
            standing[index].decoder.first = Decided::new(first, why);
        }
    }
}

/// Rows for what no decoder drives: machines with a decoder inside, and those for which there is no part.
fn add_undriven(network: &Network, addressed: &Addressed, unplaced: &BTreeSet<LeverId>, driven: &mut Driven) {
    let mut done: BTreeMap<LeverId, BTreeSet<MachineId>> = BTreeMap::new();
    for row in &driven.addresses {
        done.entry(row.lever).or_default().extend(&row.machines);
    }
    for lever in addressed.levers.iter().filter(|lever| !unplaced.contains(&lever.lever)) {
        let done = done.get(&lever.lever);
        let left = network.lever(lever.lever).machines.iter().copied();
        let left = left.filter(|machine| done.is_none_or(|done| !done.contains(machine)));
        let (inside, none): (Vec<MachineId>, Vec<MachineId>) =
            left.partition(|machine| is_inside(network, *machine));
        for (machines, is_inside) in [(inside, true), (none, false)] {
            if !machines.is_empty() {
                let address = lever.address.value;
                driven.addresses.push(PlannedAddress {
                    address,
                    lever: lever.lever,
                    machines,
                    decoder: None,
                    inside: is_inside,
                });
            }
        }
    }
}
