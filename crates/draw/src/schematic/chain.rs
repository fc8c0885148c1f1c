//! Chains: the longest runs of track that are drawn on one level.
//!
//! A chain goes on straight through every joint it meets and ends at an `[end.*]`, at a connector, or where it leaves
//! or meets another chain slanted:
//!
//! ```text
//!               ╱───────●────────╲          one chain, attached at both ends, with one node on it
//! ────●────────●─────────────────●──────    another, with three nodes on it and both ends free
//! ```
//!
//! A chain that is one track, slanted at both ends and the same way, needs no level of its own: it is a *link*, drawn
//! as one slanted stroke, like the piece between the two turnouts of a crossover.

use super::graph::{Graph, Side, What};

/// How one end of a chain lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tie {
    /// The chain begins at its own first (or last) node.
    Free,
    /// It is attached by this slanted dart, which belongs to a node of another chain.
    Slanted(usize),
}

#[derive(Clone, Debug)]
pub(crate) struct Chain {
    /// Its edges from left to right.
    pub(crate) edges: Vec<usize>,
    /// The nodes on its level, from left to right.
    pub(crate) nodes: Vec<usize>,
    /// How its left and its right end lie.
    pub(crate) ties: [Tie; 2],
    /// Whether it is drawn as a link.
    pub(crate) link: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct Chains {
    pub(crate) list: Vec<Chain>,
    /// The chain of each edge.
    pub(crate) of_edge: Vec<usize>,
    /// The chains of each node, one for each of its level runs.
    pub(crate) of_node: Vec<Vec<usize>>,
}

impl Chains {
    /// The chains of a graph in which every edge runs from left to right.
    pub(crate) fn of(graph: &Graph) -> Self {
        let mut found = Self {
            list: Vec::new(),
            of_edge: vec![usize::MAX; graph.edges.len()],
            of_node: graph.nodes.iter().map(|node| vec![usize::MAX; node.levels.len()]).collect(),
        };
        for edge in 0..graph.edges.len() {
            if found.of_edge[edge] == usize::MAX {
                let first = leftmost(graph, edge);
                found.follow(graph, first);
            }
        }
        found
    }

    fn follow(&mut self, graph: &Graph, first: usize) {
        let index = self.list.len();
        let mut chain = Chain { edges: Vec::new(), nodes: Vec::new(), ties: [Tie::Free; 2], link: false };
        let mut edge = first;
        loop {
            self.of_edge[edge] = index;
            chain.edges.push(edge);
            let [left, right] = graph.ends(edge);
            if edge == first {
                match graph.level_run(left) {
                    Some(run) => self.pass(graph, left, run, index, &mut chain),
                    None => chain.ties[0] = Tie::Slanted(left),
                }
            }
            match graph.level_run(right) {
                Some(run) => self.pass(graph, right, run, index, &mut chain),
                None => chain.ties[1] = Tie::Slanted(right),
            }
            match graph.opposite(right).map(|dart| graph.darts[dart].edge) {
                // A ring on one level cannot come out of an embedding; the check keeps a mistake there from hanging.
                Some(next) if self.of_edge.get(next) == Some(&usize::MAX) => edge = next,
                _ => break,
            }
        }
        chain.link = is_link(graph, &chain);
        self.list.push(chain);
    }

    fn pass(&mut self, graph: &Graph, dart: usize, run: usize, index: usize, chain: &mut Chain) {
        let node = graph.darts[dart].node;
        self.of_node[node][run] = index;
        chain.nodes.push(node);
    }

    /// The chain on whose level a slanted dart's node lies.
    pub(crate) fn parent(&self, graph: &Graph, dart: usize) -> usize {
        self.of_node[graph.darts[dart].node][0]
    }

    /// Whether this edge is drawn as a link.
    pub(crate) fn is_link(&self, edge: usize) -> bool {
        self.list[self.of_edge[edge]].link
    }
}

fn leftmost(graph: &Graph, edge: usize) -> usize {
    let mut at = edge;
    for _ in 0..graph.edges.len() {
        let [left, _] = graph.ends(at);
        match graph.opposite(left).map(|dart| graph.darts[dart].edge) {
            Some(next) if next != edge && next < graph.edges.len() => at = next,
            _ => break,
        }
    }
    at
}

fn is_link(graph: &Graph, chain: &Chain) -> bool {
    let ([Tie::Slanted(left), Tie::Slanted(right)], [_]) = (chain.ties, chain.edges.as_slice()) else {
        return false;
    };
    if graph.at_bow(left) || graph.at_bow(right) {
        return false;
    }
    // It leaves upward and arrives from below, or leaves downward and arrives from above.
    (graph.fall(left) < 0) != (graph.fall(right) < 0)
}

/// Whether a dart leaves its node upward on the sheet.
pub(crate) fn rises(graph: &Graph, dart: usize) -> bool {
    graph.fall(dart) < 0
}

/// Whether a node is where a track stops, with its one dart on this side.
pub(crate) fn stops(graph: &Graph, node: usize, dart_side: Side) -> bool {
    matches!(graph.nodes[node].darts.as_slice(), [dart] if graph.side(*dart) == dart_side)
}

/// Whether a node is a connector.
pub(crate) fn is_connector(graph: &Graph, node: usize) -> bool {
    matches!(graph.nodes[node].what, What::Connector(_))
}
