//! The layout in the terms of [`crate::placement`].

use super::{BOARD_USUAL, Group, OUTPUTS_USUAL, Placed, WORK_MAX, part_for, solve};
use crate::address::{Addressed, Who};
use crate::distance::Distances;
use crate::kept::Kept;
use crate::model::Decoder;
use crate::placement::{self, Case, Class, Kind, Tile, tiles};
use description::{Drive, Part, Role};
use network::Network;
use notice::natural;
use std::collections::{BTreeMap, BTreeSet};

/// What a cable counts where no bench run leads: more than any layout has.
const FAR: f64 = 1e6;

/// The most costs, one for each lever and place, that are looked at: past it only places where machines stand are tried, and then only
/// those with the most.
const COSTS_MAX: usize = 1_000_000;

/// A decoder that stands already.
#[derive(Clone, Debug)]
pub(super) struct Standing {
    pub(super) drives: Vec<Drive>,
    pub(super) decoder: Decoder,
}

/// What of the layout decides where decoders go.
pub(super) struct Layout<'a> {
    pub(super) network: &'a Network,
    pub(super) groups: &'a [Group],
    pub(super) standing: &'a [Standing],
    /// Where decoders may go; a single nameless one where the layout names no places.
    pub(super) places: Vec<Option<String>>,
    /// Whether all places there are may be tried, so that a bound holds.
    pub(super) tries_all: bool,
    pub(super) has_bench: bool,
    /// For each group, what its cable costs from each place.
    pub(super) costs: Vec<Vec<f64>>,
    rooms: Vec<usize>,
    /// The runs of the bench with the metres of cable along them, when all places are on it; else none.
    bench: Vec<(usize, usize, f64)>,
    /// For each group, the decoder that stands and drives it.
    pub(super) driven_by: Vec<Option<usize>>,
    /// For each group, its address.
    pub(super) addresses: Vec<u16>,
    /// Addresses that no lever may be given.
    pub(super) reserved: BTreeSet<u16>,
    pub(super) last: u16,
}

/// A solved case, and how to read it.
pub(super) struct Served<'a> {
    pub(super) placed: Placed,
    pub(super) case: Case,
    /// For each class: its part names by kind, its fixed groups in the order of addresses, its free groups.
    pub(super) classes: Vec<Members<'a>>,
    /// Whether the rooms of places were kept.
    pub(super) within_rooms: bool,
}

#[derive(Default)]
pub(super) struct Members<'a> {
    pub(super) parts: Vec<&'a str>,
    pub(super) fixed: Vec<usize>,
    pub(super) free: Vec<usize>,
    /// For each standing decoder of the class, its index and the addresses it has to spare.
    pub(super) standing: Vec<(usize, Vec<u16>)>,
}

impl<'a> Layout<'a> {
    pub(super) fn new(
        network: &'a Network,
        addressed: &Addressed,
        distances: &Distances,
        groups: &'a [Group],
        standing: &'a [Standing],
        pins: &[Option<usize>],
        kept: &Kept<'_>,
    ) -> Self {
        let address_of: BTreeMap<Who, u16> = addressed.all().collect();
        let addresses: Vec<u16> =
            groups.iter().map(|group| address_of.get(&group.who).copied().unwrap_or_default()).collect();
        let (places, tries_all) = places_of(network, distances, standing, groups.len());
        let has_bench = !distances.places().is_empty();
        let mut layout = Self {
            network,
            groups,
            standing,
            costs: Vec::new(),
            rooms: Vec::new(),
            bench: Vec::new(),
            driven_by: Vec::new(),
            reserved: addressed.reserved.clone(),
            last: network.described.system.last_address,
            places,
            tries_all,
            has_bench,
            addresses,
        };
        layout.driven_by = groups
            .iter()
            .zip(pins)
            .enumerate()
            .map(|(group, (_, pin))| layout.stands_for(group, *pin, kept))
            .collect();
        layout.costs = layout.costs_of(distances);
        layout.bench = layout.bench_of(distances);
        layout.rooms = layout.places.iter().map(|place| layout.room_at(place.as_deref())).collect();
        layout
    }

    /// The decoder that stands and drives a group: that of its pin, or of the record, or any whose block holds the address it is tied to.
    fn stands_for(&self, group: usize, pin: Option<usize>, kept: &Kept<'_>) -> Option<usize> {
        let (facts, address) = (&self.groups[group], self.addresses[group]);
        let holds = |index: &usize| {
            let Standing { decoder, drives } = &self.standing[*index];
            let first = decoder.first.value.number();
            drives.contains(&facts.class.0)
                && (first..first.saturating_add(decoder.outputs)).contains(&address)
        };
        if facts.is_loose {
            return None;
        }
        if let Some(pin) = pin.filter(holds) {
            return Some(pin);
        }
        let built = facts.machines.first().and_then(|machine| kept.decoder_of(*machine));
        let recorded = self.standing.iter().position(|standing| Some(standing.decoder.id.as_str()) == built);
        let any = (0..self.standing.len()).filter(|_| facts.class.1 == 0).find(holds);
        recorded.filter(holds).or(any)
    }

    fn room_at(&self, place: Option<&str>) -> usize {
        let facts = self.network.described.places.iter().find(|facts| Some(facts.id.value.as_str()) == place);
        let Some(limit) = facts.and_then(|facts| facts.decoders) else { return self.groups.len() + 1 };
        let here = |standing: &&Standing| standing.decoder.at.as_ref().map(|at| at.value.as_str()) == place;
        usize::from(limit.value).saturating_sub(self.standing.iter().filter(here).count())
    }

    /// Metres of cable from each place to what each group drives, as far as their places are known.
    fn costs_of(&self, distances: &Distances) -> Vec<Vec<f64>> {
        let mut rows: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        let mut at_all = Vec::with_capacity(self.groups.len());
        for group in self.groups {
            let mut sum = vec![0.0; self.places.len()];
            for at in super::places_of(self.network, group) {
                let row = rows.entry(at).or_insert_with(|| self.row(distances, at));
                sum.iter_mut().zip(row.iter()).for_each(|(sum, metres)| *sum += metres);
            }
            at_all.push(sum);
        }
        at_all
    }

    /// The runs between places where decoders may go; none when one leads elsewhere.
    fn bench_of(&self, distances: &Distances) -> Vec<(usize, usize, f64)> {
        let index = |name: &str| self.places.iter().position(|place| place.as_deref() == Some(name));
        let runs = distances.runs().map(|(from, to, metres)| Some((index(from)?, index(to)?, metres)));
        runs.collect::<Option<Vec<(usize, usize, f64)>>>().unwrap_or_default()
    }

    fn places_of_machines(&self, group: usize) -> Vec<usize> {
        let joints = self.groups[group].machines.iter().map(|machine| self.network.machine(*machine).joint);
        let names = joints.filter_map(|joint| self.network.joint(joint).at.as_deref());
        names.filter_map(|at| self.places.iter().position(|place| place.as_deref() == Some(at))).collect()
    }

    fn row(&self, distances: &Distances, at: &str) -> Vec<f64> {
        let from: Vec<f64> = distances.metres_from(at);
        let index: BTreeMap<&str, usize> =
            distances.places().iter().enumerate().map(|(index, place)| (place.as_str(), index)).collect();
        let metres = |place: &Option<String>| match place.as_deref() {
            Some(place) if place == at => 0.0,
            // Without a bench nothing is known but that it is not here.
            Some(_) if !self.has_bench => 1.0,
            Some(place) => {
                index.get(place).map(|index| from[*index]).filter(|metres| metres.is_finite()).unwrap_or(FAR)
            }
            None => 0.0,
        };
        self.places.iter().map(metres).collect()
    }

    /// Solves the layout: with loose levers at any output, or with all at the addresses they have.
    pub(super) fn place(&self, with_loose: bool) -> Option<Served<'a>> {
        let (mut case, classes) = self.case(with_loose);
        let mut within_rooms = true;
        let placed = solve(&case, WORK_MAX).or_else(|| {
            within_rooms = false;
            case.rooms.fill(self.groups.len() + 1);
            solve(&case, WORK_MAX)
        })?;
        let served = Served { placed, case, classes, within_rooms };
        (!with_loose || super::deal::has_addresses(self, &served)).then_some(served)
    }

    fn case(&self, with_loose: bool) -> (Case, Vec<Members<'a>>) {
        let mut case = Case { rooms: self.rooms.clone(), classes: Vec::new(), bench: self.bench.clone() };
        let mut all = Vec::new();
        let keys: BTreeSet<(Drive, usize)> = self.groups.iter().map(|group| group.class).collect();
        let mut shelf = self.shelf();
        for key in keys {
            let mut own: Vec<usize> = (0..self.groups.len())
                .filter(|group| self.groups[*group].class == key && self.driven_by[*group].is_none())
                .collect();
            own.sort_by_key(|group| self.addresses[*group]);
            let mut members = Members::default();
            (members.free, members.fixed) =
                own.into_iter().partition(|group| with_loose && self.groups[*group].is_loose);
            let Some((kinds, parts)) =
                self.kinds(key.0, members.free.len() + members.fixed.len(), &mut shelf)
            else {
                continue;
            };
            members.parts = parts;
            self.spare_of_standing(key, &all, &mut members);
            let is_spare =
                |address: u16| with_loose && !self.reserved.contains(&address) && address <= self.last;
            let ranges: Vec<(u16, u16)> =
                self.standing.iter().map(|standing| range_of(&standing.decoder)).collect();
            let fixed = |members: &Members<'_>| -> Vec<u16> {
                members.fixed.iter().map(|group| self.addresses[*group]).collect()
            };
            let tiles_over = |fixed: &[u16], ranges: &[(u16, u16)]| {
                let highest = fixed.last().map_or(0, |address| address.saturating_add(64)).max(self.last);
                tiles(&kinds, fixed, ranges, &is_spare, highest)
            };
            let reached_by = |over: &[Tile]| -> Vec<bool> {
                let is_reached = |at: usize| over.iter().any(|tile| tile.covers.contains(&at));
                (0..members.fixed.len()).map(is_reached).collect()
            };
            let mut over = tiles_over(&fixed(&members), &ranges);
            let mut reached = reached_by(&over);
            let mut beside = &ranges;
            let alike: Vec<(u16, u16)> = self.ranges_of(key.0);
            if reached.contains(&false) {
                // Beside a decoder that drives other things another one may answer the same board.
                beside = &alike;
                over = tiles_over(&fixed(&members), beside);
                reached = reached_by(&over);
            }
            // An address that no block reaches stays without a decoder, which is a finding; it does not stop the others.
            if reached.contains(&false) {
                let mut reached = reached.into_iter();
                members.fixed.retain(|_| reached.next().unwrap_or(true));
                over = tiles_over(&fixed(&members), beside);
            }
            case.classes.push(Class {
                bought: 0,
                fixed: members.fixed.iter().map(|group| self.costs[*group].clone()).collect(),
                free: members.free.iter().map(|group| self.costs[*group].clone()).collect(),
                machines: members.free.iter().map(|group| self.places_of_machines(*group)).collect(),
                tiles: over,
                standing: members
                    .standing
                    .iter()
                    .map(|(index, spare)| placement::Standing {
                        place: self.place_of(*index),
                        spare: spare.len(),
                    })
                    .collect(),
                kinds,
            });
            all.push(members);
        }
        (case, all)
    }

    /// The blocks of the decoders that stand and drive something so.
    fn ranges_of(&self, drive: Drive) -> Vec<(u16, u16)> {
        let alike = self.standing.iter().filter(|standing| standing.drives.contains(&drive));
        alike.map(|standing| range_of(&standing.decoder)).collect()
    }

    pub(super) fn place_of(&self, standing: usize) -> usize {
        let at = self.standing[standing].decoder.at.as_ref().map(|at| at.value.as_str());
        self.places.iter().position(|place| place.as_deref() == at).unwrap_or(0)
    }

    /// The addresses that standing decoders have to spare for a class; each decoder serves the first class that it can.
    fn spare_of_standing(&self, key: (Drive, usize), before: &[Members<'_>], members: &mut Members<'_>) {
        for (index, standing) in self.standing.iter().enumerate() {
            let is_asked =
                before.iter().any(|members| members.standing.iter().any(|(other, _)| *other == index));
            if !is_asked && standing.drives.contains(&key.0) {
                let (first, last) = range_of(&standing.decoder);
                let spare = (first..=last.min(self.last)).filter(|address| !self.reserved.contains(address));
                members.standing.push((index, spare.collect()));
            }
        }
    }

    /// What is owned of each decoder part and not built in yet.
    fn shelf(&self) -> BTreeMap<&'a str, usize> {
        let decoders = self.network.described.parts.iter().filter(|(_, part)| part.role == Role::Decoder);
        decoders
            .filter_map(|(name, part)| {
                let built = self.standing.iter().filter(|standing| standing.decoder.part == *name).count();
                Some((name.as_str(), usize::from(part.count?).saturating_sub(built)))
            })
            .collect()
    }

    /// The parts that drive something: the one to buy first, then those on the shelf, which are taken from it.
    fn kinds(
        &self,
        drive: Drive,
        levers: usize,
        shelf: &mut BTreeMap<&'a str, usize>,
    ) -> Option<(Vec<Kind>, Vec<&'a str>)> {
        let (usual, part) = part_for(self.network, drive)?;
        let mut named: Vec<(&str, &Part)> = vec![(usual, part)];
        let owned = self.network.described.parts.iter().filter(|(name, part)| {
            *name != usual
                && part.drives.contains(&drive)
                && shelf.get(name.as_str()).is_some_and(|count| *count > 0)
        });
        let mut owned: Vec<(&str, &Part)> = owned.map(|(name, part)| (name.as_str(), part)).collect();
        owned.sort_by(|a, b| natural(a.0, b.0));
        named.extend(owned);
        let mut kinds = Vec::new();
        for (name, part) in &named {
            let outputs = usize::from(part.outputs.unwrap_or(OUTPUTS_USUAL)).max(1);
            let on_shelf = shelf.get_mut(name);
            // As many as could be of use here; the rest is left for what is driven otherwise.
            let count = on_shelf.map_or(0, |left| {
                let taken = (*left).min(levers);
                *left -= taken;
                taken
            });
            let aligned = usize::from(part.aligned.unwrap_or(BOARD_USUAL));
            kinds.push(Kind { outputs, aligned, shelf: count });
        }
        Some((kinds, named.into_iter().map(|(name, _)| name).collect()))
    }
}

pub(super) fn range_of(decoder: &Decoder) -> (u16, u16) {
    let first = decoder.first.value.number();
    (first, first.saturating_add(decoder.outputs.max(1) - 1))
}

/// Where decoders may go, in natural order, and whether that is everywhere.
fn places_of(
    network: &Network,
    distances: &Distances,
    standing: &[Standing],
    groups: usize,
) -> (Vec<Option<String>>, bool) {
    let mut machines: BTreeMap<&str, usize> = BTreeMap::new();
    for machine in &network.machines {
        if let Some(at) = &network.joint(machine.joint).at {
            *machines.entry(at).or_default() += 1;
        }
    }
    for at in network.accessories.iter().filter_map(|accessory| accessory.at.as_deref()) {
        *machines.entry(at).or_default() += 1;
    }
    let mut names: BTreeSet<&str> = machines.keys().copied().collect();
    names.extend(distances.places().iter().map(String::as_str));
    names.extend(network.described.places.iter().map(|place| place.id.value.as_str()));
    names.extend(standing.iter().filter_map(|standing| Some(standing.decoder.at.as_ref()?.value.as_str())));
    let mut names: Vec<&str> = names.into_iter().collect();
    let all = names.len();
    if all * groups > COSTS_MAX {
        names.sort_by_key(|name| std::cmp::Reverse(machines.get(name).copied()));
        names.truncate((COSTS_MAX / groups.max(1)).max(1));
    }
    names.sort_by(|a, b| natural(a, b));
    let tries_all = names.len() == all;
    if names.is_empty() {
        return (vec![None], tries_all);
    }
    (names.into_iter().map(|name| Some(name.to_owned())).collect(), tries_all)
}

/// Whether metres are those of a real cable.
pub(super) fn is_reached(metres: f64) -> bool {
    metres < FAR
}
