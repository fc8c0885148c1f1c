//! Commissioning, visit by visit with a box for each step; and the fault sheets: from symptom to suspects to the first test.
//!
//! Both come from `commission`; here they are only put in rows, with limits.

use commission::diagnose::{diagnose, symptoms};
use commission::fault::System;
use commission::order::{Order, Step, lay_out};
use commission::trial::open;
use description::record::Finding;
use notice::natural;
use std::collections::{BTreeMap, BTreeSet};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;
use crate::letters::SENTENCE_LETTERS_MAX;

/// The most steps of commissioning that are printed; `show commissioning` has all.
pub const STEPS_PRINTED_MAX: usize = 2_000;

/// The most symptoms that are printed; `show faults` answers any.
pub const SYMPTOMS_PRINTED_MAX: usize = 400;

/// The most faults or suspects of one row.
const WRONG_MAX: usize = 4;

/// Commissioning: `(crawls, proven, visits, more)`, each visit `(at, under, steps)`.
pub(crate) fn commissioning(ledger: &Ledger<'_>, system: &System) -> Dict {
    let order = lay_out(ledger.plan, system);
    let mut visits: Vec<(Option<&str>, bool, Array)> = Vec::new();
    for (index, step) in order.steps.iter().take(STEPS_PRINTED_MAX).enumerate() {
        let here = (step.at.as_deref(), step.under);
        if visits.last().is_none_or(|(at, under, _)| (*at, *under) != here) {
            visits.push((here.0, here.1, Array::new()));
        }
        if let Some((_, _, steps)) = visits.last_mut() {
            steps.push(one(ledger, system, index + 1, step).into_value());
        }
    }
    let visits = visits.into_iter().map(|(at, under, steps)| {
        dict! { "at" => ledger.words_if(at), "under" => under, "steps" => steps }.into_value()
    });
    dict! {
        "crawls" => order.crawls,
        "proven" => order.proven,
        "visits" => visits.collect::<Array>(),
        "more" => order.steps.len().saturating_sub(STEPS_PRINTED_MAX),
        "report" => report(ledger, &order),
    }
}

/// What was found, as the record has it: `(rows, open, steps)`, each row `(about, verdict, who, when, what)`, in the order of
/// the steps; findings about anything else come last.
fn report(ledger: &Ledger<'_>, order: &Order) -> Dict {
    let findings = &ledger.plan.findings;
    let keys: BTreeSet<&str> = order.steps.iter().map(|step| step.key.as_str()).collect();
    let others = findings.keys().map(String::as_str).filter(|about| !keys.contains(about));
    let about = order.steps.iter().map(|step| step.key.as_str()).chain(others);
    let rows = about.filter_map(|about| Some((about, findings.get(about)?))).take(STEPS_PRINTED_MAX);
    let row = |(about, finding): (&str, &Finding)| {
        let tried = finding.tried.as_ref();
        let inverted = finding.inverted.then_some("inverted");
        let words = [
            tried.and_then(|tried| tried.reading.as_deref()),
            tried.and_then(|tried| tried.saw.as_deref()),
            inverted,
            finding.note.as_deref(),
        ];
        let what = words.into_iter().flatten().collect::<Vec<_>>().join("; ");
        dict! {
            "about" => sentence(ledger, about),
            "verdict" => tried.map(|tried| tried.verdict.word()).unwrap_or_default(),
            "who" => ledger.words_if(tried.map(|tried| tried.who.as_str())),
            "when" => tried.map(|tried| tried.when.replace('T', " ").replace('Z', "")).unwrap_or_default(),
            "what" => sentence(ledger, &what),
        }
        .into_value()
    };
    dict! {
        "rows" => rows.map(row).collect::<Array>(),
        "open" => open(order, findings).len(),
        "steps" => order.steps.len(),
    }
}

fn sentence(ledger: &Ledger<'_>, text: &str) -> Value {
    ledger.words_up_to(text, SENTENCE_LETTERS_MAX)
}

/// A step: `(number, phase, does, expect, wrong, more)`.
fn one(ledger: &Ledger<'_>, system: &System, number: usize, step: &Step) -> Dict {
    let named = step.faults.iter().take(WRONG_MAX).map(|&fault| system.faults[fault].what.as_str());
    let wrong = named.chain(step.otherwise.iter().map(String::as_str));
    dict! {
        "number" => number,
        "phase" => step.phase.word(),
        "does" => sentence(ledger, &step.does),
        "expect" => sentence(ledger, &step.expect),
        "wrong" => wrong.map(|wrong| sentence(ledger, wrong)).collect::<Array>(),
        "more" => step.faults.len().saturating_sub(WRONG_MAX),
    }
}

/// Fault sheets: `(places, more)`, each place `(at, symptoms)`, each symptom `(lever, symptom, suspects, more, mend, test,
/// at, under, minutes)`.
pub(crate) fn faults(ledger: &Ledger<'_>, system: &System) -> Dict {
    let all = symptoms(system);
    // People look for the number that is painted on the panel.
    let levers: BTreeMap<usize, &str> = system
        .alias
        .iter()
        .filter(|(words, _)| !words.contains(" from "))
        .flat_map(|(words, checks)| checks.iter().map(|&check| (check, words.as_str())))
        .collect();
    let mut places: BTreeMap<Option<&str>, Array> = BTreeMap::new();
    for seen in all.iter().take(SYMPTOMS_PRINTED_MAX) {
        let check = &system.checks[seen.check];
        let diagnosis = diagnose(system, &[*seen], None);
        let suspects = diagnosis.explanations.iter().take(WRONG_MAX).map(|explanation| {
            let what = explanation.faults.iter().map(|&fault| system.faults[fault].what.as_str());
            let what = what.collect::<Vec<_>>().join(" and ");
            dict! {
                "what" => sentence(ledger, &what),
                "percent" => format!("{:.0} %", explanation.likelihood * 100.0),
            }
            .into_value()
        });
        let only = match diagnosis.explanations.as_slice() {
            [only] => only.faults.first().map(|&fault| system.faults[fault].mend.as_str()),
            _ => None,
        };
        let test = diagnosis.next.as_ref().map(|test| (&system.checks[test.check], test));
        let row = dict! {
            "lever" => ledger.words_if(levers.get(&seen.check).copied()),
            "symptom" => sentence(ledger, &check.sentence(seen.answer)),
            "mend" => only.map_or(Value::None, |mend| sentence(ledger, mend)),
            "suspects" => suspects.collect::<Array>(),
            "more" => diagnosis.explanations.len().saturating_sub(WRONG_MAX),
            "test" => test.map_or(Value::None, |(check, _)| sentence(ledger, &check.how)),
            "at" => ledger.words_if(test.and_then(|(check, _)| check.at.as_deref())),
            "under" => test.is_some_and(|(check, _)| check.under),
            "minutes" => test.map_or(Value::None, |(_, test)| format!("{} min", test.minutes).into_value()),
        };
        places.entry(check.at.as_deref()).or_default().push(row.into_value());
    }
    let mut places: Vec<(Option<&str>, Array)> = places.into_iter().collect();
    places.sort_by(|(one, _), (other, _)| natural(one.unwrap_or_default(), other.unwrap_or_default()));
    let places = places
        .into_iter()
        .map(|(at, symptoms)| dict! { "at" => ledger.words_if(at), "symptoms" => symptoms }.into_value());
    dict! {
        "places" => places.collect::<Array>(),
        "more" => all.len().saturating_sub(SYMPTOMS_PRINTED_MAX),
    }
}
