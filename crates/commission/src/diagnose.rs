//! From what was seen to the smallest sets of faults that explain it, and to the test that tells most for its minutes.
//!
//! Each thing seen that is not good is a conflict: of the faults that can bring just that about, at least one is there. What
//! would have made anything look worse than it does is cleared. The explanations are the minimal hitting sets of the conflicts
//! among the faults that are not cleared, by count and then by likelihood. `docs/why/faults.md` has the mathematics.
//!
//! # Source
//! R. Reiter, *A theory of diagnosis from first principles*, Artificial Intelligence 32 (1987): diagnoses as minimal hitting
//! sets of conflicts, breadth first. J. de Kleer, B. C. Williams, *Diagnosing multiple faults*, in the same volume: the next
//! measurement by least expected entropy. Both from memory; that information is counted per minute is our choice.

use crate::fault::{ANSWERS_MAX, Answer, System};
use std::collections::BTreeSet;

/// No explanation has more faults than this.
pub const AT_ONCE_MAX: usize = 4;

/// Explanations with up to so many faults are looked for even where fewer explain all.
const AT_ONCE_USUAL: usize = 2;

/// The most explanations, finished or not, that are held at a time; beyond it the least likely are left out.
pub const EXPLANATIONS_MAX: usize = 5_000;

/// Less than this tells nothing.
const BITS_LEAST: f64 = 1e-9;

/// Something that was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Seen {
    /// The check.
    pub check: usize,
    /// Its answer.
    pub answer: Answer,
}

/// Faults that together explain all that was seen, and no fewer of which do.
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// The faults, in the order of the system.
    pub faults: Vec<usize>,
    /// Its share among all explanations.
    pub likelihood: f64,
}

/// A test with what each of its answers would leave.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// The check.
    pub check: usize,
    /// Minutes, the way there counted.
    pub minutes: f64,
    /// What it tells on average.
    pub bits: f64,
    /// Each answer that an explanation foretells: how likely it is, and how many explanations it leaves.
    pub splits: Vec<(Answer, f64, usize)>,
}

/// What can be said after all that was seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Diagnosis {
    /// Explanations: fewer faults first, then likelier ones.
    pub explanations: Vec<Explanation>,
    /// What to do next; none where no test tells any two of the explanations apart.
    pub next: Option<Test>,
    /// False where a limit left explanations out.
    pub complete: bool,
    /// The check of each thing seen that no fault, or none that is not cleared, can explain.
    pub unexplained: Vec<usize>,
}

/// Explains what was seen. `here` is the place under which the person is now.
pub fn diagnose(system: &System, seen: &[Seen], here: Option<&str>) -> Diagnosis {
    let (conflicts, unexplained) = conflicts(system, seen);
    if !unexplained.is_empty() {
        return Diagnosis { unexplained, complete: true, ..Diagnosis::default() };
    }
    let odds: Vec<f64> = system.faults.iter().map(|fault| system.odds(fault)).collect();
    let mut found = HittingSets::default();
    for at_once in AT_ONCE_USUAL..=AT_ONCE_MAX {
        found = hitting_sets(&conflicts, &odds, at_once);
        if !found.sets.is_empty() {
            break;
        }
    }
    let weight = |set: &[usize]| set.iter().map(|&fault| odds[fault]).product::<f64>();
    let total: f64 = found.sets.iter().map(|set| weight(set)).sum();
    let mut explanations: Vec<Explanation> = found
        .sets
        .into_iter()
        .map(|faults| Explanation { likelihood: weight(&faults) / total, faults })
        .collect();
    explanations.sort_by(|a, b| {
        a.faults
            .len()
            .cmp(&b.faults.len())
            .then(b.likelihood.total_cmp(&a.likelihood))
            .then(a.faults.cmp(&b.faults))
    });
    let next = next_test(system, &explanations, seen, here);
    Diagnosis { explanations, next, complete: found.complete, unexplained }
}

/// For each thing seen that is not good, the faults that bring it about and are not cleared; and the checks of those that
/// none is left for.
fn conflicts(system: &System, seen: &[Seen]) -> (Vec<Vec<usize>>, Vec<usize>) {
    let cleared = |fault: usize| {
        let shows = &system.faults[fault].shows;
        seen.iter().any(|seen| shows.get(&seen.check).is_some_and(|&shown| shown > seen.answer))
    };
    let possible: Vec<usize> = (0..system.faults.len()).filter(|&fault| !cleared(fault)).collect();
    let (mut conflicts, mut unexplained) = (Vec::new(), Vec::new());
    for seen in seen.iter().filter(|seen| seen.answer > 0) {
        let shows = |&fault: &usize| system.faults[fault].shows.get(&seen.check) == Some(&seen.answer);
        let conflict: Vec<usize> = possible.iter().copied().filter(shows).collect();
        if conflict.is_empty() {
            unexplained.push(seen.check);
        }
        conflicts.push(conflict);
    }
    (conflicts, unexplained)
}

/// Minimal hitting sets, and whether these are all up to their size.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HittingSets {
    /// The sets, each in order, fewer members first.
    pub sets: Vec<Vec<usize>>,
    /// False where a limit left some out.
    pub complete: bool,
}

/// All minimal sets of at most `at_once` members that hit every conflict, by breadth first search over the conflicts: a set
/// that misses one grows by each of its members. Conflicts name indices into `odds`, which say what to keep at the limit.
///
/// # Source
/// Reiter (1987), section 4, from memory, with the pruning of supersets; sets of one size are closed before the next begin.
pub fn hitting_sets(conflicts: &[Vec<usize>], odds: &[f64], at_once: usize) -> HittingSets {
    let mut found: Vec<Vec<usize>> = Vec::new();
    let mut complete = true;
    let mut open: BTreeSet<Vec<usize>> = BTreeSet::from([Vec::new()]);
    for size in 0..=at_once {
        let mut grown: BTreeSet<Vec<usize>> = BTreeSet::new();
        let mut closed: Vec<Vec<usize>> = Vec::new();
        for set in open {
            let missed =
                conflicts.iter().find(|conflict| !conflict.iter().any(|member| set.contains(member)));
            let Some(missed) = missed else {
                closed.push(set);
                continue;
            };
            if size == at_once {
                continue;
            }
            for &member in missed {
                let mut larger = set.clone();
                larger.push(member);
                larger.sort_unstable();
                grown.insert(larger);
            }
        }
        found.extend(closed);
        // What holds a whole explanation already is none of the smallest.
        grown.retain(|set| !found.iter().any(|small| small.iter().all(|member| set.contains(member))));
        open = likeliest(grown, odds, EXPLANATIONS_MAX, &mut complete);
    }
    if found.len() > EXPLANATIONS_MAX {
        let kept = likeliest(found.into_iter().collect(), odds, EXPLANATIONS_MAX, &mut complete);
        found = kept.into_iter().collect();
        found.sort_by(|a, b| a.len().cmp(&b.len()).then(a.cmp(b)));
    }
    HittingSets { sets: found, complete }
}

fn likeliest(
    sets: BTreeSet<Vec<usize>>,
    odds: &[f64],
    most: usize,
    complete: &mut bool,
) -> BTreeSet<Vec<usize>> {
    if sets.len() <= most {
        return sets;
    }
    *complete = false;
    let weight = |set: &[usize]| set.iter().map(|&at| odds.get(at).copied().unwrap_or(0.0)).product::<f64>();
    let mut ranked: Vec<(f64, Vec<usize>)> = sets.into_iter().map(|set| (weight(&set), set)).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    ranked.into_iter().take(most).map(|(_, set)| set).collect()
}

/// The test that tells most for its minutes; of two that tell as much, the one that comes first in the system.
pub fn next_test(
    system: &System,
    explanations: &[Explanation],
    seen: &[Seen],
    here: Option<&str>,
) -> Option<Test> {
    let tests = tests(system, explanations, seen, here);
    let worth = |test: &Test| test.bits / test.minutes;
    tests
        .into_iter()
        .reduce(|best, test| if worth(&test) > worth(&best) * (1.0 + 1e-12) { test } else { best })
}

/// Every test that tells any two explanations apart, in the order of the system.
pub fn tests(system: &System, explanations: &[Explanation], seen: &[Seen], here: Option<&str>) -> Vec<Test> {
    let total: f64 = explanations.iter().map(|explanation| explanation.likelihood).sum();
    let mut foretold = vec![Foretold::default(); system.checks.len()];
    for explanation in explanations {
        for (check, answer) in shown(system, &explanation.faults) {
            if let Some((weight, count)) = foretold[check].get_mut(usize::from(answer)) {
                *weight += explanation.likelihood;
                *count += 1;
            }
        }
    }
    let mut tests = Vec::new();
    for (check, answers) in foretold.into_iter().enumerate() {
        let told: usize = answers.iter().map(|(_, count)| count).sum();
        if told == 0 || seen.iter().any(|seen| seen.check == check) {
            continue;
        }
        let weight: f64 = answers.iter().map(|(weight, _)| weight).sum();
        let mut splits: Vec<(Answer, f64, usize)> = Vec::new();
        if told < explanations.len() {
            splits.push((0, ((total - weight) / total).max(0.0), explanations.len() - told));
        }
        let foretold = (0..).zip(answers).filter(|(_, (_, count))| *count > 0);
        splits.extend(foretold.map(|(answer, (weight, count))| (answer, weight / total, count)));
        // Answers foretell themselves: what is left unknown afterwards falls by just the entropy of the answer.
        let bits = splits
            .iter()
            .filter(|(_, share, _)| *share > 0.0)
            .map(|(_, share, _)| -share * share.log2())
            .sum();
        if splits.len() > 1 && bits > BITS_LEAST {
            tests.push(Test { check, minutes: system.checks[check].minutes_from(here), bits, splits });
        }
    }
    tests
}

/// For each answer of a check: the likelihood of the explanations that foretell it, and how many they are.
type Foretold = [(f64, usize); ANSWERS_MAX];

/// What faults show together, check by check, wherever it is not good.
fn shown(system: &System, faults: &[usize]) -> Vec<(usize, Answer)> {
    let all = faults.iter().flat_map(|&fault| &system.faults[fault].shows);
    let mut shown: Vec<(usize, Answer)> = all.map(|(&check, &answer)| (check, answer)).collect();
    if faults.len() > 1 {
        // The worst answer of each check comes last, and stays.
        shown.sort_unstable();
        shown.reverse();
        shown.dedup_by_key(|(check, _)| *check);
    }
    shown
}

/// Everything bad that operators see, for a sheet: check by check, each way in which some single fault shows.
pub fn symptoms(system: &System) -> Vec<Seen> {
    let mut shown: BTreeSet<Seen> = BTreeSet::new();
    for fault in &system.faults {
        let seen = fault.shows.iter().filter(|(check, _)| system.checks[**check].symptom);
        shown.extend(seen.map(|(&check, &answer)| Seen { check, answer }));
    }
    shown.into_iter().collect()
}
