//! The most profit within a weight: the 0–1 knapsack problem, by depth-first branch and bound.
//!
//! Items are taken in the order of profit by weight; the rest of the room filled with the next item cut to size bounds what a
//! branch can still bring (Dantzig). Past [`NODES_MAX`] branches the search ends, and the bound stands for the value.
//!
//! # Source
//! E. Horowitz, S. Sahni, Computing partitions with applications to the knapsack problem, Journal of the ACM 21 (1974), from
//! memory.

/// The most branches of one search.
const NODES_MAX: usize = 20_000;

/// An item that may be taken.
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub(super) id: usize,
    pub(super) profit: f64,
    pub(super) weight: u64,
}

/// What was taken.
#[derive(Clone, Debug, Default)]
pub(super) struct Taken {
    pub(super) ids: Vec<usize>,
    /// No choice has more profit than this; the profit of what was taken, unless the search was cut short.
    pub(super) bound: f64,
}

/// The most profitable choice of items within a weight. Items without profit are left.
pub(super) fn most_profit(items: &mut Vec<Item>, room: u64) -> Taken {
    items.retain(|item| item.profit > 0.0 && item.weight <= room);
    let total: u64 = items.iter().map(|item| item.weight).sum();
    if total <= room {
        return Taken {
            ids: items.iter().map(|item| item.id).collect(),
            bound: items.iter().map(|item| item.profit).sum(),
        };
    }
    // Profit by weight, greatest first; what weighs nothing first of all.
    items.sort_by(|a, b| by_weight(b).total_cmp(&by_weight(a)).then(a.id.cmp(&b.id)));
    Search::new(items, room).run()
}

#[allow(clippy::cast_precision_loss, reason = "weights are far below 2^52")]
fn by_weight(item: &Item) -> f64 {
    if item.weight == 0 { f64::INFINITY } else { item.profit / item.weight as f64 }
}

struct Search<'a> {
    items: &'a [Item],
    room: u64,
    profit: f64,
    taken: Vec<usize>,
    best: Vec<usize>,
    best_profit: f64,
}

impl<'a> Search<'a> {
    fn new(items: &'a [Item], room: u64) -> Self {
        Self { items, room, profit: 0.0, taken: Vec::new(), best: Vec::new(), best_profit: -1.0 }
    }

    fn run(mut self) -> Taken {
        let root = self.bound_from(0);
        let mut next = 0;
        let mut nodes = 0;
        loop {
            // Forward: take what fits, as long as something better can come of it.
            while next < self.items.len() {
                if self.bound_from(next) <= self.best_profit + 1e-12 {
                    break;
                }
                if self.items[next].weight <= self.room {
                    self.take(next);
                }
                next += 1;
            }
            if next == self.items.len() && self.profit > self.best_profit {
                self.best_profit = self.profit;
                self.best.clone_from(&self.taken);
            }
            nodes += 1;
            // Back: leave the last item that was taken.
            let Some(last) = self.taken.pop() else { break };
            self.room += self.items[last].weight;
            self.profit -= self.items[last].profit;
            next = last + 1;
            if nodes > NODES_MAX {
                return self.result(root);
            }
        }
        let exact = self.best_profit;
        self.result(exact)
    }

    fn take(&mut self, index: usize) {
        self.room -= self.items[index].weight;
        self.profit += self.items[index].profit;
        self.taken.push(index);
    }

    fn result(self, bound: f64) -> Taken {
        Taken { ids: self.best.iter().map(|&index| self.items[index].id).collect(), bound }
    }

    /// What can come at most when the items from here on are still open.
    #[allow(clippy::cast_precision_loss, reason = "weights are far below 2^52")]
    fn bound_from(&self, next: usize) -> f64 {
        let mut room = self.room;
        let mut bound = self.profit;
        for item in &self.items[next..] {
            if item.weight > room {
                return bound + by_weight(item) * room as f64;
            }
            room -= item.weight;
            bound += item.profit;
        }
        bound
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every set of small cases tried.
    #[test]
    fn the_choice_is_as_good_as_the_best_of_all_sets() {
        let mut seed = 7_u64;
        let mut next = |most: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) % most
        };
        for _ in 0..300 {
            let items: Vec<Item> = (0..usize::try_from(next(10)).unwrap_or(0))
                .map(|id| Item {
                    id,
                    profit: f64::from(u32::try_from(next(50)).unwrap_or(0)) - 10.0,
                    weight: next(12),
                })
                .collect();
            let room = next(40);
            let best = (0_u32..1 << items.len())
                .filter_map(|set| {
                    let chosen = || items.iter().filter(|item| set >> item.id & 1 == 1);
                    (chosen().map(|item| item.weight).sum::<u64>() <= room)
                        .then(|| chosen().map(|item| item.profit).sum::<f64>())
                })
                .fold(0.0, f64::max);
            let taken = most_profit(&mut items.clone(), room);
            let profit: f64 = taken.ids.iter().map(|&id| items[id].profit).sum();
            let weight: u64 = taken.ids.iter().map(|&id| items[id].weight).sum();
            assert!((profit - best).abs() < 1e-9 && (taken.bound - best).abs() < 1e-9, "{items:?} {room}");
            assert!(weight <= room);
        }
    }
}
