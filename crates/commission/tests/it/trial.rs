//! Commissioning while it goes on: what an answer comes to, where one is, and what explains what was found.

use crate::{first_module, harbor};
use commission::fault::System;
use commission::order::{Order, Phase, Step, lay_out};
use commission::trial::{
    Answer, Findings, Judged, NotJudged, can_be_seen, diagnosis, judge, open, passes, place_in, verdict,
};
use description::record::{Finding, Tried, Verdict};
use std::collections::BTreeSet;

fn of(plan: &plan::model::Plan) -> (System, Order) {
    let system = System::of(plan);
    let order = lay_out(plan, &system);
    (system, order)
}

fn step<'o>(order: &'o Order, key: &str) -> &'o Step {
    order.steps.iter().find(|step| step.key == key).unwrap_or_else(|| panic!("no step `{key}`"))
}

fn finding(judged: Judged) -> Finding {
    let tried = Tried {
        verdict: judged.verdict,
        who: "Ruth".into(),
        when: "2026-05-01T19:04:00Z".into(),
        reading: judged.reading,
        saw: judged.saw,
    };
    Finding { inverted: false, tried: Some(tried), note: None }
}

fn reading(shown: &str) -> Answer {
    Answer::Reading { shown: shown.into(), label: String::new() }
}

#[test]
fn every_step_has_a_key_of_its_own() {
    for plan in [harbor(), first_module()] {
        let (_, order) = of(&plan);
        let keys: BTreeSet<&str> = order.steps.iter().map(|step| step.key.as_str()).collect();
        assert_eq!(keys.len(), order.steps.len());
        assert!(!keys.contains(""));
    }
}

#[test]
fn a_reading_is_judged_by_the_band_of_its_step() {
    let (system, order) = of(&harbor());
    let step = step(&order, "bus motors at bay 2 under load");
    let band = step.reading.as_ref().unwrap();
    let judged = |shown: &str| judge(&system, step, &reading(shown), "");
    let saw = |shown: &str| judged(shown).map(|judged| (judged.verdict, judged.saw)).unwrap();
    let volts = |volts: f64| format!("{volts:.4} V");
    // Both sides of both limits, as they are.
    assert_eq!(saw(&volts(band.low + 1e-3)), (Verdict::Good, None));
    assert_eq!(saw(&volts(band.high - 1e-3)), (Verdict::Good, None));
    let low = Some("volts of motors at bay 2 low".to_owned());
    assert_eq!(saw(&volts(band.low - 1e-3)), (Verdict::Bad, low));
    // No fault of the model makes volts too high; the step says what that means.
    assert_eq!(saw(&volts(band.high + 1e-3)), (Verdict::Bad, None));
    assert_eq!(saw("0.02"), (Verdict::Bad, Some("volts of motors at bay 2 none".to_owned())));
    // As meters and people write it.
    let written = |shown: &str| judged(shown).unwrap().reading.unwrap();
    assert_eq!(written(" 11,8 "), "11.8 V");
    assert_eq!(written("11800 mV"), "11800 mV");
    for (shown, wrong) in [
        ("", NotJudged::ReadingMissing),
        ("twelve", NotJudged::ReadingUnreadable),
        ("12 A", NotJudged::ReadingUnreadable),
        ("-12 V", NotJudged::ReadingNegative),
        ("nan", NotJudged::ReadingUnreadable),
        ("inf", NotJudged::ReadingUnreadable),
    ] {
        assert_eq!(judged(shown), Err(wrong), "{shown}");
    }
    assert_eq!(judge(&system, step, &Answer::Good, ""), Err(NotJudged::ReadingMissing));
}

#[test]
fn a_supply_that_nobody_described_is_judged_by_its_label() {
    // By hand: 5 % of 16 V is 0.8 V.
    let (system, order) = of(&first_module());
    let step = step(&order, "the supply of the rails");
    let judged = |shown: &str, label: &str| {
        judge(&system, step, &Answer::Reading { shown: shown.into(), label: label.into() }, "")
    };
    for (shown, verdict) in
        [("15.21", Verdict::Good), ("15.19", Verdict::Bad), ("16.79", Verdict::Good), ("16.81", Verdict::Bad)]
    {
        let judged = judged(shown, "16").unwrap();
        assert_eq!((judged.verdict, judged.label.as_deref()), (verdict, Some("16 V")), "{shown}");
    }
    assert_eq!(judged("15", ""), Err(NotJudged::LabelMissing));
    assert_eq!(judged("15", "sixteen"), Err(NotJudged::ReadingUnreadable));
}

#[test]
fn what_a_step_cannot_show_and_what_says_nothing_is_refused() {
    let (system, order) = of(&first_module());
    let lever = step(&order, "lever 4");
    let judged =
        |answer: Answer, note: &str| judge(&system, lever, &answer, note).map(|judged| judged.verdict);
    let saw = |words: &str| judged(Answer::Saw(words.into()), "");
    assert_eq!(judged(Answer::Good, ""), Ok(Verdict::Good));
    assert_eq!(saw("machine crossA from a cab moves the wrong way"), Ok(Verdict::WrongWay));
    assert_eq!(saw("machine crossB from a cab does not move"), Ok(Verdict::Bad));
    assert_eq!(saw("machine y1 from a cab does not move"), Err(NotJudged::NotSeenThere));
    assert_eq!(judged(reading("12"), ""), Err(NotJudged::ReadingNotWanted));
    for answer in [Answer::Skip, Answer::Wrong] {
        assert_eq!(judged(answer, " "), Err(NotJudged::NoteMissing));
    }
    assert_eq!(judged(Answer::Skip, "motor on order"), Ok(Verdict::Skipped));
    assert_eq!(judged(Answer::Wrong, "a rattle"), Ok(Verdict::Bad));
}

#[test]
fn one_goes_on_from_step_to_step_and_what_was_turned_to_comes_first() {
    let (_, order) = of(&first_module());
    let mut findings = Findings::new();
    let good = || finding(Judged { verdict: Verdict::Good, reading: None, saw: None, label: None });
    let skipped = || finding(Judged { verdict: Verdict::Skipped, reading: None, saw: None, label: None });
    assert_eq!(place_in(&order, &findings, None), Some(0));
    findings.insert(order.steps[0].key.clone(), good());
    assert_eq!(place_in(&order, &findings, None), Some(1));
    findings.insert(order.steps[1].key.clone(), skipped());
    assert_eq!(place_in(&order, &findings, None), Some(2));
    assert_eq!(place_in(&order, &findings, Some(&order.steps[1].key)), Some(1));
    // A step that is no longer in the plan turns nobody anywhere.
    assert_eq!(place_in(&order, &findings, Some("lever 99")), Some(2));
    assert!(passes(&findings[&order.steps[1].key]));
    for step in &order.steps[2..] {
        findings.insert(step.key.clone(), good());
    }
    assert_eq!(place_in(&order, &findings, None), None);
    // What was left out is still open.
    assert_eq!(open(&order, &findings), [1]);
    assert_eq!(verdict(&findings, &order.steps[1]), Some(Verdict::Skipped));
}

/// For every fault of the demo: the steps before it are good, the step that names it shows it, and it is among what explains that.
#[test]
fn the_true_fault_is_among_what_explains_the_step_that_stops() {
    let (system, order) = of(&harbor());
    let mut tried = 0;
    for (rank, step) in order.steps.iter().enumerate() {
        for &fault in &step.faults {
            let mut findings = Findings::new();
            for earlier in &order.steps[..rank] {
                let judged = Judged { verdict: Verdict::Good, reading: None, saw: None, label: None };
                findings.insert(earlier.key.clone(), finding(judged));
            }
            let shown = can_be_seen(&system, step).into_iter().find(|seen| {
                let answer = system.predict(&[fault], seen.check);
                answer == seen.answer && answer >= step.least
            });
            let seen = shown.unwrap_or_else(|| panic!("{}: {}", step.key, system.faults[fault].what));
            let saw = system.checks[seen.check].sentence(seen.answer);
            let verdict = Verdict::Bad;
            let judged = Judged { verdict, reading: None, saw: Some(saw.clone()), label: None };
            findings.insert(step.key.clone(), finding(judged));
            let diagnosis = diagnosis(&system, &order, &findings, None);
            let among = diagnosis.explanations.iter().any(|explanation| explanation.faults == [fault]);
            assert!(among, "{} at {}: {saw}", system.faults[fault].what, step.key);
            let total: f64 = diagnosis.explanations.iter().map(|explanation| explanation.likelihood).sum();
            assert!((total - 1.0).abs() < 1e-9, "{total}");
            // A fault that an earlier step names was cleared by it.
            for explanation in diagnosis.explanations.iter().filter(|each| each.faults.len() == 1) {
                let named = order.steps.iter().position(|step| step.faults.contains(&explanation.faults[0]));
                assert!(named >= Some(rank), "{}", system.faults[explanation.faults[0]].what);
            }
            tried += 1;
        }
    }
    assert!(tried > 100, "{tried}");
    let phases: BTreeSet<Phase> = order.steps.iter().map(|step| step.phase).collect();
    assert!(phases.len() > 8, "{phases:?}");
}

/// What the builder states of this railroad counts in place of the usual figure; suspects stay the same.
#[test]
fn a_stated_likelihood_goes_before_the_usual_one() {
    use commission::diagnose::diagnose;
    use commission::mode::Mode;
    use description::keys::{TableKeys, Without};
    let listed = TableKeys::find("likelihood").unwrap().keys;
    let listed = listed.iter().map(|key| match key.without {
        Without::Usual(figure) => (key.name, figure.to_owned()),
        Without::Needed | Without::Open(_) => panic!("{} has no usual figure", key.name),
    });
    let listed: Vec<(&str, String)> = listed.collect();
    let expected = Mode::ALL.map(|mode| (mode.key(), mode.in_thousand().to_string()));
    assert_eq!(listed, expected);
    let text = include_str!("../../../../demo/first-module/layout.toml");
    let of = |text: &str| System::of(&testkit::plan_of(text));
    let (usual, stated) =
        (of(text), of(&format!("{text}\n[likelihood]\nmotor_worn = 2\noutput_dead = 400\n")));
    let likely = |system: &System| {
        let seen = commission::say::understand(system, "machine y1 does not move").unwrap();
        let diagnosis = diagnose(system, &seen, None);
        let of = |explanation: &commission::diagnose::Explanation| {
            (system.faults[explanation.faults[0]].what.clone(), explanation.likelihood)
        };
        diagnosis.explanations.iter().map(of).collect::<Vec<_>>()
    };
    let (before, after) = (likely(&usual), likely(&stated));
    assert_eq!(after[0].0, "D1 output 5 is dead");
    assert_ne!(before[0].0, after[0].0);
    let names =
        |likely: &[(String, f64)]| likely.iter().map(|(what, _)| what.clone()).collect::<BTreeSet<_>>();
    assert_eq!(names(&before), names(&after));
    // By hand: odds of 400 in 1,000 are 2 to 3; of 4 in 1,000, 4 to 996; all else keeps its odds to one another.
    let share = |likely: &[(String, f64)], what: &str| likely.iter().find(|each| each.0 == what).unwrap().1;
    let (output, motor) = ("D1 output 5 is dead", "the motor of machine y1 does not move");
    let factor =
        share(&after, output) / share(&after, motor) / (share(&before, output) / share(&before, motor));
    let by_hand = (400.0 / 600.0) / (4.0 / 996.0);
    assert!((factor / by_hand - 1.0).abs() < 1e-9, "{factor}");
}
