//! Faults put into the demo, one at a time and two at a time, seen as the model says, and looked for with true answers.

use crate::{Dice, fault, harbor};
use commission::diagnose::{Seen, diagnose};
use commission::fault::System;

/// How one search went.
struct Search {
    tests: usize,
    minutes: f64,
    /// Parts that were mended and had nothing.
    wrong: usize,
    /// Explanations after the complaint.
    suspects: usize,
}

/// What a person first complains of: something that is seen from above, or else anything that shows.
fn complaint(system: &System, truth: &[usize], dice: &mut Dice) -> Seen {
    let shown = |check: usize| Seen { check, answer: system.predict(truth, check) };
    let bad: Vec<Seen> = (0..system.checks.len()).map(shown).filter(|seen| seen.answer > 0).collect();
    let above: Vec<Seen> = bad.iter().copied().filter(|seen| !system.checks[seen.check].under).collect();
    let from = if above.is_empty() { bad } else { above };
    from[dice.below(from.len())]
}

/// Looks until all that is wrong is mended. At every step some explanation is part of the truth.
fn search(system: &System, truth: &[usize], dice: &mut Dice) -> Search {
    let mut left = truth.to_vec();
    let mut search = Search { tests: 0, minutes: 0.0, wrong: 0, suspects: 0 };
    while !left.is_empty() {
        let mut seen = vec![complaint(system, &left, dice)];
        let mut here: Option<String> = None;
        loop {
            let diagnosis = diagnose(system, &seen, here.as_deref());
            assert!(diagnosis.complete && diagnosis.unexplained.is_empty());
            let part_of_truth = |explanation: &commission::diagnose::Explanation| {
                explanation.faults.iter().all(|fault| left.contains(fault))
            };
            let names: Vec<&str> = left.iter().map(|&fault| system.faults[fault].what.as_str()).collect();
            assert!(
                diagnosis.explanations.iter().any(part_of_truth),
                "{names:?} is not among the explanations"
            );
            if search.suspects == 0 {
                search.suspects = diagnosis.explanations.len();
            }
            let Some(test) = diagnosis.next else {
                search.wrong += diagnosis.explanations.iter().position(part_of_truth).unwrap();
                let found =
                    diagnosis.explanations.iter().find(|explanation| part_of_truth(explanation)).unwrap();
                left.retain(|fault| !found.faults.contains(fault));
                break;
            };
            search.tests += 1;
            search.minutes += test.minutes;
            assert!(search.tests < 200, "{names:?} is looked for without end");
            let check = &system.checks[test.check];
            if check.under {
                here.clone_from(&check.at);
            } else {
                here = None;
            }
            seen.push(Seen { check: test.check, answer: system.predict(&left, test.check) });
        }
    }
    search
}

fn median(mut figures: Vec<f64>) -> f64 {
    figures.sort_by(f64::total_cmp);
    figures[figures.len() / 2]
}

#[test]
fn three_hundred_faults_of_the_demo_are_all_found() {
    let system = System::of(&harbor());
    let mut dice = Dice(7);
    let mut single = Vec::new();
    let mut double = Vec::new();
    for _ in 0..150 {
        let one = dice.below(system.faults.len());
        single.push(search(&system, &[one], &mut dice));
        let other = (one + 1 + dice.below(system.faults.len() - 1)) % system.faults.len();
        double.push(search(&system, &[one, other], &mut dice));
    }
    for (name, searches) in [("single", &single), ("double", &double)] {
        let of = |figure: fn(&Search) -> f64| median(searches.iter().map(figure).collect());
        let tests = of(|search| f64::from(u32::try_from(search.tests).unwrap()));
        let bits = of(|search| f64::from(u32::try_from(search.suspects).unwrap()).log2());
        let wrong: usize = searches.iter().map(|search| search.wrong).sum();
        println!(
            "{name}: {} searches, median {tests} tests, {:.1} minutes, log2 of the suspects {bits:.1}; {wrong} mended for nothing",
            searches.len(),
            of(|search| search.minutes),
        );
    }
    // No test tells a dead strip from dead buttons where it has one pair; the demo has nothing of the kind.
    assert_eq!(single.iter().map(|search| search.wrong).sum::<usize>(), 0);
    assert!(single.iter().all(|search| search.tests <= 12));
}

#[test]
fn every_single_fault_of_the_demo_can_be_told_from_every_other() {
    let system = System::of(&harbor());
    for (index, one) in system.faults.iter().enumerate() {
        for other in &system.faults[index + 1..] {
            assert_ne!(one.shows, other.shows, "{} and {} show alike", one.what, other.what);
        }
    }
}

#[test]
fn a_masked_fault_is_found_when_the_first_is_mended() {
    let system = System::of(&harbor());
    let truth = [
        fault(&system, "the supply of bus motors at bay 1 gives nothing"),
        fault(&system, "the motor of machine coal does not move"),
    ];
    search(&system, &truth, &mut Dice(1));
}
