//! Two reversing sections that meet at one joint, or share a track.
//!
//! # Source
//! Two units that turn polarity over, each on meeting a short, answer one another while a train joins their sections:
//! common practice, no source.

use network::{JointId, Network, Piece, TrackId, links};
use notice::{Diagnostic, Span, code};
use plan::model::{Gap, Plan, ReversingSection};
use std::collections::BTreeMap;

/// Two sections by their places in the plan, the earlier one first.
type Pair = (usize, usize);

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut found: BTreeMap<Pair, String> = BTreeMap::new();
    let mut note = |a: usize, b: usize, words: String| {
        found.entry((a.min(b), a.max(b))).or_insert(words);
    };
    let mut holder: BTreeMap<TrackId, usize> = BTreeMap::new();
    for (index, section) in plan.reversing.iter().enumerate() {
        for &track in &section.tracks.value {
            let first = *holder.entry(track).or_insert(index);
            if first != index {
                note(first, index, format!("both hold `{}`", plan.network.track(track).name));
            }
        }
    }
    let mut at_joint: BTreeMap<JointId, Vec<&Gap>> = BTreeMap::new();
    for gap in plan.gaps.iter().filter(|gap| !gap.sections.is_empty()) {
        at_joint.entry(joint_of(gap)).or_default().push(gap);
    }
    for (joint, gaps) in at_joint {
        for (after, gap) in gaps.iter().enumerate() {
            for other in &gaps[..=after] {
                for (a, b) in bridged(plan, joint, other, gap) {
                    note(a, b, format!("meet at `{}`", plan.network.joint(joint).id));
                }
            }
        }
    }
    found
        .into_iter()
        .map(|((first, second), words)| {
            let [first, second] = [&plan.reversing[first], &plan.reversing[second]];
            let message = format!("reversing sections `{}` and `{}` {words}", first.name, second.name);
            Diagnostic::warning(code::REVERSING_SECTIONS_TOUCH, place(plan, second), message)
                .help(
                    "let a contact that moves with the points turn one of the two over, so that only one unit waits for \
                     a short; or put a track between them",
                )
                .related(place(plan, first), "the other section")
        })
        .collect()
}

fn place(plan: &Plan, section: &ReversingSection) -> Span {
    match section.piece {
        Piece::Track(track) => plan.network.track(track).span,
        Piece::Link(joint, _) => plan.network.joint(joint).span,
    }
}

/// The pairs of sections that a train joins over these two gaps at one joint; the two may be one and the same.
fn bridged(plan: &Plan, joint: JointId, one: &Gap, other: &Gap) -> Vec<Pair> {
    let pairs = || one.sections.iter().flat_map(|&a| other.sections.iter().map(move |&b| (a, b)));
    let apart = pairs().filter(|(a, b)| a != b);
    if one.piece == other.piece && one.at == other.at {
        return apart.collect();
    }
    let (from, to) = (ports(&plan.network, one), ports(&plan.network, other));
    let moves = &plan.network.joint(joint).moves;
    let passes =
        from.iter().any(|&a| to.iter().any(|&b| a == b || moves.iter().any(|way| way.from(a) == Some(b))));
    // A gap in a leg beside a section has its joint inside; only two that see the joint from outside meet over it.
    apart.filter(|&(a, b)| passes && holds(plan, a, one) && holds(plan, b, other)).collect()
}

fn joint_of(gap: &Gap) -> JointId {
    match (gap.piece, gap.at) {
        (Piece::Link(joint, _), _) | (Piece::Track(_), Some(network::Port { joint, .. })) => joint,
        // No plan has such a gap.
        (Piece::Track(_), None) => JointId::at(0),
    }
}

fn holds(plan: &Plan, section: usize, gap: &Gap) -> bool {
    let section = &plan.reversing[section];
    section.piece == gap.piece
        || matches!(gap.piece, Piece::Track(track) if section.tracks.value.contains(&track))
}

/// The ports at which a train meets a gap.
fn ports(network: &Network, gap: &Gap) -> Vec<u8> {
    match (gap.piece, gap.at) {
        (Piece::Link(joint, number), _) => links(network.joint(joint).kind)
            .get(usize::from(number))
            .map_or_else(Vec::new, |link| link.ports.to_vec()),
        (Piece::Track(_), at) => at.map(|port| port.port).into_iter().collect(),
    }
}
