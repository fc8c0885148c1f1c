//! The page of commissioning: one step at a time, what to do and what to expect, and what is wrong where it is not seen. Who may
//! only look follows.

use commission::order::Step;
use commission::trial::{can_be_seen, diagnosis, open, verdict, wrong_way};
use description::record::{Finding, Tried, Verdict};
use live::{Railroad, Sight};
use maud::{Markup, html};
use plan::wrong_way::Remedy;

use super::sheet;
use crate::access::Role;
use crate::app::Panel;
use crate::snapshot::{look, words};
use crate::trial::{Trial, lever_of};

/// The most suspects, or faults of a step, that are named.
const WRONG_MAX: usize = 6;

/// The whole page.
pub(crate) fn write(panel: &Panel, role: Role, trial: &Trial) -> Markup {
    let inside = html! {
        @if role == Role::Maintain {
            form.who #who-form {
                label for="who" { "Your name, for the record" }
                input #who type="text" maxlength="40" autocomplete="name";
            }
        } @else {
            p.caution { b { "This device follows. " } "Answers come from a device that may maintain. " a href="/enter" { "Enter with another key" } }
        }
        div #now { (now(panel, role, trial)) }
    };
    sheet(panel, role, "Commissioning", "commissioning.js", &inside)
}

/// What changes from step to step.
pub(crate) fn now(panel: &Panel, role: Role, trial: &Trial) -> Markup {
    let order = &trial.bench.order;
    let open = open(order, &trial.findings);
    let good = order.steps.len() - open.len();
    html! {
        p.progress #progress {
            progress max=(order.steps.len()) value=(good) aria-labelledby="progress" {}
            " " (good) " of " (order.steps.len()) " steps are as they should be"
        }
        @match trial.now {
            Some(index) => (step(panel, role, trial, index)),
            None => (ended(trial, &open)),
        }
        (all(role, trial))
    }
}

fn step(panel: &Panel, role: Role, trial: &Trial, index: usize) -> Markup {
    let steps = &trial.bench.order.steps;
    let step = &steps[index];
    let finding = trial.findings.get(&step.key);
    let place = match (&step.at, step.under) {
        (Some(at), true) => format!(" · under {at}"),
        (Some(at), false) => format!(" · at {at}"),
        (None, _) => String::new(),
    };
    let tried = finding.and_then(|finding| finding.tried.as_ref());
    html! {
        article.step data-step=(step.key) data-verdict=[tried.map(|tried| tried.verdict.word())] aria-labelledby="step-title" {
            p.quiet { "Step " (index + 1) " of " (steps.len()) " · " (step.phase.word()) (place) }
            h2 #step-title tabindex="-1" { (sentence(&step.key)) }
            dl {
                dt { "Do" } dd { (sentence(&step.does)) }
                dt { "Expect" } dd { (sentence(&step.expect)) }
            }
            @if let (Some(finding), Some(tried)) = (finding, tried) { (found(finding, tried)) }
            @if let Some(finding) = finding { (remedies(&trial.bench.railroad, step, finding)) }
            @if tried.is_some_and(|tried| matches!(tried.verdict, Verdict::Bad | Verdict::WrongWay)) { (wrong(trial, step)) }
            @if role == Role::Maintain { (throws(panel, &trial.bench.railroad, step)) (answers(trial, step)) }
            @if role == Role::Maintain {
                div.act {
                    @for (other, word) in [(index.checked_sub(1), "Step before"), (Some(index + 1), "Step after")] {
                        @if let Some(other) = other.and_then(|other| steps.get(other)) { button.turn type="button" data-to=(other.key) { (word) } }
                    }
                }
            }
            p.quiet { (sentence(step.phase.why())) "." }
        }
    }
}

/// Machines are thrown by the panel's own core, so locks and refusals hold.
fn throws(panel: &Panel, railroad: &Railroad, step: &Step) -> Markup {
    let Some(number) = lever_of(railroad.plan(), step) else { return html! {} };
    let snapshot = panel.desk().snapshot();
    let now = snapshot.lever(number);
    html! {
        fieldset.throw-it data-lever=(number) data-state=(now.map_or("unknown", |lever| look(lever.sight))) {
            legend { "Throw it for me" }
            div.act {
                @for position in ["normal", "reverse"] {
                    button.to type="button" data-position=(position) { "Throw lever " (number) " to " (position) }
                }
            }
            p.says { @if let Some(now) = now { "The panel has it " (words(now)) "." @if now.sight == Sight::NotKnown { " Look at the points, not at the screen." } } }
        }
    }
}

fn answers(trial: &Trial, step: &Step) -> Markup {
    let system = &trial.bench.system;
    let seen: Vec<String> = can_be_seen(system, step)
        .into_iter()
        .map(|seen| system.checks[seen.check].sentence(seen.answer))
        .collect();
    html! {
        form.answers #answers {
            @if step.reading.is_some() || step.by_label {
                @if step.by_label {
                    p {
                        label for="label" { "Volts on its label" }
                        span.reading { input #label name="label" type="text" inputmode="decimal" autocomplete="off" maxlength="20"; b { "V" } }
                    }
                }
                p {
                    label for="reading" { "What the meter shows, in volts" }
                    span.reading { input #reading name="reading" type="text" inputmode="decimal" autocomplete="off" maxlength="20" aria-describedby="band"; b { "V" } }
                }
                p.quiet #band {
                    @match &step.reading {
                        Some(reading) => { "Good from " (format!("{:.2}", reading.low)) " to " (format!("{:.2}", reading.high)) " V." }
                        None => { "Good within 5 % of its label." }
                    }
                }
                p.act { button.strong.answer type="submit" data-answer="reading" { "Judge this reading" } }
            } @else {
                p.act { button.strong.answer type="submit" data-answer="good" { "Yes, it is as it should be" } }
                @if !seen.is_empty() {
                    details.no {
                        summary { "No: I see something else" }
                        div.act { @for seen in &seen { button.answer type="button" data-answer="saw" data-saw=(seen) { (sentence(seen)) } } }
                    }
                }
            }
            p {
                label for="step-note" { "Note" }
                input #step-note name="note" type="text" maxlength="120" autocomplete="off" placeholder="needed to leave a step out";
            }
            div.act {
                button.answer type="button" data-answer="wrong" { "Something else is wrong" }
                button.answer type="button" data-answer="skip" { "Leave this step out" }
            }
        }
    }
}

/// What was found at a step.
fn found(finding: &Finding, tried: &Tried) -> Markup {
    html! {
        p.found {
            b { (sentence(tried.verdict.word())) }
            ": found by " (tried.who) ", " time datetime=(tried.when) { (tried.when) }
            @for more in [&tried.reading, &tried.saw, &finding.note].into_iter().flatten() { " · " (more) }
        }
    }
}

/// What to do about points that move the wrong way, and why. The plan decides.
fn remedies(railroad: &Railroad, step: &Step, finding: &Finding) -> Markup {
    let network = &railroad.plan().network;
    html! {
        @for machine in wrong_way(railroad.plan(), step, finding) {
            @let decided = plan::wrong_way::remedy(railroad.plan(), machine);
            section.remedy aria-label="What to do" {
                @match &decided.value {
                    Remedy::SwapWires { cores, from, at } => p {
                        b { "Swap " (cores[0]) " and " (cores[1]) } " at " (from)
                        @if let Some(at) = at { ", " (at) }
                        ". Switch off first; then try this step again."
                    }
                    Remedy::Invert => p {
                        b { "Let the record say that it is inverted." }
                        " Taking what was found into the record writes it there, and this panel turns its commands round when it is opened with that record. Cabs and buttons go on throwing " (network.machine(machine).name) " the other way round: mark its lever."
                    }
                    Remedy::SwapEnds => p {
                        b { "Swap its two end positions" }
                        " where " (network.machine(machine).name) " or its decoder keeps them, as its maker says; then try this step again."
                    }
                }
                p.quiet { "Because " @for because in decided.because() { (because) } "." }
            }
        }
    }
}

/// How likely it is, where that is known, and each fault with what mends it.
type Suspect = (Option<f64>, Vec<(String, String)>);

/// What is wrong: what explains all that was found, or else what the step can fail for.
fn wrong(trial: &Trial, step: &Step) -> Markup {
    let system = &trial.bench.system;
    let diagnosis = diagnosis(system, &trial.bench.order, &trial.findings, step.at.as_deref());
    let what = |fault: &usize| (system.faults[*fault].what.clone(), system.faults[*fault].mend.clone());
    let suspects: Vec<Suspect> = if diagnosis.explanations.is_empty() {
        step.faults.iter().map(|fault| (None, vec![what(fault)])).collect()
    } else {
        let explanations = diagnosis.explanations.iter();
        explanations.map(|each| (Some(each.likelihood), each.faults.iter().map(what).collect())).collect()
    };
    let saw: Vec<&str> = (trial.findings.values().filter_map(|finding| finding.tried.as_ref()))
        .filter_map(|tried| tried.saw.as_deref())
        .collect();
    html! {
        section.wrong aria-labelledby="wrong-title" {
            h3 #wrong-title { "What is wrong" }
            ol.suspects {
                @for (likelihood, faults) in suspects.iter().take(WRONG_MAX) {
                    li {
                        @if let Some(likelihood) = likelihood { b.share { (percent(*likelihood)) } " " }
                        @for (index, (what, mend)) in faults.iter().enumerate() {
                            @if index > 0 { ", and " }
                            (what) span.quiet { " – mend: " (mend) }
                        }
                    }
                }
                @for other in &step.otherwise { li { (other) } }
            }
            @if suspects.len() > WRONG_MAX { p.quiet { "And " (suspects.len() - WRONG_MAX) " more, less likely." } }
            @if let Some(test) = &diagnosis.next { p { b { "Test next: " } (system.checks[test.check].how) "." } }
            @if !saw.is_empty() { p { a.button href=(super::faults::address(&saw, step.at.as_deref())) { "Find the fault, test by test" } } }
            p { "Before you touch a wire, switch off what feeds it. When it is mended, try this step again." }
        }
    }
}

/// All steps were tried.
fn ended(trial: &Trial, open: &[usize]) -> Markup {
    html! {
        article.step data-step="" {
            h2 #step-title tabindex="-1" { "Every step was tried" }
            @if open.is_empty() { p { "All is as it should be." } }
            @else { p { "Still open: " (open.len()) ". Turn to one of them below and try it again." } }
            p { "Take what was found into the record, beside layout.toml, when the panel is closed: " code { "throwbar plan LAYOUT --keep --findings operation.journal" } }
            @if trial.findings.is_empty() { p.quiet { "Nothing was found yet." } }
        }
    }
}

/// Every step, each with what it came to.
fn all(role: Role, trial: &Trial) -> Markup {
    let steps = trial.bench.order.steps.iter().enumerate();
    html! {
        details.all #all {
            summary { "All steps" }
            ol.steps {
                @for (index, step) in steps {
                    @let came_to = verdict(&trial.findings, step).map_or("not tried", Verdict::word);
                    li data-verdict=(came_to) aria-current=[(trial.now == Some(index)).then_some("step")] {
                        span { (sentence(&step.key)) " " b { (came_to) } }
                        @if role == Role::Maintain { button.turn type="button" data-to=(step.key) aria-label={ "Turn to " (step.key) } { "Turn to it" } }
                    }
                }
            }
        }
    }
}

/// The first letter large, as a sentence begins.
pub(super) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A share in whole percent.
pub(super) fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent < 0.95 { "< 1 %".to_owned() } else { format!("{percent:.0} %") }
}
