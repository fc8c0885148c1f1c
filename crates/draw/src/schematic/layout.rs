//! The whole way from a network to places: graph, sides, cuts, chains, sweep, levels, distances.
//!
//! Two things are found out only late and send the work back to an earlier step: a link that cannot keep its slant gets a
//! level of its own, and a word that finds no room has its joint or track given more. Both only ever add room, and both are
//! tried a limited number of times.

use super::across::{Across, Room, across, run_of};
use super::bound::least_height;
use super::chain::{Chains, Tie, is_connector, rises, stops};
use super::embed::embed;
use super::graph::{Graph, Side, What};
use super::improve::improve;
use super::level::{Levelled, levels};
use super::orient::orient;
use super::pins::Pins;
use super::sweep::{Pace, goes_on, sweep};
use super::yard::yards;
use crate::sheet::{
    ARROW_SIZE, CONNECTOR_SIZE, END_NAME_GAP, LEVEL_PITCH, PIT_MARGIN, PIT_RADIUS_MIN, STALL_PITCH,
    STEEP_LEVELS, Um,
};
use network::{JointKind, Network};

/// How often links may be given levels of their own before all of those left are.
const LINK_ROUNDS: usize = 12;

/// What words ask for, before they have a place.
#[derive(Clone, Debug, Default)]
pub(crate) struct Wants {
    /// For each track, the level run its name asks for.
    pub(crate) run: Vec<Um>,
    /// For each joint, the width of the name at its end.
    pub(crate) beyond: Vec<Um>,
    /// For each node, room on both sides on top of the usual.
    pub(crate) extra: Vec<Um>,
}

/// A network with a place for everything.
pub(crate) struct Layout {
    pub(crate) graph: Graph,
    pub(crate) chains: Chains,
    pub(crate) levels: Vec<i64>,
    pub(crate) across: Across,
    pub(crate) room: Room,
    /// No drawing with the same legs level has fewer levels, less one; none where that was not worked out.
    pub(crate) least_height: Option<i64>,
    /// The nudges that it does not hold to.
    pub(crate) unheld: Vec<usize>,
}

/// The part of the work that does not depend on words.
#[derive(Clone)]
pub(crate) struct Plane {
    graph: Graph,
    part_of: Vec<usize>,
    pace: Pace,
    pins: Pins,
}

impl Plane {
    /// Turns, chooses and cuts until everything that is left can be drawn.
    pub(crate) fn of(network: &Network) -> Self {
        let mut graph = Graph::of(network);
        let oriented = orient(&mut graph, network);
        embed(&mut graph, &oriented.tree, &oriented.rest);
        // New nodes hang on older ones by their first darts.
        let mut part_of = oriented.part_of;
        for node in part_of.len()..graph.nodes.len() {
            let joined = graph.darts[graph.across(graph.nodes[node].darts[0])].node;
            part_of.push(part_of[joined]);
        }
        let pins = Pins::of(&mut graph, network);
        let mut plane = Self { graph, part_of, pace: Pace::default(), pins };
        improve(&mut plane, network);
        plane
    }

    pub(crate) fn graph(&self) -> &Graph {
        &self.graph
    }

    /// Sets in which way branches are swept.
    pub(crate) fn set_pace(&mut self, pace: Pace) {
        self.pace = pace;
    }

    /// Makes a dart level in the place of another of its node.
    pub(crate) fn set_level(&mut self, node: usize, from: usize, to: usize) {
        for level in self.graph.nodes[node].levels.iter_mut().flatten().flatten() {
            if *level == from {
                *level = to;
            }
        }
    }

    /// How many nodes there are.
    pub(crate) fn node_count(&self) -> usize {
        self.graph.nodes.len()
    }

    /// Gives everything its place.
    pub(crate) fn lay_out(&self, network: &Network, wants: &Wants) -> Layout {
        let mut own_level = vec![false; self.graph.edges.len()];
        let mut layout = self.attempt(network, wants, &own_level);
        for round in 1..=LINK_ROUNDS {
            if layout.across.impossible.is_empty() {
                break;
            }
            for (index, chain) in layout.chains.list.iter().enumerate() {
                let give_up = round == LINK_ROUNDS && chain.link;
                own_level[chain.edges[0]] |= give_up || layout.across.impossible.contains(&index);
            }
            layout = self.attempt(network, wants, &own_level);
        }
        layout
    }

    fn attempt(&self, network: &Network, wants: &Wants, own_level: &[bool]) -> Layout {
        let graph = &self.graph;
        let mut chains = Chains::of(graph);
        for chain in &mut chains.list {
            chain.link &= !own_level[chain.edges[0]];
        }
        let swept = sweep(graph, &chains, network, &self.part_of, self.pace);
        let Levelled { levels, mut unheld } =
            levels(graph, &chains, &swept, &self.part_of, &self.pins.levels);
        let room = room(graph, &chains, &levels, network, wants);
        let across = across(graph, &chains, &levels, &swept, &room, &self.pins.orders);
        unheld.extend(&across.unheld);
        let to_the_edge = (0..graph.nodes.len()).filter(|&node| room.to_the_edge[node]).collect();
        let side_by_side: Vec<Vec<usize>> = room.together.iter().cloned().chain([to_the_edge]).collect();
        let least_height = least_height(graph, &chains, &swept, &self.part_of, &side_by_side);
        Layout { graph: graph.clone(), chains, levels, across, room, least_height, unheld }
    }
}

fn room(graph: &Graph, chains: &Chains, levels: &[i64], network: &Network, wants: &Wants) -> Room {
    let mut room = Room {
        run: vec![0; graph.edges.len()],
        beyond: vec![0; graph.nodes.len()],
        extra: wants.extra.clone(),
        reach: vec![[0; 2]; graph.nodes.len()],
        rise: vec![0; graph.darts.len()],
        steep: steep(graph, chains, levels, network),
        to_the_edge: vec![false; graph.nodes.len()],
        together: yards(graph, chains, network),
    };
    room.extra.resize(graph.nodes.len(), 0);
    let mut named = vec![false; network.tracks.len()];
    for edge in 0..graph.edges.len() {
        // Of a track that is cut, the first stub carries the name.
        if let Some(track) =
            graph.track(edge).filter(|track| !std::mem::replace(&mut named[track.index()], true))
        {
            room.run[edge] = wants.run.get(track.index()).copied().unwrap_or(0);
        }
    }
    for node in 0..graph.nodes.len() {
        if is_connector(graph, node) {
            room.beyond[node] = CONNECTOR_SIZE;
        }
        if graph.nodes[node].what == What::Bow {
            room.reach[node] = bow_reach(graph, chains, levels, node);
        }
        let What::Joint(id, _) = graph.nodes[node].what else { continue };
        match network.joint(id).kind {
            JointKind::End { .. } => {
                let name = wants.beyond.get(id.index()).copied().unwrap_or(0);
                room.beyond[node] = ARROW_SIZE + if name > 0 { END_NAME_GAP + name } else { 0 };
                room.to_the_edge[node] = goes_on(graph, network, node) && stops(graph, node, Side::Left);
            }
            JointKind::Scissors => {
                if let [one, other] = chains.of_node[node][..] {
                    let apart = (levels[one] - levels[other]).abs();
                    room.reach[node][1] = run_of(apart * LEVEL_PITCH, apart >= STEEP_LEVELS);
                }
            }
            JointKind::Turntable { .. } => make_pit(graph, chains, node, &mut room),
            JointKind::Turnout { .. }
            | JointKind::Wye
            | JointKind::Threeway
            | JointKind::Crossover { .. }
            | JointKind::Slip { .. }
            | JointKind::Crossing => {}
        }
    }
    room
}

/// Which slanted darts run at 60°: those that climb far, and with them their neighbours on the same chain that climb one
/// level more or less, so that the legs of a yard lie in parallel.
fn steep(graph: &Graph, chains: &Chains, levels: &[i64], network: &Network) -> Vec<bool> {
    let climb = |dart: usize| {
        let own = chains.of_edge[graph.darts[dart].edge];
        let to = match (chains.list[own].link, chains.list[own].ties) {
            (true, [Tie::Slanted(left), Tie::Slanted(right)]) => {
                chains.parent(graph, if left == dart { right } else { left })
            }
            _ => own,
        };
        (levels[chains.parent(graph, dart)] - levels[to]).abs()
    };
    let slanted = |dart: usize| graph.level_run(dart).is_none();
    let at_pit = |dart: usize| is_pit(graph, network, graph.darts[dart].node);
    let mut steep: Vec<bool> = (0..graph.darts.len())
        .map(|dart| slanted(dart) && !at_pit(dart) && climb(dart) >= STEEP_LEVELS)
        .collect();
    for chain in &chains.list {
        for (side, up) in [(Side::Left, true), (Side::Left, false), (Side::Right, true), (Side::Right, false)]
        {
            // Stalls keep one slope of their own, or their tracks would meet.
            let no_legs = |node: usize| is_pit(graph, network, node) || graph.nodes[node].what == What::Bow;
            let nodes = chain.nodes.iter().filter(|&&node| !no_legs(node));
            let legs = nodes.flat_map(|&node| graph.darts_on(node, side));
            let legs = legs.filter(|&dart| slanted(dart) && rises(graph, dart) == up);
            let legs: Vec<usize> = legs.filter(|&dart| !chains.is_link(graph.darts[dart].edge)).collect();
            let beside = |steep: &mut Vec<bool>, pair: [usize; 2]| {
                if steep[pair[0]] && (climb(pair[0]) - climb(pair[1])).abs() == 1 {
                    steep[pair[1]] = true;
                }
            };
            legs.windows(2).for_each(|pair| beside(&mut steep, [pair[0], pair[1]]));
            legs.windows(2).rev().for_each(|pair| beside(&mut steep, [pair[1], pair[0]]));
        }
    }
    straighten(graph, chains, &mut steep);
    for (dart, steep) in steep.iter_mut().enumerate() {
        *steep |= slanted(dart) && graph.at_bow(dart);
    }
    steep
}

/// Gives both slants of a crossing one slope, and both ends of a link: the lower one where they differ.
fn straighten(graph: &Graph, chains: &Chains, steep: &mut [bool]) {
    let mut pairs: Vec<[usize; 2]> = Vec::new();
    for node in 0..graph.nodes.len() {
        let slant =
            |side: Side| graph.darts_on(node, side).into_iter().find(|&dart| graph.level_run(dart).is_none());
        if let (Some(left), Some(right)) = (slant(Side::Left), slant(Side::Right)) {
            pairs.push([left, right]);
        }
    }
    for chain in chains.list.iter().filter(|chain| chain.link) {
        if let [Tie::Slanted(left), Tie::Slanted(right)] = chain.ties {
            pairs.push([left, right]);
        }
    }
    // Each pass only ever lowers slopes, so this ends.
    let mut changed = true;
    while changed {
        changed = false;
        for &[a, b] in &pairs {
            if steep[a] != steep[b] {
                (steep[a], steep[b]) = (false, false);
                changed = true;
            }
        }
    }
}

/// How far from the point of a turn the two levels leave off that meet there.
fn bow_reach(graph: &Graph, chains: &Chains, levels: &[i64], node: usize) -> [Um; 2] {
    let on = |dart: usize| levels[chains.of_edge[graph.darts[dart].edge]];
    let darts = &graph.nodes[node].darts;
    let run = run_of((on(darts[0]) - on(darts[1])).abs() * LEVEL_PITCH / 2, true);
    match graph.side(darts[0]) {
        Side::Left => [run, 0],
        Side::Right => [0, run],
    }
}

fn is_pit(graph: &Graph, network: &Network, node: usize) -> bool {
    let What::Joint(id, _) = graph.nodes[node].what else { return false };
    matches!(network.joint(id).kind, JointKind::Turntable { .. })
}

fn make_pit(graph: &Graph, chains: &Chains, node: usize, room: &mut Room) {
    let mut widest = 0;
    for &dart in &graph.nodes[node].darts {
        let chain = &chains.list[chains.of_edge[graph.darts[dart].edge]];
        if graph.level_run(dart).is_none() && chain.ties.contains(&Tie::Slanted(dart)) {
            room.rise[dart] = Um::from(graph.fall(dart)) * STALL_PITCH;
            widest = widest.max(room.rise[dart].abs());
        }
    }
    let radius = PIT_RADIUS_MIN.max(widest + PIT_MARGIN);
    room.reach[node] = [radius, radius];
}
