//! What tests share: a layout read as far as it goes, and the check that a text draws its own diagnostics.
//!
//! A fixture is a layout in which every diagnostic that must come is drawn under the letters it is about:
//!
//! ```toml
//!   [end.west]
//!   track = "main"
//!         # ^^^^^^ error[track-one-end]: `main` has one end named
//! ```
//!
//! Each one drawn must come at exactly these letters, with a message that holds the drawn text; each one that comes must
//! be drawn. A row `# @ error[code]: text` stands for a diagnostic anywhere in the text, where the letters cannot be
//! drawn under. Rows `# | text` right below one are its help, whole, row by row; without them any help will do.
#![allow(
    clippy::panic,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing check is a panic in a test"
)]

pub mod disk;

use description::record::{self, Record};
use notice::{Diagnostic, File, Outcome, Severity};
use plan::model::Plan;
use std::fmt::Write as _;

/// Reads, resolves, plans and verifies a layout, and lays out its panels.
pub fn planned(text: &str) -> Outcome<Plan> {
    planned_beside(text, &Record::default())
}

/// The same with the text of a record beside it. One that cannot be read is left out, as the program does.
pub fn kept(text: &str, record: &str) -> Outcome<Plan> {
    let record = record::read(record);
    let usable = if record.has_errors() { Record::default() } else { record.value };
    let outcome = planned_beside(text, &usable);
    Outcome::new(outcome.value, [record.diagnostics, outcome.diagnostics].concat())
}

/// The same with a record beside it.
pub fn planned_beside(text: &str, record: &Record) -> Outcome<Plan> {
    let network = description::read(text).then(network::resolve);
    network.then(|network| plan::make_kept(network, record)).then(rules::verify).then(draw::check_panels)
}

/// The plan of a layout that must have no errors.
///
/// # Panics
/// When it has.
pub fn plan_of(text: &str) -> Plan {
    let outcome = planned(text);
    assert!(!outcome.has_errors(), "{}", list(text, &outcome.diagnostics));
    outcome.value
}

/// One diagnostic that a fixture draws.
#[derive(Debug)]
struct Drawn {
    row: usize,
    columns: Option<(usize, usize)>,
    severity: Severity,
    code: String,
    message: String,
    help: Option<String>,
}

/// Checks that a layout's diagnostics are exactly those drawn in its text.
///
/// # Panics
/// When one is drawn that does not come, or comes that is not drawn.
pub fn check(text: &str) {
    hold_to_drawn(text, &planned(text).diagnostics);
}

/// Checks that the diagnostics of a layout and of the record beside it are exactly those drawn in the two texts.
///
/// # Panics
/// When one is drawn that does not come, or comes that is not drawn.
pub fn check_kept(text: &str, record: &str) {
    let found = kept(text, record).diagnostics;
    let (about_record, about_layout): (Vec<_>, Vec<_>) =
        found.into_iter().partition(|note| note.span.file == File::AsBuilt);
    hold_to_drawn(text, &about_layout);
    hold_to_drawn(record, &about_record);
}

fn hold_to_drawn(text: &str, found: &[Diagnostic]) {
    let mut drawn = read_drawn(text);
    let mut missing = String::new();
    let mut left: Vec<&Diagnostic> = found.iter().collect();
    for expected in drawn.drain(..) {
        match left.iter().position(|note| matches(text, note, &expected)) {
            Some(at) => {
                left.remove(at);
            }
            None => writeln!(missing, "drawn but not found: {expected:?}").unwrap(),
        }
    }
    for note in &left {
        writeln!(missing, "found but not drawn: {}", list(text, std::slice::from_ref(note))).unwrap();
    }
    assert!(missing.is_empty(), "{missing}\nin\n{text}\nall that was found:\n{}", list(text, found));
}

/// Diagnostics as rows of text, for failure messages.
pub fn list<D: std::borrow::Borrow<Diagnostic>>(text: &str, notes: &[D]) -> String {
    let mut rows = String::new();
    for note in notes {
        let note = note.borrow();
        let (row, start) = place(text, note.span.start);
        let (_, end) = place(text, note.span.end);
        let severity = word(note.severity);
        writeln!(rows, "{}:{}-{} {severity}[{}]: {}", row + 1, start + 1, end + 1, note.code, note.message)
            .unwrap();
        for help in note.help.iter().flat_map(|help| help.lines()) {
            writeln!(rows, "    | {help}").unwrap();
        }
    }
    rows
}

fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

/// Row and column of a byte, both from 0; columns count letters.
fn place(text: &str, at: usize) -> (usize, usize) {
    let before = &text[..at.min(text.len())];
    let row_start = before.rfind('\n').map_or(0, |at| at + 1);
    (before.matches('\n').count(), before[row_start..].chars().count())
}

fn matches(text: &str, note: &Diagnostic, drawn: &Drawn) -> bool {
    if note.severity != drawn.severity
        || note.code.name() != drawn.code
        || !note.message.contains(&drawn.message)
        || drawn.help.is_some() && drawn.help != note.help
    {
        return false;
    }
    let Some((start, end)) = drawn.columns else { return true };
    let (row, from) = place(text, note.span.start);
    row == drawn.row && from == start && place(text, note.span.end) == (row, end)
}

fn read_drawn(text: &str) -> Vec<Drawn> {
    let rows: Vec<&str> = text.lines().collect();
    let mut drawn = Vec::new();
    let mut subject = 0;
    for (index, row) in rows.iter().enumerate() {
        let Some(remark) = row.trim_start().strip_prefix('#') else {
            subject = index;
            continue;
        };
        let remark = remark.trim_start();
        if let Some(help) = remark.strip_prefix('|') {
            let last: &mut Drawn = drawn.last_mut().expect("a help stands below a drawn diagnostic");
            let row = help.strip_prefix(' ').unwrap_or(help);
            last.help = Some(last.help.take().map_or(row.to_owned(), |rows| format!("{rows}\n{row}")));
            continue;
        }
        if !(remark.starts_with('^') || remark.starts_with('@')) {
            continue;
        }
        let carets = remark.chars().take_while(|&c| c == '^').count();
        let start = row.chars().position(|c| c == '^').unwrap_or(0);
        let columns = (carets > 0).then_some((start, start + carets));
        let rest = remark.trim_start_matches(['^', '@']).trim();
        let (severity, rest) = match rest.split_once('[') {
            Some(("error", rest)) => (Severity::Error, rest),
            Some(("warning", rest)) => (Severity::Warning, rest),
            _ => panic!("row {}: a drawn diagnostic is `error[code]: message`: {row}", index + 1),
        };
        let (code, message) = rest.split_once("]:").expect("a drawn diagnostic has a code and a message");
        drawn.push(Drawn {
            row: subject,
            columns,
            severity,
            code: code.to_owned(),
            message: message.trim().to_owned(),
            help: None,
        });
    }
    drawn
}
