//! From places and blocks to decoders with ids, and to an address for every lever.

use super::case::{Layout, Served, is_reached, range_of};
use super::{Cable, Decoder, Driven};
use crate::address::{Addressed, Who};
use crate::model::PlannedAddress;
use crate::placement::{Block, Seat};
use crate::reason::{
    BLOCK_OF_BOARD, FEWEST_BOUGHT, FREE_OUTPUT, FRESH_BLOCK, LEAST_CABLE, LEAST_CABLE_FOUND, NO_ROOM_LEFT,
    ON_SHELF, STRIPS_KEPT_WHOLE,
};
use description::PanelKind;
use measure::Length;
use network::AccessoryId;
use notice::{Because, Decided};
use packet::UserAddress;
use std::collections::{BTreeMap, BTreeSet};

/// Whether there are addresses for all fresh blocks.
pub(super) fn has_addresses(layout: &Layout<'_>, served: &Served<'_>) -> bool {
    fresh_addresses(layout, served).is_some()
}

/// The first address of every fresh block, by its index: the lowest board with nothing on it, the block that serves the lowest
/// number first.
fn fresh_addresses(layout: &Layout<'_>, served: &Served<'_>) -> Option<BTreeMap<usize, u16>> {
    let placed = &served.placed;
    let mut used: BTreeSet<u16> = layout.reserved.clone();
    for standing in layout.standing {
        let (first, last) = range_of(&standing.decoder);
        used.extend(first..=last);
    }
    let mut fresh: Vec<usize> = Vec::new();
    for (index, block) in placed.blocks.iter().enumerate() {
        match block.tile {
            Some(tile) => {
                let tile = &served.case.classes[block.class].tiles[tile];
                used.extend(tile.first..=tile.last);
            }
            None => fresh.push(index),
        }
    }
    let lowest = |index: &usize| {
        let class = placed.blocks[*index].class;
        placed.seats[class].iter().position(|seat| *seat == Seat::Block(*index))
    };
    fresh.sort_by_key(|index| {
        let group = lowest(index).map(|seat| served.classes[placed.blocks[*index].class].free[seat]);
        (group, *index)
    });
    let mut starts = BTreeMap::new();
    for index in fresh {
        let Block { class, kind, .. } = placed.blocks[index];
        let facts = served.case.classes[class].kinds[kind];
        let (outputs, board) =
            (u16::try_from(facts.outputs).ok()?, u16::try_from(facts.aligned.max(1)).ok()?);
        let mut first = 1_u16;
        loop {
            let last = first.checked_add(outputs - 1).filter(|last| *last <= layout.last)?;
            match used.range(first..=last).next_back() {
                None => break,
                // The next board past what is in the way.
                Some(taken) => first = taken.div_ceil(board).checked_mul(board)?.checked_add(1)?,
            }
        }
        used.extend(first..first + outputs);
        starts.insert(index, first);
    }
    Some(starts)
}

pub(super) fn deal(layout: &Layout<'_>, served: &Served<'_>, addressed: &mut Addressed) -> Driven {
    let starts = fresh_addresses(layout, served).unwrap_or_default();
    let cable = cable(layout, served);
    let mut decoders: Vec<(Decoder, usize)> = Vec::new();
    for (index, standing) in layout.standing.iter().enumerate() {
        decoders.push((standing.decoder.clone(), index));
    }
    let built = decoders.len();
    for (index, block) in served.placed.blocks.iter().enumerate() {
        decoders.push((planned(layout, served, block, starts.get(&index).copied()), built + index));
    }
    // Each group's decoder, as an index into what has been collected so far.
    let mut by: Vec<Option<usize>> = layout.driven_by.clone();
    for (index, block) in served.placed.blocks.iter().enumerate() {
        if let Some(tile) = block.tile {
            let covers = served.case.classes[block.class].tiles[tile].covers.clone();
            for group in &served.classes[block.class].fixed[covers] {
                by[*group] = Some(built + index);
            }
        }
    }
    let moved = seat_loose(layout, served, &starts, built, &mut by);
    let is_strip_free = !layout.network.described.panels.iter().any(|panel| panel.kind == PanelKind::Strip);
    let decide = |who: Who| {
        let (address, at) = moved.get(&who)?;
        let words =
            decoders[*at].0.at.as_ref().map_or_else(|| "this block".to_owned(), |at| at.value.clone());
        let why = Because::new(&FREE_OUTPUT, [address.number().into(), words.into()]);
        let decided = Decided::new(*address, why);
        Some(if is_strip_free { decided } else { decided.and(Because::new(&STRIPS_KEPT_WHOLE, [])) })
    };
    for planned in &mut addressed.levers {
        if let Some(address) = decide(Who::Lever(planned.lever)) {
            planned.address = address;
        }
    }
    for planned in &mut addressed.others {
        if let Some(address) = decide(Who::Other(planned.accessory)) {
            planned.address = Some(address);
        }
    }
    number(layout, decoders, by, addressed, cable)
}

/// Gives those whose addresses are free theirs: at each place the lowest outputs, in the order of the numbers.
fn seat_loose(
    layout: &Layout<'_>,
    served: &Served<'_>,
    starts: &BTreeMap<usize, u16>,
    built: usize,
    by: &mut [Option<usize>],
) -> BTreeMap<Who, (UserAddress, usize)> {
    let mut moved = BTreeMap::new();
    // Blocks of different kinds may have addresses in common.
    let mut given: BTreeSet<u16> = BTreeSet::new();
    for (class, members) in served.classes.iter().enumerate() {
        // The outputs to spare at each place, each with its decoder.
        let mut outputs: BTreeMap<usize, Vec<(u16, usize)>> = BTreeMap::new();
        let facts = &served.case.classes[class];
        for ((index, spare), standing) in members.standing.iter().zip(&facts.standing) {
            outputs.entry(standing.place).or_default().extend(spare.iter().map(|address| (*address, *index)));
        }
        for (index, block) in
            served.placed.blocks.iter().enumerate().filter(|(_, block)| block.class == class)
        {
            let range = match (block.tile, starts.get(&index)) {
                (Some(tile), _) => facts.tiles[tile].first..=facts.tiles[tile].last,
                (None, Some(first)) => {
                    *first..=first + u16::try_from(facts.kinds[block.kind].outputs - 1).unwrap_or(0)
                }
                (None, None) => continue,
            };
            let spare = range.filter(|address| !layout.reserved.contains(address));
            outputs.entry(block.place).or_default().extend(spare.map(|address| (address, built + index)));
        }
        for list in outputs.values_mut() {
            list.sort_unstable();
            list.reverse();
        }
        for (seat, group) in served.placed.seats[class].iter().zip(&members.free) {
            let place = match seat {
                Seat::Block(index) => served.placed.blocks[*index].place,
                Seat::Standing(index) => facts.standing[*index].place,
            };
            let Some(list) = outputs.get_mut(&place) else { continue };
            while let Some((address, decoder)) = list.pop() {
                if let Some(free) = UserAddress::new(address).filter(|_| given.insert(address)) {
                    by[*group] = Some(decoder);
                    moved.insert(layout.groups[*group].who, (free, decoder));
                    break;
                }
            }
        }
    }
    moved
}

/// One of the decoders that are new.
fn planned(layout: &Layout<'_>, served: &Served<'_>, block: &Block, start: Option<u16>) -> Decoder {
    let class = &served.case.classes[block.class];
    let kind = class.kinds[block.kind];
    let members = &served.classes[block.class];
    let part = members.parts[block.kind].to_owned();
    let saw = |address: u16| [kind.outputs.into(), kind.aligned.into(), address.into()];
    let (first, why) = match (block.tile, start) {
        (Some(tile), _) => {
            let tile = &class.tiles[tile];
            let lowest = layout.addresses[members.fixed[tile.covers.start]];
            (tile.first, Because::new(&BLOCK_OF_BOARD, saw(lowest)))
        }
        (None, start) => {
            let first = start.unwrap_or(1);
            (first, Because::new(&FRESH_BLOCK, saw(first)))
        }
    };
    let placed = &served.placed;
    let mut first = Decided::new(UserAddress::new(first).unwrap_or(UserAddress::LAST), why);
    let counts: usize = class.kinds.iter().map(|kind| kind.shelf).sum();
    if counts > 0 {
        first = first.and(Because::new(&ON_SHELF, [kind.shelf.into(), part.as_str().into()]));
    }
    if placed.bought == placed.bought_least {
        first = first.and(Because::new(&FEWEST_BOUGHT, [placed.bought.into()]));
    }
    Decoder {
        id: String::new(),
        at: place_of(layout, served, block),
        part,
        first,
        outputs: u16::try_from(kind.outputs).unwrap_or(u16::MAX),
    }
}

fn place_of(layout: &Layout<'_>, served: &Served<'_>, block: &Block) -> Option<Decided<String>> {
    let place = layout.places[block.place].clone()?;
    let placed = &served.placed;
    let print = |metres: f64| {
        if layout.has_bench {
            Length::new(metres).print(layout.network.described.layout.units)
        } else {
            format!("{metres} ways to another place")
        }
    };
    let why = if placed.proven() && layout.tries_all {
        Because::new(&LEAST_CABLE, [print(placed.cost).into()])
    } else {
        Because::new(
            &LEAST_CABLE_FOUND,
            [print(placed.cost).into(), print(placed.lower_bound.max(0.0)).into()],
        )
    };
    let at = Decided::new(place, why);
    Some(if served.within_rooms { at } else { at.and(Because::new(&NO_ROOM_LEFT, [])) })
}

/// What the cable of the whole plan comes to.
fn cable(layout: &Layout<'_>, served: &Served<'_>) -> Cable {
    // What stands has its cables already; they are counted where they are listed.
    let placed = &served.placed;
    let is_known = layout.has_bench && is_reached(placed.cost);
    let lower_bound = if layout.tries_all { placed.lower_bound } else { 0.0 };
    Cable {
        metres: is_known.then(|| Length::new(placed.cost)),
        lower_bound: is_known.then(|| Length::new(lower_bound.max(0.0))),
        bought: placed.bought,
        bought_least: placed.bought_least,
        proven: placed.proven() && layout.tries_all,
    }
}

/// Names the new decoders in the order of their first addresses, past the names that are in use, and lists who drives what.
fn number(
    layout: &Layout<'_>,
    mut decoders: Vec<(Decoder, usize)>,
    by: Vec<Option<usize>>,
    addressed: &mut Addressed,
    cable: Cable,
) -> Driven {
    let mut taken: BTreeSet<String> = decoders.iter().map(|(decoder, _)| decoder.id.clone()).collect();
    taken.extend(addressed.decoders_out_of_use.iter().cloned());
    decoders.sort_by_key(|(decoder, index)| (decoder.first.value, *index));
    let mut next = 1_u32;
    for (decoder, _) in decoders.iter_mut().filter(|(decoder, _)| decoder.id.is_empty()) {
        while taken.contains(&format!("D{next}")) {
            next += 1;
        }
        decoder.id = format!("D{next}");
        next += 1;
    }
    let rank: BTreeMap<usize, usize> =
        decoders.iter().enumerate().map(|(rank, (_, index))| (*index, rank)).collect();
    let address_of: BTreeMap<Who, u16> = addressed.all().collect();
    let mut drives: BTreeMap<AccessoryId, usize> = BTreeMap::new();
    let mut addresses = Vec::new();
    for (group, by) in layout.groups.iter().zip(by) {
        let Some(&decoder) = by.and_then(|by| rank.get(&by)) else { continue };
        match group.who {
            Who::Other(accessory) => drop(drives.insert(accessory, decoder)),
            Who::Lever(lever) => {
                let Some(address) = address_of.get(&group.who).copied().and_then(UserAddress::new) else {
                    continue;
                };
                let (machines, decoder) = (group.machines.clone(), Some(decoder));
                addresses.push(PlannedAddress { address, lever, machines, decoder, inside: false });
            }
        }
    }
    for planned in &mut addressed.others {
        planned.decoder = drives.get(&planned.accessory).copied();
    }
    Driven { decoders: decoders.into_iter().map(|(decoder, _)| decoder).collect(), addresses, cable }
}
