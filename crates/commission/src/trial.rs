//! Commissioning while it goes on: which step one is at, whether what was found is as it should be, and what is wrong where it
//! is not.
//!
//! ```text
//! the order of steps ──┐
//! findings so far ─────┼─▶ place_in: the step to try now ──▶ judge: what was answered becomes a finding
//! where one turned to ─┘                                └─▶ diagnosis: what explains all that was found
//! ```
//!
//! Pure, and without memory: who keeps the findings, and tells others of them, hands them in. Findings stand under the keys of
//! their steps, so that they stay with what they are about when steps are added before it.

use crate::diagnose::{Diagnosis, Seen, diagnose, next_test};
use crate::fault::System;
use crate::order::{Order, Step};
use crate::say;
use description::record::{Finding, Verdict};
use measure::{ReadReason, Voltage};
use network::MachineId;
use plan::model::Plan;
use plan::wrong_way::{Remedy, remedy};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Below this share of what a meter should show, there is nothing there (common practice, no source).
pub const NOTHING_SHARE: f64 = 0.1;

/// How far a supply may be from its label, as a share of it (common practice, no source).
pub const LABEL_SHARE: f64 = 0.05;

/// What was found so far, by the keys of the steps.
pub type Findings = BTreeMap<String, Finding>;

/// What the one who tries a step answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// What the meter shows, and the volts on the supply's label where it is judged by that, each as it was typed.
    Reading {
        /// What the meter shows.
        shown: String,
        /// What the label says.
        label: String,
    },
    /// All is as the step says.
    Good,
    /// This was seen instead, in the words of [`can_be_seen`].
    Saw(String),
    /// Something else is wrong; the note says what.
    Wrong,
    /// The step is left out; the note says why.
    Skip,
}

/// What an answer comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Whether it is as it should be.
    pub verdict: Verdict,
    /// What the meter shows, with its unit.
    pub reading: Option<String>,
    /// What was seen instead of what should be.
    pub saw: Option<String>,
    /// What the reading was judged by, where that is not in the plan.
    pub label: Option<String>,
}

/// Why an answer cannot be taken, and what to do about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotJudged {
    /// The step wants a reading.
    ReadingMissing,
    /// The step has none.
    ReadingNotWanted,
    /// It is judged by the label of the supply.
    LabelMissing,
    /// It is no voltage.
    ReadingUnreadable,
    /// It is below nothing.
    ReadingNegative,
    /// The step does not show such a thing.
    NotSeenThere,
    /// It needs a note.
    NoteMissing,
}

impl fmt::Display for NotJudged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ReadingMissing => {
                "This step wants what the meter shows, with its unit, such as 12.3 V. Leave the step out, with a note, if you cannot read it."
            }
            Self::ReadingNotWanted => "This step takes no reading: say whether what you see is as it should be.",
            Self::LabelMissing => "Write the volts on the label of the supply: the plan does not know them, and the reading is judged by them.",
            Self::ReadingUnreadable => {
                "That is no voltage. Write a number and its unit as the meter shows them, such as 12.3 V or 850 mV."
            }
            Self::ReadingNegative => {
                "The meter shows less than nothing: its leads are the wrong way round. Turn them over and read again."
            }
            Self::NotSeenThere => "This step cannot show that. Choose one of the things it can show, or write a note.",
            Self::NoteMissing => "Write a note, so that whoever comes after you knows why.",
        })
    }
}

/// Whether a finding lets one go on: good, or left out on purpose.
pub fn passes(finding: &Finding) -> bool {
    finding.tried.as_ref().is_some_and(|tried| matches!(tried.verdict, Verdict::Good | Verdict::Skipped))
}

/// The step to try now: the one that was turned to; else the first that nobody has tried; none when all were.
pub fn place_in(order: &Order, findings: &Findings, turned: Option<&str>) -> Option<usize> {
    let tried = |step: &Step| findings.get(&step.key).is_some_and(|finding| finding.tried.is_some());
    let turned = turned.and_then(|key| order.steps.iter().position(|step| step.key == key));
    turned.or_else(|| order.steps.iter().position(|step| !tried(step)))
}

/// The steps that are not found good, in order: not tried, left out, or not as they should be.
pub fn open(order: &Order, findings: &Findings) -> Vec<usize> {
    let good = |step: &Step| verdict(findings, step) == Some(Verdict::Good);
    (0..order.steps.len()).filter(|&index| !good(&order.steps[index])).collect()
}

/// What a step came to.
pub fn verdict(findings: &Findings, step: &Step) -> Option<Verdict> {
    findings.get(&step.key)?.tried.as_ref().map(|tried| tried.verdict)
}

/// Everything that a step may show instead of what it should, check by check.
pub fn can_be_seen(system: &System, step: &Step) -> Vec<Seen> {
    let checks: BTreeSet<usize> = step.checks.iter().copied().collect();
    let shown = |&check: &usize| {
        let answers: BTreeSet<u8> = (system.faults.iter())
            .filter_map(|fault| fault.shows.get(&check).copied())
            .filter(|answer| *answer >= step.least)
            .collect();
        answers.into_iter().map(move |answer| Seen { check, answer }).collect::<Vec<_>>()
    };
    checks.iter().flat_map(shown).collect()
}

/// What an answer comes to at a step.
///
/// # Errors
/// When the step does not take such an answer, or it cannot be read.
pub fn judge(system: &System, step: &Step, answer: &Answer, note: &str) -> Result<Judged, NotJudged> {
    let judged = |verdict| Judged { verdict, reading: None, saw: None, label: None };
    let with_note =
        |verdict| if note.trim().is_empty() { Err(NotJudged::NoteMissing) } else { Ok(judged(verdict)) };
    match answer {
        Answer::Reading { shown, label } => judge_reading(system, step, shown, label),
        Answer::Good if step.reading.is_some() || step.by_label => Err(NotJudged::ReadingMissing),
        Answer::Good => Ok(judged(Verdict::Good)),
        Answer::Saw(words) => {
            let seen = can_be_seen(system, step);
            let said = |seen: &&Seen| system.checks[seen.check].sentence(seen.answer) == *words;
            let seen = seen.iter().find(said).ok_or(NotJudged::NotSeenThere)?;
            let verdict = if is_wrong_way(system, *seen) { Verdict::WrongWay } else { Verdict::Bad };
            Ok(Judged { saw: Some(words.clone()), ..judged(verdict) })
        }
        Answer::Wrong => with_note(Verdict::Bad),
        Answer::Skip => with_note(Verdict::Skipped),
    }
}

/// Whether this is points that move the wrong way.
fn is_wrong_way(system: &System, seen: Seen) -> bool {
    system.checks[seen.check].words.get(usize::from(seen.answer)) == Some(&"moves the wrong way")
}

fn judge_reading(system: &System, step: &Step, shown: &str, label: &str) -> Result<Judged, NotJudged> {
    let (expect, low, high, label) = match &step.reading {
        Some(band) => (band.expect.abs(), band.low, band.high, None),
        None if !step.by_label => return Err(NotJudged::ReadingNotWanted),
        None if label.trim().is_empty() => return Err(NotJudged::LabelMissing),
        None => {
            let (label, volts) = volts(label)?;
            (volts, volts * (1.0 - LABEL_SHARE), volts * (1.0 + LABEL_SHARE), Some(label))
        }
    };
    let (reading, volts) =
        if shown.trim().is_empty() { Err(NotJudged::ReadingMissing) } else { volts(shown) }?;
    let level = match volts {
        _ if volts >= low => None,
        _ if volts < expect * NOTHING_SHARE => Some("none"),
        _ => Some("low"),
    };
    let sentence = |level: &str| {
        let mut checks = step.checks.iter().map(|&check| &system.checks[check]);
        let check = checks.find(|check| check.words.contains(&level))?;
        Some(format!("{} {level}", check.key))
    };
    let verdict = if level.is_some() || volts > high { Verdict::Bad } else { Verdict::Good };
    Ok(Judged { verdict, reading: Some(reading), saw: level.and_then(sentence), label })
}

/// What was typed, with its unit, and how many volts that are.
fn volts(typed: &str) -> Result<(String, f64), NotJudged> {
    // People write a comma or a point, and some leave the unit to the meter's switch, which says volts.
    let typed = typed.trim().replace(',', ".");
    let written = if typed.parse::<f64>().is_ok() { format!("{typed} V") } else { typed };
    let volts = Voltage::read(&written).map_err(|error| match error.reason {
        ReadReason::Negative => NotJudged::ReadingNegative,
        ReadReason::Empty
        | ReadReason::NotANumber(_)
        | ReadReason::UnitMissing(_)
        | ReadReason::UnitUnknown(_)
        | ReadReason::TooLarge => NotJudged::ReadingUnreadable,
    })?;
    Ok((written, volts.value()))
}

/// The machines that were seen to move the wrong way.
pub fn wrong_way(plan: &Plan, step: &Step, finding: &Finding) -> Vec<MachineId> {
    let tried = finding.tried.as_ref().filter(|tried| tried.verdict == Verdict::WrongWay);
    let saw = tried.and_then(|tried| tried.saw.as_deref()).unwrap_or_default();
    let machines = step.lever.map_or(&[][..], |lever| &plan.network.lever(lever).machines);
    let is_meant = |machine: MachineId| {
        let name = &plan.network.machine(machine).name;
        saw.strip_prefix(&format!("machine {name} from ")).is_some()
    };
    machines.iter().copied().filter(|&machine| is_meant(machine)).collect()
}

/// What was found, as it goes to the record: of machines whose wires are not to be swapped it says that they are inverted.
pub fn for_record(plan: &Plan, order: &Order, findings: Findings) -> Findings {
    let mut inverted = Vec::new();
    for step in &order.steps {
        let Some(finding) = findings.get(&step.key) else { continue };
        for machine in wrong_way(plan, step, finding) {
            let decided = remedy(plan, machine);
            if decided.value == Remedy::Invert {
                let note = decided.because().map(ToString::to_string).collect::<Vec<_>>().join("; ");
                let key = format!("machine {}", plan.network.machine(machine).name);
                inverted.push((key, Finding { inverted: true, tried: None, note: Some(note) }));
            }
        }
    }
    let mut findings = findings;
    findings.extend(inverted);
    findings
}

/// What explains all that was found so far, with what earlier steps have cleared left out. Nothing where nothing is wrong, or where
/// what is wrong is no fault of the model.
pub fn diagnosis(system: &System, order: &Order, findings: &Findings, here: Option<&str>) -> Diagnosis {
    let mut seen: Vec<Seen> = Vec::new();
    let mut add = |new: Seen| {
        if seen.iter().all(|old| old.check != new.check) {
            seen.push(new);
        }
    };
    let tried = |step: &Step| findings.get(&step.key).and_then(|finding| finding.tried.as_ref());
    for step in &order.steps {
        let saw = tried(step).filter(|tried| tried.verdict != Verdict::Good);
        let saw = saw.and_then(|tried| say::understand(system, tried.saw.as_deref()?).ok());
        saw.into_iter().flatten().for_each(&mut add);
    }
    let good = || order.steps.iter().filter(|step| verdict(findings, step) == Some(Verdict::Good));
    for step in good().filter(|step| step.least <= 1) {
        step.checks.iter().for_each(|&check| add(Seen { check, answer: 0 }));
    }
    let mut diagnosis = diagnose(system, &seen, here);
    // A bus that carries nothing shows no bad joint, so its good reading clears only what it would have shown.
    let cleared = |fault: &usize| {
        let shows = &system.faults[*fault].shows;
        let shown = |step: &Step| {
            step.checks.iter().any(|check| shows.get(check).is_some_and(|&answer| answer >= step.least))
        };
        good().any(shown)
    };
    let before = diagnosis.explanations.len();
    diagnosis.explanations.retain(|explanation| !explanation.faults.iter().any(cleared));
    if diagnosis.explanations.len() < before {
        let total: f64 = diagnosis.explanations.iter().map(|explanation| explanation.likelihood).sum();
        for explanation in &mut diagnosis.explanations {
            explanation.likelihood /= total;
        }
        diagnosis.next = next_test(system, &diagnosis.explanations, &seen, here);
    }
    diagnosis
}
