//! Levers, signals and lights that the user pins to a decoder by its id, `decoder = "D2"`.
//!
//! A decoder of the record is as it is built. Any other id is a new decoder, which all levers that are pinned to it share: its block
//! covers as many of their addresses as can be, and it goes where the cables to them are shortest. A lever whose address is free gets
//! the lowest free output of its decoder, and so does one that only the record ties to an address elsewhere: a pin wins over the record.
//! What cannot be had so is driven as if it were not pinned, and `pin-differs` says it.

use super::case::{Layout, Standing, is_reached, range_of};
use super::{BOARD_USUAL, Group, OUTPUTS_USUAL, part_for, pin_of, places_of};
use crate::address::{Addressed, Who};
use crate::distance::Distances;
use crate::kept::Kept;
use crate::model::{Cable, Decoder};
use crate::reason::{BLOCK_OF_BOARD, FIRST_FREE, FRESH_BLOCK, LEAST_TO_ITS_OWN, OUTPUT_OF_PINNED, PINNED};
use description::{Part, Role};
use measure::Length;
use network::Network;
use notice::{Because, Decided, natural};
use packet::UserAddress;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// For each group the decoder that it is pinned to, among those that stand; new ones are added there. Gives levers whose addresses are
/// free an output of theirs.
pub(super) fn seat_pinned(
    network: &Network,
    addressed: &mut Addressed,
    distances: &Distances,
    kept: &Kept<'_>,
    groups: &mut [Group],
    standing: &mut Vec<Standing>,
) -> Vec<Option<usize>> {
    let mut pins: Vec<Option<usize>> = vec![None; groups.len()];
    let mut by_id: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, group) in groups.iter().enumerate().filter(|(_, group)| group.class.1 == 0) {
        if let Some(pin) = pin_of(network, group) {
            by_id.entry(pin.value).or_default().push(index);
        }
    }
    let last = network.described.system.last_address;
    let mut kept_alone = vec![false; groups.len()];
    for index in by_id.values().flatten() {
        kept_alone[*index] = is_tied_by_record_alone(network, addressed, groups, &groups[*index]);
    }
    for (id, members) in by_id {
        let known = standing.iter().position(|standing| standing.decoder.id == id);
        let retired = known.is_none() && kept.decoders_out_of_use().contains(&id);
        let decoder = known.or_else(|| {
            let new = new_decoder(
                &Beside { network, addressed, distances, groups, kept_alone: &kept_alone },
                standing,
                &id,
                &members,
            );
            standing.extend(new.filter(|_| !retired));
            standing.iter().position(|standing| standing.decoder.id == id)
        });
        let Some(decoder) = decoder else { continue };
        for index in members {
            let drives = standing[decoder].drives.contains(&groups[index].class.0);
            let is_loose = groups[index].is_loose
                || kept_alone[index] && !holds(&standing[decoder].decoder, addressed, groups[index].who);
            let seated = !is_loose || drives && seat(addressed, last, &standing[decoder], groups[index].who);
            if seated {
                groups[index].is_loose = false;
                pins[index] = Some(decoder);
            }
        }
    }
    pins
}

/// Whether nothing but the record ties a group to its address, so that a pin may move it: no strip, no pin, no second output.
fn is_tied_by_record_alone(
    network: &Network,
    addressed: &Addressed,
    groups: &[Group],
    group: &Group,
) -> bool {
    if group.is_loose || addressed.is_on_strip(group.who) {
        return false;
    }
    match group.who {
        Who::Other(accessory) => network.accessory(accessory).pins.address.is_none(),
        Who::Lever(lever) => {
            let machines = &network.lever(lever).machines;
            network.pin(lever, |pins| pins.address).is_none()
                && groups.iter().filter(|other| other.who == group.who).count() == 1
                && !machines.iter().any(|machine| super::is_inside(network, *machine))
        }
    }
}

/// Whether a decoder has somebody's address.
fn holds(decoder: &Decoder, addressed: &Addressed, who: Who) -> bool {
    let (first, last) = range_of(decoder);
    address_in(addressed, who).is_some_and(|address| (first..=last).contains(&address))
}

/// Gives somebody whose address is free the lowest free output of a decoder; false where it has none left.
fn seat(addressed: &mut Addressed, last_address: u16, standing: &Standing, who: Who) -> bool {
    let (first, last) = range_of(&standing.decoder);
    let Some(address) = (first..=last.min(last_address))
        .filter(|number| !addressed.reserved.contains(number))
        .find_map(UserAddress::new)
    else {
        return false;
    };
    let id = standing.decoder.id.as_str();
    let Some(given_up) = addressed.address_of(who) else { return false };
    // Who had this output for the time being takes the one that is given up.
    if let Some(other) = addressed.who_at(address).filter(|other| *other != who) {
        let why = Because::new(&FIRST_FREE, [given_up.number().into()]);
        addressed.set(other, Decided::new(given_up, why));
    }
    let words = format!("decoder = \"{id}\"");
    let decided = Decided::new(address, Because::new(&PINNED, [words.into()]));
    addressed.set(who, decided.and(Because::new(&OUTPUT_OF_PINNED, [address.number().into(), id.into()])));
    addressed.tie(who);
    true
}

/// What a new decoder is chosen beside.
struct Beside<'a> {
    network: &'a Network,
    addressed: &'a Addressed,
    distances: &'a Distances,
    groups: &'a [Group],
    /// For each group, whether nothing but the record ties it to its address.
    kept_alone: &'a [bool],
}

/// The part that drives the most of these groups, then the one that has outputs for the most of them, then the default one, then the
/// first in the library.
fn part_that_fits<'a>(network: &'a Network, members: &[&Group]) -> Option<(&'a str, &'a Part)> {
    let usual = network.described.defaults.decoder.value.as_str();
    let decoders = network.described.parts.iter().filter(|(_, part)| part.role == Role::Decoder);
    let fits = |part: &Part| members.iter().filter(|group| is_driven(part, group)).count();
    let best = decoders.enumerate().max_by_key(|(rank, (name, part))| {
        let driven = fits(part);
        let outputs = usize::from(part.outputs.unwrap_or(OUTPUTS_USUAL).max(1)).min(driven);
        (driven, outputs, name.as_str() == usual, Reverse(*rank))
    });
    best.map(|(_, (name, part))| (name.as_str(), part)).filter(|(_, part)| fits(part) > 0)
}

/// Whether an output of a part drives a group, and bears it.
fn is_driven(part: &Part, group: &Group) -> bool {
    part.drives.contains(&group.class.0) && part.gives.is_none_or(|gives| group.amps <= gives.value() + 1e-9)
}

/// A decoder of an id that nothing has yet, for the groups that are pinned to it; none where no block is left.
fn new_decoder(beside: &Beside<'_>, standing: &[Standing], id: &str, members: &[usize]) -> Option<Standing> {
    let Beside { network, addressed, distances, groups, kept_alone } = *beside;
    let all: Vec<&Group> = members.iter().map(|index| &groups[*index]).collect();
    let (name, part) = part_that_fits(network, &all)
        // None bears any of them; that is a finding, and not one of pins.
        .or_else(|| part_for(network, all.first()?.class.0))?;
    let movable = members.iter().filter(|index| kept_alone[**index]);
    let movable: Vec<u16> = movable.filter_map(|index| address_in(addressed, groups[*index].who)).collect();
    let members: Vec<&Group> = all.into_iter().filter(|group| part.drives.contains(&group.class.0)).collect();
    let tied = members.iter().filter(|group| !group.is_loose);
    let fixed: BTreeSet<u16> = tied.filter_map(|group| address_in(addressed, group.who)).collect();
    let loose = members.iter().filter(|group| group.is_loose).count();
    let (outputs, board) =
        (part.outputs.unwrap_or(OUTPUTS_USUAL).max(1), part.aligned.unwrap_or(BOARD_USUAL).max(1));
    let highest = network.described.system.last_address.max(fixed.last().copied().unwrap_or_default());
    let score = |first: &u16| {
        let range = *first..=first.saturating_add(outputs - 1).min(highest);
        let spare = range.clone().filter(|address| !addressed.reserved.contains(address)).count();
        let is_whole = spare == usize::from(outputs);
        // What only the record ties to an address outside comes over.
        let wanted = loose + movable.iter().filter(|address| !range.contains(address)).count();
        (fixed.range(range).count(), spare.min(wanted), is_whole, Reverse(*first))
    };
    let clear = |first: &u16| {
        let last = first.saturating_add(outputs - 1);
        standing.iter().map(|other| range_of(&other.decoder)).all(|(from, to)| last < from || to < *first)
    };
    let first = (1..=highest).step_by(usize::from(board)).filter(clear).max_by_key(score)?;
    let covered = fixed.range(first..=first.saturating_add(outputs - 1)).next().copied();
    if covered.is_none() && score(&first).1 == 0 {
        return None;
    }
    let words = format!("decoder = \"{id}\"");
    let saw = [usize::from(outputs).into(), usize::from(board).into(), covered.unwrap_or(first).into()];
    let rule = if covered.is_some() { &BLOCK_OF_BOARD } else { &FRESH_BLOCK };
    let why = Because::new(&PINNED, [words.into()]);
    let at = place(network, distances, &members, standing);
    Some(Standing {
        drives: part.drives.clone(),
        decoder: Decoder {
            id: id.to_owned(),
            part: name.to_owned(),
            at,
            first: Decided::new(UserAddress::new(first)?, why).and(Because::new(rule, saw)),
            outputs,
        },
    })
}

fn address_in(addressed: &Addressed, who: Who) -> Option<u16> {
    addressed.address_of(who).map(UserAddress::number)
}

/// Where the cables to these groups are shortest, of the places with room or, if none has any, of all.
fn place(
    network: &Network,
    distances: &Distances,
    members: &[&Group],
    standing: &[Standing],
) -> Option<Decided<String>> {
    let at: Vec<&str> = members.iter().flat_map(|group| places_of(network, group)).collect();
    let rows: Vec<(&str, Vec<f64>)> = at.iter().map(|at| (*at, distances.metres_from(at))).collect();
    let mut names: BTreeSet<&str> = at.iter().copied().collect();
    names.extend(distances.places().iter().map(String::as_str));
    let has_room = |name: &str| {
        let facts = network.described.places.iter().find(|place| place.id.value == name);
        let here =
            standing.iter().filter(|other| other.decoder.at.as_ref().is_some_and(|at| at.value == name));
        facts.and_then(|place| place.decoders).is_none_or(|room| here.count() < usize::from(room.value))
    };
    let metres = |name: &str| -> f64 {
        let index = distances.places().iter().position(|place| place == name);
        let to = |(at, row): &(&str, Vec<f64>)| match index {
            _ if *at == name => 0.0,
            Some(index) => row.get(index).copied().unwrap_or(f64::INFINITY),
            // Without a bench nothing is known but that it is not here.
            None if distances.places().is_empty() => 1.0,
            None => f64::INFINITY,
        };
        rows.iter().map(to).sum()
    };
    let mut names: Vec<&str> = names.into_iter().collect();
    names.sort_by(|a, b| natural(a, b));
    let costs = names.into_iter().map(|name| (!has_room(name), metres(name), name));
    let (_, metres, name) = costs.min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
    let words = if distances.places().is_empty() {
        format!("{metres} ways to another place")
    } else if metres.is_finite() {
        Length::new(metres).print(network.described.layout.units)
    } else {
        "more than is known".to_owned()
    };
    Some(Decided::new(name.to_owned(), Because::new(&LEAST_TO_ITS_OWN, [words.into()])))
}

/// Adds the new decoders that the user names to what is bought and to the metres of cable: those from `built` on.
pub(super) fn count(layout: &Layout<'_>, built: usize, cable: &mut Cable) {
    // Where no length is known nothing is counted of the others either.
    let Some(all) = cable.metres else { return };
    let over = |part: &str, part_facts: &Part, standing: &[Standing]| {
        let have = standing.iter().filter(|standing| standing.decoder.part == part).count();
        have.saturating_sub(usize::from(part_facts.count.unwrap_or_default()))
    };
    for (name, part) in &layout.network.described.parts {
        let bought =
            over(name, part, layout.standing).saturating_sub(over(name, part, &layout.standing[..built]));
        cable.bought += bought;
        cable.bought_least += bought;
    }
    let own = layout
        .driven_by
        .iter()
        .enumerate()
        .filter_map(|(group, by)| Some((group, by.filter(|by| *by >= built)?)));
    let metres: f64 = own.map(|(group, by)| layout.costs[group][layout.place_of(by)]).sum();
    let all = all.value() + metres;
    if is_reached(all) {
        cable.metres = Some(Length::new(all));
    } else {
        *cable = Cable::unknown();
    }
}
