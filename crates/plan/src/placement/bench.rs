//! Decoders along a bench that forks but never closes a ring: the least cable, exactly, where few outputs are to spare.
//!
//! On such a bench (a tree of places) every metre of cable passes along runs, so the cable of a plan is a sum over runs: the metres of
//! a run times the levers that are served from its other side. Going from the ends of the bench to its root, a dynamic
//! program knows of each run how many levers wait to be served on the other side (or, below nothing, how many outputs are left for
//! levers from there) and how many outputs have been left over so far. As the fewest decoders leave few outputs over, that last number is
//! small, and it holds the number of decoders exactly: that is where a bound by prices is weak.
//!
//! A lever counts once for each of its machines, so levers of one machine and of two are counted apart. Where the two stand in different
//! places, the run between them costs the same on whichever side the lever is served (`Demand::between`); how many such
//! levers take that leave is limited for each run, not lever by lever, so the bound may be below the best plan there.
//!
//! Both counts together are too many to look at. So the levers are first all counted as of one machine ([`Least`]), which bounds
//! every plan from below, run by run; then only what can beat a plan known already is looked at. Takes O(places · flows² ·
//! leftovers) with the flows and leftovers that remain.

mod demand;
mod sweep;
mod table;

use super::{Case, Class, slack};
use demand::Demand;
use std::collections::BTreeMap;
use sweep::{Sweep, Window};
use table::{State, Table};

/// How far counts of levers on a run may go in the first plan, and how far at last.
const FLOW_FIRST: i32 = 8;
const FLOW_LAST: i32 = 64;

/// Decoders of one class along the bench.
#[derive(Clone, Debug)]
pub(super) struct Along {
    /// How many at each place.
    pub(super) counts: Vec<usize>,
    /// No plan of this class with so few decoders takes less cable.
    pub(super) bound: f64,
}

/// Places the decoders of a class, at most so many of them; none where the bench, the parts or the levers are not as this method needs
/// them, or it would take too much work.
pub(super) fn place_along(
    case: &Case,
    class: &Class,
    limit: usize,
    work: &mut u64,
    work_max: u64,
) -> Option<Along> {
    let demand = Demand::of(case, class, limit)?;
    let mut first = None;
    let mut far = FLOW_FIRST;
    while first.is_none() && far <= FLOW_LAST {
        let windows = demand.windows(&|_| Window { single: -far..=far, double: -far..=far });
        first = Sweep::new(&demand, &windows, &|_, _| true, work, work_max)?.best(work);
        far *= 2;
    }
    let (_, mut counts) = first?;
    let mut cost = demand.cost_of(class, &counts)?;
    let goal = cost - demand.always + slack(cost);
    let least = Least::of(&demand, goal, work, work_max)?;
    let windows = demand.windows(&|place| least.window(&demand, place, goal));
    let keeps = |place: usize, state| least.at(&demand, place, state) <= goal;
    let bound = match Sweep::new(&demand, &windows, &keeps, work, work_max)?.best(work) {
        Some((metres, found)) => {
            if let Some(then) = demand.cost_of(class, &found).filter(|then| *then < cost) {
                (counts, cost) = (found, then);
            }
            (metres + demand.always).min(cost)
        }
        // Nothing as good as the first plan was left to look at.
        None => cost,
    };
    Some(Along { counts, bound })
}

/// The least metres of any plan with so many levers waiting on a run, all levers counted as of one machine.
struct Least {
    merged: Demand,
    below: Vec<Table>,
    above: Vec<Table>,
}

impl Least {
    fn of(demand: &Demand, goal: f64, work: &mut u64, work_max: u64) -> Option<Self> {
        let merged = demand.merged();
        let windows = merged.windows(&|_| Window { single: i32::MIN..=i32::MAX, double: 0..=0 });
        let cheap = |place: usize, (single, double, _): State| merged.run_cost(place, single, double) <= goal;
        let sweep = Sweep::new(&merged, &windows, &cheap, work, work_max)?;
        let above = sweep.above(work, work_max)?;
        let below = sweep.below;
        Some(Self { merged, below, above })
    }

    /// The least metres of a plan whose run from this place has this state.
    fn at(&self, demand: &Demand, place: usize, (single, double, left): State) -> f64 {
        let flow = single + double;
        let rest = self.below[place].get((flow, 0, left)) + self.above[place].get((flow, 0, left));
        rest - self.merged.run_cost(place, flow, 0) + demand.run_cost(place, single, double)
    }

    /// All states of a run that a plan within the goal may have.
    fn window(&self, demand: &Demand, place: usize, goal: f64) -> Window {
        let mut best: BTreeMap<i32, f64> = BTreeMap::new();
        for ((flow, _, left), below) in self.below[place].states() {
            let all = below + self.above[place].get((flow, 0, left)) - self.merged.run_cost(place, flow, 0);
            let least = best.entry(flow).or_insert(f64::INFINITY);
            *least = least.min(all);
        }
        let (own, all) = demand.ranges(place);
        let mut kept: Option<Window> = None;
        for double in all {
            for (flow, rest) in &best {
                let single = flow - double;
                if own.contains(&single) && rest + demand.run_cost(place, single, double) <= goal {
                    let window =
                        kept.get_or_insert(Window { single: single..=single, double: double..=double });
                    window.single = single.min(*window.single.start())..=single.max(*window.single.end());
                    window.double = double.min(*window.double.start())..=double.max(*window.double.end());
                }
            }
        }
        kept.unwrap_or(Window { single: 0..=0, double: 0..=0 })
    }
}
