//! The bench, run by run: from its ends to the root, and back.

use super::demand::Demand;
use super::table::{State, Table, sum};
use std::ops::RangeInclusive;

/// How many levers may wait on a run, below nothing for outputs that wait.
#[derive(Clone, Debug)]
pub(super) struct Window {
    pub(super) single: RangeInclusive<i32>,
    pub(super) double: RangeInclusive<i32>,
}

/// What of a run (that of a place, towards the root) is looked at.
type Keeps<'a> = &'a dyn Fn(usize, State) -> bool;

/// One way through the tables of a bench.
pub(super) struct Sweep<'a> {
    demand: &'a Demand,
    windows: &'a [Window],
    /// For each place: what waits there and on the branches behind it, branch after branch; its last row before it serves.
    waiting: Vec<Vec<Table>>,
    /// For each place, on the run towards the root.
    pub(super) below: Vec<Table>,
}

impl<'a> Sweep<'a> {
    /// Fills the tables; none when that takes more work than there is.
    pub(super) fn new(
        demand: &'a Demand,
        windows: &'a [Window],
        keeps: Keeps<'_>,
        work: &mut u64,
        work_max: u64,
    ) -> Option<Self> {
        let places = demand.rooms.len();
        let empty = Table::new(0..=0, 0..=0, 0);
        let mut sweep =
            Self { demand, windows, waiting: vec![Vec::new(); places], below: vec![empty; places] };
        for &place in &demand.order {
            let own = Table::only(demand.single[place], demand.double[place], demand.left_over);
            let mut waiting = vec![own];
            for &child in &demand.children[place] {
                let last = waiting.last()?;
                let next = sweep.below[child].with(last, work);
                waiting.push(next);
                if *work > work_max {
                    return None;
                }
            }
            let window = &windows[place];
            let mut below = Table::new(window.single.clone(), window.double.clone(), demand.left_over);
            for (state, metres) in waiting.last()?.states() {
                sweep.serve(place, state, work, |then, _| below.lower(then, metres));
                if *work > work_max {
                    return None;
                }
            }
            let states: Vec<(State, f64)> = below.states().collect();
            for (state, metres) in states {
                let metres = metres + demand.run_cost(place, state.0, state.1);
                below.set(state, if keeps(place, state) { metres } else { f64::INFINITY });
            }
            sweep.below[place] = below;
            sweep.waiting[place] = waiting;
        }
        Some(sweep)
    }

    /// Every state that may follow when a place serves, within its window, with the number of its decoders.
    fn serve(&self, place: usize, from: State, work: &mut u64, mut each: impl FnMut(State, usize)) {
        let window = &self.windows[place];
        let (waits, waits_double) = (from.0 - window.single.start(), from.1 - window.double.start());
        if waits < 0 || waits_double < 0 {
            return;
        }
        for count in 0..=self.demand.rooms[place] {
            let outputs = self.demand.spare[place] + count * self.demand.outputs;
            let room_left = self.demand.left_over - from.2;
            let Ok(least) = i32::try_from(outputs.saturating_sub(room_left)) else { return };
            if least > waits + waits_double {
                return;
            }
            for left in 0..=room_left.min(outputs) {
                let Ok(served) = i32::try_from(outputs - left) else { return };
                let fewest = (served - waits).max(from.1 - window.double.end()).max(0);
                let most = served.min(waits_double).min(served - (from.0 - window.single.end()));
                *work += u64::try_from(most - fewest + 1).unwrap_or(1);
                for double in fewest..=most {
                    each((from.0 - (served - double), from.1 - double, from.2 + left), count);
                }
            }
        }
    }

    /// The least metres from the root's view, and the decoders at each place; none when nothing was kept.
    pub(super) fn best(&self, work: &mut u64) -> Option<(f64, Vec<usize>)> {
        let root = *self.demand.order.last()?;
        let (state, metres) = self.below[root].least(self.demand.anywhere)?;
        let mut counts = vec![0; self.demand.rooms.len()];
        let mut open = vec![(root, state)];
        while let Some((place, state)) = open.pop() {
            let metres = self.below[place].get(state);
            let run = self.demand.run_cost(place, state.0, state.1);
            let mut found: Option<(State, usize)> = None;
            for (from, before) in self.waiting[place].last()?.states() {
                // The same sum that the table was filled with, so that equal means equal.
                if found.is_none() && (before + run).total_cmp(&metres).is_eq() {
                    self.serve(place, from, work, |then, count| {
                        if then == state && found.is_none() {
                            found = Some((from, count));
                        }
                    });
                }
            }
            let (mut from, count) = found?;
            counts[place] = count;
            for (index, &child) in self.demand.children[place].iter().enumerate().rev() {
                let (all, rest) = (&self.waiting[place][index + 1], &self.waiting[place][index]);
                let metres = all.get(from);
                let split = self.below[child].states().find_map(|(part, cost)| {
                    let other = (from.0 - part.0, from.1 - part.1, from.2.checked_sub(part.2)?);
                    (cost + rest.get(other)).total_cmp(&metres).is_eq().then_some((part, other))
                });
                let (part, other) = split?;
                open.push((child, part));
                from = other;
            }
        }
        Some((metres, counts))
    }

    /// For each place, the least metres of all that is not in its table of the run towards the root; none when that takes too much work.
    pub(super) fn above(&self, work: &mut u64, work_max: u64) -> Option<Vec<Table>> {
        let mut above: Vec<Table> = self.below.iter().map(Table::empty).collect();
        let root = *self.demand.order.last()?;
        for left in self.demand.anywhere..=self.demand.left_over {
            above[root].set((0, 0, left), 0.0);
        }
        for &place in self.demand.order.iter().rev() {
            let all = self.waiting[place].last()?;
            let mut after = all.empty();
            for (from, _) in all.states() {
                let mut least = f64::INFINITY;
                self.serve(place, from, work, |then, _| {
                    let rest = above[place].get(then) + self.demand.run_cost(place, then.0, then.1);
                    least = least.min(rest);
                });
                after.set(from, least);
                if *work > work_max {
                    return None;
                }
            }
            for (index, &child) in self.demand.children[place].iter().enumerate().rev() {
                let before = &self.waiting[place][index];
                let mut rest = before.empty();
                let others: Vec<(State, f64)> = before.states().collect();
                for (part, cost) in self.below[child].states() {
                    *work += others.len() as u64;
                    for (other, metres) in &others {
                        let outside = after.get(sum(part, *other));
                        above[child].lower(part, outside + metres);
                        rest.lower(*other, outside + cost);
                    }
                }
                after = rest;
                if *work > work_max {
                    return None;
                }
            }
        }
        Some(above)
    }
}
