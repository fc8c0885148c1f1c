//! A plan whose gaps leave the rails crossed, a reversing section joined to the rest, or two districts joined.
//!
//! This follows both rails of every track for themselves, from the moves of the joints and the gaps of the plan alone: it
//! knows nothing of the senses and counts by which [`network::follow_rails`] and the plan came to them. Looking out from
//! a joint along a track, the left rail of one port goes on, through the joint, as the right rail of the other port; along
//! a track it is the right rail as seen from the other end. Rails that touch are put in one group
//! (union–find). A turntable joins nothing: its pit cuts the rails.
//!
//! # Source
//! Union–find with halved paths: Tarjan and van Leeuwen, *Worst-case analysis of set union algorithms*, JACM 31 (1984).

use network::{JointKind, Network, Piece, Port, TrackId, links};
use notice::{Diagnostic, Span, code};
use plan::model::{Gap, Plan};
use std::collections::{BTreeMap, BTreeSet};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let for_polarity = plan.gaps.iter().filter(|gap| !gap.sections.is_empty());
    let mut cut = Rails::joined(network, for_polarity);
    let mut notes = crossed(network, &mut cut);
    notes.extend(open_sections(plan, &mut cut));
    // Most often a section that is not cut off is why.
    if notes.is_empty() {
        notes = idle_gaps(plan, &mut cut);
    }
    notes.extend(joined_districts(plan, &mut Rails::joined(network, plan.gaps.iter())));
    notes
}

fn missing(span: Span, message: String) -> Diagnostic {
    Diagnostic::error(code::GAP_MISSING, span, message).help(
        "this is a fault of throwbar, not of the layout: do not build from this plan, and report it with the layout",
    )
}

/// The first track whose two rails are one, in each stretch of rails that are.
fn crossed(network: &Network, rails: &mut Rails) -> Vec<Diagnostic> {
    let mut seen: BTreeSet<usize> = BTreeSet::new();
    let mut notes = Vec::new();
    for (index, track) in network.tracks.iter().enumerate() {
        let [left, right] = [0, 1].map(|side| rails.group(Rails::track(index, side)));
        if left == right && seen.insert(left) {
            let message =
                format!("with the gaps planned, the two rails of `{}` are joined crossed", track.name);
            notes.push(missing(track.span, message));
        }
    }
    notes
}

/// Sections whose rails reach a track that is not theirs.
fn open_sections(plan: &Plan, rails: &mut Rails) -> Vec<Diagnostic> {
    let mut first: BTreeMap<usize, (Option<usize>, TrackId)> = BTreeMap::new();
    let mut section_of: Vec<Option<usize>> = vec![None; plan.network.tracks.len()];
    for (index, section) in plan.reversing.iter().enumerate() {
        for track in &section.tracks.value {
            section_of[track.index()] = Some(index);
        }
    }
    let mut said: BTreeSet<usize> = BTreeSet::new();
    let mut notes = Vec::new();
    for (index, &section) in section_of.iter().enumerate() {
        let id = TrackId::at(index);
        for side in 0..2 {
            let (known, other) =
                *first.entry(rails.group(Rails::track(index, side))).or_insert((section, id));
            if known == section {
                continue;
            }
            let Some(open) = section.or(known) else { continue };
            if said.insert(open) {
                let name = &plan.reversing[open].name;
                let [a, b] = [id, other].map(|track| &plan.network.track(track).name);
                let message = format!(
                    "with the gaps planned, reversing section `{name}` is not cut off: `{a}` and `{b}` are joined"
                );
                notes.push(missing(plan.network.track(id).span, message));
            }
        }
    }
    notes
}

/// Gaps of a section whose two sides are joined some other way, so that nothing turns over there.
fn idle_gaps(plan: &Plan, rails: &mut Rails) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    for gap in plan.gaps.iter().filter(|gap| !gap.sections.is_empty()) {
        let (Piece::Track(track), Some(port)) = (gap.piece, gap.at) else { continue };
        let sides =
            [Rails::track(track.index(), 0), Rails::track(track.index(), 1)].map(|rail| rails.group(rail));
        let behind = [rails.at(port, 0), rails.at(port, 1)].map(|rail| rails.group(rail));
        if sides.iter().any(|side| behind.contains(side)) {
            let message = format!(
                "with the gaps planned, both sides of the gap in `{}` {} are joined elsewhere",
                gap.track, gap.end
            );
            notes.push(missing(plan.network.track(track).span, message));
        }
    }
    notes
}

/// Pairs of districts that are joined, each said once.
fn joined_districts(plan: &Plan, rails: &mut Rails) -> Vec<Diagnostic> {
    let mut first: BTreeMap<usize, TrackId> = BTreeMap::new();
    let mut said: BTreeSet<[&str; 2]> = BTreeSet::new();
    let mut notes = Vec::new();
    let district_of =
        |track: TrackId| plan.districts.get(track.index())?.as_ref().map(|district| district.value.as_str());
    for index in 0..plan.network.tracks.len() {
        let id = TrackId::at(index);
        let Some(district) = district_of(id) else { continue };
        for side in 0..2 {
            let other = *first.entry(rails.group(Rails::track(index, side))).or_insert(id);
            let Some(known) = district_of(other).filter(|known| *known != district) else { continue };
            let mut pair = [known, district];
            pair.sort_unstable();
            if said.insert(pair) {
                let [a, b] = [other, id].map(|track| &plan.network.track(track).name);
                let message = format!(
                    "with the gaps planned, districts `{}` and `{}` are joined: `{a}` and `{b}`",
                    pair[0], pair[1]
                );
                notes.push(missing(plan.network.track(id).span, message));
            }
        }
    }
    notes
}

/// Every rail of every track, and on the joint's side of every port, in groups of those that touch.
struct Rails {
    parent: Vec<usize>,
    /// Where the ports of each joint begin.
    first_port: Vec<usize>,
}

impl Rails {
    /// The rails of a network with these gaps cut.
    fn joined<'a>(network: &Network, gaps: impl Iterator<Item = &'a Gap>) -> Self {
        let cut: BTreeSet<(Piece, Option<Port>)> = gaps.map(|gap| (gap.piece, gap.at)).collect();
        let mut first_port = Vec::new();
        let mut count = network.tracks.len();
        for joint in &network.joints {
            first_port.push(count);
            count += joint.tracks.len();
        }
        let mut rails = Self { parent: (0..count * 2).collect(), first_port };
        for (index, track) in network.tracks.iter().enumerate() {
            let piece = Piece::Track(TrackId::at(index));
            for (end, port) in track.ends.into_iter().enumerate() {
                if !cut.contains(&(piece, Some(port))) {
                    // Left and right of a track are as seen from its first end.
                    rails.join(Self::track(index, end), rails.at(port, 0));
                    rails.join(Self::track(index, 1 - end), rails.at(port, 1));
                }
            }
        }
        for (index, joint) in network.joints.iter().enumerate() {
            if matches!(joint.kind, JointKind::Turntable { .. }) {
                continue;
            }
            let id = network::JointId::at(index);
            for way in &joint.moves {
                let over = (0u8..)
                    .zip(links(joint.kind))
                    .find(|(_, link)| link.ports == way.ports || link.ports == [way.ports[1], way.ports[0]]);
                if over.is_some_and(|(number, _)| cut.contains(&(Piece::Link(id, number), None))) {
                    continue;
                }
                let [a, b] = way.ports.map(|port| Port { joint: id, port });
                rails.join(rails.at(a, 0), rails.at(b, 1));
                rails.join(rails.at(a, 1), rails.at(b, 0));
            }
        }
        rails
    }

    /// A rail of a track: 0 the left, 1 the right.
    fn track(index: usize, side: usize) -> usize {
        index * 2 + side
    }

    /// A rail on the joint's side of a port: 0 the left looking out, 1 the right.
    fn at(&self, port: Port, side: usize) -> usize {
        (self.first_port[port.joint.index()] + usize::from(port.port)) * 2 + side
    }

    fn group(&mut self, mut rail: usize) -> usize {
        while self.parent[rail] != rail {
            self.parent[rail] = self.parent[self.parent[rail]];
            rail = self.parent[rail];
        }
        rail
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.group(a), self.group(b));
        self.parent[a.max(b)] = a.min(b);
    }
}
