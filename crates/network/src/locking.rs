//! Locking: which routes exclude one another, why, and the most that can be set at once.
//!
//! Two routes are *incompatible* when they need one machine in different positions. They *conflict* when they are
//! incompatible, or share a track (their end tracks count), a machine, or the place where a joint's tracks cross. Which
//! joints have such a place: a crossing, a slip and a turntable, whatever way is taken through them; a scissors, for
//! its two crossing moves.
//!
//! Each route is a row of bits over all tracks, machines and crossing places, and another over the positions it needs,
//! so that a pair costs a few words: O(n² m / 64) for n routes and m things. The largest set is found by
//! [`largest_set`](crate::largest::largest_set).

use crate::bits::Bits;
use crate::largest::{Largest, largest_set};
use crate::model::{JointId, JointKind, MachineId, MoveShape, Network, Pass, Position, TrackId};
use crate::route::Route;

/// The most routes whose pairs are worked out. 5,000 routes have 12 million pairs.
pub const LOCKED_ROUTES_MAX: usize = 5_000;

/// Why two routes conflict: one thing that both use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Both need this machine, in different positions.
    Opposed(MachineId),
    /// Both use this machine, in the same position.
    Machine(MachineId),
    /// Both run over this track.
    Track(TrackId),
    /// Their tracks cross in this joint.
    Crossing(JointId),
}

/// The locking of a list of routes.
#[derive(Clone, Debug)]
pub struct Locking {
    /// For each route, those it conflicts with.
    conflicting: Vec<Bits>,
    /// For each route, those it is incompatible with.
    incompatible: Vec<Bits>,
    /// The most routes that can be set at once.
    pub largest: Largest,
}

impl Locking {
    /// How many routes were locked.
    pub fn route_count(&self) -> usize {
        self.conflicting.len()
    }

    /// How many pairs conflict.
    pub fn conflicting_count(&self) -> usize {
        self.conflicting.iter().map(Bits::len).sum::<usize>() / 2
    }

    /// How many pairs are incompatible.
    pub fn incompatible_count(&self) -> usize {
        self.incompatible.iter().map(Bits::len).sum::<usize>() / 2
    }

    /// Every pair that conflicts, by the indices of its routes, in order; and whether it is incompatible.
    pub fn pairs(&self) -> impl Iterator<Item = (usize, usize, bool)> {
        self.conflicting.iter().enumerate().flat_map(|(a, others)| {
            let incompatible = &self.incompatible[a];
            others.iter().filter(move |&b| b > a).map(move |b| (a, b, incompatible.contains(b)))
        })
    }

    /// Whether two routes cannot be set at once.
    pub fn conflict(&self, a: usize, b: usize) -> bool {
        self.conflicting[a].contains(b)
    }
}

/// Works out the locking of routes; of at most [`LOCKED_ROUTES_MAX`] of them.
pub fn lock(network: &Network, routes: &[Route]) -> Locking {
    let routes = &routes[..routes.len().min(LOCKED_ROUTES_MAX)];
    let table = Table::new(network);
    let uses: Vec<Bits> = routes.iter().map(|route| table.uses(network, route)).collect();
    let positions: Vec<[Bits; 2]> = routes.iter().map(|route| table.positions(route)).collect();
    let mut conflicting = vec![Bits::new(routes.len()); routes.len()];
    let mut incompatible = conflicting.clone();
    for a in 0..routes.len() {
        for b in a + 1..routes.len() {
            if !uses[a].meets(&uses[b]) {
                continue;
            }
            conflicting[a].insert(b);
            conflicting[b].insert(a);
            if positions[a][0].meets(&positions[b][1]) || positions[a][1].meets(&positions[b][0]) {
                incompatible[a].insert(b);
                incompatible[b].insert(a);
            }
        }
    }
    let largest = largest_set(&conflicting);
    Locking { conflicting, incompatible, largest }
}

/// Everything that two routes share or dispute, machines first.
pub fn reasons(network: &Network, a: &Route, b: &Route) -> Vec<Why> {
    let mut reasons = Vec::new();
    for &(machine, position) in &a.needs {
        if let Ok(index) = b.needs.binary_search_by_key(&machine, |need| need.0) {
            let same = b.needs[index].1 == position;
            reasons.push(if same { Why::Machine(machine) } else { Why::Opposed(machine) });
        }
    }
    reasons.extend(a.tracks.iter().filter(|track| b.tracks.contains(track)).map(|&track| Why::Track(track)));
    let crossings_of = |route: &Route| -> Vec<JointId> {
        route.passes.iter().filter(|pass| crosses(network, **pass)).map(|pass| pass.joint).collect()
    };
    let others = crossings_of(b);
    let mut shared = crossings_of(a);
    shared.retain(|joint| others.contains(joint));
    shared.dedup();
    reasons.extend(shared.into_iter().map(Why::Crossing));
    reasons.sort_unstable();
    reasons
}

/// Whether a way through a joint runs over the place where its tracks cross.
fn crosses(network: &Network, pass: Pass) -> bool {
    let joint = network.joint(pass.joint);
    match joint.kind {
        JointKind::Crossing | JointKind::Slip { .. } | JointKind::Turntable { .. } => true,
        JointKind::Scissors => joint.moves[pass.move_index as usize].shape == MoveShape::Diverging,
        JointKind::End { .. }
        | JointKind::Turnout { .. }
        | JointKind::Wye
        | JointKind::Threeway
        | JointKind::Crossover { .. } => false,
    }
}

/// How tracks, machines and crossing places are numbered in a row of bits: in this order.
struct Table {
    track_count: usize,
    machine_count: usize,
    size: usize,
}

impl Table {
    fn new(network: &Network) -> Self {
        let (track_count, machine_count) = (network.tracks.len(), network.machines.len());
        Self { track_count, machine_count, size: track_count + machine_count + network.joints.len() }
    }

    fn uses(&self, network: &Network, route: &Route) -> Bits {
        let mut uses = Bits::new(self.size);
        for track in &route.tracks {
            uses.insert(track.index());
        }
        for (machine, _) in &route.needs {
            uses.insert(self.track_count + machine.index());
        }
        for pass in route.passes.iter().filter(|pass| crosses(network, **pass)) {
            uses.insert(self.track_count + self.machine_count + pass.joint.index());
        }
        uses
    }

    /// The machines needed normal, and those needed reverse.
    fn positions(&self, route: &Route) -> [Bits; 2] {
        let mut positions = [Bits::new(self.machine_count), Bits::new(self.machine_count)];
        for &(machine, position) in &route.needs {
            positions[usize::from(position == Position::Reverse)].insert(machine.index());
        }
        positions
    }
}
