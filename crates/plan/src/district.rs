//! Power districts: which track belongs to which, and where both rails are cut between them.
//!
//! A track belongs to the district written on it. Tracks without one go with their neighbours: all that hang together
//! over joints take the district of a track that they meet; where they meet several, the first in natural order. So a
//! gap always lies at the end of a track with a district written on it. At each joint the districts are dealt out to its
//! bonds ([`network::Bond`]) so that the fewest cuts do; of as few, the first in natural order. Between the two turnouts
//! of a crossover the cut lies in the link.
//!
//! A turntable's pit cuts the rails already, and so does an end. The lines of a crossing do not touch.

use crate::reason::{DISTRICT_OF_NEIGHBOUR, DISTRICT_OF_SEVERAL, DISTRICT_WRITTEN};
use network::{Bond, JointId, Network, Piece, Port, TrackId, bond_at, links};
use notice::{Because, Decided, natural};
use std::collections::{BTreeMap, BTreeSet};

/// A cut between two districts.
pub(crate) struct Border {
    /// What is cut.
    pub(crate) piece: Piece,
    /// At which end; none for a link inside a joint.
    pub(crate) at: Option<Port>,
    /// The two districts, in natural order.
    pub(crate) between: [String; 2],
}

/// The district of every track; none where nothing it is joined to has one.
pub(crate) fn deal_districts(network: &Network) -> Vec<Option<Decided<String>>> {
    let at_bond = tracks_at_bonds(network);
    let mut districts: Vec<Option<Decided<String>>> = network
        .tracks
        .iter()
        .map(|track| {
            let district = track.district.as_ref()?;
            let why = Because::new(&DISTRICT_WRITTEN, [district.as_str().into(), track.name.as_str().into()]);
            Some(Decided::new(district.clone(), why))
        })
        .collect();
    let mut seen = vec![false; network.tracks.len()];
    for index in 0..network.tracks.len() {
        if !seen[index] && network.tracks[index].district.is_none() {
            let (region, met) = region_around(network, &at_bond, TrackId::at(index), &mut seen);
            let mut met: Vec<(&str, TrackId)> = met.into_iter().collect();
            met.sort_by(|a, b| natural(a.0, b.0));
            let Some(&(district, neighbour)) = met.first() else { continue };
            let neighbour = network.track(neighbour).name.as_str();
            let why = if met.len() == 1 {
                Because::new(&DISTRICT_OF_NEIGHBOUR, [neighbour.into(), district.into()])
            } else {
                let all: Vec<&str> = met.iter().map(|(district, _)| *district).collect();
                Because::new(&DISTRICT_OF_SEVERAL, [all.join(", ").into(), district.into()])
            };
            for track in region {
                districts[track.index()] = Some(Decided::new(district.to_owned(), why.clone()));
            }
        }
    }
    districts
}

fn tracks_at_bonds(network: &Network) -> BTreeMap<Bond, Vec<TrackId>> {
    let mut at_bond: BTreeMap<Bond, Vec<TrackId>> = BTreeMap::new();
    for (index, track) in network.tracks.iter().enumerate() {
        for bond in track.ends.into_iter().filter_map(|end| bond_at(network, end)) {
            at_bond.entry(bond).or_default().push(TrackId::at(index));
        }
    }
    at_bond
}

/// The tracks without a district that hang together with one, and the districts they meet, each with a track of it.
fn region_around<'a>(
    network: &'a Network,
    at_bond: &BTreeMap<Bond, Vec<TrackId>>,
    start: TrackId,
    seen: &mut [bool],
) -> (Vec<TrackId>, BTreeMap<&'a str, TrackId>) {
    let mut region = Vec::new();
    let mut met: BTreeMap<&str, TrackId> = BTreeMap::new();
    let mut bonds_seen: BTreeSet<Bond> = BTreeSet::new();
    let mut tracks = vec![start];
    let mut bonds: Vec<Bond> = Vec::new();
    seen[start.index()] = true;
    loop {
        if let Some(bond) = bonds.pop() {
            for link in links(network.joint(bond.joint).kind) {
                if let Some(side) = link.bonds.iter().position(|&number| number == bond.number) {
                    let beyond = Bond { number: link.bonds[1 - side], ..bond };
                    if bonds_seen.insert(beyond) {
                        bonds.push(beyond);
                    }
                }
            }
            for &track in at_bond.get(&bond).into_iter().flatten() {
                if let Some(district) = &network.track(track).district {
                    let first = met.entry(district).or_insert(track);
                    *first = track.min(*first);
                } else if !std::mem::replace(&mut seen[track.index()], true) {
                    tracks.push(track);
                }
            }
        } else if let Some(track) = tracks.pop() {
            region.push(track);
            let ends = network.track(track).ends.into_iter().filter_map(|end| bond_at(network, end));
            bonds.extend(ends.filter(|&bond| bonds_seen.insert(bond)));
        } else {
            return (region, met);
        }
    }
}

/// Every cut that keeps the districts apart. What the reversing sections cut is cut already; the joints inside a section
/// are in its district.
pub(crate) fn district_borders(
    network: &Network,
    districts: &[Option<&str>],
    is_cut: impl Fn(Piece, Option<Port>) -> bool,
    inside: &BTreeMap<Bond, &str>,
) -> Vec<Border> {
    let mut borders = Vec::new();
    for (index, joint) in network.joints.iter().enumerate() {
        let id = JointId::at(index);
        let legs: Vec<Leg<'_>> = (0u8..)
            .zip(&joint.tracks)
            .filter_map(|(port, &track)| {
                let port = Port { joint: id, port };
                let bond = bond_at(network, port)?.number;
                let cut = is_cut(Piece::Track(track), Some(port));
                Some(Leg { track, port, bond, district: districts[track.index()]?, cut })
            })
            .collect();
        let mut known: Vec<&str> = legs.iter().map(|leg| leg.district).collect();
        known.sort_by(|a, b| natural(a, b));
        known.dedup();
        if known.len() < 2 {
            continue;
        }
        let joins: Vec<Join> = (0u8..)
            .zip(links(joint.kind))
            .map(|(number, link)| Join { bonds: link.bonds, cut: is_cut(Piece::Link(id, number), None) })
            .collect();
        let bonds = legs.iter().map(|leg| leg.bond).chain(joins.iter().flat_map(|join| join.bonds));
        let bond_count = bonds.max().map_or(0, |last| usize::from(last) + 1);
        let fixed: Vec<Option<&str>> =
            (0u8..).take(bond_count).map(|number| inside.get(&Bond { joint: id, number }).copied()).collect();
        let dealt = deal_bonds(&known, &fixed, &legs, &joins);
        for leg in &legs {
            let own = dealt[usize::from(leg.bond)];
            if own != leg.district {
                borders.push(border(Piece::Track(leg.track), Some(leg.port), own, leg.district));
            }
        }
        for (number, join) in (0u8..).zip(&joins) {
            let [a, b] = join.bonds.map(|bond| dealt[usize::from(bond)]);
            if a != b {
                borders.push(border(Piece::Link(id, number), None, a, b));
            }
        }
    }
    borders
}

/// A track at a joint.
struct Leg<'a> {
    track: TrackId,
    port: Port,
    bond: u8,
    district: &'a str,
    /// Whether it is cut here anyway.
    cut: bool,
}

/// A link inside a joint.
struct Join {
    bonds: [u8; 2],
    cut: bool,
}

fn border(piece: Piece, at: Option<Port>, a: &str, b: &str) -> Border {
    let mut between = [a.to_owned(), b.to_owned()];
    between.sort_by(|a, b| natural(a, b));
    Border { piece, at, between }
}

/// The district of each bond of a joint so that the fewest new cuts do. A joint has at most four bonds and four districts,
/// so all ways are tried.
fn deal_bonds<'a>(
    known: &[&'a str],
    fixed: &[Option<&'a str>],
    legs: &[Leg<'_>],
    joins: &[Join],
) -> Vec<&'a str> {
    let ways = known.len().saturating_pow(u32::try_from(fixed.len()).unwrap_or(u32::MAX));
    let deal = |way: usize| -> Vec<&'a str> {
        let mut rest = way;
        let digit = |fixed: Option<&'a str>| {
            let choice = known[rest % known.len()];
            rest /= known.len();
            fixed.unwrap_or(choice)
        };
        fixed.iter().copied().map(digit).collect()
    };
    let cuts = |dealt: &[&str]| {
        let legs = legs.iter().filter(|leg| !leg.cut && dealt[usize::from(leg.bond)] != leg.district);
        let joins = joins.iter().filter(|join| {
            !join.cut && dealt[usize::from(join.bonds[0])] != dealt[usize::from(join.bonds[1])]
        });
        legs.count() + joins.count()
    };
    (0..ways).map(deal).min_by_key(|dealt| cuts(dealt)).unwrap_or_default()
}
