//! The bound: what everything costs at least, when each customer has a price that is paid to whoever serves it.
//!
//! With the rule "served once" replaced by the prices, each facility takes the customers whose price exceeds what serving them
//! costs, as its capacity allows. Among the facilities those are opened that earn more than opening costs, and as many
//! more as the demand of all asks for. For any prices the sum is a lower bound; subgradient steps raise the price of who is
//! not served and lower that of who is served twice.

use super::Case;
use super::knapsack::{Item, Taken, most_profit};

/// A part of the problem: what has been decided already.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// For each facility, whether it is open; none where that is not decided.
    pub(super) open: Vec<Option<bool>>,
    /// For each facility and customer, whether the facility may still serve it.
    pub(super) allowed: Vec<Vec<bool>>,
    /// For each customer, the facility that it is given to.
    pub(super) given: Vec<Option<usize>>,
    /// What is left of each facility's capacity.
    pub(super) room: Vec<u64>,
    /// The price of each customer.
    pub(super) price: Vec<f64>,
    /// The best bound known.
    pub(super) bound: f64,
}

impl Node {
    /// Nothing decided.
    pub(super) fn root(case: &Case) -> Self {
        let allowed: Vec<Vec<bool>> = (0..case.facility_count())
            .map(|facility| {
                (0..case.customer_count())
                    .map(|customer| {
                        case.serving[facility][customer].is_finite()
                            && case.demands[customer] <= case.capacities[facility]
                    })
                    .collect()
            })
            .collect();
        Self {
            open: vec![None; case.facility_count()],
            given: vec![None; case.customer_count()],
            room: case.capacities.clone(),
            price: first_prices(case),
            bound: f64::NEG_INFINITY,
            allowed,
        }
    }

    pub(super) fn may_serve(&self, case: &Case, facility: usize, customer: usize) -> bool {
        self.open[facility] != Some(false)
            && self.allowed[facility][customer]
            && self.given[customer].is_none()
            && case.demands[customer] <= self.room[facility]
    }

    /// Gives a customer to a facility.
    pub(super) fn give(&mut self, case: &Case, customer: usize, facility: usize) {
        self.given[customer] = Some(facility);
        self.room[facility] -= case.demands[customer];
        self.open[facility] = Some(true);
    }

    /// Gives every customer that has only one facility left to it; false when one has none.
    pub(super) fn settle(&mut self, case: &Case) -> bool {
        loop {
            let mut changed = false;
            for customer in 0..case.customer_count() {
                if self.given[customer].is_some() {
                    continue;
                }
                let mut able =
                    (0..case.facility_count()).filter(|&facility| self.may_serve(case, facility, customer));
                match (able.next(), able.next()) {
                    (None, _) => return false,
                    (Some(only), None) => {
                        self.give(case, customer, only);
                        changed = true;
                    }
                    (Some(_), Some(_)) => {}
                }
            }
            if !changed {
                return true;
            }
        }
    }
}

/// A customer is worth the cheapest way to serve it, its share of opening included.
#[allow(clippy::cast_precision_loss, reason = "demands are far below 2^52")]
fn first_prices(case: &Case) -> Vec<f64> {
    (0..case.customer_count())
        .map(|customer| {
            (0..case.facility_count())
                .map(|facility| {
                    let share = case.demands[customer] as f64 / (case.capacities[facility].max(1)) as f64;
                    case.serving[facility][customer] + case.opening[facility] * share
                })
                .fold(f64::INFINITY, f64::min)
        })
        .map(|price| if price.is_finite() { price } else { 0.0 })
        .collect()
}

/// The relaxed problem at one set of prices.
pub(super) struct Relaxed {
    pub(super) bound: f64,
    /// For each facility, what it would take, whether it is opened or not.
    pub(super) taken: Vec<Taken>,
    /// For each facility, what it costs once opened: opening, less what it earns. Infinite where it is closed.
    pub(super) net: Vec<f64>,
    /// For each facility, whether it is opened.
    pub(super) opened: Vec<bool>,
    /// What the opened facilities have to hold together.
    pub(super) demand: u64,
    /// The part of the bound that does not depend on which facilities are opened.
    pub(super) base: f64,
}

/// What is still to be served, and what it costs that has been decided.
fn decided(case: &Case, node: &Node) -> (u64, f64) {
    let mut demand = 0;
    let mut cost = 0.0;
    for (customer, given) in node.given.iter().enumerate() {
        match given {
            Some(facility) => cost += case.serving[*facility][customer],
            None => demand += case.demands[customer],
        }
    }
    (demand, cost)
}

pub(super) fn relax(case: &Case, node: &Node) -> Relaxed {
    let (demand, given_cost) = decided(case, node);
    let waiting = || (0..case.customer_count()).filter(|&customer| node.given[customer].is_none());
    let base = given_cost + waiting().map(|customer| node.price[customer]).sum::<f64>();
    let mut taken = Vec::with_capacity(case.facility_count());
    let mut net = Vec::with_capacity(case.facility_count());
    for facility in 0..case.facility_count() {
        if node.open[facility] == Some(false) {
            taken.push(Taken::default());
            net.push(f64::INFINITY);
            continue;
        }
        let choice = most_profit(&mut items(case, node, facility), node.room[facility]);
        net.push(case.opening[facility] - choice.bound);
        taken.push(choice);
    }
    let (opened, cost) = choose_open(node, &net, demand, None);
    Relaxed { bound: base + cost, taken, net, opened, demand, base }
}

/// The customers that a facility may take, each with what it would earn.
pub(super) fn items(case: &Case, node: &Node, facility: usize) -> Vec<Item> {
    (0..case.customer_count())
        .filter(|&customer| node.may_serve(case, facility, customer))
        .map(|customer| Item {
            id: customer,
            profit: node.price[customer] - case.serving[facility][customer],
            weight: case.demands[customer],
        })
        .collect()
}

/// Opens the facilities that earn something, and the cheapest others until there is room enough; with one of them forced
/// if asked for. The cost is infinite where there cannot be room enough.
pub(super) fn choose_open(
    node: &Node,
    net: &[f64],
    demand: u64,
    forced: Option<(usize, bool)>,
) -> (Vec<bool>, f64) {
    let fixed = |facility: usize| match forced {
        Some((of, open)) if of == facility => Some(open),
        _ => node.open[facility],
    };
    let mut opened: Vec<bool> = (0..net.len()).map(|facility| fixed(facility) != Some(false)).collect();
    let room: u64 = (0..net.len()).filter(|&f| opened[f]).map(|f| node.room[f]).sum();
    let Some(spare) = room.checked_sub(demand) else { return (opened, f64::INFINITY) };
    // To close is the question: what closing saves, within the room that can be spared.
    let mut closable: Vec<Item> = (0..net.len())
        .filter(|&facility| fixed(facility).is_none())
        .map(|facility| Item { id: facility, profit: net[facility], weight: node.room[facility] })
        .collect();
    let closed = most_profit(&mut closable, spare);
    let all: f64 = (0..net.len()).filter(|&facility| opened[facility]).map(|facility| net[facility]).sum();
    for facility in closed.ids {
        opened[facility] = false;
    }
    (opened, all - closed.bound)
}

/// How often each customer is served in the relaxed problem.
pub(super) fn times_served(case: &Case, relaxed: &Relaxed) -> Vec<u32> {
    let mut times = vec![0; case.customer_count()];
    for (facility, taken) in relaxed.taken.iter().enumerate() {
        if relaxed.opened[facility] {
            for &customer in &taken.ids {
                times[customer] += 1;
            }
        }
    }
    times
}
