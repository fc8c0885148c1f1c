//! The least places that meet bounds of the form "this node stands at least so far right of that one".
//!
//! Bounds are added one by one. Each pushes nodes to the right, along the bounds that start at them, and no further than
//! it must; so the places are always the least that meet all bounds so far (longest paths from the left edge). What was
//! possible before becomes impossible only where a new bound pushes its own start; such a bound is given back and
//! everything stands as it did.
//!
//! # Source
//! R. E. Bellman, On a routing problem, Quarterly of Applied Mathematics 16 (1958), for bounds of this form.

use super::across::Room;
use super::chain::stops;
use super::graph::{Graph, Side};
use crate::sheet::Um;
use std::collections::VecDeque;

/// `x[to]` is at least `x[from] + least`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bound {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) least: Um,
}

/// Places of nodes and the bounds they meet.
pub(crate) struct Solver {
    pub(crate) x: Vec<Um>,
    bounds: Vec<Bound>,
    out: Vec<Vec<usize>>,
}

impl Solver {
    pub(crate) fn new(node_count: usize, bounds: Vec<Bound>) -> Self {
        let mut solver =
            Self { x: vec![0; node_count], bounds: Vec::new(), out: vec![Vec::new(); node_count] };
        for bound in bounds {
            let added = solver.try_add(bound);
            debug_assert!(added, "what the sweep allows has a width");
        }
        solver
    }

    /// Places that meet these bounds already.
    pub(crate) fn starting_at(x: Vec<Um>, bounds: Vec<Bound>) -> Self {
        let mut out = vec![Vec::new(); x.len()];
        for (index, bound) in bounds.iter().enumerate() {
            out[bound.from].push(index);
        }
        Self { x, bounds, out }
    }

    /// Adds several bounds, or none of them if they cannot all be met.
    pub(crate) fn try_add_all(&mut self, bounds: &[Bound]) -> bool {
        let (x, count) = (self.x.clone(), self.bounds.len());
        if bounds.iter().all(|&bound| self.try_add(bound)) {
            return true;
        }
        for bound in self.bounds.drain(count..).rev() {
            self.out[bound.from].pop();
        }
        self.x = x;
        false
    }

    /// Adds a bound and moves whatever it pushes; gives it back if it cannot be met.
    pub(crate) fn try_add(&mut self, bound: Bound) -> bool {
        let index = self.bounds.len();
        self.bounds.push(bound);
        self.out[bound.from].push(index);
        let mut moved: Vec<(usize, Um)> = Vec::new();
        let mut waiting = VecDeque::from([index]);
        while let Some(next) = waiting.pop_front() {
            let Bound { from, to, least } = self.bounds[next];
            let wanted = self.x[from] + least;
            if self.x[to] >= wanted {
                continue;
            }
            moved.push((to, self.x[to]));
            self.x[to] = wanted;
            // What was possible before becomes impossible only by pushing the new bound's own start.
            if to == bound.from {
                for (node, x) in moved.into_iter().rev() {
                    self.x[node] = x;
                }
                self.bounds.pop();
                self.out[bound.from].pop();
                return false;
            }
            waiting.extend(self.out[to].iter().copied());
        }
        true
    }

    /// Brings tracks that start at a bumper near to what they lead to, and lets those that keep their way, or stop
    /// together, run on as far as is free.
    pub(crate) fn settle_ends(&mut self, graph: &Graph, room: &Room) {
        let farthest = self.x.iter().copied().max().unwrap_or(0);
        for node in 0..self.x.len() {
            let free = self.out[node].iter().map(|&bound| self.bounds[bound]);
            let free = free.map(|bound| self.x[bound.to] - bound.least).min();
            if stops(graph, node, Side::Right) && !room.to_the_edge[node] {
                self.x[node] = free.unwrap_or(self.x[node]).max(self.x[node]);
            } else if stops(graph, node, Side::Left) && room.to_the_edge[node] {
                self.x[node] = free.unwrap_or(farthest).min(farthest).max(self.x[node]);
            }
        }
        let mut into: Vec<Vec<Bound>> = vec![Vec::new(); self.x.len()];
        for &bound in &self.bounds {
            into[bound.to].push(bound);
        }
        for yard in &room.together {
            let starts = yard.iter().all(|&node| stops(graph, node, Side::Right));
            let all = yard.iter().map(|&node| self.x[node]);
            let Some(together) = (if starts { all.min() } else { all.max() }) else { continue };
            for &node in yard {
                if starts {
                    let least = into[node].iter().map(|bound| self.x[bound.from] + bound.least);
                    self.x[node] = together.max(least.max().unwrap_or(together)).min(self.x[node]);
                } else {
                    let out = self.out[node].iter().map(|&bound| self.bounds[bound]);
                    let most = out.map(|bound| self.x[bound.to] - bound.least);
                    self.x[node] = together.min(most.min().unwrap_or(together)).max(self.x[node]);
                }
            }
        }
    }
}
