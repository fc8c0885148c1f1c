//! Locking: which routes exclude one another, why, and the most that can be set at once.
//!
//! Two routes are *incompatible* when they need one machine in different positions. They *conflict* when they are
//! incompatible, or share a track (their end tracks count), a machine, or the place where a joint's tracks cross. Which
//! joints have such a place: a crossing, a slip and a turntable, whatever way is taken through them; a scissors, for
//! its two crossing moves.
//!
//! For each track, machine and crossing place there is a row of bits, one for each route that uses it; what a route
//! conflicts with is what is in the rows of the things it uses: O(n² u / 64) for n routes of u things each. The largest
//! set is found in `largest`.

use crate::bits::Bits;
use crate::largest::{Largest, largest_set};
use crate::model::{JointId, JointKind, MachineId, Move, MoveShape, Network, Pass, Position, TrackId};
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
    let things = Things::new(network);
    let no_route = Bits::new(routes.len());
    let mut users = vec![no_route.clone(); things.count];
    let mut needers = vec![[no_route.clone(), no_route.clone()]; network.machines.len()];
    for (index, route) in routes.iter().enumerate() {
        for thing in things.of(network, route) {
            users[thing].insert(index);
        }
        for (machine, position) in &route.needs {
            needers[machine.index()][usize::from(*position == Position::Reverse)].insert(index);
        }
    }
    let mut conflicting = vec![no_route; routes.len()];
    let mut incompatible = conflicting.clone();
    for (index, route) in routes.iter().enumerate() {
        for thing in things.of(network, route) {
            conflicting[index].add_all(&users[thing]);
        }
        conflicting[index].remove(index);
        for (machine, position) in &route.needs {
            incompatible[index]
                .add_all(&needers[machine.index()][usize::from(*position == Position::Normal)]);
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

fn crosses(network: &Network, pass: Pass) -> bool {
    let joint = network.joint(pass.joint);
    runs_over_crossing(joint.kind, &joint.moves[pass.move_index as usize])
}

/// Whether a way through a joint runs over the place where its tracks cross.
pub(crate) fn runs_over_crossing(kind: JointKind, way: &Move) -> bool {
    match kind {
        JointKind::Crossing | JointKind::Slip { .. } | JointKind::Turntable { .. } => true,
        JointKind::Scissors => way.shape == MoveShape::Diverging,
        JointKind::End { .. }
        | JointKind::Turnout { .. }
        | JointKind::Wye
        | JointKind::Threeway
        | JointKind::Crossover { .. } => false,
    }
}

/// Tracks, machines and crossing places, numbered in this order.
struct Things {
    track_count: usize,
    machine_count: usize,
    count: usize,
}

impl Things {
    fn new(network: &Network) -> Self {
        let (track_count, machine_count) = (network.tracks.len(), network.machines.len());
        Self { track_count, machine_count, count: track_count + machine_count + network.joints.len() }
    }

    /// Everything that a route uses.
    fn of(&self, network: &Network, route: &Route) -> impl Iterator<Item = usize> {
        let tracks = route.tracks.iter().map(|track| track.index());
        let machines = route.needs.iter().map(|(machine, _)| self.track_count + machine.index());
        let crossings = route
            .passes
            .iter()
            .filter(|pass| crosses(network, **pass))
            .map(|pass| self.track_count + self.machine_count + pass.joint.index());
        tracks.chain(machines).chain(crossings)
    }
}
