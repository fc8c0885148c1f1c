//! Which of the places where a device could stand get one, and what is connected to which: the single-source capacitated facility
//! location problem, solved exactly.
//!
//! Every *customer* is given whole to one open *facility*; no facility serves more than its capacity; the sum of what opening and
//! serving costs is least. The search is branch and bound. Its bound relaxes "every customer is served once" with a price on
//! each customer (`lagrange`): then each facility chooses for itself what is worth serving, a knapsack problem
//! (`knapsack`), and the facilities are chosen so that together they are large enough. Prices are improved by
//! subgradient steps. Good assignments are made from the choices of the facilities along the way (`primal`). What the bound
//! rules out is struck off before branching (`search`).
//!
//! The problem is NP-hard: the search may take exponential time, and ends at a number of steps; then the best assignment found is given
//! with the bound that was reached.
//!
//! # Source
//! K. Holmberg, M. Rönnqvist, D. Yuan, An exact algorithm for the capacitated facility location problems with single
//! sourcing, European Journal of Operational Research 113 (1999): the relaxation and the branching, from memory.

mod knapsack;
mod lagrange;
mod primal;
mod search;

use crate::placement::slack;

/// A case of the problem.
#[derive(Clone, Debug, Default)]
pub struct Case {
    /// What each facility can serve.
    pub capacities: Vec<u64>,
    /// What opening each facility costs.
    pub opening: Vec<f64>,
    /// What each customer asks for.
    pub demands: Vec<u64>,
    /// For each facility, what serving each customer costs; infinite where it cannot.
    pub serving: Vec<Vec<f64>>,
}

/// Where every customer goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// For each customer, its facility.
    pub assign: Vec<usize>,
    /// What it costs.
    pub cost: f64,
    /// No assignment costs less.
    pub lower_bound: f64,
}

impl Solution {
    /// Whether no assignment costs less, for certain.
    pub fn proven(&self) -> bool {
        self.lower_bound >= self.cost - slack(self.cost)
    }

    /// The facilities in use, in order.
    pub fn open(&self) -> Vec<usize> {
        let mut open = self.assign.clone();
        open.sort_unstable();
        open.dedup();
        open
    }
}

/// What the search came to.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// The best assignment found.
    Solution(Solution),
    /// There is no assignment at all.
    Impossible,
    /// The search ended before it found one.
    GaveUp,
}

/// Solves a case; gives up after about so many steps, one step being one look at every customer by every facility.
///
/// # Example
/// ```
/// use plan::facility::{Case, Found, solve};
/// let case = Case {
///     capacities: vec![2, 2],
///     opening: vec![10.0, 10.0],
///     demands: vec![1, 1, 1],
///     serving: vec![vec![1.0, 1.0, 5.0], vec![5.0, 5.0, 1.0]],
/// };
/// let Found::Solution(best) = solve(&case, 10_000) else { panic!() };
/// assert_eq!((best.assign.as_slice(), best.cost, best.proven()), (&[0, 0, 1][..], 23.0, true));
/// ```
pub fn solve(case: &Case, steps_max: u64) -> Found {
    search::Search::new(case, steps_max).run()
}

impl Case {
    fn facility_count(&self) -> usize {
        self.capacities.len()
    }

    fn customer_count(&self) -> usize {
        self.demands.len()
    }

    /// What an assignment costs; none when it is none.
    pub fn cost_of(&self, assign: &[usize]) -> Option<f64> {
        let mut load = vec![0_u64; self.facility_count()];
        let mut cost = 0.0;
        for (customer, &facility) in assign.iter().enumerate() {
            load[facility] += self.demands[customer];
            cost += self.serving[facility][customer];
        }
        let fits = load.iter().zip(&self.capacities).all(|(load, capacity)| load <= capacity);
        let open = (0..self.facility_count()).filter(|facility| assign.contains(facility));
        cost += open.map(|facility| self.opening[facility]).sum::<f64>();
        (fits && assign.len() == self.customer_count() && cost.is_finite()).then_some(cost)
    }

    /// The largest of 1, 0.1, … 0.00001 of which all costs are multiples, so that a bound may be rounded up to one.
    fn grain(&self) -> Option<f64> {
        let is_multiple = |times: f64| {
            move |cost: &&f64| {
                let scaled = **cost * times;
                !cost.is_finite() || (scaled - scaled.round()).abs() < 1e-6
            }
        };
        let costs = || self.opening.iter().chain(self.serving.iter().flatten());
        [1.0, 1e1, 1e2, 1e3, 1e4, 1e5]
            .into_iter()
            .find(|&times| costs().all(|cost| is_multiple(times)(&cost)))
            .map(|times| 1.0 / times)
    }
}
