//! On which level each chain lies.
//!
//! Wherever the sweep met one track directly above another, their chains' levels differ by one or more; a link adds that
//! the chain it rises to lies above the chain it comes from. The least levels that meet all of this are found by longest
//! paths, which gives each part its least height under the order of the sweep. Within the room that is left each
//! chain then moves as near as it can to the chains it is attached to. Parts that are not joined are stacked, the first
//! on top.

use super::chain::{Chains, Tie, rises};
use super::graph::Graph;
use super::sweep::Sweep;
use crate::sheet::PART_SPACING;

/// How often chains are moved nearer to their neighbours.
const ROUNDS: usize = 6;

/// The level of every chain, counted upward from 0. Links get the level of the chain they come from.
pub(crate) fn levels(graph: &Graph, chains: &Chains, sweep: &Sweep, part_of: &[usize]) -> Vec<i64> {
    let count = chains.chains.len();
    let mut below = vec![Vec::new(); count];
    let mut above = vec![Vec::new(); count];
    for (upper, lower) in order(graph, chains, sweep) {
        below[upper].push(lower);
        above[lower].push(upper);
    }
    let mut levels = least(&below, &above);
    for _ in 0..ROUNDS {
        let upward = 0..count;
        for chain in upward.clone().chain(upward.rev()) {
            if chains.chains[chain].link {
                continue;
            }
            let Some(wish) = wish(graph, chains, &levels, chain) else { continue };
            let low = below[chain].iter().map(|&other| levels[other] + 1).max().unwrap_or(i64::MIN);
            let high = above[chain].iter().map(|&other| levels[other] - 1).min().unwrap_or(i64::MAX);
            if low <= high {
                levels[chain] = wish.clamp(low, high);
            }
        }
    }
    stack(graph, chains, &mut levels, part_of);
    levels
}

/// Pairs of chains of which the first lies above the second.
fn order(graph: &Graph, chains: &Chains, sweep: &Sweep) -> Vec<(usize, usize)> {
    let mut pairs: Vec<(usize, usize)> = sweep
        .above
        .iter()
        .map(|&(upper, lower)| (chains.of_edge[upper], chains.of_edge[lower]))
        .filter(|(upper, lower)| upper != lower)
        .collect();
    for chain in chains.chains.iter().filter(|chain| chain.link) {
        let [Tie::Slanted(left), Tie::Slanted(right)] = chain.ties else { continue };
        let (from, to) = (chains.parent(graph, left), chains.parent(graph, right));
        if from != to {
            pairs.push(if rises(graph, left) { (to, from) } else { (from, to) });
        }
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// The least levels at which everything lies at least one above what is below it.
fn least(below: &[Vec<usize>], above: &[Vec<usize>]) -> Vec<i64> {
    let mut levels = vec![0_i64; below.len()];
    let mut waits: Vec<usize> = below.iter().map(Vec::len).collect();
    let mut ready: Vec<usize> = (0..below.len()).filter(|&chain| waits[chain] == 0).collect();
    while let Some(chain) = ready.pop() {
        for &upper in &above[chain] {
            levels[upper] = levels[upper].max(levels[chain] + 1);
            waits[upper] -= 1;
            if waits[upper] == 0 {
                ready.push(upper);
            }
        }
    }
    debug_assert!(waits.iter().all(|&wait| wait == 0), "what lies above is never also below");
    levels
}

/// Where a chain would like to lie: one level from the chains it hangs on and those that hang on it, in the middle.
fn wish(graph: &Graph, chains: &Chains, levels: &[i64], chain: usize) -> Option<i64> {
    let mut wishes = Vec::new();
    for tie in chains.chains[chain].ties {
        if let Tie::Slanted(dart) = tie {
            let step = if rises(graph, dart) { 1 } else { -1 };
            wishes.push(levels[chains.parent(graph, dart)] + step);
        }
    }
    if wishes.is_empty() {
        return None;
    }
    wishes.sort_unstable();
    Some(wishes[wishes.len() / 2])
}

fn stack(graph: &Graph, chains: &Chains, levels: &mut [i64], part_of: &[usize]) {
    let part = |chain: usize| {
        let dart = graph.edges[chains.chains[chain].edges[0]].darts[0];
        part_of[graph.darts[dart].node]
    };
    for chain in 0..levels.len() {
        if let (true, Tie::Slanted(left)) = (chains.chains[chain].link, chains.chains[chain].ties[0]) {
            levels[chain] = levels[chains.parent(graph, left)];
        }
    }
    let part_count = part_of.iter().max().map_or(0, |most| most + 1);
    let mut range: Vec<Option<(i64, i64)>> = vec![None; part_count];
    for (chain, &level) in levels.iter().enumerate() {
        let (low, high) = range[part(chain)].get_or_insert((level, level));
        (*low, *high) = ((*low).min(level), (*high).max(level));
    }
    let mut base = 0;
    let mut shift = vec![0; part_count];
    for (part, range) in range.iter().enumerate().rev() {
        if let Some((low, high)) = range {
            shift[part] = base - low;
            base += high - low + PART_SPACING;
        }
    }
    for (chain, level) in levels.iter_mut().enumerate() {
        *level += shift[part(chain)];
    }
}
