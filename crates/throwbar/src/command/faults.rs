//! `throwbar show faults`: from what was seen to suspects and the next test.

use crate::failure::Failure;
use crate::print;
use answers::{FaultsAnswer, NextTestRow, SuspectRow};
use commission::diagnose::Seen;
use commission::fault::System;
use plan::model::Plan;
use std::fmt::Write as _;

/// What was seen.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Symptoms {
    /// Something that was seen or measured, such as `lever 5 does not move`; again for each thing more.
    #[arg(long, value_name = "WORDS")]
    saw: Vec<String>,
    /// The place under which you are: what is done there takes no crawl.
    #[arg(long, value_name = "PLACE")]
    here: Option<String>,
    /// Print everything that `--saw` understands on this railroad.
    #[arg(long)]
    list: bool,
}

impl Symptoms {
    /// The first of these options that was given.
    pub(crate) fn first_given(&self) -> Option<&'static str> {
        let given = [(!self.saw.is_empty(), "--saw"), (self.here.is_some(), "--here"), (self.list, "--list")];
        given.into_iter().find_map(|(given, option)| given.then_some(option))
    }
}

/// The answer to what was seen.
pub(super) fn answer(plan: &Plan, symptoms: &Symptoms) -> Result<FaultsAnswer, Failure> {
    let system = System::of(plan);
    let mut seen: Vec<Seen> = Vec::new();
    for words in &symptoms.saw {
        let understood = commission::say::understand(&system, words)
            .map_err(|error| Failure::SawNothing { written: error.written, help: error.help })?;
        for new in understood {
            match seen.iter().find(|old| old.check == new.check) {
                None => seen.push(new),
                Some(old) if *old == new => {}
                Some(old) => {
                    let check = &system.checks[new.check];
                    let both = [check.sentence(old.answer), check.sentence(new.answer)];
                    return Err(Failure::SawBoth { one: both[0].clone(), other: both[1].clone() });
                }
            }
        }
    }
    let known = || system.checks.iter().filter_map(|check| check.at.as_deref());
    if let Some(here) = &symptoms.here
        && !known().any(|place| place == here)
    {
        let hint = notice::nearest(here, known())
            .map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        return Err(Failure::NameUnknown { what: "place", name: here.clone(), hint });
    }
    let mut answer = answers::faults(&system, &symptoms.saw, &seen, symptoms.here.as_deref());
    if symptoms.list {
        answer.can_be_seen = answers::can_be_seen(&system);
    } else if seen.is_empty() {
        answer.symptoms = answers::fault_sheet(&system);
    }
    Ok(answer)
}

/// The answer in words.
pub(super) fn words(width: usize, answer: &FaultsAnswer) -> String {
    if !answer.can_be_seen.is_empty() {
        let rows = answer.can_be_seen.iter().map(|row| vec![row.what.clone(), row.answers.join(", ")]);
        return print::table(width, &["--saw", "and one of"], &rows.collect::<Vec<_>>());
    }
    if answer.seen.is_empty() {
        return sheet(width, answer);
    }
    let mut text = format!("seen: {}\n\n", answer.seen.join("; "));
    if !answer.unexplained.is_empty() {
        let _ = writeln!(
            text,
            "no part of the plan, wrong in one of the ways that are known, explains: {}\nlook again, and leave out what is not certain",
            answer.unexplained.join("; ")
        );
        return text;
    }
    if answer.suspects.is_empty() {
        text.push_str("nothing of this is wrong; --saw what is\n");
        return text;
    }
    let rows = answer
        .suspects
        .iter()
        .map(|suspect| vec![percent(suspect.likelihood), suspect.what.clone(), mend(suspect)]);
    text += &print::table(width, &["likely", "suspect", "mend"], &rows.collect::<Vec<_>>());
    if answer.more_suspects > 0 {
        let _ = writeln!(text, "and {} more, less likely", answer.more_suspects);
    }
    text.push('\n');
    let end = match &answer.next_test {
        Some(test) => next(width, test),
        None if answer.suspects.len() == 1 => {
            "this is all that explains it: mend it, then try everything again\n".to_owned()
        }
        None => "no test tells these apart: mend the likeliest first, then try again\n".to_owned(),
    };
    text + &end
}

fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent < 0.95 { "< 1 %".to_owned() } else { format!("{percent:.0} %") }
}

fn mend(suspect: &SuspectRow) -> String {
    suspect.faults.iter().map(|fault| fault.mend.as_str()).collect::<Vec<_>>().join("; ")
}

fn next(width: usize, test: &NextTestRow) -> String {
    let place = match (&test.at, test.under) {
        (Some(at), true) => format!(", under {at}"),
        (Some(at), false) => format!(", at {at}"),
        (None, _) => String::new(),
    };
    let rows = test.splits.iter().map(|split| {
        vec![format!("--saw \"{}\"", split.say), percent(split.likelihood), split.suspects.to_string()]
    });
    format!(
        "next{place}, {} min: {}\nbefore you touch a wire, switch off what feeds it\n\n{}",
        test.minutes,
        test.r#do,
        print::table(width, &["if", "likely", "leaves"], &rows.collect::<Vec<_>>())
    )
}

fn sheet(width: usize, answer: &FaultsAnswer) -> String {
    let mut text = String::new();
    for row in &answer.symptoms {
        let at = row.at.as_ref().map_or_else(String::new, |at| format!(" ({at})"));
        let _ = writeln!(text, "{}{at}", row.symptom);
        let more = (row.more_suspects > 0).then(|| format!("{} more", row.more_suspects));
        let suspects = row.suspects.iter().map(|row| format!("{} ({})", row.what, percent(row.likelihood)));
        let suspects: Vec<String> = suspects.chain(more).collect();
        let test = row.next_test.as_ref().map(|test| format!("first: {}", test.r#do));
        for part in [Some(format!("suspects: {}", suspects.join("; "))), test].into_iter().flatten() {
            for row in print::wrapped(&part, width.saturating_sub(4)) {
                let _ = writeln!(text, "    {row}");
            }
        }
    }
    text + "\nsay what you see: --saw \"lever 1 does not move\", again for each thing more; --list prints all that can be said\n"
}
