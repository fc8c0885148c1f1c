//! The least metres for each state of a run: levers of one machine and of two that wait, and outputs left over.

use std::ops::RangeInclusive;

/// Metres by state; infinite where there is nothing.
#[derive(Clone, Debug)]
pub(super) struct Table {
    single: RangeInclusive<i32>,
    double: RangeInclusive<i32>,
    left: usize,
    metres: Vec<f64>,
}

/// A state: levers of one machine that wait, levers of two, outputs left over.
pub(super) type State = (i32, i32, usize);

impl Table {
    pub(super) fn new(single: RangeInclusive<i32>, double: RangeInclusive<i32>, left: usize) -> Self {
        let mut table = Self { single, double, left, metres: Vec::new() };
        let states = count(&table.single) * count(&table.double) * (left + 1);
        table.metres = vec![f64::INFINITY; states];
        table
    }

    /// Nothing but this state, which costs nothing.
    pub(super) fn only(single: i32, double: i32, left: usize) -> Self {
        let mut table = Self::new(single..=single, double..=double, left);
        table.metres[0] = 0.0;
        table
    }

    /// A table of the same states, none of which can be.
    pub(super) fn empty(&self) -> Self {
        Self::new(self.single.clone(), self.double.clone(), self.left)
    }

    fn index(&self, (single, double, left): State) -> Option<usize> {
        if !self.single.contains(&single) || !self.double.contains(&double) || left > self.left {
            return None;
        }
        let row = usize::try_from(single - self.single.start()).ok()?;
        let column = usize::try_from(double - self.double.start()).ok()?;
        Some((row * count(&self.double) + column) * (self.left + 1) + left)
    }

    pub(super) fn get(&self, state: State) -> f64 {
        self.index(state).map_or(f64::INFINITY, |index| self.metres[index])
    }

    pub(super) fn set(&mut self, state: State, metres: f64) {
        if let Some(index) = self.index(state) {
            self.metres[index] = metres;
        }
    }

    /// Keeps the smaller of what is there and this; nothing happens outside.
    pub(super) fn lower(&mut self, state: State, metres: f64) {
        if let Some(index) = self.index(state)
            && metres < self.metres[index]
        {
            self.metres[index] = metres;
        }
    }

    /// The states that can be, in order, with their metres.
    pub(super) fn states(&self) -> impl Iterator<Item = (State, f64)> + '_ {
        let (columns, depth) = (count(&self.double), self.left + 1);
        self.metres.iter().enumerate().filter(|(_, metres)| metres.is_finite()).map(move |(index, metres)| {
            let (left, cell) = (index % depth, index / depth);
            let (row, column) = (as_i32(cell / columns), as_i32(cell % columns));
            ((self.single.start() + row, self.double.start() + column, left), *metres)
        })
    }

    /// The least metres with at least so many outputs left over, and where; the first of equal ones.
    pub(super) fn least(&self, left: usize) -> Option<(State, f64)> {
        self.states().filter(|(state, _)| state.2 >= left).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// States of two parts of the bench together.
    pub(super) fn with(&self, other: &Self, work: &mut u64) -> Self {
        let mut both = Self::new(
            self.single.start() + other.single.start()..=self.single.end() + other.single.end(),
            self.double.start() + other.double.start()..=self.double.end() + other.double.end(),
            self.left,
        );
        let others: Vec<(State, f64)> = other.states().collect();
        for (state, metres) in self.states() {
            *work += others.len() as u64;
            for (more, cost) in &others {
                both.lower(sum(state, *more), metres + cost);
            }
        }
        both
    }
}

pub(super) fn sum(a: State, b: State) -> State {
    (a.0 + b.0, a.1 + b.1, a.2 + b.2)
}

fn count(range: &RangeInclusive<i32>) -> usize {
    usize::try_from(range.end() - range.start() + 1).unwrap_or(0)
}

fn as_i32(count: usize) -> i32 {
    i32::try_from(count).unwrap_or(i32::MAX)
}
