//! Chains side by side on the addresses there are, so that together they change the least.
//!
//! Each chain has its possible starts, best first. Depth first, chain by chain, each start is tried that lies over no chain
//! placed before; a branch is left when what it has changed and what the rest has to change at least is no less than the best
//! found. Where every chain finds its best start free, as nearly always, the first descent is the answer. In the worst case the
//! search ends at a number of steps with the best found.

/// How many addresses are looked at in all.
const STEPS_MAX: u64 = 4_000_000;

/// What a chain without a place weighs: more than all that the others can change.
const NO_PLACE: u32 = 1_000_000;

/// A start that a chain may have; the lesser one is the better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Choice {
    /// How many built things change.
    pub(super) changes: u32,
    /// Whether it is another start than the built one.
    pub(super) moves: bool,
    /// How many addresses within it others have.
    pub(super) shared: usize,
    /// The start.
    pub(super) start: u32,
}

/// The start of every chain that is free to move; none where it has no place, or is not free.
pub(super) fn place(options: Vec<Vec<Choice>>, lengths: &[u32], free: &[bool]) -> Vec<Option<Choice>> {
    let mut least = vec![0u32; options.len() + 1];
    for (at, list) in options.iter().enumerate().rev() {
        let own = list.first().map_or(if free[at] { NO_PLACE } else { 0 }, |best| best.changes);
        least[at] = least[at + 1].saturating_add(own);
    }
    let last = options
        .iter()
        .zip(lengths)
        .flat_map(|(list, length)| list.iter().map(move |o| o.start + length))
        .max();
    let mut search = Search {
        options,
        lengths,
        free,
        least,
        taken: vec![false; last.unwrap_or(0) as usize + 1],
        chosen: Vec::new(),
        best: None,
        steps: 0,
    };
    search.descend(0);
    search.best.map(|(_, chosen)| chosen).unwrap_or_default()
}

struct Search<'a> {
    options: Vec<Vec<Choice>>,
    lengths: &'a [u32],
    free: &'a [bool],
    /// What the chains from each on change at the least.
    least: Vec<u32>,
    taken: Vec<bool>,
    chosen: Vec<Option<Choice>>,
    best: Option<(u32, Vec<Option<Choice>>)>,
    steps: u64,
}

impl Search<'_> {
    fn descend(&mut self, changed: u32) {
        let at = self.chosen.len();
        let Some(&length) = self.lengths.get(at) else {
            if self.best.as_ref().is_none_or(|(best, _)| changed < *best) {
                self.best = Some((changed, self.chosen.clone()));
            }
            return;
        };
        if !self.free[at] {
            return self.go_on(None, length, changed);
        }
        for index in 0..self.options[at].len() {
            let option = self.options[at][index];
            if self.is_hopeless(changed.saturating_add(option.changes), at + 1) {
                break;
            }
            let range = option.start as usize..(option.start + length) as usize;
            self.steps += u64::from(length);
            if self.taken[range].iter().any(|taken| *taken) {
                continue;
            }
            self.go_on(Some(option), length, changed.saturating_add(option.changes));
        }
        // Even one that fits may have to stand back, so that others do.
        let without = changed.saturating_add(NO_PLACE);
        if !self.is_hopeless(without, at + 1) {
            self.go_on(None, length, without);
        }
    }

    fn go_on(&mut self, option: Option<Choice>, length: u32, changed: u32) {
        let range = option.map_or(0..0, |option| option.start as usize..(option.start + length) as usize);
        self.taken[range.clone()].fill(true);
        self.chosen.push(option);
        self.descend(changed);
        self.chosen.pop();
        self.taken[range].fill(false);
    }

    /// Whether nothing better than the best can come of this, or the search has lasted long enough.
    fn is_hopeless(&self, changed: u32, rest: usize) -> bool {
        self.best.as_ref().is_some_and(|(best, _)| {
            self.steps > STEPS_MAX || changed.saturating_add(self.least[rest]) >= *best
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The fewest changes of all ways to place the chains, by trying them all.
    fn fewest(options: &[Vec<Choice>], lengths: &[u32], placed: &mut Vec<(u32, u32)>) -> u32 {
        let at = options.len() - lengths.len();
        let Some((&length, rest)) = lengths.split_first() else { return 0 };
        let mut best = NO_PLACE + fewest(options, rest, placed);
        for option in &options[at] {
            let (low, high) = (option.start, option.start + length);
            if placed.iter().all(|&(first, last)| high <= first || last <= low) {
                placed.push((low, high));
                best = best.min(option.changes + fewest(options, rest, placed));
                placed.pop();
            }
        }
        best
    }

    #[test]
    fn no_other_way_changes_less() {
        let mut state = 7u64;
        let mut next = |below: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            u32::try_from((state >> 33) % below).unwrap()
        };
        for case in 0..3_000 {
            let count = 1 + next(4) as usize;
            let lengths: Vec<u32> = (0..count).map(|_| 1 + next(5)).collect();
            let options: Vec<Vec<Choice>> = (0..count)
                .map(|_| {
                    let mut list: Vec<Choice> = (0..next(6))
                        .map(|_| Choice { changes: next(4), moves: false, shared: 0, start: 1 + next(12) })
                        .collect();
                    list.sort_unstable();
                    list
                })
                .collect();
            let placed = place(options.clone(), &lengths, &vec![true; count]);
            let changes: u32 =
                placed.iter().map(|option| option.map_or(NO_PLACE, |option| option.changes)).sum();
            assert_eq!(
                changes,
                fewest(&options, &lengths, &mut Vec::new()),
                "case {case}: {options:?} {lengths:?}"
            );
        }
    }
}
