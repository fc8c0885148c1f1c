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

/// Where the rows of a text begin, so that a place is found without reading the text again.
#[derive(Debug)]
pub struct Rows<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Rows<'a> {
    /// Finds the rows of a text.
    pub fn new(text: &'a str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { text, starts }
    }

    /// Line and column of a byte, both from 1; columns count letters.
    ///
    /// # Example
    /// ```
    /// assert_eq!(answers::Rows::new("a = 1\nwharf = 2").place(6), (2, 1));
    /// ```
    pub fn place(&self, at: usize) -> (usize, usize) {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let row = self.starts.partition_point(|&start| start <= at);
        let start = self.starts[row - 1];
        (row, self.text[start..at].chars().count() + 1)
    }

    /// The whole rows that hold a stretch of the text: where they begin and end, and the number of the first.
    pub fn around(&self, span: Span) -> (Span, usize) {
        let first = self.starts.partition_point(|&start| start <= span.start).max(1);
        let next = self.starts.partition_point(|&start| start <= span.end);
        let end = self.starts.get(next).copied().unwrap_or(self.text.len());
        (Span::new(self.starts[first - 1], end), first)
    }
}

/// Answers `check`.
pub fn check(file: &str, text: &str, diagnostics: &[Diagnostic]) -> CheckAnswer {
    let rows = Rows::new(text);
    let count = |severity| diagnostics.iter().filter(|note| note.severity == severity).count();
    CheckAnswer {
        schema: SCHEMA,
        errors: count(Severity::Error),
        warnings: count(Severity::Warning),
        diagnostics: diagnostics.iter().map(|note| row(file, &rows, note)).collect(),
    }
}

fn row(file: &str, rows: &Rows<'_>, note: &Diagnostic) -> DiagnosticRow {
    let (line, column, end_line, end_column) = corners(rows, note.span);
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
                let (line, column) = rows.place(related.span.start);
                RelatedRow { line, column, message: related.message.clone() }
            })
            .collect(),
        fix: note.fix.as_ref().map(|fix| FixRow {
            sure: fix.confidence == Confidence::Sure,
            edits: fix
                .edits
                .iter()
                .map(|edit| {
                    let (line, column, end_line, end_column) = corners(rows, edit.span);
                    EditRow { line, column, end_line, end_column, text: edit.text.clone() }
                })
                .collect(),
        }),
    }
}

fn corners(rows: &Rows<'_>, span: Span) -> (usize, usize, usize, usize) {
    let (line, column) = rows.place(span.start);
    let (end_line, end_column) = rows.place(span.end);
    (line, column, end_line, end_column)
}
