//! The largest set of routes of which no two conflict, with a proof or a bound.
//!
//! This is the largest independent set of the graph of conflicts. It falls apart into parts that do not touch; each part
//! is first made smaller where that costs nothing (a route whose neighbours, itself among them, are all neighbours of
//! another can be taken instead of that other), then searched by branch and bound. The bound is a cover of what is left
//! by groups in which all conflict, found greedily: a set holds at most one route of each group. The search is
//! exponential at worst and stops after [`STEPS_MAX`] branches, with the best set found and the least bound proven.
//!
//! # Source
//! Greedy clique covers as bounds for independent sets: Tomita and Seki, *An efficient branch-and-bound algorithm for
//! finding a maximum clique* (2003), here on the complement. Removing dominated vertices: Fomin, Grandoni and Kratsch,
//! *A measure & conquer approach for the analysis of exact algorithms*, JACM 56 (2009), section 3.

use crate::bits::Bits;

/// The most branches that the search takes in one part.
const STEPS_MAX: u32 = 20_000;

/// The largest set of routes that can be set at once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Largest {
    /// The routes, by index, in order.
    pub routes: Vec<usize>,
    /// No set is larger than this.
    pub bound: usize,
}

impl Largest {
    /// Whether no larger set exists, for certain.
    pub fn proven(&self) -> bool {
        self.routes.len() == self.bound
    }
}

/// Finds the largest set; `apart[a]` holds every route that conflicts with `a`.
pub(crate) fn largest_set(apart: &[Bits]) -> Largest {
    let count = apart.len();
    let mut left = Bits::new(count);
    for route in 0..count {
        left.insert(route);
    }
    drop_dominated(apart, &mut left);
    let mut found = Largest { routes: Vec::new(), bound: 0 };
    while let Some(first) = left.first() {
        let part = part_around(apart, &left, first);
        left.take_away(&part);
        let mut search = Search { apart, best: Vec::new(), steps_left: STEPS_MAX };
        let root_bound = cover(apart, &part).1;
        search.branch(&part, &mut Vec::new());
        found.bound += if search.steps_left > 0 { search.best.len() } else { root_bound };
        found.routes.append(&mut search.best);
    }
    found.routes.sort_unstable();
    found
}

/// Takes away every route that another can stand for.
fn drop_dominated(apart: &[Bits], left: &mut Bits) {
    let mut changed = true;
    while changed {
        changed = false;
        for route in left.iter().collect::<Vec<_>>() {
            if !left.contains(route) {
                continue;
            }
            // Everything that conflicts with `route` conflicts with `other` too, so `other` is never needed.
            let mut close = apart[route].clone();
            close.keep(left);
            for other in close.iter() {
                let mut neighbours = apart[route].clone();
                neighbours.remove(other);
                if neighbours.is_within(left, &apart[other]) {
                    left.remove(other);
                    changed = true;
                }
            }
        }
    }
}

/// The routes of `left` that hang together with `first` by conflicts.
fn part_around(apart: &[Bits], left: &Bits, first: usize) -> Bits {
    let mut part = Bits::new(apart.len());
    let mut queue = vec![first];
    part.insert(first);
    while let Some(route) = queue.pop() {
        let mut next = apart[route].clone();
        next.keep(left);
        next.take_away(&part);
        for other in next.iter() {
            part.insert(other);
            queue.push(other);
        }
    }
    part
}

/// Groups in which all conflict, covering `left`: each route with the number of groups up to and with its own, in the
/// order of the groups; and how many groups there are.
fn cover(apart: &[Bits], left: &Bits) -> (Vec<(usize, usize)>, usize) {
    let mut order = Vec::with_capacity(left.len());
    let mut rest = left.clone();
    let mut groups = 0;
    while !rest.is_empty() {
        groups += 1;
        let mut candidates = rest.clone();
        while let Some(route) = candidates.first() {
            order.push((route, groups));
            rest.remove(route);
            candidates.keep(&apart[route]);
        }
    }
    (order, groups)
}

struct Search<'a> {
    apart: &'a [Bits],
    best: Vec<usize>,
    steps_left: u32,
}

impl Search<'_> {
    fn branch(&mut self, left: &Bits, taken: &mut Vec<usize>) {
        if self.steps_left == 0 {
            return;
        }
        self.steps_left -= 1;
        if left.is_empty() {
            if taken.len() > self.best.len() {
                self.best.clone_from(taken);
            }
            return;
        }
        let (order, _) = cover(self.apart, left);
        let mut left = left.clone();
        for &(route, bound) in order.iter().rev() {
            if taken.len() + bound <= self.best.len() {
                return;
            }
            let mut next = left.clone();
            next.remove(route);
            next.take_away(&self.apart[route]);
            taken.push(route);
            self.branch(&next, taken);
            taken.pop();
            left.remove(route);
        }
    }
}
