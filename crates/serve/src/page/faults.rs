//! The page of fault-finding: what is seen, what that may come from, and what to test next, each a tap. What was seen stands in
//! the address, so that it works without scripts, the browser's way back takes an answer back, and it can be sent to someone.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use commission::diagnose::{Diagnosis, Seen, diagnose, symptoms};
use commission::fault::{Answer, System};
use live::Sign;
use maud::{Markup, html};

use super::commissioning::{percent, sentence};
use super::sheet;
use crate::access::Role;
use crate::app::Panel;
use crate::snapshot::Snapshot;
use crate::trial::Bench;

/// The most suspects that are named.
const SUSPECTS_MAX: usize = 8;

/// What is asked about.
pub(crate) struct Asked {
    /// What was seen, in words.
    pub(crate) saw: Vec<String>,
    /// The same, check by check.
    pub(crate) seen: Vec<Seen>,
    /// The place under which one is.
    pub(crate) here: Option<String>,
}

/// The address of this page for what was seen.
pub(crate) fn address(saw: &[&str], here: Option<&str>) -> String {
    let saw = saw.iter().map(|saw| format!("saw={}", encoded(saw)));
    let members: Vec<String> = saw.chain(here.map(|here| format!("here={}", encoded(here)))).collect();
    if members.is_empty() { "/faults".to_owned() } else { format!("/faults?{}", members.join("&")) }
}

/// Text as a part of an address.
///
/// # Source
/// RFC 3986, section 2: what is not reserved stands for itself, all else as its bytes.
fn encoded(text: &str) -> String {
    let mut encoded = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            encoded.push(char::from(byte));
        } else {
            // Writing to a string cannot fail.
            let _ = write!(encoded, "%{byte:02X}");
        }
    }
    encoded
}

pub(crate) fn write(panel: &Panel, role: Role, bench: &Bench, asked: &Asked) -> Markup {
    let system = &bench.system;
    let diagnosis = diagnose(system, &asked.seen, asked.here.as_deref());
    let inside = html! {
        @if asked.saw.is_empty() { p { "Tap what you see. Each tap narrows what can be wrong, and says what to test next." } }
        @else { (seen(asked)) (suspects(system, asked, &diagnosis)) (next(system, asked, &diagnosis)) }
        @if asked.saw.is_empty() { (noticed(&panel.desk().snapshot())) }
        (more(system, asked))
    };
    sheet(panel, role, "Fault-finding", "faults.js", &inside)
}

/// What the log says of machines, before anyone sees it.
fn noticed(snapshot: &Snapshot) -> Markup {
    html! {
        @if !snapshot.signs.is_empty() {
            section aria-labelledby="signs-title" {
                h2 #signs-title { "Noticed in the log" }
                ul.chips {
                    @for sign in &snapshot.signs {
                        @let seen = match sign {
                            Sign::Slow { machine, .. } => format!("machine {machine} moves slowly"),
                            Sign::Misses { machine, .. } => format!("machine {machine} does not move"),
                        };
                        li { (sign) " " a.button href=(address(&[&seen], None)) aria-label={ "Find why: " (sign.machine()) } { "Find why" } }
                    }
                }
            }
        }
    }
}

/// What was seen, each to be taken back.
fn seen(asked: &Asked) -> Markup {
    html! {
        section aria-labelledby="seen-title" {
            h2 #seen-title { "You see" }
            ul.chips {
                @for (index, saw) in asked.saw.iter().enumerate() {
                    @let others: Vec<&str> = asked.saw.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, saw)| saw.as_str()).collect();
                    li { (sentence(saw)) " " a.button href=(address(&others, asked.here.as_deref())) aria-label={ "Take back: " (saw) } { "Take back" } }
                }
            }
        }
    }
}

fn suspects(system: &System, asked: &Asked, diagnosis: &Diagnosis) -> Markup {
    let unexplained = diagnosis.unexplained.iter().map(|&check| system.checks[check].key.clone());
    html! {
        section aria-labelledby="suspects-title" {
            h2 #suspects-title { "Suspects" }
            @if !diagnosis.unexplained.is_empty() {
                p.trouble { "No part, wrong in one of the ways that are known, explains what is seen at: " (unexplained.collect::<Vec<_>>().join("; ")) ". Look again, and take back what is not certain." }
            } @else if diagnosis.explanations.is_empty() || asked.seen.iter().all(|seen| seen.answer == 0) {
                p { "Nothing of this is wrong. Tap what is." }
            } @else {
                ol.suspects {
                    @for explanation in diagnosis.explanations.iter().take(SUSPECTS_MAX) {
                        li {
                            b.share { (percent(explanation.likelihood)) } " "
                            @for (index, &fault) in explanation.faults.iter().enumerate() {
                                @if index > 0 { ", and " }
                                (system.faults[fault].what) span.quiet { " – mend: " (system.faults[fault].mend) }
                            }
                        }
                    }
                }
                @if diagnosis.explanations.len() > SUSPECTS_MAX { p.quiet { "And " (diagnosis.explanations.len() - SUSPECTS_MAX) " more, less likely." } }
            }
        }
    }
}

fn next(system: &System, asked: &Asked, diagnosis: &Diagnosis) -> Markup {
    let Some(test) = &diagnosis.next else {
        return html! {
            @if diagnosis.explanations.len() == 1 { p.caution { b { "This is all that explains it. " } "Switch off what feeds it, mend it, then try everything again." } }
            @else if diagnosis.explanations.len() > 1 { p.caution { b { "No test tells these apart. " } "Switch off, mend the likeliest first, then try again." } }
        };
    };
    let check = &system.checks[test.check];
    let with = |saw: &str, here: Option<&str>| {
        let all: Vec<&str> = asked.saw.iter().map(String::as_str).chain([saw]).collect();
        address(&all, here)
    };
    let place = check.at.as_deref();
    // Whoever tests under a place is there when the answer is tapped.
    let here = if check.under { place } else { asked.here.as_deref() };
    html! {
        section.test aria-labelledby="test-title" {
            h2 #test-title { "Test next" }
            p.quiet { (if check.under { "Under " } else { "At " }) (place.unwrap_or("any place")) " · " (test.minutes) " min, the way there counted" }
            p.does { (sentence(&check.how)) "." }
            p { "Before you touch a wire, switch off what feeds it." }
            ul.taps {
                @for &(answer, share, left) in &test.splits {
                    @let says = check.sentence(answer);
                    li { a.button href=(with(&says, here)) { (sentence(&says)) } span.quiet { " likely " (percent(share)) ", leaves " (left) } }
                }
            }
        }
    }
}

/// What can be seen besides, part by part.
fn more(system: &System, asked: &Asked) -> Markup {
    let mut by_check: BTreeMap<usize, Vec<Answer>> = BTreeMap::new();
    for symptom in symptoms(system) {
        by_check.entry(symptom.check).or_default().push(symptom.answer);
    }
    let known: Vec<usize> = asked.seen.iter().map(|seen| seen.check).collect();
    let of_lever: BTreeMap<usize, &str> = (system.alias.iter())
        .filter(|(words, _)| !words.contains(" from "))
        .flat_map(|(words, checks)| checks.iter().map(|&check| (check, words.as_str())))
        .collect();
    let with = |saw: &str| {
        let all: Vec<&str> = asked.saw.iter().map(String::as_str).chain([saw]).collect();
        address(&all, asked.here.as_deref())
    };
    html! {
        section aria-labelledby="more-title" {
            h2 #more-title { @if asked.saw.is_empty() { "What do you see?" } @else { "What else do you see?" } }
            div.find { label for="find" { "Find" } input #find type="search" autocomplete="off" placeholder="such as: 5, track, breaker"; }
            ul.parts {
                @for (&check, answers) in by_check.iter().filter(|(check, _)| !known.contains(check)) {
                    @let key = &system.checks[check].key;
                    li.part {
                        details {
                            summary { (sentence(key)) @if let Some(lever) = of_lever.get(&check) { span.quiet { " · " (lever) } } }
                            div.taps {
                                // That all is well is an answer too, and clears suspects.
                                @if !asked.saw.is_empty() { a.button href=(with(&system.checks[check].sentence(0))) { (sentence(&system.checks[check].sentence(0))) } }
                                @for &answer in answers { @let says = system.checks[check].sentence(answer); a.button href=(with(&says)) { (sentence(&says)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
