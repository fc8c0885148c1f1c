//! What people write, in their words.

use crate::{fault, first_module, harbor};
use commission::diagnose::diagnose;
use commission::fault::System;
use commission::say::understand;

/// What is seen, as the tool would write it.
fn means(system: &System, written: &str) -> Vec<String> {
    let seen = understand(system, written).unwrap_or_else(|error| panic!("{error:?}"));
    seen.iter().map(|seen| system.checks[seen.check].sentence(seen.answer)).collect()
}

#[test]
fn people_say_it_in_several_ways() {
    let system = System::of(&harbor());
    assert_eq!(means(&system, "lever 5 does not move"), ["machine team does not move"]);
    assert_eq!(means(&system, "Lever 5: does  not move."), ["machine team does not move"]);
    assert_eq!(means(&system, "5 is stuck"), ["machine team does not move"]);
    assert_eq!(means(&system, "team does not move"), ["machine team does not move"]);
    assert_eq!(means(&system, "lever 3 is slow"), ["machine midA moves slowly", "machine midB moves slowly"]);
    assert_eq!(means(&system, "lever 1 from a cab moves"), ["machine west-meet from a cab moves"]);
    assert_eq!(
        means(&system, "breaker trips only when 5 is thrown"),
        ["breaker with lever 5 reverse trips", "breaker with lever 5 normal holds"]
    );
    assert_eq!(means(&system, "track main 1 dead"), ["track main 1 is dead"]);
}

#[test]
fn every_sentence_that_the_tool_prints_it_reads_back() {
    for plan in [harbor(), first_module()] {
        let system = System::of(&plan);
        for (index, check) in system.checks.iter().enumerate() {
            assert!((2..=commission::fault::ANSWERS_MAX).contains(&check.words.len()));
            for answer in 0..u8::try_from(check.words.len()).unwrap() {
                let seen = understand(&system, &check.sentence(answer)).unwrap();
                assert_eq!(seen.len(), 1, "{}", check.sentence(answer));
                assert_eq!((seen[0].check, seen[0].answer), (index, answer), "{}", check.sentence(answer));
            }
        }
    }
}

#[test]
fn words_that_say_nothing_are_refused_with_what_may_be_written() {
    let system = System::of(&harbor());
    let help = |written: &str| understand(&system, written).unwrap_err().help;
    assert_eq!(
        help("lever 5 explodes"),
        "of lever 5 it can be said: moves, moves slowly, moves the wrong way, does not move"
    );
    assert!(
        help("tracc main 1 is dead").starts_with("did you mean `track main 1`?"),
        "{}",
        help("tracc main 1 is dead")
    );
    assert!(help("").contains("write what and how it is"));
    assert!(help("lever 500 does not move").contains("write what and how it is"));
}

#[test]
fn a_frog_contact_is_suspected_when_the_breaker_trips_only_with_one_lever() {
    let system = System::of(&harbor());
    let seen = understand(&system, "breaker trips only when 5 is thrown").unwrap();
    let diagnosis = diagnose(&system, &seen, None);
    let stuck = fault(&system, "the contact that feeds team frog stays as it is in normal");
    assert_eq!(diagnosis.explanations[0].faults, [stuck]);
}
