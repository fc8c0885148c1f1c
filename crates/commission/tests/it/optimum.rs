//! How many tests and minutes the chosen tests take, against the best order of tests, found by trying all.

use crate::harbor;
use commission::diagnose::{Explanation, Seen, diagnose, next_test, tests};
use commission::fault::System;
use std::collections::BTreeMap;

/// What counts.
#[derive(Clone, Copy, PartialEq)]
enum Count {
    Tests,
    Minutes,
}

struct Best<'s> {
    system: &'s System,
    all: Vec<Explanation>,
    count: Count,
    known: BTreeMap<(u32, Option<String>), f64>,
}

impl Best<'_> {
    fn of(&self, set: u32) -> Vec<Explanation> {
        let chosen = self.all.iter().enumerate().filter(|(index, _)| set & (1 << index) != 0);
        chosen.map(|(_, explanation)| explanation.clone()).collect()
    }

    /// The explanations of a set that foretell an answer.
    fn with(&self, set: u32, check: usize, answer: u8) -> u32 {
        let foretells = |index: &usize| self.system.predict(&self.all[*index].faults, check) == answer;
        (0..self.all.len())
            .filter(|index| set & (1 << index) != 0)
            .filter(foretells)
            .map(|index| 1 << index)
            .sum()
    }

    fn weight(&self, set: u32) -> f64 {
        self.of(set).iter().map(|explanation| explanation.likelihood).sum()
    }

    fn after(&self, check: usize) -> Option<String> {
        let check = &self.system.checks[check];
        if check.under { check.at.clone() } else { None }
    }

    /// The least expected count from here, times the weight of the set.
    fn least(&mut self, set: u32, here: Option<&str>) -> f64 {
        let key = (set, here.filter(|_| self.count == Count::Minutes).map(str::to_owned));
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let possible = tests(self.system, &self.of(set), &[], here);
        let mut least = if possible.is_empty() { 0.0 } else { f64::INFINITY };
        // Of tests that split alike at one place only the quickest can be best.
        let mut quickest: BTreeMap<(Vec<u32>, Option<String>), (f64, usize)> = BTreeMap::new();
        for test in &possible {
            let parts = test.splits.iter().map(|(answer, ..)| self.with(set, test.check, *answer)).collect();
            let entry = quickest.entry((parts, self.after(test.check))).or_insert((test.minutes, test.check));
            if test.minutes < entry.0 {
                *entry = (test.minutes, test.check);
            }
        }
        for ((parts, after), (minutes, _)) in quickest {
            let one = if self.count == Count::Tests { 1.0 } else { minutes };
            let mut sum = one * self.weight(set);
            for part in parts {
                sum += self.least(part, after.as_deref());
            }
            least = least.min(sum);
        }
        self.known.insert(key, least);
        least
    }

    /// The same for the tests that are chosen.
    fn chosen(&self, set: u32, here: Option<&str>) -> f64 {
        let Some(test) = next_test(self.system, &self.of(set), &[], here) else { return 0.0 };
        let one = if self.count == Count::Tests { 1.0 } else { test.minutes };
        let after = self.after(test.check);
        let parts = test.splits.iter().map(|(answer, ..)| self.with(set, test.check, *answer));
        one * self.weight(set) + parts.map(|part| self.chosen(part, after.as_deref())).sum::<f64>()
    }
}

/// Complaints of the demo that leave few enough explanations to try every order of tests.
fn small_cases(system: &System) -> Vec<Vec<Explanation>> {
    let mut cases = Vec::new();
    let see = |key: &str, answer: u8| Seen { check: system.by_key[key], answer };
    for check in 0..system.checks.len() {
        for answer in 1..system.checks[check].words.len() {
            let answer = u8::try_from(answer).unwrap();
            let mut narrowed = vec![Seen { check, answer }];
            // What an operator knows besides: the rest of the railroad works.
            for (key, value) in
                [("breaker of motors", 0), ("breaker of track", 0), ("machine y1", 0), ("machine coal", 0)]
            {
                if see(key, value).check != check {
                    narrowed.push(see(key, value));
                }
            }
            let explanations = diagnose(system, &narrowed, None).explanations;
            if (3..=12).contains(&explanations.len()) && !cases.contains(&explanations) {
                cases.push(explanations);
            }
        }
    }
    cases
}

#[test]
fn chosen_tests_come_near_the_best_that_there_are() {
    let system = System::of(&harbor());
    let cases = small_cases(&system);
    assert!(cases.len() >= 20, "{} cases", cases.len());
    for (count, name) in [(Count::Tests, "tests"), (Count::Minutes, "minutes")] {
        let mut times: Vec<f64> = Vec::new();
        for case in &cases {
            let set = (1 << case.len()) - 1;
            let mut best = Best { system: &system, all: case.clone(), count, known: BTreeMap::new() };
            let (chosen, least) = (best.chosen(set, None), best.least(set, None));
            assert!(least > 0.0 && chosen >= least - 1e-9);
            times.push(chosen / least);
        }
        times.sort_by(f64::total_cmp);
        let (median, worst) = (times[times.len() / 2], times[times.len() - 1]);
        println!(
            "{name}: {} cases, {median:.3} times the best in the median, {worst:.3} at worst",
            times.len()
        );
        assert!(median <= 1.3, "{name}: {median}");
    }
}
