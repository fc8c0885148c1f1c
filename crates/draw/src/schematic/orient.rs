//! Which way each joint points on the sheet, and which tracks hold the railroad together.
//!
//! A track has to run from the right side of one node to the left side of another. Whether two neighbours must be
//! turned against each other for that is known, so turning is a question of parity: edges are taken in order of
//! importance (links of crossovers, then tracks of lines as the lines stand in the file, then the rest), each edge that
//! joins two parts fixes their parity, and what is left over (a turning loop, a ring) is judged later by
//! [`super::embed`]. The edges taken form a spanning tree of each part, which can always be drawn.
//!
//! A whole part is then turned so that most of its ends lie on the side the description gives them, else so that its
//! first line starts at the left.

use super::graph::{EdgeKind, Graph, Side, What};
use description::Hand;
use network::{JointKind, Network};

/// The outcome: every edge in order of importance, those that form the trees, and the part each node is in.
pub(crate) struct Oriented {
    pub(crate) tree: Vec<usize>,
    pub(crate) rest: Vec<usize>,
    pub(crate) part_of: Vec<usize>,
}

/// Parts that grow together; each node knows whether it is turned against the root of its part.
struct Parts {
    parent: Vec<usize>,
    against: Vec<bool>,
}

impl Parts {
    fn root(&mut self, node: usize) -> (usize, bool) {
        let mut path = Vec::new();
        let mut at = node;
        while self.parent[at] != at {
            path.push(at);
            at = self.parent[at];
        }
        let mut against = false;
        for &step in path.iter().rev() {
            against ^= self.against[step];
            self.against[step] = against;
            self.parent[step] = at;
        }
        (at, against)
    }
}

/// Turns every node, and picks the tree.
pub(crate) fn orient(graph: &mut Graph, network: &Network) -> Oriented {
    let mut parts =
        Parts { parent: (0..graph.nodes.len()).collect(), against: vec![false; graph.nodes.len()] };
    let (mut tree, mut rest) = (Vec::new(), Vec::new());
    for edge in by_importance(graph, network) {
        let [first, second] = graph.edges[edge].darts;
        let (a, b) = (graph.darts[first].node, graph.darts[second].node);
        let must_differ = graph.own_side(first) == graph.own_side(second);
        let ((root_a, turned_a), (root_b, turned_b)) = (parts.root(a), parts.root(b));
        if root_a == root_b {
            rest.push(edge);
        } else {
            parts.parent[root_b] = root_a;
            parts.against[root_b] = turned_a ^ turned_b ^ must_differ;
            tree.push(edge);
        }
    }
    let mut part_of = vec![usize::MAX; graph.nodes.len()];
    let mut part_of_root = vec![usize::MAX; graph.nodes.len()];
    let mut part_count = 0;
    for (node, part) in part_of.iter_mut().enumerate() {
        let (root, turned) = parts.root(node);
        graph.nodes[node].turned = turned;
        if part_of_root[root] == usize::MAX {
            part_of_root[root] = part_count;
            part_count += 1;
        }
        *part = part_of_root[root];
    }
    turn_parts(graph, network, &part_of, part_count);
    Oriented { tree, rest, part_of }
}

/// Edges: links, then tracks of lines in the order of the file, then the others.
fn by_importance(graph: &Graph, network: &Network) -> Vec<usize> {
    let mut place = vec![usize::MAX; network.tracks.len()];
    for (index, line) in network.lines.iter().enumerate() {
        for track in &line.tracks {
            let slot = &mut place[track.index()];
            *slot = (*slot).min(index);
        }
    }
    let mut edges: Vec<usize> = (0..graph.edges.len()).collect();
    edges.sort_by_key(|&edge| match graph.edges[edge].kind {
        EdgeKind::Link(_) => (0, 0, edge),
        EdgeKind::Track(track) => (1, place[track.index()], edge),
    });
    edges
}

fn turn_parts(graph: &mut Graph, network: &Network, part_of: &[usize], part_count: usize) {
    let mut votes = vec![0_i64; part_count];
    for (node, &part) in graph.nodes.iter().zip(part_of) {
        let What::Joint(joint, _) = node.what else { continue };
        let JointKind::End { side: Some(side), .. } = network.joint(joint).kind else { continue };
        // An end that is not turned lies on the left.
        let lies = if node.turned { Hand::Right } else { Hand::Left };
        votes[part] += if lies == side { 1 } else { -1 };
    }
    for line in &network.lines {
        let Some((node, starts_left)) = starts_at_left(graph, network, line) else { continue };
        let vote = &mut votes[part_of[node]];
        if *vote == 0 {
            *vote = if starts_left { 1 } else { -1 };
        }
    }
    for (node, &part) in graph.nodes.iter_mut().zip(part_of) {
        if votes[part] < 0 {
            node.turned = !node.turned;
        }
    }
}

/// A node on the line, and whether the line runs there from left to right.
fn starts_at_left(graph: &Graph, network: &Network, line: &network::Line) -> Option<(usize, bool)> {
    let dart_at = |joint: network::JointId, port: u8| {
        (0..graph.darts.len()).find(|&dart| {
            graph.darts[dart].port == Some(port)
                && matches!(graph.nodes[graph.darts[dart].node].what, What::Joint(of, _) if of == joint)
        })
    };
    let dart = match line.passes.first() {
        Some(pass) => dart_at(pass.joint, pass.enter)?,
        None => {
            let end = network.track(*line.tracks.first()?).ends[1];
            dart_at(end.joint, end.port)?
        }
    };
    Some((graph.darts[dart].node, graph.side(dart) == Side::Left))
}
