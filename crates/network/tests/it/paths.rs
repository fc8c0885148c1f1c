//! Routes against a graph library's simple paths, on planar layouts made at random.
//!
//! The layouts are swept from left to right over a list of open track ends: each piece takes neighbouring ends and puts
//! others in their place, so that nothing crosses but in a crossing, a slip or a scissors. The same sweep writes the
//! text for the tool and, from tables of its own, the graph for the peer.
//!
//! # Source
//! `petgraph::algo::all_simple_paths` on a directed graph whose nodes are a track and the end it is run towards; its
//! paths are filtered by the description's definition of a route. The moves of each joint and the machines that they
//! traverse are written out here from `description.md`; for scissors and turntables, common practice, no source.

use network::{Network, Position, ROUTES_MAX, find_routes};
use petgraph::algo::all_simple_paths;
use petgraph::graph::{DiGraph, NodeIndex};
use proptest::prelude::*;
use std::collections::hash_map::RandomState;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use Position::{Normal as N, Reverse as R};

/// A way through a joint: two of its legs, and the machines it traverses.
type Ways = &'static [(usize, usize, &'static [(&'static str, Position)])];

const TURNOUT: Ways = &[(0, 1, &[("", N)]), (0, 2, &[("", R)])];
const THREEWAY: Ways =
    &[(0, 1, &[("L", N), ("R", N)]), (0, 2, &[("L", R), ("R", N)]), (0, 3, &[("L", N), ("R", R)])];
const CROSSOVER: Ways = &[(0, 1, &[("A", N)]), (2, 3, &[("B", N)]), (0, 3, &[("A", R), ("B", R)])];
const SCISSORS: Ways = &[
    (0, 1, &[("A", N), ("D", N)]),
    (2, 3, &[("B", N), ("C", N)]),
    (0, 3, &[("A", R), ("B", R)]),
    (2, 1, &[("C", R), ("D", R)]),
];
const DOUBLE_SLIP: Ways = &[
    (0, 1, &[("W", N), ("E", N)]),
    (2, 3, &[("W", R), ("E", R)]),
    (0, 3, &[("W", R), ("E", N)]),
    (2, 1, &[("W", N), ("E", R)]),
];
const SINGLE_SLIP: Ways = &[(0, 1, &[("W", N)]), (2, 3, &[("E", N)]), (0, 3, &[("W", R), ("E", R)])];
const CROSSING: Ways = &[(0, 1, &[]), (2, 3, &[])];
const TURNTABLE: Ways = &[(0, 2, &[]), (0, 3, &[]), (1, 2, &[]), (1, 3, &[])];
const END: Ways = &[];

/// A piece of the sweep: it takes the open ends from `at` on, as many as it has on its left, and puts down as many as it
/// has on its right. Its legs are numbered left ones first, both from the top.
struct Piece {
    table: &'static str,
    /// The keys of its table, each with the places of its legs among left and right ones.
    keys: &'static [(&'static str, &'static [usize])],
    left: usize,
    right: usize,
    /// Between legs in the order of the keys.
    ways: Ways,
    also: &'static str,
}

macro_rules! piece {
    ($table:literal, $left:literal + $right:literal, $ways:ident, $also:literal, $($key:literal: $legs:expr),+) => {
        Piece { table: $table, keys: &[$(($key, &$legs)),+], left: $left, right: $right, ways: $ways, also: $also }
    };
}

/// What the sweep can lay. In pieces of two lines a train that keeps straight on keeps its level, except in slips and
/// crossings, whose two lines change places.
static PIECES: [Piece; 19] = [
    piece!("turnout", 1 + 2, TURNOUT, "hand = \"right\"", "points": [0], "through": [1], "diverging": [2]),
    piece!("turnout", 2 + 1, TURNOUT, "hand = \"right\"", "points": [2], "through": [1], "diverging": [0]),
    piece!("turnout", 1 + 2, TURNOUT, "hand = \"left\"", "points": [0], "through": [2], "diverging": [1]),
    piece!("turnout", 2 + 1, TURNOUT, "hand = \"left\"", "points": [2], "through": [0], "diverging": [1]),
    piece!("wye", 1 + 2, TURNOUT, "", "points": [0], "left": [1], "right": [2]),
    piece!("wye", 2 + 1, TURNOUT, "", "points": [2], "left": [1], "right": [0]),
    piece!("threeway", 1 + 3, THREEWAY, "", "points": [0], "through": [2], "left": [1], "right": [3]),
    piece!("threeway", 3 + 1, THREEWAY, "", "points": [3], "through": [1], "left": [2], "right": [0]),
    piece!("crossover", 2 + 2, CROSSOVER, "", "one": [0, 2], "other": [1, 3]),
    piece!("crossover", 2 + 2, CROSSOVER, "", "one": [1, 3], "other": [0, 2]),
    piece!("scissors", 2 + 2, SCISSORS, "", "one": [0, 2], "other": [1, 3]),
    piece!("slip", 2 + 2, DOUBLE_SLIP, "", "one": [0, 3], "other": [1, 2]),
    piece!("slip", 2 + 2, SINGLE_SLIP, "slips = \"one\"", "one": [0, 3], "other": [1, 2]),
    piece!("slip", 2 + 2, SINGLE_SLIP, "slips = \"one\"", "one": [1, 2], "other": [0, 3]),
    piece!("crossing", 2 + 2, CROSSING, "", "one": [0, 3], "other": [1, 2]),
    piece!("turntable", 2 + 2, TURNTABLE, "", "approach": [0, 1], "stalls": [2, 3]),
    piece!("end", 1 + 0, END, "", "track": [0]),
    piece!("end", 0 + 1, END, "", "track": [0]),
    // Two neighbouring ends are one track: it turns back.
    piece!("", 2 + 0, END, "", "": [0, 1]),
];

/// One joint as laid: the track at each of its legs, in the order of its keys.
struct Laid {
    id: String,
    piece: &'static Piece,
    legs: Vec<usize>,
}

/// A layout as the sweep leaves it.
#[derive(Default)]
struct Layout {
    joints: Vec<Laid>,
    text: String,
    /// How many tracks were begun. One that was joined to another is called as that one is in `same`.
    begun: usize,
    same: BTreeMap<usize, usize>,
    /// Tracks where routes begin and end.
    stops: BTreeSet<usize>,
}

impl Layout {
    /// Lays pieces, then ends on all that is open. `stops` turns the stop of a track over, by its number.
    fn swept(lines: usize, pieces: &[(usize, usize)], stops: &BTreeSet<usize>) -> Self {
        let mut layout = Self::default();
        let mut open: Vec<usize> = Vec::new();
        let end = |right: usize| PIECES.iter().rfind(|piece| piece.table == "end" && piece.right == right);
        for _ in 0..lines {
            layout.lay(end(1).unwrap(), &mut open, 0);
        }
        for &(piece, at) in pieces {
            let piece = &PIECES[piece];
            if piece.left <= open.len() && open.len() + piece.right <= piece.left + 5 {
                let at = at % (open.len() - piece.left + 1);
                layout.lay(piece, &mut open, at);
            }
        }
        while !open.is_empty() {
            layout.lay(end(0).unwrap(), &mut open, 0);
        }
        layout.write(stops);
        layout
    }

    fn lay(&mut self, piece: &'static Piece, open: &mut Vec<usize>, at: usize) {
        let right: Vec<usize> = (self.begun..).take(piece.right).collect();
        self.begun += piece.right;
        let left: Vec<usize> = open.splice(at..at + piece.left, right.iter().copied()).collect();
        if piece.table.is_empty() {
            self.same.insert(left[1], left[0]);
            return;
        }
        let by_place = [left, right].concat();
        let places = piece.keys.iter().flat_map(|(_, places)| *places);
        let legs = places.map(|&place| by_place[place]).collect();
        self.joints.push(Laid { id: format!("{} {}", piece.table, self.joints.len()), piece, legs });
    }

    /// Writes the text; `turned_over` are the tracks that are stops though they have no end, or none though they have.
    fn write(&mut self, turned_over: &BTreeSet<usize>) {
        self.text = String::from("[layout]\nname = \"made up\"\n");
        for joint in &mut self.joints {
            for leg in &mut joint.legs {
                *leg = *self.same.get(leg).unwrap_or(leg);
            }
            writeln!(self.text, "[{}.\"{}\"]\n{}", joint.piece.table, joint.id, joint.piece.also).unwrap();
            let mut names = joint.legs.iter().map(|leg| format!("\"t{leg}\""));
            for (key, places) in joint.piece.keys {
                let names: Vec<String> = names.by_ref().take(places.len()).collect();
                let is_list = ["one", "other", "approach", "stalls"].contains(key);
                let names = if is_list { format!("[{}]", names.join(", ")) } else { names.concat() };
                writeln!(self.text, "{key} = {names}").unwrap();
            }
            if joint.piece.table == "end" {
                self.stops.insert(joint.legs[0]);
            }
        }
        let is_track = |track: &&usize| **track < self.begun && !self.same.contains_key(track);
        for &track in turned_over.iter().filter(is_track) {
            let stop = self.stops.insert(track) || !self.stops.remove(&track);
            writeln!(self.text, "[track.t{track}]\nstop = {stop}").unwrap();
        }
    }
}

/// A route without direction: its tracks, the joints between them with the legs used, and the machines' positions.
type Told = (Vec<String>, Vec<(String, usize, usize)>, BTreeMap<String, Position>);

fn without_direction((mut tracks, mut joints, machines): Told) -> Told {
    let mut back = (tracks.clone(), joints.clone());
    back.0.reverse();
    back.1.reverse();
    back.1.iter_mut().for_each(|(_, enter, leave)| std::mem::swap(enter, leave));
    if back < (tracks.clone(), joints.clone()) {
        (tracks, joints) = back;
    }
    (tracks, joints, machines)
}

/// The routes by the graph library.
fn routes_of_peer(layout: &Layout) -> BTreeSet<Told> {
    // An end of a track is a leg of a joint. A node is the leg that a train runs towards.
    let mut legs_of: BTreeMap<usize, Vec<(usize, usize)>> = BTreeMap::new();
    for (index, joint) in layout.joints.iter().enumerate() {
        for (leg, track) in joint.legs.iter().enumerate() {
            legs_of.entry(*track).or_default().push((index, leg));
        }
    }
    let far_of = |joint: usize, leg: usize| {
        let ends = &legs_of[&layout.joints[joint].legs[leg]];
        assert_eq!(ends.len(), 2, "a track has two ends");
        if ends[0] == (joint, leg) { ends[1] } else { ends[0] }
    };
    let mut graph: DiGraph<(usize, usize), ()> = DiGraph::new();
    let mut leaving: BTreeMap<(usize, usize), NodeIndex> = BTreeMap::new();
    let mut arriving: BTreeMap<(usize, usize), NodeIndex> = BTreeMap::new();
    // A stop is left at the beginning or entered at the end, so it has a node for each: nothing runs through.
    let goal = graph.add_node((usize::MAX, 0));
    for (track, ends) in &legs_of {
        for &end in ends {
            let node = graph.add_node(end);
            leaving.insert(end, node);
            if layout.stops.contains(track) {
                let entered = graph.add_node(end);
                arriving.insert(end, entered);
                graph.add_edge(entered, goal, ());
            } else {
                arriving.insert(end, node);
            }
        }
    }
    for (index, joint) in layout.joints.iter().enumerate() {
        for &(one, other, _) in joint.piece.ways {
            for (enter, leave) in [(one, other), (other, one)] {
                graph.add_edge(leaving[&(index, enter)], arriving[&far_of(index, leave)], ());
            }
        }
    }
    let starts = layout.stops.iter().flat_map(|track| &legs_of[track]);
    starts
        .flat_map(|start| all_simple_paths::<Vec<_>, _, RandomState>(&graph, leaving[start], goal, 1, None))
        .filter_map(|path| {
            let ends: Vec<(usize, usize)> =
                path.iter().filter(|node| **node != goal).map(|node| graph[*node]).collect();
            told_by_peer(layout, &ends, far_of)
        })
        .collect()
}

/// A path of the peer as a route, if it is one: no track and no machine twice.
fn told_by_peer(
    layout: &Layout,
    ends: &[(usize, usize)],
    far_of: impl Fn(usize, usize) -> (usize, usize),
) -> Option<Told> {
    let tracks: Vec<usize> = ends.iter().map(|&(joint, leg)| layout.joints[joint].legs[leg]).collect();
    if tracks.iter().collect::<BTreeSet<_>>().len() < tracks.len() {
        return None;
    }
    let mut joints = Vec::new();
    let mut machines = BTreeMap::new();
    for pair in ends.windows(2) {
        let ((index, enter), (_, leave)) = (pair[0], far_of(pair[1].0, pair[1].1));
        let joint = &layout.joints[index];
        let way =
            joint.piece.ways.iter().find(|way| [(enter, leave), (leave, enter)].contains(&(way.0, way.1)));
        for (suffix, position) in way.expect("an edge is a way").2 {
            if machines.insert(format!("{}{suffix}", joint.id), *position).is_some() {
                return None;
            }
        }
        joints.push((joint.id.clone(), enter, leave));
    }
    let names = tracks.iter().map(|track| format!("t{track}")).collect();
    Some(without_direction((names, joints, machines)))
}

/// The routes by the tool; every one must be there once.
fn routes_of_tool(network: &Network) -> Vec<Told> {
    let list = find_routes(network, ROUTES_MAX);
    assert!(list.complete);
    let told = list.routes.iter().map(|route| {
        let tracks = route.tracks.iter().map(|&track| network.track(track).name.clone()).collect();
        let joints = route.passes.iter().map(|pass| {
            (network.joint(pass.joint).id.clone(), usize::from(pass.enter), usize::from(pass.leave))
        });
        let machines = route.needs.iter().map(|&(id, position)| (network.machine(id).name.clone(), position));
        without_direction((tracks, joints.collect(), machines.collect()))
    });
    told.collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_routes_are_the_simple_paths_that_use_nothing_twice(
        lines in 1usize..4,
        pieces in prop::collection::vec((0..PIECES.len(), 0usize..6), 1..20),
        stops in prop::collection::btree_set(0usize..24, 0..4),
    ) {
        let layout = Layout::swept(lines, &pieces, &stops);
        let read = description::read(&layout.text).then(network::resolve);
        prop_assert!(!read.has_errors(), "{:?}\n{}", read.diagnostics, layout.text);
        let ours = routes_of_tool(&read.value);
        let theirs = routes_of_peer(&layout);
        let once: BTreeSet<Told> = ours.iter().cloned().collect();
        prop_assert_eq!(once.len(), ours.len(), "a route is there twice\n{}", layout.text);
        let missing: Vec<_> = theirs.difference(&once).collect();
        let extra: Vec<_> = once.difference(&theirs).collect();
        prop_assert!(missing.is_empty() && extra.is_empty(), "missing {missing:?}, extra {extra:?}\n{}", layout.text);
    }
}
