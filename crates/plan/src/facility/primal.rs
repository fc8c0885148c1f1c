//! Good assignments: customers given one by one where they lose most by waiting, then moved and exchanged while that helps.

use super::Case;
use super::lagrange::{Node, Relaxed};
use crate::placement::slack;

/// The most rounds of moving and exchanging.
const ROUNDS_MAX: usize = 50;

/// An assignment made from the relaxed problem; none when customers are left over.
pub(super) fn round_off(case: &Case, node: &Node, relaxed: &Relaxed) -> Option<(Vec<usize>, f64)> {
    let assign = give_all(case, node, &relaxed.opened)?;
    let assign = improve(case, node, assign);
    let cost = case.cost_of(&assign)?;
    Some((assign, cost))
}

/// Gives every customer to one of the opened facilities, and to others where these are full.
fn give_all(case: &Case, node: &Node, opened: &[bool]) -> Option<Vec<usize>> {
    let mut room = node.room.clone();
    let mut open: Vec<bool> = opened.to_vec();
    let mut assign = node.given.clone();
    loop {
        let mut next: Option<(f64, usize, usize)> = None;
        for customer in (0..case.customer_count()).filter(|&customer| assign[customer].is_none()) {
            // What it costs here, opening counted where that is still to be paid.
            let cost = |facility: usize| {
                let able =
                    node.may_serve(case, facility, customer) && case.demands[customer] <= room[facility];
                let opening = if open[facility] { 0.0 } else { case.opening[facility] };
                able.then_some(case.serving[facility][customer] + opening)
            };
            let mut costs: Vec<(f64, usize)> =
                (0..case.facility_count()).filter_map(|facility| Some((cost(facility)?, facility))).collect();
            costs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let &(best, facility) = costs.first()?;
            let regret = costs.get(1).map_or(f64::INFINITY, |second| second.0 - best);
            if next.is_none_or(|(most, _, _)| regret > most) {
                next = Some((regret, customer, facility));
            }
        }
        let Some((_, customer, facility)) = next else { break };
        assign[customer] = Some(facility);
        room[facility] -= case.demands[customer];
        open[facility] = true;
    }
    assign.into_iter().collect()
}

/// Moves customers, and exchanges two, as long as that saves something.
fn improve(case: &Case, node: &Node, mut assign: Vec<usize>) -> Vec<usize> {
    let mut room = case.capacities.clone();
    let mut served = vec![0_usize; case.facility_count()];
    for (customer, &facility) in assign.iter().enumerate() {
        room[facility] = room[facility].saturating_sub(case.demands[customer]);
        served[facility] += 1;
    }
    let free = |customer: usize| node.given[customer].is_none();
    let may = |facility: usize, customer: usize| {
        node.allowed[facility][customer] && node.open[facility] != Some(false)
    };
    for _ in 0..ROUNDS_MAX {
        let mut moved = false;
        for customer in (0..assign.len()).filter(|&customer| free(customer)) {
            let from = assign[customer];
            let leave =
                case.serving[from][customer] + if served[from] == 1 { case.opening[from] } else { 0.0 };
            let best = (0..case.facility_count())
                .filter(|&to| to != from && may(to, customer) && case.demands[customer] <= room[to])
                .map(|to| {
                    (case.serving[to][customer] + if served[to] == 0 { case.opening[to] } else { 0.0 }, to)
                })
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((cost, to)) = best.filter(|(cost, _)| *cost < leave - slack(leave)) {
                debug_assert!(cost.is_finite());
                assign[customer] = to;
                room[from] += case.demands[customer];
                room[to] -= case.demands[customer];
                served[from] -= 1;
                served[to] += 1;
                moved = true;
            }
        }
        for a in (0..assign.len()).filter(|&customer| free(customer)) {
            for b in (a + 1..assign.len()).filter(|&customer| free(customer)) {
                let (of_a, of_b) = (assign[a], assign[b]);
                if of_a == of_b || !may(of_b, a) || !may(of_a, b) {
                    continue;
                }
                let fits = case.demands[a] <= room[of_b] + case.demands[b]
                    && case.demands[b] <= room[of_a] + case.demands[a];
                let now = case.serving[of_a][a] + case.serving[of_b][b];
                let then = case.serving[of_b][a] + case.serving[of_a][b];
                if fits && then < now - slack(now) {
                    room[of_a] = room[of_a] + case.demands[a] - case.demands[b];
                    room[of_b] = room[of_b] + case.demands[b] - case.demands[a];
                    (assign[a], assign[b]) = (of_b, of_a);
                    moved = true;
                }
            }
        }
        if !moved {
            break;
        }
    }
    assign
}
