//! Branches: parts of a railroad that hang on the rest by one track and lead only to bumpers, such as a yard or an engine
//! house.
//!
//! A branch can be drawn beside what it hangs on, or before anything else follows there. The first is compact across
//! the sheet; the second lets yards along a main share their levels, and is lower.

use super::graph::{Graph, Side};
use super::sweep::goes_on;
use network::Network;

/// Which nodes of a graph are in branches.
pub(crate) struct Branches {
    /// Nodes in branches, each with the node it hangs on and whether it lies to its right; what is hung on comes first.
    pub(crate) hangs_on: Vec<(usize, usize, bool)>,
}

impl Branches {
    /// Strips a graph of ends until what is left has none but those where trains come and go. Linear in its size.
    pub(crate) fn of(graph: &Graph, network: &Network) -> Self {
        let mut left: Vec<usize> = graph.nodes.iter().map(|node| node.darts.len()).collect();
        let mut gone = vec![false; graph.nodes.len()];
        let is_end = |node: usize, left: &[usize]| left[node] == 1 && !goes_on(graph, network, node);
        let mut queue: Vec<usize> = (0..graph.nodes.len()).filter(|&node| is_end(node, &left)).collect();
        let mut hangs_on = Vec::new();
        let mut next = 0;
        while let Some(&node) = queue.get(next) {
            next += 1;
            let other_end = |dart: &&usize| !gone[graph.darts[graph.across(**dart)].node];
            let Some(&dart) = graph.nodes[node].darts.iter().find(other_end) else { continue };
            let mate = graph.across(dart);
            let on = graph.darts[mate].node;
            gone[node] = true;
            hangs_on.push((node, on, graph.side(mate) == Side::Right));
            left[on] -= 1;
            if is_end(on, &left) {
                queue.push(on);
            }
        }
        hangs_on.reverse();
        Self { hangs_on }
    }
}
