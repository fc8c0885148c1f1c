//! `check`: every diagnostic with its place.

use crate::SCHEMA;
use notice::{Confidence, Diagnostic, Severity, Span};
use serde::Serialize;

/// `check`: what is wrong with a layout.
#[derive(Debug, Serialize)]
pub struct CheckAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// How many errors.
    pub errors: usize,
    /// How many warnings.
    pub warnings: usize,
    /// All of them, in the order of the text.
    pub diagnostics: Vec<DiagnosticRow>,
}

/// One diagnostic.
///
/// # Units
/// Lines and columns count from 1, columns in letters; the end is past the last letter.
#[derive(Debug, Serialize)]
pub struct DiagnosticRow {
    /// Its code.
    pub code: &'static str,
    /// `error` or `warning`.
    pub severity: &'static str,
    /// What is.
    pub message: String,
    /// The file it is about.
    pub file: String,
    /// Where it begins.
    pub line: usize,
    /// Where it begins.
    pub column: usize,
    /// Where it ends.
    pub end_line: usize,
    /// Where it ends.
    pub end_column: usize,
    /// What to write instead.
    pub help: Option<String>,
    /// Other places that matter.
    pub related: Vec<RelatedRow>,
    /// The change that would mend it, where one is known.
    pub fix: Option<FixRow>,
}

/// Another place that matters.
#[derive(Debug, Serialize)]
pub struct RelatedRow {
    /// Where it begins.
    pub line: usize,
    /// Where it begins.
    pub column: usize,
    /// Why it matters.
    pub message: String,
}

/// A change that would mend a diagnostic.
#[derive(Debug, Serialize)]
pub struct FixRow {
    /// True when it may be applied without asking.
    pub sure: bool,
    /// The replacements.
    pub edits: Vec<EditRow>,
}

/// A replacement of one stretch of the text.
#[derive(Debug, Serialize)]
pub struct EditRow {
    /// Where the stretch begins.
    pub line: usize,
    /// Where the stretch begins.
    pub column: usize,
    /// Where the stretch ends.
    pub end_line: usize,
    /// Where the stretch ends.
    pub end_column: usize,
    /// What to write there.
    pub text: String,
}

/// Line and column of a byte of the text, both from 1; columns count letters.
///
/// # Example
/// ```
/// assert_eq!(answers::place("a = 1\nwharf = 2", 6), (2, 1));
/// ```
pub fn place(text: &str, at: usize) -> (usize, usize) {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let before = &text[..at];
    let row_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (before.matches('\n').count() + 1, before[row_start..].chars().count() + 1)
}

/// Answers `check`.
pub fn check(file: &str, text: &str, diagnostics: &[Diagnostic]) -> CheckAnswer {
    let count = |severity| diagnostics.iter().filter(|note| note.severity == severity).count();
    CheckAnswer {
        schema: SCHEMA,
        errors: count(Severity::Error),
        warnings: count(Severity::Warning),
        diagnostics: diagnostics.iter().map(|note| row(file, text, note)).collect(),
    }
}

fn row(file: &str, text: &str, note: &Diagnostic) -> DiagnosticRow {
    let (line, column, end_line, end_column) = corners(text, note.span);
    DiagnosticRow {
        code: note.code.name(),
        severity: match note.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        },
        message: note.message.clone(),
        file: file.to_owned(),
        line,
        column,
        end_line,
        end_column,
        help: note.help.clone(),
        related: note
            .related
            .iter()
            .map(|related| {
                let (line, column) = place(text, related.span.start);
                RelatedRow { line, column, message: related.message.clone() }
            })
            .collect(),
        fix: note.fix.as_ref().map(|fix| FixRow {
            sure: fix.confidence == Confidence::Sure,
            edits: fix
                .edits
                .iter()
                .map(|edit| {
                    let (line, column, end_line, end_column) = corners(text, edit.span);
                    EditRow { line, column, end_line, end_column, text: edit.text.clone() }
                })
                .collect(),
        }),
    }
}

fn corners(text: &str, span: Span) -> (usize, usize, usize, usize) {
    let (line, column) = place(text, span.start);
    let (end_line, end_column) = place(text, span.end);
    (line, column, end_line, end_column)
}
