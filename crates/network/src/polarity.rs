//! Polarity: following the two rails round every way that leads back on itself, and the fewest tracks to gap where they
//! would meet crossed.
//!
//! At every joint the two rails are one and the same pair for all its tracks: what a turnout joins, it joins rail to
//! rail. Give each joint a sense (which of its rails is the one from the booster's first terminal). A track between two
//! joints carries the rails straight across, so it asks that the senses of its two ends agree or differ, by which sides
//! of the joints it leaves from. Where not every track's wish can be met, some tracks need both rails cut at both ends:
//! they become reversing sections, fed through something that turns polarity over. The fewest such tracks is the
//! frustration index of a signed graph. Among answers of the fewest tracks the one with the longest tracks is taken, as
//! a reversing section has to hold a train; links inside a joint come last.
//!
//! A turntable's bridge turns polarity over by itself, so tracks at it ask for nothing; nor do tracks to an end. Each
//! line of a crossing stands for itself. The link inside a crossover, and those inside a scissors, are tracks of their
//! own here, since gaps may lie in them.
//!
//! # Source
//! Harary, *On the notion of balance of a signed graph*, Michigan Math. J. 2 (1953), for balance; the search is
//! [`crate::eliminate`]'s.

use crate::eliminate::{Wish, cheapest};
use crate::model::{JointId, JointKind, Network, Port, TrackId};
use measure::Length;

/// The most that one gapped piece costs: far more than the lengths of all tracks together can save.
const PIECE_COST: i64 = 1 << 40;

/// The longest length that still counts in preferring one thing to another.
///
/// # Units
/// Millimetres.
const LENGTH_MAX_MM: f64 = 1e6;

/// A piece of track that may be gapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Piece {
    /// A track.
    Track(TrackId),
    /// A link inside a crossover or scissors, counted from 0 in the order of [`links`].
    Link(JointId, u8),
}

/// How the rails of a network lie.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Polarity {
    /// The pieces that need both rails cut at both ends; none when the rails meet nowhere crossed.
    pub reversing: Vec<Piece>,
    /// No set of fewer pieces does.
    pub fewest_bound: usize,
}

impl Polarity {
    /// True when the rails meet nowhere crossed.
    pub fn consistent(&self) -> bool {
        self.reversing.is_empty()
    }

    /// Whether fewer pieces will not do, for certain.
    pub fn proven(&self) -> bool {
        self.fewest_bound == self.reversing.len()
    }
}

/// Follows the rails of a network.
pub fn follow_rails(network: &Network) -> Polarity {
    let nodes = Nodes::new(network);
    let mut pieces: Vec<Piece> = Vec::new();
    let mut wishes: Vec<Wish> = Vec::new();
    for (index, track) in network.tracks.iter().enumerate() {
        let [first, second] = track.ends.map(|end| nodes.at(network, end));
        if let (Some(first), Some(second)) = (first, second) {
            let length_mm = i64::try_from(track.length.map_or(0, whole_mm)).unwrap_or(0);
            pieces.push(Piece::Track(TrackId::at(index)));
            // Leaving both joints from the same side turns the sense over.
            wishes.push(Wish {
                a: first.0,
                b: second.0,
                differ: first.1 == second.1,
                cost: PIECE_COST - 1 - length_mm,
            });
        }
    }
    for (index, joint) in network.joints.iter().enumerate() {
        for (number, link) in (0u8..).zip(links(joint.kind)) {
            let [a, b] = link.bonds.map(|bond| nodes.first[index] + usize::from(bond));
            pieces.push(Piece::Link(JointId::at(index), number));
            // All turnouts of a crossover are counted in one direction, so a link asks for agreement.
            wishes.push(Wish { a, b, differ: false, cost: PIECE_COST });
        }
    }
    let setting = cheapest(nodes.count, &wishes);
    let unmet = |wish: &Wish| (setting.values[wish.a] != setting.values[wish.b]) != wish.differ;
    let reversing: Vec<Piece> =
        wishes.iter().zip(&pieces).filter(|(wish, _)| unmet(wish)).map(|(_, piece)| *piece).collect();
    // Every piece costs at most `PIECE_COST`, so a bound on the cost is one on their number, rounded up.
    let fewest_bound = usize::try_from((setting.bound + PIECE_COST - 1) / PIECE_COST).unwrap_or(0);
    debug_assert!(setting.bound <= setting.cost);
    Polarity { reversing, fewest_bound }
}

/// A length in whole millimetres, up to [`LENGTH_MAX_MM`].
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is between 0 and a million"
)]
pub(crate) fn whole_mm(length: Length) -> u64 {
    (length.value() * 1000.0).clamp(0.0, LENGTH_MAX_MM).round() as u64
}

/// Rails of a joint that are one and the same pair: all of a turnout, wye, three-way or slip; one line of a crossing; one
/// turnout of a crossover or scissors.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bond {
    /// The joint.
    pub joint: JointId,
    /// Which of its bonds, from 0 on.
    pub number: u8,
}

/// The bond that the track at a port is joined to; none at an end, and none at a turntable, whose pit cuts the rails.
pub fn bond_at(network: &Network, port: Port) -> Option<Bond> {
    let (number, _) = bond_in(network.joint(port.joint).kind, port.port)?;
    Some(Bond { joint: port.joint, number })
}

/// The number of the bond at a port, and whether the port lies on the far side of it.
fn bond_in(kind: JointKind, port: u8) -> Option<(u8, bool)> {
    match kind {
        JointKind::End { .. } | JointKind::Turntable { .. } => None,
        JointKind::Turnout { .. } | JointKind::Wye | JointKind::Threeway => Some((0, port > 0)),
        JointKind::Slip { .. } => Some((0, port % 2 == 1)),
        // 0 on line one, 1 on line other.
        JointKind::Crossing | JointKind::Crossover { .. } => Some((port / 2, port % 2 == 1)),
        // In the order of the ports: A, D on line one; C, B on line other.
        JointKind::Scissors => Some((port, port % 2 == 1)),
    }
}

/// How many bonds a joint has.
fn bond_count(kind: JointKind) -> usize {
    match kind {
        JointKind::End { .. } | JointKind::Turntable { .. } => 0,
        JointKind::Turnout { .. } | JointKind::Wye | JointKind::Threeway | JointKind::Slip { .. } => 1,
        JointKind::Crossing | JointKind::Crossover { .. } => 2,
        JointKind::Scissors => 4,
    }
}

/// A stretch of rails inside a joint, between two of its bonds, that may be gapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// The two bonds, by number.
    pub bonds: [u8; 2],
    /// The ports of the move that runs over it.
    pub ports: [u8; 2],
}

/// The links inside a joint, in the order that [`Piece::Link`] counts them.
pub fn links(kind: JointKind) -> &'static [Link] {
    match kind {
        JointKind::Crossover { .. } => &[Link { bonds: [0, 1], ports: [0, 3] }],
        // A–D and C–B along the lines, A–B and C–D across; each port has a bond of its own.
        JointKind::Scissors => &[
            Link { bonds: [0, 1], ports: [0, 1] },
            Link { bonds: [2, 3], ports: [2, 3] },
            Link { bonds: [0, 3], ports: [0, 3] },
            Link { bonds: [2, 1], ports: [2, 1] },
        ],
        JointKind::End { .. }
        | JointKind::Turnout { .. }
        | JointKind::Wye
        | JointKind::Threeway
        | JointKind::Slip { .. }
        | JointKind::Crossing
        | JointKind::Turntable { .. } => &[],
    }
}

/// The bonds of all joints as the nodes of a signed graph.
struct Nodes {
    /// The first node of each joint.
    first: Vec<usize>,
    count: usize,
}

impl Nodes {
    fn new(network: &Network) -> Self {
        let mut count = 0;
        let first = network
            .joints
            .iter()
            .map(|joint| {
                let first = count;
                count += bond_count(joint.kind);
                first
            })
            .collect();
        Self { first, count }
    }

    /// The node at a port, and whether the port lies on the far side of it; none where any polarity will do.
    fn at(&self, network: &Network, port: Port) -> Option<(usize, bool)> {
        let (bond, far) = bond_in(network.joint(port.joint).kind, port.port)?;
        Some((self.first[port.joint.index()] + usize::from(bond), far))
    }
}
