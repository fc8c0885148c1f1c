//! `show faults`: its JSON, its words, what it refuses.
//!
//! # Source
//! The product's own contract for `faults`.

use crate::{root, run};
use serde_json::Value;

fn faults(layout: &str, saw: &[&str]) -> Value {
    let mut words = vec!["show", "faults", layout, "--json"];
    for saw in saw {
        words.extend(["--saw", saw]);
    }
    let ran = run(&root(), &words);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    ran.json()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn faults_answers_with_suspects_and_the_next_test() {
    let answer = faults("demo/tern-harbor", &["lever 5 does not move"]);
    assert_eq!(answer["symptom"], "lever 5 does not move");
    let suspects = answer["suspects"].as_array().unwrap();
    assert!(suspects.len() > 10);
    assert!(suspects.iter().all(|suspect| suspect["what"].is_string()));
    let whole: f64 = suspects.iter().map(|suspect| number(&suspect["likelihood"])).sum();
    assert!((whole - 1.0).abs() < 1e-3, "{whole}");
    let test = &answer["next_test"];
    assert!(test["do"].is_string() && test["expect"].is_string());
    let splits = test["splits"].as_array().unwrap();
    let left: u64 = splits.iter().map(|split| split["suspects"].as_u64().unwrap()).sum();
    assert!(splits.len() > 1 && left == suspects.len() as u64);
}

#[test]
fn answering_with_what_is_so_leads_to_the_fault() {
    // Truth, by hand: the motor of machine team does not move. So nothing moves it, its output and wire are good, and all else works.
    let mut saw = vec!["lever 5 does not move".to_owned()];
    for _ in 0..20 {
        let given: Vec<&str> = saw.iter().map(String::as_str).collect();
        let answer = faults("demo/tern-harbor", &given);
        let test = &answer["next_test"];
        if test.is_null() {
            let suspects = answer["suspects"].as_array().unwrap();
            assert_eq!(suspects.len(), 1);
            assert_eq!(suspects[0]["what"], "the motor of machine team does not move");
            assert_eq!(suspects[0]["faults"][0]["at"], "bay 3");
            return;
        }
        let good = test["expect"].as_str().unwrap();
        let bad = good.starts_with("machine team");
        let split = test["splits"].as_array().unwrap();
        let worst = split.last().unwrap()["say"].as_str().unwrap();
        saw.push(if bad { worst } else { good }.to_owned());
    }
    panic!("twenty tests and no end: {saw:?}");
}

#[test]
fn with_nothing_seen_every_symptom_has_its_suspects() {
    let answer = faults("demo/tern-harbor", &[]);
    assert!(answer["next_test"].is_null() && answer["suspects"].as_array().unwrap().is_empty());
    let symptoms = answer["symptoms"].as_array().unwrap();
    for lever in
        ["machine west-meet does not move", "machine y4R moves the wrong way", "track main 1 is dead"]
    {
        let row = symptoms.iter().find(|row| row["symptom"] == lever).unwrap_or_else(|| panic!("{lever}"));
        assert!(!row["suspects"].as_array().unwrap().is_empty());
    }
}

#[test]
fn words_that_mean_nothing_are_refused_with_what_may_be_written() {
    let refused = |saw: &[&str]| {
        let mut words = vec!["show", "faults", "demo/tern-harbor"];
        words.extend_from_slice(saw);
        let ran = run(&root(), &words);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""));
        ran.err
    };
    assert!(
        refused(&["--saw", "lever 5 explodes"])
            .contains("moves, moves slowly, moves the wrong way, does not move")
    );
    assert!(refused(&["--saw", "lever 5 moves", "--saw", "lever 5 does not move"]).contains("leave out"));
    assert!(refused(&["--here", "bay 33"]).contains("did you mean `bay 3`?"));
}

#[test]
fn its_options_are_refused_with_another_table() {
    let ran = run(&root(), &["show", "levers", "demo/tern-harbor", "--saw", "lever 5 does not move"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("--saw is for `show faults`"), "{}", ran.err);
}

#[test]
fn everything_that_can_be_said_is_listed() {
    let ran = run(&root(), &["show", "faults", "demo/first-module", "--list"]);
    assert_eq!(ran.status, 0);
    assert!(ran.out.contains("machine team from a cab"), "{}", ran.out);
}
