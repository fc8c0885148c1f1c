//! On which level each chain lies.
//!
//! Wherever the sweep met one track directly above another, their chains' levels differ by one or more; a link adds that
//! the chain it rises to lies above the chain it comes from, what it passes under above its lower chain, and what it passes
//! over below its upper one. The least levels that meet all of this are found by longest
//! paths, which gives each part its least height under the order of the sweep. Within the room that is left each
//! chain then moves as near as it can to the chains it is attached to. Parts that are not joined are stacked, the first
//! on top.

use super::chain::{Chains, Tie, rises};
use super::graph::Graph;
use super::solver::{Bound, Solver};
use super::sweep::Sweep;
use crate::sheet::PART_SPACING;

/// How often chains are moved nearer to their neighbours.
const ROUNDS: usize = 6;

/// The first chain lies at least this much above the second.
type Above = (usize, usize, i64);

/// The level of every chain, counted upward from 0. Links get the level of the chain they come from.
pub(crate) fn levels(
    graph: &Graph,
    chains: &Chains,
    sweep: &Sweep,
    part_of: &[usize],
    pins: &[LevelPin],
) -> Levelled {
    let count = chains.list.len();
    let mut below = vec![Vec::new(); count];
    let mut above = vec![Vec::new(); count];
    for (upper, lower, gap) in order(graph, chains, sweep) {
        below[upper].push((lower, gap));
        above[lower].push((upper, gap));
    }
    let mut levels = least(&below, &above);
    let mut unheld = Vec::new();
    if !pins.is_empty() {
        (levels, unheld) = pinned(chains, pins, levels, &mut below, &mut above);
    }
    for _ in 0..ROUNDS {
        let upward = 0..count;
        for chain in upward.clone().chain(upward.rev()) {
            let wish = wish(graph, chains, &levels, chain);
            let low = below[chain].iter().map(|&(other, gap)| levels[other] + gap).max().unwrap_or(i64::MIN);
            let high = above[chain].iter().map(|&(other, gap)| levels[other] - gap).min().unwrap_or(i64::MAX);
            // A link only passes on what it parts, and makes way as far as it can.
            let wish = if chains.list[chain].link { Some(levels[chain]) } else { wish };
            if let (Some(wish), true) = (wish, low <= high) {
                levels[chain] = wish.clamp(low, high);
            }
        }
    }
    stack(graph, chains, &mut levels, part_of);
    Levelled { levels, unheld }
}

/// A track that is to lie so far above another one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LevelPin {
    /// An edge of the track.
    pub(crate) edge: usize,
    /// An edge of the track that levels are counted from.
    pub(crate) from: usize,
    pub(crate) above: i64,
    /// Which nudge asks for it.
    pub(crate) nudge: usize,
}

/// The levels of chains, and the nudges that they do not hold to.
pub(crate) struct Levelled {
    pub(crate) levels: Vec<i64>,
    pub(crate) unheld: Vec<usize>,
}

/// Adds the pins one by one, each as two bounds; one that contradicts what is there is given back.
fn pinned(
    chains: &Chains,
    pins: &[LevelPin],
    least: Vec<i64>,
    below: &mut [Vec<(usize, i64)>],
    above: &mut [Vec<(usize, i64)>],
) -> (Vec<i64>, Vec<usize>) {
    let bounds = below.iter().enumerate().flat_map(|(upper, lowers)| {
        lowers.iter().map(move |&(lower, gap)| Bound { from: lower, to: upper, least: gap })
    });
    let mut solver = Solver::starting_at(least, bounds.collect());
    let mut unheld = Vec::new();
    for pin in pins {
        let (chain, from) = (chains.of_edge[pin.edge], chains.of_edge[pin.from]);
        let up = Bound { from, to: chain, least: pin.above };
        let down = Bound { from: chain, to: from, least: -pin.above };
        let held = if chain == from {
            pin.above == 0
        } else {
            !chains.list[chain].link && solver.try_add_all(&[up, down])
        };
        if held && chain != from {
            for Bound { from, to, least } in [up, down] {
                below[to].push((from, least));
                above[from].push((to, least));
            }
        } else if !held {
            unheld.push(pin.nudge);
        }
    }
    (solver.x, unheld)
}

/// What lies above what.
pub(crate) fn order(graph: &Graph, chains: &Chains, sweep: &Sweep) -> Vec<Above> {
    let mut pairs: Vec<Above> =
        sweep.above.iter().map(|&(upper, lower)| (chains.of_edge[upper], chains.of_edge[lower], 1)).collect();
    let all_turns: Vec<[usize; 2]> = chains.list.iter().map(|chain| sweep.turns(graph, chain)).collect();
    let turns = |chain: usize| all_turns[chain];
    // Chains that the sweep crosses at one time are in order already.
    let apart = |chain: usize, other: usize| {
        let ([start, end], [other_start, other_end]) = (turns(chain), turns(other));
        end <= other_start || other_end <= start
    };
    for (index, chain) in chains.list.iter().enumerate().filter(|(_, chain)| chain.link) {
        let [Tie::Slanted(left), Tie::Slanted(right)] = chain.ties else { continue };
        let (from, to) = (chains.parent(graph, left), chains.parent(graph, right));
        let rising = rises(graph, left);
        let (high, low) = if rising { (to, from) } else { (from, to) };
        let [above, below] = sweep.beside[chain.edges[0]].each_ref().map(|edges| {
            let mut of: Vec<usize> = edges.iter().map(|&edge| chains.of_edge[edge]).collect();
            of.sort_unstable();
            of.dedup();
            of
        });
        pairs.push((high, low, 1));
        pairs.extend(above.iter().filter(|&&other| apart(low, other)).map(|&other| (other, low, 1)));
        pairs.extend(below.iter().filter(|&&other| apart(high, other)).map(|&other| (high, other, 1)));
        across_link(turns, (index, rising), [&above, &below], &mut pairs);
    }
    pairs.retain(|(upper, lower, _)| upper != lower);
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// Keeps chains above and below a link on different levels where they could not share one.
///
/// What lies above a rising link is to its left, so on one level it has to come first in the sweep. Where something above
/// comes later than something below has ended, the first is kept above the link's own height, the second at most there.
fn across_link(
    turns: impl Fn(usize) -> [usize; 2],
    (link, rising): (usize, bool),
    [above, below]: [&[usize]; 2],
    pairs: &mut Vec<Above>,
) {
    let turns = |chain: &usize| turns(*chain);
    let (left, right) = if rising { (above, below) } else { (below, above) };
    let (Some(last_start), Some(first_end)) =
        (left.iter().map(|chain| turns(chain)[0]).max(), right.iter().map(|chain| turns(chain)[1]).min())
    else {
        return;
    };
    let late = left.iter().filter(|chain| turns(chain)[0] >= first_end);
    let early = right.iter().filter(|chain| turns(chain)[1] <= last_start);
    let (uppers, lowers): (Vec<&usize>, Vec<&usize>) =
        if rising { (late.collect(), early.collect()) } else { (early.collect(), late.collect()) };
    pairs.extend(uppers.into_iter().map(|&upper| (upper, link, 1)));
    pairs.extend(lowers.into_iter().map(|&lower| (link, lower, 0)));
}

/// The least levels at which everything lies as far as it must above what is below it.
pub(crate) fn least(below: &[Vec<(usize, i64)>], above: &[Vec<(usize, i64)>]) -> Vec<i64> {
    let mut levels = vec![0_i64; below.len()];
    let mut waits: Vec<usize> = below.iter().map(Vec::len).collect();
    let mut ready: Vec<usize> = (0..below.len()).filter(|&chain| waits[chain] == 0).collect();
    while let Some(chain) = ready.pop() {
        for &(upper, gap) in &above[chain] {
            levels[upper] = levels[upper].max(levels[chain] + gap);
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
    for tie in chains.list[chain].ties {
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
        let dart = graph.edges[chains.list[chain].edges[0]].darts[0];
        part_of[graph.darts[dart].node]
    };
    for chain in 0..levels.len() {
        if let (true, Tie::Slanted(left)) = (chains.list[chain].link, chains.list[chain].ties[0]) {
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
