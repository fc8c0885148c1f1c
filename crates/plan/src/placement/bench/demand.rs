//! What waits to be served along a tree of places, and what may serve it.

use super::sweep::Window;
use crate::placement::assign::cheapest;
use crate::placement::{Case, Class};
use std::ops::RangeInclusive;

/// Outputs left over past which this method is no use: then prices bound well.
const LEFT_OVER_MAX: usize = 40;

/// The place nearer the root and the metres there; none of the root.
type Towards = Option<(usize, f64)>;

/// Levers, and what may serve them, by place.
#[derive(Clone, Debug)]
pub(super) struct Demand {
    /// Places, those further from the root first.
    pub(super) order: Vec<usize>,
    pub(super) children: Vec<Vec<usize>>,
    /// Metres to the place nearer the root; nothing of the root.
    metres: Vec<f64>,
    /// Levers of one machine, and of two or more.
    pub(super) single: Vec<i32>,
    pub(super) double: Vec<i32>,
    /// Of the run towards the root: how many levers have machines on both of its sides.
    between: Vec<i32>,
    /// Whether levers of any number of machines are counted as of one.
    is_merged: bool,
    /// Levers of each kind there and behind.
    behind: Vec<(i32, i32)>,
    /// Metres that the levers cost wherever they are served.
    pub(super) always: f64,
    pub(super) outputs: usize,
    pub(super) spare: Vec<usize>,
    pub(super) rooms: Vec<usize>,
    /// The most outputs that may be left over.
    pub(super) left_over: usize,
    /// Levers that cost the same everywhere, for which what is left over has to do.
    pub(super) anywhere: usize,
}

impl Demand {
    /// None where the bench is no tree of all places, the class has fixed levers or parts of several kinds, or too many outputs may be left
    /// over.
    pub(super) fn of(case: &Case, class: &Class, limit: usize) -> Option<Self> {
        let [kind] = class.kinds.as_slice() else { return None };
        if !class.fixed.is_empty() || class.machines.len() != class.free.len() {
            return None;
        }
        let places = case.rooms.len();
        let (order, parent) = rooted(&case.bench, places)?;
        let mut children = vec![Vec::new(); places];
        for (place, to) in parent.iter().enumerate() {
            if let Some((to, _)) = to {
                children[*to].push(place);
            }
        }
        let mut spare = vec![0; places];
        for standing in &class.standing {
            spare[standing.place] += standing.spare;
        }
        let mut demand = Self {
            order,
            children,
            metres: parent.iter().map(|to| to.map_or(0.0, |(_, metres)| metres)).collect(),
            single: vec![0; places],
            double: vec![0; places],
            between: vec![0; places],
            is_merged: false,
            behind: Vec::new(),
            always: 0.0,
            outputs: kind.outputs.max(1),
            left_over: limit * kind.outputs + spare.iter().sum::<usize>(),
            spare,
            anywhere: 0,
            rooms: case.rooms.iter().map(|room| *room.min(&limit)).collect(),
        };
        let mut waiting = 0;
        for (machines, costs) in class.machines.iter().zip(&class.free) {
            waiting += usize::from(demand.take(machines, costs, &parent));
        }
        demand.left_over = demand.left_over.checked_sub(waiting).filter(|left| *left <= LEFT_OVER_MAX)?;
        demand.anywhere = class.free.len() - waiting;
        demand.count_behind();
        Some(demand)
    }

    /// Takes a lever in; false when it costs the same everywhere, so that what is left over will do for it.
    fn take(&mut self, machines: &[usize], costs: &[f64], parent: &[Towards]) -> bool {
        let Some((&first, rest)) = machines.split_first() else { return false };
        if rest.iter().all(|place| *place == first) {
            // Of three machines and more: at least as of two.
            if rest.is_empty() {
                self.single[first] += 1;
            } else {
                self.double[first] += 1;
            }
            return true;
        }
        // It waits where the way between its machines is nearest to the root; from there down that way it costs nothing more.
        let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
        let is_between = |place: usize| costs[place] <= least + 1e-9 * least.max(1.0);
        let Some(&top) = self.order.iter().rev().find(|place| is_between(**place)) else { return false };
        self.always += least;
        if machines.len() % 2 == 1 {
            // An odd number has a middle, and costs at least once the metres from it.
            self.single[top] += 1;
            return true;
        }
        self.double[top] += 1;
        for (place, to) in parent.iter().enumerate() {
            if to.is_some_and(|(to, _)| is_between(place) && is_between(to)) {
                self.between[place] += 1;
            }
        }
        true
    }

    fn count_behind(&mut self) {
        self.behind = self.single.iter().copied().zip(self.double.iter().copied()).collect();
        for &place in &self.order {
            for &child in &self.children[place] {
                let (single, double) = self.behind[child];
                self.behind[place].0 += single;
                self.behind[place].1 += double;
            }
        }
    }

    /// The same with every lever counted as of one machine: what it costs is never more.
    pub(super) fn merged(&self) -> Self {
        let mut merged = self.clone();
        merged.is_merged = true;
        merged
            .single
            .iter_mut()
            .zip(&mut merged.double)
            .for_each(|(single, double)| *single += std::mem::take(double));
        merged.count_behind();
        merged
    }

    /// Metres along the run from a place towards the root when so many levers wait there to be served beyond it.
    pub(super) fn run_cost(&self, place: usize, single: i32, double: i32) -> f64 {
        let leave = |count: i32| if count < 0 { (-count - self.between[place]).max(0) } else { count };
        let cables = if self.is_merged { leave(single) } else { single.abs() + 2 * leave(double) };
        self.metres[place] * f64::from(cables)
    }

    /// How many levers of each kind may wait on the run from a place towards the root, at the utmost.
    pub(super) fn ranges(&self, place: usize) -> (RangeInclusive<i32>, RangeInclusive<i32>) {
        let (single, double) = self.behind[place];
        let all = self.order.last().map_or((0, 0), |root| self.behind[*root]);
        (single - all.0..=single, double - all.1..=double)
    }

    /// Windows that hold no more than can be.
    pub(super) fn windows(&self, of: &dyn Fn(usize) -> Window) -> Vec<Window> {
        let within = |a: RangeInclusive<i32>, b: RangeInclusive<i32>| {
            *a.start().max(b.start())..=*a.end().min(b.end())
        };
        let root = self.order.last();
        (0..self.rooms.len())
            .map(|place| {
                if root == Some(&place) {
                    return Window { single: 0..=0, double: 0..=0 };
                }
                let (window, (single, double)) = (of(place), self.ranges(place));
                Window { single: within(window.single, single), double: within(window.double, double) }
            })
            .collect()
    }

    /// The metres of a plan with so many decoders at each place; none when it cannot serve all.
    pub(super) fn cost_of(&self, class: &Class, counts: &[usize]) -> Option<f64> {
        let outputs: Vec<usize> =
            counts.iter().zip(&self.spare).map(|(count, spare)| count * self.outputs + spare).collect();
        cheapest(&class.free, &outputs).map(|(_, metres)| metres)
    }
}

/// The places in an order in which those further from the root come first, and for each the place nearer the root and the metres there;
/// none when the runs are no tree of all places.
fn rooted(bench: &[(usize, usize, f64)], places: usize) -> Option<(Vec<usize>, Vec<Towards>)> {
    if bench.len() + 1 != places {
        return None;
    }
    let mut runs: Vec<Vec<(usize, f64)>> = vec![Vec::new(); places];
    for &(from, to, metres) in bench {
        runs[from].push((to, metres));
        runs[to].push((from, metres));
    }
    let (mut order, mut parent) = (vec![0], vec![None; places]);
    let mut next = 0;
    while let Some(&place) = order.get(next) {
        next += 1;
        for &(to, metres) in &runs[place] {
            if to != 0 && parent[to].is_none() && to != place {
                parent[to] = Some((place, metres));
                order.push(to);
            }
        }
    }
    order.reverse();
    (order.len() == places).then_some((order, parent))
}
