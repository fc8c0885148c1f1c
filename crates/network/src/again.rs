//! What a train can come back to: most of a railroad lies so that it cannot come back to anything, and then a search need
//! not remember what it has used.
//!
//! Nodes are put in levels, each above all nodes that lead to it. A key can be met again only by a way that begins no
//! lower than some way with the same key ends. Nodes on a ring, and after one, have no level; their keys are kept. The
//! two directions of a railroad without reversing connections hang together nowhere, so each bunch of nodes is looked at
//! by itself. O(n log n) for n keys of ways.

use crate::ways::{NOWHERE, Way};

/// No level: the node lies on a ring or after one.
const NONE: u32 = u32::MAX;

/// For each key, whether a train can meet it twice. `ways` are those of each node in turn, each with its keys.
pub(crate) fn can_be_met_again<'w>(
    node_count: usize,
    key_count: usize,
    ways: impl Iterator<Item = (u32, &'w Way, &'w [u32])> + Clone,
) -> Vec<bool> {
    let edges: Vec<(u32, u32)> = ways
        .clone()
        .filter(|(_, way, _)| way.node != NOWHERE)
        .map(|(node, way, _)| (node, way.node))
        .collect();
    let level = levels(node_count, &edges);
    let bunch = bunches(node_count, &edges);
    let mut again = vec![false; key_count];
    // Key, bunch, and the levels that a way with this key begins at and leads to.
    let mut spans: Vec<(u32, u32, u32, u32)> = Vec::new();
    for (node, way, keys) in ways {
        let from = level[node as usize];
        let to = if way.node == NOWHERE { NONE } else { level[way.node as usize] };
        let on_ring = from == NONE || (way.node != NOWHERE && to == NONE);
        for &key in keys {
            again[key as usize] |= on_ring;
            spans.push((key, bunch[node as usize], from, to));
        }
    }
    spans.sort_unstable();
    for same in spans.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let highest = same.iter().map(|span| span.2).max();
        let lowest = same.iter().map(|span| span.3).min();
        again[same[0].0 as usize] |= highest >= lowest;
    }
    again
}

/// For each node, the length of the longest walk to it; [`NONE`] where there is no longest.
fn levels(node_count: usize, edges: &[(u32, u32)]) -> Vec<u32> {
    let mut waits_for = vec![0u32; node_count];
    let mut first = vec![0usize; node_count + 1];
    for &(from, to) in edges {
        waits_for[to as usize] += 1;
        first[from as usize + 1] += 1;
    }
    for node in 0..node_count {
        first[node + 1] += first[node];
    }
    let mut next = first.clone();
    let mut leads_to = vec![0u32; edges.len()];
    for &(from, to) in edges {
        leads_to[next[from as usize]] = to;
        next[from as usize] += 1;
    }
    let mut level = vec![NONE; node_count];
    let mut ready: Vec<usize> = (0..node_count).filter(|&node| waits_for[node] == 0).collect();
    let mut reached = vec![0u32; node_count];
    while let Some(node) = ready.pop() {
        level[node] = reached[node];
        for &to in &leads_to[first[node]..first[node + 1]] {
            let to = to as usize;
            reached[to] = reached[to].max(level[node] + 1);
            waits_for[to] -= 1;
            if waits_for[to] == 0 {
                ready.push(to);
            }
        }
    }
    level
}

/// For each node, one node that stands for all that hang together with it.
fn bunches(node_count: usize, edges: &[(u32, u32)]) -> Vec<u32> {
    let mut up: Vec<u32> = (0..).take(node_count).collect();
    let root = |up: &mut Vec<u32>, mut node: u32| {
        while up[node as usize] != node {
            up[node as usize] = up[up[node as usize] as usize];
            node = up[node as usize];
        }
        node
    };
    for &(from, to) in edges {
        let (a, b) = (root(&mut up, from), root(&mut up, to));
        up[a.max(b) as usize] = a.min(b);
    }
    (0..).take(node_count).map(|node| root(&mut up, node)).collect()
}
