//! `throwbar show commissioning` in words: step by step, with a box before each.

use crate::print;
use answers::{CommissioningAnswer, CommissioningRow};
use plan::model::Plan;
use std::fmt::Write as _;

/// The most reasons of one step that are printed; `--json` has all.
const FAILS_PRINTED_MAX: usize = 6;

/// The answer.
pub(super) fn answer(plan: &Plan) -> CommissioningAnswer {
    let system = commission::fault::System::of(plan);
    answers::commissioning(&system, &commission::order::lay_out(plan, &system))
}

/// The steps.
pub(super) fn words(width: usize, answer: &CommissioningAnswer) -> String {
    let proven = if answer.proven { ", and no order has fewer" } else { "" };
    let crawls = if answer.crawls == 1 { "1 crawl".to_owned() } else { format!("{} crawls", answer.crawls) };
    let mut text = format!(
        "{} steps, {crawls} under the bench{proven}\n\
         stop at the first step that is not as it should be: what is wrong is named there\n\
         mains wiring is for a licensed electrician; switch off before you touch a wire; keep a switch for track power in reach\n",
        answer.steps.len()
    );
    let mut before: Option<(&Option<String>, bool)> = None;
    for step in &answer.steps {
        if before != Some((&step.at, step.under)) {
            let place = match (&step.at, step.under) {
                (Some(at), true) => format!("under {at}"),
                (Some(at), false) => format!("at {at}"),
                (None, _) => "anywhere".to_owned(),
            };
            let _ = writeln!(text, "\n{place}");
            before = Some((&step.at, step.under));
        }
        one(&mut text, width, step);
    }
    if !answer.unseen.is_empty() {
        let _ = writeln!(text, "\nno step shows: {}", answer.unseen.join("; "));
    }
    text
}

fn one(text: &mut String, width: usize, step: &CommissioningRow) {
    let head = format!("[ ] {}. {}: {}", step.step, step.phase, step.r#do);
    let fails = step.fails.iter().map(|fails| fails.what.as_str()).take(FAILS_PRINTED_MAX);
    let mut wrong: Vec<String> = fails.map(str::to_owned).collect();
    if step.fails.len() > FAILS_PRINTED_MAX {
        wrong.push(format!("{} more", step.fails.len() - FAILS_PRINTED_MAX));
    }
    wrong.extend(step.otherwise.iter().cloned());
    let mut parts = vec![("", head), ("      ", format!("expect {}", step.expect))];
    if !wrong.is_empty() {
        parts.push(("      ", format!("else {}", wrong.join("; "))));
    }
    for (indent, part) in parts {
        for row in print::wrapped(&part, width.saturating_sub(indent.len())) {
            let _ = writeln!(text, "{indent}{row}");
        }
    }
}
