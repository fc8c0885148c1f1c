//! `show commissioning`: its JSON and its words.

use crate::{root, run};

#[test]
fn every_step_says_what_to_do_what_to_expect_and_why_it_comes_there() {
    let ran = run(&root(), &["show", "commissioning", "demo/tern-harbor", "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let answer = ran.json();
    assert_eq!(answer["proven"], true);
    let steps = answer["steps"].as_array().unwrap();
    let mut crawls = 0;
    let mut under = None;
    for (index, step) in steps.iter().enumerate() {
        assert_eq!(step["step"], index + 1);
        assert!(!step["do"].as_str().unwrap().is_empty() && !step["expect"].as_str().unwrap().is_empty());
        assert!(!step["because"].as_array().unwrap().is_empty());
        let here = (step["under"] == true).then(|| step["at"].clone());
        crawls += u64::from(here.is_some() && here != under);
        under = here;
    }
    // What is counted is what one does.
    assert_eq!(answer["crawls"].as_u64(), Some(crawls));
    assert!(answer["unseen"].as_array().unwrap().is_empty());
}

#[test]
fn readings_are_those_of_the_power_sheet() {
    let power = run(&root(), &["show", "power", "demo/tern-harbor", "--json"]).json();
    let answer = run(&root(), &["show", "commissioning", "demo/tern-harbor", "--json"]).json();
    for reading in power["readings"].as_array().unwrap() {
        let same = |step: &&serde_json::Value| {
            step["at"] == reading["at"]
                && ["meter", "expect", "low", "high"]
                    .iter()
                    .all(|member| step["reading"][*member] == reading[*member])
        };
        assert!(answer["steps"].as_array().unwrap().iter().any(|step| same(&step)), "{reading}");
    }
}

#[test]
fn in_words_each_step_has_a_box() {
    let ran = run(&root(), &["show", "commissioning", "demo/first-module"]);
    assert_eq!(ran.status, 0);
    assert!(ran.out.contains("[ ] 1. supply: "), "{}", ran.out);
    assert!(ran.out.contains("licensed electrician"));
}
