//! The order of everything: which joint comes before which from left to right, and which track lies above which.
//!
//! 1. *Filling up.* In every face, an end that sticks out is tied by an invisible track to an angle that opens toward
//!    it, until no end sticks out; in the outer face what remains is tied to one source at the far left and one sink at
//!    the far right. Ends at bumpers are tied first, so that ends where trains come and go keep a free way to the edge
//!    of the sheet.
//! 2. *Sweeping.* Nodes are passed from left to right, always one whose left tracks have all been begun; the tracks
//!    crossing the sweep line are kept in order from top to bottom. In a graph so filled up the left tracks of a node
//!    always lie side by side when its turn comes, so nothing ever crosses.
//!
//! Of the nodes that could come next, the one that would stand furthest left is taken, tracks that start at a bumper
//! as late as possible and tracks that stop at one as soon as possible, so that short spurs follow one another on one
//! level. Three or more spurs side by side along one track are a yard: they all stop together and so lie in parallel.
//!
//! # Source
//! R. Tamassia, I. G. Tollis, A unified approach to visibility representations of planar graphs, Discrete &
//! Computational Geometry 1 (1986): planar graphs with one source and one sink, and the order of their sweep.

use super::branch::Branches;
use super::chain::{Chain, Chains, Tie, is_connector, stops};
use super::embed::{Faces, ring};
use super::graph::{Graph, Side, What};
use super::yard::yards;
use description::EndKind;
use network::{JointKind, Network};
use std::collections::{BTreeSet, BinaryHeap};

/// Stands for "before all else" and "after all else" among keys.
const FAR: i64 = i64::MAX / 4;

/// The outcome of the sweep.
#[derive(Debug, Default)]
pub(crate) struct Sweep {
    /// The turn of each node.
    pub(crate) turn: Vec<usize>,
    /// Edges that lie directly above one another at some turn, links left out: upper, lower.
    pub(crate) above: BTreeSet<(usize, usize)>,
    /// For each edge that is a link, the edges that lie above it and those below it while it is crossed.
    pub(crate) beside: Vec<[Vec<usize>; 2]>,
}

impl Sweep {
    /// The turns at which a chain begins and ends.
    pub(crate) fn turns(&self, graph: &Graph, chain: &Chain) -> [usize; 2] {
        let turn = |tie: Tie, node: Option<&usize>| match tie {
            Tie::Slanted(dart) => self.turn[graph.darts[dart].node],
            Tie::Free => node.map_or(0, |&node| self.turn[node]),
        };
        [turn(chain.ties[0], chain.nodes.first()), turn(chain.ties[1], chain.nodes.last())]
    }
}

/// The graph with its invisible tracks: darts past those of the graph are invisible.
struct Filled {
    ring: Vec<Vec<usize>>,
    side: Vec<Side>,
    mate: Vec<usize>,
    node: Vec<usize>,
    from_source: Vec<Vec<usize>>,
}

/// An angle of a face that is not flat: the dart before it.
#[derive(Clone, Copy)]
struct Corner {
    dart: usize,
    large: bool,
    late: bool,
}

/// In which of two ways the sweep takes what hangs on the rest by one track.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Pace {
    /// Beside what it hangs on.
    #[default]
    Together,
    /// A branch to the end before anything else follows.
    BranchesFirst,
}

/// Sweeps every part of the graph from left to right.
pub(crate) fn sweep(
    graph: &Graph,
    chains: &Chains,
    network: &Network,
    part_of: &[usize],
    pace: Pace,
) -> Sweep {
    let filled = fill(graph, network, part_of);
    let mut keys = keys(graph, chains, network, &filled);
    if pace == Pace::BranchesFirst {
        keys = branches_first(graph, chains, network, &keys);
    }
    let mut sweep = Sweep {
        turn: vec![0; graph.nodes.len()],
        above: BTreeSet::new(),
        beside: vec![[Vec::new(), Vec::new()]; graph.edges.len()],
    };
    let mut turn = 0;
    for from_source in &filled.from_source {
        pass(graph, chains, &filled, &keys, from_source, &mut sweep, &mut turn);
    }
    sweep
}

fn fill(graph: &Graph, network: &Network, part_of: &[usize]) -> Filled {
    let mut faces = Faces::of(graph);
    for edge in &graph.edges {
        faces.join(edge.darts);
    }
    let mut filled = Filled {
        ring: (0..graph.nodes.len()).map(|node| ring(graph, node)).collect(),
        side: (0..graph.darts.len()).map(|dart| graph.side(dart)).collect(),
        mate: (0..graph.darts.len()).map(|dart| graph.across(dart)).collect(),
        node: graph.darts.iter().map(|dart| dart.node).collect(),
        from_source: vec![Vec::new(); part_of.iter().max().map_or(0, |most| most + 1)],
    };
    let mut seen = vec![false; graph.darts.len()];
    for start in 0..graph.darts.len() {
        let mut corners = Vec::new();
        let mut at = start;
        while !seen[at] {
            seen[at] = true;
            if faces.angle[at] != 0 {
                let large = faces.angle[at] < 0;
                corners.push(Corner {
                    dart: at,
                    large,
                    late: large && goes_on(graph, network, graph.darts[at].node),
                });
            }
            at = graph.across(faces.next[at]);
        }
        if !corners.is_empty() {
            let part = part_of[graph.darts[start].node];
            filled.fill_face(corners, part);
        }
    }
    filled
}

/// Whether a node is an end where trains come and go, which should keep its way to the edge of the sheet.
pub(crate) fn goes_on(graph: &Graph, network: &Network, node: usize) -> bool {
    match graph.nodes[node].what {
        What::Joint(joint, _) => {
            matches!(network.joint(joint).kind, JointKind::End { is: EndKind::Beyond | EndKind::Staging, .. })
        }
        What::Connector(_) | What::Bow => false,
    }
}

impl Filled {
    /// Adds an invisible track between two corners; each new dart comes next after its corner's dart.
    fn tie(&mut self, large: usize, small: usize) -> usize {
        let at_small = self.add_after(small, self.side[small]);
        let at_large = self.add_after(large, self.side[large].other());
        self.mate[at_small] = at_large;
        self.mate[at_large] = at_small;
        at_small
    }

    fn add_after(&mut self, dart: usize, side: Side) -> usize {
        let node = self.node[dart];
        let new = self.side.len();
        self.side.push(side);
        self.node.push(node);
        self.mate.push(new);
        let place = self.ring[node].iter().position(|&other| other == dart).map_or(0, |place| place + 1);
        self.ring[node].insert(place, new);
        new
    }

    fn fill_face(&mut self, corners: Vec<Corner>, part: usize) {
        let outer = corners.iter().filter(|corner| corner.large).count() * 2 > corners.len();
        let mut face = corners;
        for late in [false, true] {
            while self.tie_some(&mut face, late) {}
        }
        if !outer {
            return;
        }
        face.retain(|corner| corner.large);
        // Along the outer face sources come from top to bottom, then sinks from bottom to top.
        let starts = |corner: &Corner, side: &[Side]| side[corner.dart] == Side::Right;
        let first = (0..face.len()).find(|&index| {
            let before = (index + face.len() - 1) % face.len();
            starts(&face[index], &self.side) && !starts(&face[before], &self.side)
        });
        face.rotate_left(first.unwrap_or(0));
        for corner in face {
            let end = starts(&corner, &self.side);
            let dart = self.add_after(corner.dart, self.side[corner.dart].other());
            if end {
                self.from_source[part].push(dart);
            }
        }
    }

    /// Ties ends to angles wherever an end is followed by two small angles, or comes after two, along the face.
    fn tie_some(&mut self, face: &mut Vec<Corner>, late: bool) -> bool {
        let mut any = false;
        let mut index = 0;
        while index < face.len() && face.len() >= 3 {
            let count = face.len();
            let [a, b, c] = [index, (index + 1) % count, (index + 2) % count];
            if face[b].large {
                index += 1;
                continue;
            }
            if face[a].large && !face[c].large && (late || !face[a].late) {
                let new = self.tie(face[a].dart, face[c].dart);
                face[c].dart = new;
                remove(face, a, b);
            } else if face[c].large && !face[a].large && (late || !face[c].late) {
                self.tie(face[c].dart, face[a].dart);
                remove(face, b, c);
            } else {
                index += 1;
                continue;
            }
            any = true;
            index = index.saturating_sub(2);
        }
        any
    }

    fn on(&self, node: usize, side: Side) -> impl Iterator<Item = usize> + '_ {
        let of_side = move |dart: &usize| self.side[*dart] == side;
        let ring = &self.ring[node];
        let (up, down) = (ring.iter().rev().copied().filter(of_side), ring.iter().copied().filter(of_side));
        // The ring has the right side from below and the left side from above.
        let (right, left) = (side == Side::Right, side == Side::Left);
        up.filter(move |_| right).chain(down.filter(move |_| left))
    }
}

fn remove(face: &mut Vec<Corner>, first: usize, second: usize) {
    face.remove(first.max(second));
    face.remove(first.min(second));
}

/// How far left each node would like to come.
fn keys(graph: &Graph, chains: &Chains, network: &Network, filled: &Filled) -> Vec<i64> {
    let mut keys = earliest(graph, filled);
    let earliest = keys.clone();
    let beyond = |node: usize| graph.across(graph.nodes[node].darts[0]);
    for node in 0..graph.nodes.len() {
        let start = stops(graph, node, Side::Right);
        if !start && !stops(graph, node, Side::Left) {
            continue;
        }
        let other = earliest[graph.darts[beyond(node)].node];
        keys[node] = match (goes_on(graph, network, node), start) {
            (true, true) => -FAR,
            (true, false) => FAR,
            (false, true) => 4 * other - 1,
            (false, false) => 4 * other + if is_connector(graph, node) { 1 } else { 2 },
        };
    }
    for (node, key) in keys.iter_mut().enumerate() {
        if !stops(graph, node, Side::Right) && !stops(graph, node, Side::Left) {
            *key *= 4;
        }
    }
    stop_together(graph, chains, network, &mut keys);
    keys
}

/// Gives the ends of each yard one key.
fn stop_together(graph: &Graph, chains: &Chains, network: &Network, keys: &mut [i64]) {
    for yard in yards(graph, chains, network) {
        let starts = yard.iter().all(|&node| stops(graph, node, Side::Right));
        let all = yard.iter().map(|&node| keys[node]);
        let together = if starts { all.min() } else { all.max() };
        for &node in &yard {
            keys[node] = together.unwrap_or(keys[node]);
        }
    }
}

/// The same keys, those in branches brought near to what they hang on.
fn branches_first(graph: &Graph, chains: &Chains, network: &Network, keys: &[i64]) -> Vec<i64> {
    let room = i64::try_from(graph.nodes.len() + 1).unwrap_or(1);
    let mut near: Vec<i64> = keys.iter().map(|key| key.saturating_mul(room).clamp(-FAR, FAR)).collect();
    for &(node, on, to_the_right) in &Branches::of(graph, network).hangs_on {
        near[node] = near[on] + if to_the_right { 1 } else { -1 };
    }
    stop_together(graph, chains, network, &mut near);
    near
}

/// The least number of tracks to the left of each node, invisible ones counted.
fn earliest(graph: &Graph, filled: &Filled) -> Vec<i64> {
    let mut waits: Vec<usize> = (0..graph.nodes.len()).map(|node| filled.waits(node)).collect();
    let mut earliest = vec![0; graph.nodes.len()];
    let mut ready: Vec<usize> = (0..graph.nodes.len()).filter(|&node| waits[node] == 0).collect();
    while let Some(node) = ready.pop() {
        for dart in filled.on(node, Side::Right) {
            let mate = filled.mate[dart];
            if mate == dart {
                continue;
            }
            let to = filled.node[mate];
            earliest[to] = earliest[to].max(earliest[node] + 1);
            waits[to] -= 1;
            if waits[to] == 0 {
                ready.push(to);
            }
        }
    }
    earliest
}

impl Filled {
    /// How many tracks have to be begun before a node's turn, those from the far left not counted.
    fn waits(&self, node: usize) -> usize {
        self.on(node, Side::Left).filter(|&dart| self.mate[dart] != dart).count()
    }
}

/// Passes one part from left to right.
fn pass(
    graph: &Graph,
    chains: &Chains,
    filled: &Filled,
    keys: &[i64],
    from_source: &[usize],
    sweep: &mut Sweep,
    turn: &mut usize,
) {
    // The front holds darts on the right of the sweep's nodes, by their mates: what the sweep runs toward.
    let mut front: Vec<usize> = from_source.to_vec();
    let mut waits: Vec<Option<usize>> = vec![None; graph.nodes.len()];
    let mut ready = BinaryHeap::new();
    for &dart in from_source {
        let node = filled.node[dart];
        let still = waits[node].get_or_insert_with(|| filled.waits(node));
        if *still == 0 {
            ready.push(std::cmp::Reverse((keys[node], node)));
        }
    }
    while let Some(std::cmp::Reverse((_, node))) = ready.pop() {
        sweep.turn[node] = *turn;
        *turn += 1;
        let left: Vec<usize> = filled.on(node, Side::Left).collect();
        let right: Vec<usize> = filled.on(node, Side::Right).map(|dart| filled.mate[dart]).collect();
        let place = left.first().and_then(|first| front.iter().position(|dart| dart == first)).unwrap_or(0);
        let last = (place + left.len()).min(front.len());
        debug_assert_eq!(front[place..last], left[..], "the left tracks of a node lie side by side");
        front.splice(place..last, right.iter().copied());
        note(graph, chains, &front, place, right.len(), sweep);
        for dart in right {
            let to = filled.node[dart];
            if to == node {
                continue;
            }
            let still = waits[to].get_or_insert_with(|| filled.waits(to));
            *still = still.saturating_sub(1);
            if *still == 0 {
                ready.push(std::cmp::Reverse((keys[to], to)));
            }
        }
    }
}

/// Notes who lies above whom after `count` tracks have come into the front at `place`.
fn note(graph: &Graph, chains: &Chains, front: &[usize], place: usize, count: usize, sweep: &mut Sweep) {
    let edge_of = |dart: usize| graph.darts.get(dart).map(|dart| dart.edge);
    let solid = |dart: &usize| edge_of(*dart).filter(|&edge| !chains.is_link(edge));
    let mut upper = front[..place].iter().rev().find_map(solid);
    for dart in &front[place..] {
        let Some(lower) = solid(dart) else { continue };
        if let Some(upper) = upper {
            sweep.above.insert((upper, lower));
        }
        upper = Some(lower);
        if !front[place..place + count].contains(dart) {
            break;
        }
    }
    let new = place..place + count;
    for (index, &dart) in front.iter().enumerate() {
        let Some(link) = edge_of(dart).filter(|&edge| chains.is_link(edge)) else { continue };
        let others: Vec<usize> =
            if new.contains(&index) { (0..front.len()).collect() } else { new.clone().collect() };
        for other in others {
            if let Some(edge) = solid(&front[other]) {
                sweep.beside[link][usize::from(other > index)].push(edge);
            }
        }
    }
}
