//! The order of visits with the fewest crawls, and of those the shortest along the bench, each visit after those that it needs.
//!
//! Exact while it takes no more than [`STATES_MAX`] states, by dynamic programming over what is done and where one is; beyond that the nearest
//! visit that is ready comes next, and single visits are moved while that helps.
//!
//! # Source
//! M. Held, R. M. Karp, *A dynamic programming approach to sequencing problems*, J. SIAM 10 (1962), from memory; the precedence
//! only leaves states out.

use std::collections::{BTreeMap, BTreeSet};

/// The most visits that are put in order exactly: so many bits has a set of them.
pub const EXACT_MAX: usize = 64;

/// The most states that are looked at for that; the demo takes 1,600.
pub const STATES_MAX: usize = 100_000;

/// How often all visits are tried at all other ranks, at most, where the order is not exact.
const ROUNDS_MAX: usize = 8;

/// Beyond so many visits none is moved after the first order.
const MOVED_MAX: usize = 200;

/// Something to do in one go at one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Visit {
    /// The place.
    pub at: String,
    /// Whether it is under the bench.
    pub under: bool,
    /// The visits that have to be done before.
    pub after: BTreeSet<usize>,
}

/// Visits in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Walk {
    /// Indices of the visits.
    pub order: Vec<usize>,
    /// How often one gets under the bench.
    pub crawls: usize,
    /// Metres along the bench.
    pub metres: f64,
    /// Whether there is no better order.
    pub proven: bool,
}

/// What a walk costs: crawls first.
type Cost = (usize, f64);

fn is_less(a: Cost, b: Cost) -> bool {
    a.0 < b.0 || (a.0 == b.0 && a.1 < b.1 - 1e-9)
}

/// Whether every visit can be made, each after those it needs.
pub fn is_possible(visits: &[Visit]) -> bool {
    nearest(visits, &|_, _| 0.0).len() == visits.len()
}

/// The best order that is found; visits that need one another are left out.
pub fn shortest(visits: &[Visit], metres: &dyn Fn(&str, &str) -> f64) -> Walk {
    let small = visits.len() <= EXACT_MAX && is_possible(visits);
    if let Some(order) = small.then(|| exact(visits, metres)).flatten() {
        let (crawls, metres) = cost(visits, &order, metres);
        return Walk { order, crawls, metres, proven: true };
    }
    let mut order = nearest(visits, metres);
    if visits.len() <= MOVED_MAX {
        improve(visits, metres, &mut order);
    }
    let (crawls, metres) = cost(visits, &order, metres);
    Walk { order, crawls, metres, proven: false }
}

/// What a visit costs after another.
fn leg(visits: &[Visit], metres: &dyn Fn(&str, &str) -> f64, from: Option<usize>, to: usize) -> Cost {
    let here = &visits[to];
    let before = from.map(|from| &visits[from]);
    let stays = before.is_some_and(|before| before.at == here.at);
    let crawls = here.under && !(stays && before.is_some_and(|before| before.under));
    let walked = before.filter(|_| !stays).map_or(0.0, |before| metres(&before.at, &here.at));
    (usize::from(crawls), walked)
}

/// What an order costs.
pub fn cost(visits: &[Visit], order: &[usize], metres: &dyn Fn(&str, &str) -> f64) -> Cost {
    let mut sum = (0, 0.0);
    let mut from = None;
    for &to in order {
        let (crawls, walked) = leg(visits, metres, from, to);
        sum = (sum.0 + crawls, sum.1 + walked);
        from = Some(to);
    }
    sum
}

/// What is done, as bits, and where one is.
type State = (u64, usize);

/// The best order, or none where it takes too many states.
fn exact(visits: &[Visit], metres: &dyn Fn(&str, &str) -> f64) -> Option<Vec<usize>> {
    let masks: Vec<u64> =
        visits.iter().map(|visit| visit.after.iter().map(|&before| 1_u64 << before).sum()).collect();
    // By how much is done: the cheapest way to each state, and where it came from.
    let mut layers: Vec<BTreeMap<State, (Cost, usize)>> = Vec::new();
    let mut states = 0;
    for done_count in 0..visits.len() {
        let mut layer: BTreeMap<State, (Cost, usize)> = BTreeMap::new();
        let mut reach = |done: u64, from: Option<usize>, so_far: Cost| {
            for (to, mask) in masks.iter().enumerate() {
                if done & (1 << to) != 0 || mask & !done != 0 {
                    continue;
                }
                let (crawls, walked) = leg(visits, metres, from, to);
                let cost = (so_far.0 + crawls, so_far.1 + walked);
                let entry = layer.entry((done | 1 << to, to)).or_insert((cost, from.unwrap_or_default()));
                if is_less(cost, entry.0) {
                    *entry = (cost, from.unwrap_or_default());
                }
            }
        };
        match done_count.checked_sub(1).and_then(|before| layers.get(before)) {
            None => reach(0, None, (0, 0.0)),
            Some(before) => {
                for (&(done, at), &(cost, _)) in before {
                    reach(done, Some(at), cost);
                }
            }
        }
        states += layer.len();
        if states > STATES_MAX {
            return None;
        }
        layers.push(layer);
    }
    let ends = layers.last().map(|layer| layer.iter().map(|(&state, &(cost, _))| (state, cost)));
    let Some(((mut done, mut at), _)) =
        ends.and_then(|ends| ends.reduce(|best, other| if is_less(other.1, best.1) { other } else { best }))
    else {
        return Some(Vec::new());
    };
    let mut order = Vec::new();
    for layer in layers.iter().rev() {
        order.push(at);
        let &(_, from) = layer.get(&(done, at))?;
        done &= !(1 << at);
        at = from;
    }
    order.reverse();
    Some(order)
}

/// Always the cheapest visit that is ready; of equals the one that comes first.
fn nearest(visits: &[Visit], metres: &dyn Fn(&str, &str) -> f64) -> Vec<usize> {
    let mut order: Vec<usize> = Vec::new();
    let mut done: BTreeSet<usize> = BTreeSet::new();
    loop {
        let from = order.last().copied();
        let ready = (0..visits.len()).filter(|at| !done.contains(at) && visits[*at].after.is_subset(&done));
        let next = ready
            .map(|at| (leg(visits, metres, from, at), at))
            .reduce(|best, other| if is_less(other.0, best.0) { other } else { best });
        let Some((_, next)) = next else { return order };
        order.push(next);
        done.insert(next);
    }
}

/// Moves single visits while that makes the walk cheaper.
fn improve(visits: &[Visit], metres: &dyn Fn(&str, &str) -> f64, order: &mut Vec<usize>) {
    let mut least = cost(visits, order, metres);
    for _ in 0..ROUNDS_MAX {
        let before = least;
        for from in 0..order.len() {
            for to in 0..order.len() {
                let mut moved = order.clone();
                let visit = moved.remove(from);
                moved.insert(to, visit);
                if !keeps(visits, &moved) {
                    continue;
                }
                let cost = cost(visits, &moved, metres);
                if is_less(cost, least) {
                    (least, *order) = (cost, moved);
                }
            }
        }
        if !is_less(least, before) {
            return;
        }
    }
}

/// Whether every visit comes after those it needs.
pub fn keeps(visits: &[Visit], order: &[usize]) -> bool {
    let mut done = BTreeSet::new();
    order.iter().all(|&at| {
        let ready = visits[at].after.is_subset(&done);
        done.insert(at);
        ready
    })
}
