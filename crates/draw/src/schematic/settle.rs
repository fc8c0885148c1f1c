//! A first answer for the choices that the description leaves open, such as to which hand a crossover leaves: each small ring of
//! tracks decides for the joints on it.
//!
//! Every track outside the spanning tree closes one ring with it. Rings are taken from the shortest on; of the choices on
//! a ring that no shorter one has made, those are taken under which the track can be drawn from left to right. A long double
//! track with a thousand crossovers is so settled ring by ring, where trying all choices together would take for ever.

use super::embed::Faces;
use super::graph::Graph;

/// The most open choices on one ring that are tried together.
const OPEN_MAX: usize = 6;

/// The nodes of the spanning tree from the root of each part outward.
struct Tree {
    parent: Vec<usize>,
    depth: Vec<usize>,
}

impl Tree {
    fn of(graph: &Graph, tree: &[usize]) -> Self {
        let count = graph.nodes.len();
        let mut near: Vec<Vec<usize>> = vec![Vec::new(); count];
        for &edge in tree {
            let [a, b] = graph.edges[edge].darts.map(|dart| graph.darts[dart].node);
            near[a].push(b);
            near[b].push(a);
        }
        let mut found = Self { parent: vec![usize::MAX; count], depth: vec![0; count] };
        let mut queue = Vec::new();
        for root in 0..count {
            if found.parent[root] != usize::MAX {
                continue;
            }
            found.parent[root] = root;
            queue.push(root);
            while let Some(node) = queue.pop() {
                for &next in &near[node] {
                    if found.parent[next] == usize::MAX {
                        found.parent[next] = node;
                        found.depth[next] = found.depth[node] + 1;
                        queue.push(next);
                    }
                }
            }
        }
        found
    }

    /// The nodes between two nodes of one part, both counted.
    fn path(&self, a: usize, b: usize) -> Vec<usize> {
        let (mut a, mut b) = (a, b);
        let mut path = Vec::new();
        while a != b {
            if self.depth[a] < self.depth[b] {
                std::mem::swap(&mut a, &mut b);
            }
            path.push(a);
            if self.parent[a] == a {
                break;
            }
            a = self.parent[a];
        }
        path.push(b);
        path
    }
}

/// Makes the choices that short rings decide.
pub(crate) fn settle(graph: &mut Graph, tree: &[usize], rest: &[usize]) {
    if graph.choices.is_empty() {
        return;
    }
    let spanning = Tree::of(graph, tree);
    let mut rings: Vec<(usize, usize, Vec<usize>)> = rest
        .iter()
        .enumerate()
        .map(|(order, &edge)| {
            let [a, b] = graph.edges[edge].darts.map(|dart| graph.darts[dart].node);
            let path = spanning.path(a, b);
            (path.len(), order, path)
        })
        .collect();
    rings.sort_unstable();
    let mut nodes_of = vec![Vec::new(); graph.choices.len()];
    for (node, choice) in graph.nodes.iter().enumerate().filter_map(|(node, of)| Some((node, of.choice?))) {
        nodes_of[choice].push(node);
    }
    let mut faces = Faces::of(graph);
    for &edge in tree {
        faces.join(graph.edges[edge].darts);
    }
    let mut made = vec![false; graph.choices.len()];
    for (_, order, path) in rings {
        let darts = graph.edges[rest[order]].darts;
        let mut open: Vec<usize> = path
            .iter()
            .filter_map(|&node| graph.nodes[node].choice)
            .filter(|&choice| !made[choice])
            .collect();
        open.sort_unstable();
        open.dedup();
        if joins_under_some(graph, &mut faces, darts, &open, &nodes_of) {
            faces.join(darts);
            for choice in open {
                made[choice] = true;
            }
        }
    }
}

/// Tries the open choices until a track can be drawn; leaves them as they were when it cannot.
fn joins_under_some(
    graph: &mut Graph,
    faces: &mut Faces,
    darts: [usize; 2],
    open: &[usize],
    nodes_of: &[Vec<usize>],
) -> bool {
    let tried = open.len().min(OPEN_MAX);
    for trial in 0..1_u32 << tried {
        // From one trial to the next, those bits change that counting up changes.
        let changed = if trial == 0 { 0 } else { trial ^ (trial - 1) };
        flip(graph, faces, &open[..tried], changed, nodes_of);
        if faces.joinable(graph, darts) {
            return true;
        }
    }
    let all = (1 << tried) - 1;
    flip(graph, faces, &open[..tried], all, nodes_of);
    false
}

fn flip(graph: &mut Graph, faces: &mut Faces, open: &[usize], bits: u32, nodes_of: &[Vec<usize>]) {
    for (bit, &choice) in open.iter().enumerate() {
        if bits >> bit & 1 == 1 {
            graph.choices[choice] = !graph.choices[choice];
            for &node in &nodes_of[choice] {
                faces.order(graph, node);
            }
        }
    }
}
