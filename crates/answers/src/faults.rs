//! `show faults`: what explains what was seen, what to do next, and what may be wrong for each symptom.

use crate::SCHEMA;
use commission::diagnose::{Diagnosis, Explanation, Seen, Test, diagnose};
use commission::fault::System;
use serde::Serialize;

/// The most suspects that are listed; how many more there are is said.
const SUSPECTS_MAX: usize = 30;

/// The most symptoms of the sheet.
const SYMPTOMS_MAX: usize = 1_000;

/// The most suspects of one symptom of the sheet.
const SHEET_SUSPECTS_MAX: usize = 5;

/// The answer.
#[derive(Debug, Serialize)]
pub struct FaultsAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// What was seen, in the words in which it was said; empty where nothing was.
    pub symptom: String,
    /// The same, piece by piece, as it is read back.
    pub seen: Vec<String>,
    /// What explains it: fewer faults first, then likelier ones.
    pub suspects: Vec<SuspectRow>,
    /// How many explanations there are beyond those.
    pub more_suspects: usize,
    /// False where a limit left explanations out.
    pub complete: bool,
    /// What was seen and no fault that is known explains.
    pub unexplained: Vec<String>,
    /// What to do next; null where nothing tells the suspects apart.
    pub next_test: Option<NextTestRow>,
    /// Where nothing was seen: what may be wrong for each symptom.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub symptoms: Vec<SymptomRow>,
    /// With `--list`: everything that can be said.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub can_be_seen: Vec<LookRow>,
}

/// Faults that together explain what was seen.
#[derive(Debug, Serialize)]
pub struct SuspectRow {
    /// What is wrong; two faults joined by "and".
    pub what: String,
    /// Its share among all explanations.
    pub likelihood: f64,
    /// Each fault, with what mends it.
    pub faults: Vec<FaultyRow>,
}

/// One fault.
#[derive(Debug, Serialize)]
pub struct FaultyRow {
    /// What is wrong.
    pub what: String,
    /// The place where it is.
    pub at: Option<String>,
    /// What mends it.
    pub mend: String,
}

/// The test that tells most for its minutes.
#[derive(Debug, Serialize)]
pub struct NextTestRow {
    /// What to do.
    pub r#do: String,
    /// What is seen where this is in order.
    pub expect: String,
    /// The place where it is done.
    pub at: Option<String>,
    /// Whether one has to get under the bench there.
    pub under: bool,
    /// Minutes, the crawl counted.
    pub minutes: f64,
    /// What it tells on average.
    pub bits: f64,
    /// Each answer that is possible.
    pub splits: Vec<SplitRow>,
}

/// One answer to a test.
#[derive(Debug, Serialize)]
pub struct SplitRow {
    /// The answer, as `--saw` takes it.
    pub say: String,
    /// How likely it is.
    pub likelihood: f64,
    /// How many explanations it leaves.
    pub suspects: usize,
}

/// A row of the fault sheet.
#[derive(Debug, Serialize)]
pub struct SymptomRow {
    /// What is seen.
    pub symptom: String,
    /// The place.
    pub at: Option<String>,
    /// The likeliest explanations.
    pub suspects: Vec<SuspectRow>,
    /// How many explanations there are beyond those.
    pub more_suspects: usize,
    /// What to do first.
    pub next_test: Option<NextTestRow>,
}

/// Something that can be looked at.
#[derive(Debug, Serialize)]
pub struct LookRow {
    /// What.
    pub what: String,
    /// What can be said of it, good first.
    pub answers: Vec<&'static str>,
    /// How it is looked at.
    pub r#do: String,
}

/// Answers `show faults` after what was seen, which was `said` in these words. `here` is the place under which the person is.
pub fn faults(system: &System, said: &[String], seen: &[Seen], here: Option<&str>) -> FaultsAnswer {
    let sentences: Vec<String> =
        seen.iter().map(|seen| system.checks[seen.check].sentence(seen.answer)).collect();
    let bare = FaultsAnswer {
        schema: SCHEMA,
        symptom: said.join("; "),
        seen: sentences,
        suspects: Vec::new(),
        more_suspects: 0,
        complete: true,
        unexplained: Vec::new(),
        next_test: None,
        symptoms: Vec::new(),
        can_be_seen: Vec::new(),
    };
    if seen.iter().all(|seen| seen.answer == 0) {
        return bare;
    }
    let diagnosis = diagnose(system, seen, here);
    let sentence = |&check: &usize| {
        let answer = seen.iter().find(|seen| seen.check == check).map_or(0, |seen| seen.answer);
        system.checks[check].sentence(answer)
    };
    FaultsAnswer {
        suspects: suspects(system, &diagnosis, SUSPECTS_MAX),
        more_suspects: diagnosis.explanations.len().saturating_sub(SUSPECTS_MAX),
        complete: diagnosis.complete,
        unexplained: diagnosis.unexplained.iter().map(sentence).collect(),
        next_test: diagnosis.next.as_ref().map(|test| next_test(system, test)),
        ..bare
    }
}

/// To this many places: the last figures of a logarithm differ between machines.
fn rounded(figure: f64) -> f64 {
    (figure * 1e6).round() / 1e6
}

/// Everything that can be said of this railroad.
pub fn can_be_seen(system: &System) -> Vec<LookRow> {
    let row = |check: &commission::fault::Check| LookRow {
        what: check.key.clone(),
        answers: check.words.to_vec(),
        r#do: check.how.clone(),
    };
    system.checks.iter().map(row).collect()
}

/// The fault sheet: everything that is seen from above, each way in which it can be bad.
pub fn fault_sheet(system: &System) -> Vec<SymptomRow> {
    let seen = commission::diagnose::symptoms(system).into_iter().take(SYMPTOMS_MAX);
    let row = |seen: Seen| {
        let diagnosis = diagnose(system, &[seen], None);
        SymptomRow {
            symptom: system.checks[seen.check].sentence(seen.answer),
            at: system.checks[seen.check].at.clone(),
            suspects: suspects(system, &diagnosis, SHEET_SUSPECTS_MAX),
            more_suspects: diagnosis.explanations.len().saturating_sub(SHEET_SUSPECTS_MAX),
            next_test: diagnosis.next.as_ref().map(|test| next_test(system, test)),
        }
    };
    seen.map(row).collect()
}

fn suspects(system: &System, diagnosis: &Diagnosis, most: usize) -> Vec<SuspectRow> {
    let row = |explanation: &Explanation| {
        let faults = explanation.faults.iter().map(|&fault| &system.faults[fault]);
        SuspectRow {
            what: faults.clone().map(|fault| fault.what.as_str()).collect::<Vec<_>>().join(" and "),
            likelihood: rounded(explanation.likelihood),
            faults: faults
                .map(|fault| FaultyRow {
                    what: fault.what.clone(),
                    at: fault.at.clone(),
                    mend: fault.mend.clone(),
                })
                .collect(),
        }
    };
    diagnosis.explanations.iter().take(most).map(row).collect()
}

fn next_test(system: &System, test: &Test) -> NextTestRow {
    let check = &system.checks[test.check];
    let split = |&(answer, likelihood, suspects): &(u8, f64, usize)| SplitRow {
        say: check.sentence(answer),
        likelihood: rounded(likelihood),
        suspects,
    };
    NextTestRow {
        r#do: check.how.clone(),
        expect: check.sentence(0),
        at: check.at.clone(),
        under: check.under,
        minutes: test.minutes,
        bits: rounded(test.bits),
        splits: test.splits.iter().map(split).collect(),
    }
}
