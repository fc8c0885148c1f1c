//! How low a diagram can be at all: a height that no drawing with the same legs level can go below, whatever stands left of
//! what.
//!
//! Which of two chains lies above the other follows from the embedding wherever the two are over one another. Some have
//! to be over one another however joints are moved along their tracks, because tracks lead from the beginning of each to
//! the end of the other. Then they need levels of their own, the upper one the higher, when
//!
//! - both have joints on their own levels, and these stretches have to overlap; or
//! - the upper one rises from both its ends (it is an *arch*, nowhere above its own level) and the other lies between these
//!   ends; or the lower one drops from both its ends (a *trough*) and the other lies between these; or
//! - both end where ends are kept side by side: those of a yard, and those with a free way to the right edge; or
//! - one leaves the other by a slanted leg; a link needs this of the two chains it joins.
//!
//! The longest path over such pairs is the bound. Reachability costs O(n²/64) for n joints and the pairs O(c²) for c chains, so
//! past [`BOUNDED_NODES_MAX`] joints no bound is given.

use super::chain::{Chain, Chains, Tie, rises};
use super::graph::{Graph, Side};
use super::level::{least, order};
use super::sweep::Sweep;
use crate::sheet::PART_SPACING;

/// The most joints for which a bound is worked out.
pub(crate) const BOUNDED_NODES_MAX: usize = 1_500;

/// Rows of bits: which nodes come after each.
struct Reach {
    words: usize,
    bits: Vec<u64>,
}

impl Reach {
    /// Nodes that can be come to from each, driving to the right; nodes taken in the reverse order of the sweep.
    fn of(graph: &Graph, sweep: &Sweep) -> Self {
        let count = graph.nodes.len();
        let words = count.div_ceil(64);
        let mut reach = Self { words, bits: vec![0; words * count] };
        let mut nodes: Vec<usize> = (0..count).collect();
        nodes.sort_by_key(|&node| std::cmp::Reverse(sweep.turn[node]));
        for node in nodes {
            for dart in graph.darts_on(node, Side::Right) {
                let next = graph.darts[graph.across(dart)].node;
                for word in 0..words {
                    let more = reach.bits[next * words + word];
                    reach.bits[node * words + word] |= more;
                }
                reach.bits[node * words + next / 64] |= 1 << (next % 64);
            }
        }
        reach
    }

    fn comes_after(&self, later: usize, earlier: usize) -> bool {
        self.bits[earlier * self.words + later / 64] >> (later % 64) & 1 == 1
    }

    fn not_before(&self, later: usize, earlier: usize) -> bool {
        later == earlier || self.comes_after(later, earlier)
    }

    /// Whether two stretches have to overlap, however joints are moved along.
    fn overlap(&self, a: [usize; 2], b: [usize; 2]) -> bool {
        self.comes_after(b[1], a[0]) && self.comes_after(a[1], b[0])
    }

    /// Whether the second stretch has to lie within the first.
    fn within(&self, outer: [usize; 2], inner: [usize; 2]) -> bool {
        self.not_before(inner[0], outer[0]) && self.not_before(outer[1], inner[1])
    }
}

/// What matters about a chain here.
struct Stretch {
    /// The nodes between which it lies, those it is attached to counted.
    ends: Option<[usize; 2]>,
    /// The first and last node on its own level.
    own: Option<[usize; 2]>,
    arch: bool,
    trough: bool,
    /// Groups of ends kept side by side that it ends in.
    groups: Vec<usize>,
}

impl Stretch {
    fn of(graph: &Graph, chain: &Chain) -> Self {
        let end = |tie: Tie, node: Option<&usize>| match tie {
            Tie::Slanted(dart) => Some(graph.darts[dart].node),
            Tie::Free => node.copied(),
        };
        let both = |up: bool| {
            chain.ties.iter().all(|tie| match tie {
                Tie::Slanted(dart) => rises(graph, *dart) == up,
                // A free end lies on the level itself.
                Tie::Free => true,
            })
        };
        let own = match chain.nodes.as_slice() {
            [first, .., last] => Some([*first, *last]),
            _ => None,
        };
        let ends = end(chain.ties[0], chain.nodes.first()).zip(end(chain.ties[1], chain.nodes.last()));
        Self {
            ends: ends.map(|(from, to)| [from, to]),
            own,
            arch: both(true),
            trough: both(false),
            groups: Vec::new(),
        }
    }
}

/// The bound, in levels; none for a graph that is too large.
pub(crate) fn least_height(
    graph: &Graph,
    chains: &Chains,
    sweep: &Sweep,
    part_of: &[usize],
    side_by_side: &[Vec<usize>],
) -> Option<i64> {
    if graph.nodes.len() > BOUNDED_NODES_MAX {
        return None;
    }
    let count = chains.list.len();
    let reach = Reach::of(graph, sweep);
    let mut stretches: Vec<Stretch> = chains.list.iter().map(|chain| Stretch::of(graph, chain)).collect();
    for (group, ends) in side_by_side.iter().enumerate() {
        for &chain in ends.iter().filter_map(|&end| chains.of_node[end].first()) {
            stretches[chain].groups.push(group);
        }
    }
    let (below, above) = forced(graph, chains, sweep, &reach, &stretches);
    let levels = least(&below, &above);
    let part_count = part_of.iter().max().map_or(0, |most| most + 1);
    let mut heights = vec![None; part_count];
    for chain in (0..count).filter(|&chain| !chains.list[chain].link) {
        let dart = graph.edges[chains.list[chain].edges[0]].darts[0];
        let height = &mut heights[part_of[graph.darts[dart].node]];
        *height = (*height).max(Some(levels[chain]));
    }
    // Parts that are not joined are stacked.
    Some(heights.iter().flatten().map(|height| height + PART_SPACING).sum::<i64>() - PART_SPACING)
}

type Neighbours = Vec<Vec<(usize, i64)>>;

/// Pairs of chains of which the upper one has to lie higher: below each, and above each.
fn forced(
    graph: &Graph,
    chains: &Chains,
    sweep: &Sweep,
    reach: &Reach,
    stretches: &[Stretch],
) -> (Neighbours, Neighbours) {
    let count = chains.list.len();
    let mut lies_over = vec![Vec::new(); count];
    for (upper, lower, _) in order(graph, chains, sweep) {
        lies_over[upper].push(lower);
    }
    let mut below: Neighbours = vec![Vec::new(); count];
    let mut above: Neighbours = vec![Vec::new(); count];
    let mut pair = |upper: usize, lower: usize| {
        below[upper].push((lower, 1));
        above[lower].push((upper, 1));
    };
    let mut seen = vec![usize::MAX; count];
    for upper in 0..count {
        if chains.list[upper].link {
            if let [Tie::Slanted(left), Tie::Slanted(right)] = chains.list[upper].ties {
                let (from, to) = (chains.parent(graph, left), chains.parent(graph, right));
                if rises(graph, left) { pair(to, from) } else { pair(from, to) }
            }
            continue;
        }
        for tie in chains.list[upper].ties {
            if let Tie::Slanted(dart) = tie {
                let parent = chains.parent(graph, dart);
                if rises(graph, dart) { pair(upper, parent) } else { pair(parent, upper) }
            }
        }
        let mut queue = lies_over[upper].clone();
        while let Some(lower) = queue.pop() {
            if std::mem::replace(&mut seen[lower], upper) == upper {
                continue;
            }
            queue.extend(&lies_over[lower]);
            if !chains.list[lower].link && is_forced(reach, &stretches[upper], &stretches[lower]) {
                pair(upper, lower);
            }
        }
    }
    (below, above)
}

fn is_forced(reach: &Reach, upper: &Stretch, lower: &Stretch) -> bool {
    let own = upper.own.zip(lower.own).is_some_and(|(a, b)| reach.overlap(a, b));
    let nested = upper
        .ends
        .zip(lower.ends)
        .is_some_and(|(a, b)| upper.arch && reach.within(a, b) || lower.trough && reach.within(b, a));
    own || nested || upper.groups.iter().any(|group| lower.groups.contains(group))
}
