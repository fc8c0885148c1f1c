//! The search: the part of the problem with the least bound first is bounded better, reduced, and cut in two.

use super::knapsack::most_profit;
use super::lagrange::{Node, Relaxed, choose_open, items, relax, times_served};
use super::primal::round_off;
use super::{Case, Found, Solution};
use crate::placement::slack;

/// Subgradient steps at the first part, and at each later one.
const STEPS_AT_ROOT: usize = 600;
const STEPS_AT_NODE: usize = 60;

/// After so many steps without a better bound, steps become half as long.
const PATIENCE: usize = 12;

pub(super) struct Search<'a> {
    case: &'a Case,
    steps_left: u64,
    /// As [`Case::grain`].
    grain: Option<f64>,
    best: Option<(Vec<usize>, f64)>,
    /// Parts still to be searched.
    parts: Vec<Node>,
}

impl<'a> Search<'a> {
    pub(super) fn new(case: &'a Case, steps_max: u64) -> Self {
        Self { case, steps_left: steps_max, grain: case.grain(), best: None, parts: Vec::new() }
    }

    pub(super) fn run(mut self) -> Found {
        let mut root = Node::root(self.case);
        if !root.settle(self.case) {
            return Found::Impossible;
        }
        let mut steps = STEPS_AT_ROOT;
        self.parts.push(root);
        let mut bound_of_rest = f64::INFINITY;
        while let Some(mut node) = self.next_part() {
            if self.is_beaten(node.bound) {
                continue;
            }
            if self.steps_left == 0 {
                bound_of_rest = bound_of_rest.min(node.bound);
                continue;
            }
            let served = self.raise(&mut node, steps);
            steps = STEPS_AT_NODE;
            if !self.is_beaten(node.bound) && self.reduce(&mut node) {
                self.branch(node, &served);
            }
        }
        let rounded = self.rounded(bound_of_rest);
        match self.best {
            Some((assign, cost)) => {
                let lower_bound = rounded.min(cost);
                Found::Solution(Solution { assign, cost, lower_bound })
            }
            None if bound_of_rest == f64::INFINITY => Found::Impossible,
            None => Found::GaveUp,
        }
    }

    /// The part with the least bound; the last of several, which is the deepest.
    fn next_part(&mut self) -> Option<Node> {
        let (index, _) =
            self.parts.iter().enumerate().rev().min_by(|a, b| a.1.bound.total_cmp(&b.1.bound))?;
        Some(self.parts.swap_remove(index))
    }

    fn rounded(&self, bound: f64) -> f64 {
        match self.grain {
            Some(grain) if bound.is_finite() => ((bound - slack(bound)) / grain - 1e-6).ceil() * grain,
            _ => bound,
        }
    }

    /// Whether nothing better than what is known can come of a part with this bound.
    fn is_beaten(&self, bound: f64) -> bool {
        self.best.as_ref().is_some_and(|(_, cost)| self.rounded(bound) >= cost - slack(*cost))
    }

    fn keep(&mut self, found: Option<(Vec<usize>, f64)>) {
        if let Some((assign, cost)) = found
            && self.best.as_ref().is_none_or(|(_, best)| cost < best - slack(*best))
        {
            self.best = Some((assign, cost));
        }
    }

    /// Improves the prices of a part; returns how often each customer was served on average, and each facility opened.
    fn raise(&mut self, node: &mut Node, steps: usize) -> Averages {
        let case = self.case;
        let mut best_price = node.price.clone();
        let mut best_bound = f64::NEG_INFINITY;
        let mut scale = 1.5;
        let mut waited = 0;
        let mut averages = Averages::new(case);
        for step in 0..steps {
            if self.steps_left == 0 {
                break;
            }
            self.steps_left -= 1;
            let relaxed = relax(case, node);
            if relaxed.bound == f64::INFINITY {
                best_bound = f64::INFINITY;
                break;
            }
            if relaxed.bound > best_bound {
                best_bound = relaxed.bound;
                best_price.clone_from(&node.price);
                waited = 0;
                if step % 4 == 0 {
                    self.keep(round_off(case, node, &relaxed));
                }
            } else {
                waited += 1;
                if waited > PATIENCE {
                    scale /= 2.0;
                    waited = 0;
                    node.price.clone_from(&best_price);
                }
            }
            if step == 0 || step % 20 == 19 {
                self.keep(round_off(case, node, &relaxed));
            }
            averages.add(case, &relaxed);
            if self.is_beaten(best_bound) || scale < 1e-3 || !self.step(node, &relaxed, scale) {
                break;
            }
        }
        node.price = best_price;
        node.bound = node.bound.max(best_bound);
        averages
    }

    /// One subgradient step; false when every customer is served exactly once.
    fn step(&self, node: &mut Node, relaxed: &Relaxed, scale: f64) -> bool {
        let times = times_served(self.case, relaxed);
        let waiting = |customer: usize| node.given[customer].is_none();
        let wrong: f64 = (0..times.len())
            .filter(|&customer| waiting(customer))
            .map(|customer| (1.0 - f64::from(times[customer])).powi(2))
            .sum();
        if wrong == 0.0 {
            return false;
        }
        let goal = self.best.as_ref().map_or(relaxed.bound.abs() * 1.1 + 1.0, |(_, cost)| *cost);
        let length = scale * (goal - relaxed.bound).max(slack(goal) * 1e3) / wrong;
        for (customer, &served) in times.iter().enumerate() {
            if node.given[customer].is_none() {
                node.price[customer] += length * (1.0 - f64::from(served));
            }
        }
        true
    }

    /// Strikes off what the bound rules out; false when nothing is left.
    fn reduce(&mut self, node: &mut Node) -> bool {
        let case = self.case;
        let relaxed = relax(case, node);
        node.bound = node.bound.max(relaxed.bound);
        for facility in 0..case.facility_count() {
            if node.open[facility].is_some() {
                continue;
            }
            let with = |open: bool| {
                relaxed.base + choose_open(node, &relaxed.net, relaxed.demand, Some((facility, open))).1
            };
            let (opened, closed) = (self.is_beaten(with(true)), self.is_beaten(with(false)));
            match (opened, closed) {
                (true, true) => return false,
                (true, false) => node.open[facility] = Some(false),
                (false, true) => node.open[facility] = Some(true),
                (false, false) => {}
            }
        }
        self.reduce_serving(node, &relaxed);
        node.settle(case)
    }

    /// Strikes off pairs of facility and customer.
    fn reduce_serving(&self, node: &mut Node, relaxed: &Relaxed) {
        let case = self.case;
        for facility in 0..case.facility_count() {
            if node.open[facility] == Some(false) || relaxed.net[facility] == f64::INFINITY {
                continue;
            }
            // What everything costs at least when this facility is open.
            let open = choose_open(node, &relaxed.net, relaxed.demand, Some((facility, true))).1;
            let with_open = relaxed.base + open;
            for customer in 0..case.customer_count() {
                if !node.may_serve(case, facility, customer)
                    || relaxed.taken[facility].ids.contains(&customer)
                {
                    continue;
                }
                let mut others = items(case, node, facility);
                others.retain(|item| item.id != customer);
                let rest = most_profit(&mut others, node.room[facility] - case.demands[customer]);
                let earns = rest.bound + node.price[customer] - case.serving[facility][customer];
                let loss = (relaxed.taken[facility].bound - earns).max(0.0);
                if self.is_beaten(with_open + loss) {
                    node.allowed[facility][customer] = false;
                }
            }
        }
    }

    /// Cuts a part in two: over a facility that is opened in some steps and not in others, else over a customer that is
    /// not served once.
    fn branch(&mut self, node: Node, averages: &Averages) {
        let case = self.case;
        let undecided = (0..case.facility_count()).filter(|&facility| node.open[facility].is_none());
        let split = undecided
            .map(|facility| (averages.doubt(facility), facility))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        if let Some((doubt, facility)) = split
            && (doubt > 0.05 || node.given.iter().all(Option::is_some))
        {
            for open in [false, true] {
                let mut part = node.clone();
                part.open[facility] = Some(open);
                if part.settle(case) {
                    self.parts.push(part);
                }
            }
            return;
        }
        let waiting = (0..case.customer_count()).filter(|&customer| node.given[customer].is_none());
        let Some(customer) = waiting.max_by(|&a, &b| {
            let weight = |customer: usize| (averages.wrong(customer), case.demands[customer]);
            let (of_a, of_b) = (weight(a), weight(b));
            of_a.0.total_cmp(&of_b.0).then(of_a.1.cmp(&of_b.1)).then(b.cmp(&a))
        }) else {
            // Everything is given, and what is undecided can stay closed.
            let assign: Option<Vec<usize>> = node.given.iter().copied().collect();
            self.keep(assign.and_then(|assign| Some((assign.clone(), case.cost_of(&assign)?))));
            return;
        };
        let facility = (0..case.facility_count())
            .filter(|&facility| node.may_serve(case, facility, customer))
            .max_by(|&a, &b| {
                averages.served(a, customer).total_cmp(&averages.served(b, customer)).then(b.cmp(&a))
            });
        let Some(facility) = facility else { return };
        let mut without = node.clone();
        without.allowed[facility][customer] = false;
        if without.settle(case) {
            self.parts.push(without);
        }
        let mut with = node;
        with.give(case, customer, facility);
        if with.settle(case) {
            self.parts.push(with);
        }
    }
}

/// What the facilities chose over the steps, later ones counting more.
struct Averages {
    opened: Vec<f64>,
    served: Vec<Vec<f64>>,
}

impl Averages {
    fn new(case: &Case) -> Self {
        Self {
            opened: vec![0.5; case.facility_count()],
            served: vec![vec![0.0; case.customer_count()]; case.facility_count()],
        }
    }

    fn add(&mut self, case: &Case, relaxed: &Relaxed) {
        const NEW: f64 = 0.1;
        for facility in 0..case.facility_count() {
            let opened = relaxed.opened[facility];
            self.opened[facility] += NEW * (f64::from(u8::from(opened)) - self.opened[facility]);
            for share in &mut self.served[facility] {
                *share *= 1.0 - NEW;
            }
            if opened {
                for &customer in &relaxed.taken[facility].ids {
                    self.served[facility][customer] += NEW;
                }
            }
        }
    }

    fn doubt(&self, facility: usize) -> f64 {
        self.opened[facility].min(1.0 - self.opened[facility])
    }

    fn served(&self, facility: usize, customer: usize) -> f64 {
        self.served[facility][customer]
    }

    /// How far a customer is from being served by one facility alone.
    fn wrong(&self, customer: usize) -> f64 {
        let shares = self.served.iter().map(|of| of[customer]);
        1.0 - shares.fold(0.0, f64::max)
    }
}
