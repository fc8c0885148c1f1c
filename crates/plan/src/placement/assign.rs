//! Which place serves which free lever when the outputs of every place are known: a minimum-cost flow, one lever after
//! another by a shortest augmenting path over the places. Exact.

/// For each lever its place, and the metres of all; none when there are too few outputs.
///
/// Takes O(levers · places²) at most; usually a lever goes to its nearest place and no search is needed.
pub(super) fn cheapest(levers: &[Vec<f64>], outputs: &[usize]) -> Option<(Vec<usize>, f64)> {
    if outputs.iter().fold(0, |sum: usize, room| sum.saturating_add(*room)) < levers.len() {
        return None;
    }
    let places: Vec<usize> = (0..outputs.len()).filter(|place| outputs[*place] > 0).collect();
    let mut dealt = Dealt {
        levers,
        room: places.iter().map(|place| outputs[*place]).collect(),
        at: vec![Vec::new(); places.len()],
        places: &places,
    };
    for lever in 0..levers.len() {
        dealt.add(lever);
    }
    let mut place_of = vec![0; levers.len()];
    let mut cost = 0.0;
    for (index, at) in dealt.at.iter().enumerate() {
        for &lever in at {
            place_of[lever] = places[index];
        }
    }
    for (lever, place) in place_of.iter().enumerate() {
        cost += levers[lever][*place];
    }
    Some((place_of, cost))
}

/// The levers dealt so far.
struct Dealt<'a> {
    levers: &'a [Vec<f64>],
    /// The places that have outputs; all else counts these.
    places: &'a [usize],
    room: Vec<usize>,
    at: Vec<Vec<usize>>,
}

impl Dealt<'_> {
    fn cost(&self, lever: usize, index: usize) -> f64 {
        self.levers[lever][self.places[index]]
    }

    /// What it costs to move the lever that is cheapest to move from one place to another, and that lever.
    fn cheapest_move(&self, from: usize, to: usize) -> Option<(f64, usize)> {
        let costs = self.at[from].iter().map(|&lever| (self.cost(lever, to) - self.cost(lever, from), lever));
        costs.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
    }

    /// Gives a lever to a place, and moves others on where that place is full. There is room somewhere.
    fn add(&mut self, lever: usize) {
        let count = self.places.len();
        let mut cost: Vec<f64> = (0..count).map(|index| self.cost(lever, index)).collect();
        let mut came: Vec<Option<(usize, usize)>> = vec![None; count];
        let mut done = vec![false; count];
        // Moves may save metres only after the first step, and never in a round: labels are corrected until nothing betters.
        loop {
            let open = (0..count).filter(|index| !done[*index]);
            let Some(at) = open.min_by(|a, b| cost[*a].total_cmp(&cost[*b]).then(a.cmp(b))) else { break };
            done[at] = true;
            if self.at[at].len() < self.room[at] {
                continue;
            }
            for to in (0..count).filter(|to| *to != at) {
                let Some((more, moved)) = self.cheapest_move(at, to) else { continue };
                if cost[at] + more < cost[to] - super::slack(cost[to]) {
                    cost[to] = cost[at] + more;
                    came[to] = Some((at, moved));
                    done[to] = false;
                }
            }
        }
        let free = (0..count).filter(|index| self.at[*index].len() < self.room[*index]);
        let Some(mut to) = free.min_by(|a, b| cost[*a].total_cmp(&cost[*b]).then(a.cmp(b))) else { return };
        while let Some((from, moved)) = came[to] {
            self.at[from].retain(|lever| *lever != moved);
            self.at[to].push(moved);
            to = from;
        }
        self.at[to].push(lever);
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    /// Every way to deal the levers, tried.
    fn by_trying(levers: &[Vec<f64>], outputs: &mut [usize]) -> f64 {
        let Some((first, rest)) = levers.split_first() else { return 0.0 };
        let mut best = f64::INFINITY;
        for place in 0..outputs.len() {
            if outputs[place] > 0 {
                outputs[place] -= 1;
                best = best.min(first[place] + by_trying(rest, outputs));
                outputs[place] += 1;
            }
        }
        best
    }

    proptest! {
        #[test]
        fn no_way_to_deal_is_cheaper(
            levers in prop::collection::vec(prop::collection::vec(0_u8..20, 4), 0..6),
            outputs in prop::collection::vec(0_usize..4, 4),
        ) {
            let levers: Vec<Vec<f64>> =
                levers.iter().map(|row| row.iter().map(|&metres| f64::from(metres)).collect()).collect();
            let found = super::cheapest(&levers, &outputs).map(|(_, cost)| cost);
            let best = by_trying(&levers, &mut outputs.clone());
            prop_assert_eq!(found, best.is_finite().then_some(best));
        }
    }
}
