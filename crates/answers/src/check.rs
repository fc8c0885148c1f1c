//! `check`: every diagnostic with its place.

use crate::SCHEMA;
use notice::{Confidence, Diagnostic, File, Severity, Span};
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
    /// All of them, in the order of the texts.
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
    /// The file it is in.
    pub file: String,
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
    /// The file it is in.
    pub file: String,
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

/// One of the texts that diagnostics are about.
#[derive(Clone, Copy, Debug, Default)]
pub struct Text<'a> {
    /// What the file is called.
    pub file: &'a str,
    /// What stands in it.
    pub text: &'a str,
}

/// The texts that diagnostics are about.
#[derive(Clone, Copy, Debug, Default)]
pub struct Texts<'a> {
    /// The description.
    pub layout: Text<'a>,
    /// The record beside it; empty where there is none.
    pub as_built: Text<'a>,
}

impl<'a> Texts<'a> {
    /// The text that this place is in.
    pub fn of(&self, file: File) -> Text<'a> {
        match file {
            File::Layout => self.layout,
            File::AsBuilt => self.as_built,
        }
    }
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

/// Both texts with their rows.
struct Both<'a> {
    texts: Texts<'a>,
    layout: Rows<'a>,
    as_built: Rows<'a>,
}

impl Both<'_> {
    fn rows(&self, file: File) -> &Rows<'_> {
        match file {
            File::Layout => &self.layout,
            File::AsBuilt => &self.as_built,
        }
    }

    fn file(&self, span: Span) -> String {
        self.texts.of(span.file).file.to_owned()
    }

    fn corners(&self, span: Span) -> (usize, usize, usize, usize) {
        let rows = self.rows(span.file);
        let (line, column) = rows.place(span.start);
        let (end_line, end_column) = rows.place(span.end);
        (line, column, end_line, end_column)
    }
}

/// Answers `check`.
pub fn check(texts: Texts<'_>, diagnostics: &[Diagnostic]) -> CheckAnswer {
    let both = Both { texts, layout: Rows::new(texts.layout.text), as_built: Rows::new(texts.as_built.text) };
    let count = |severity| diagnostics.iter().filter(|note| note.severity == severity).count();
    CheckAnswer {
        schema: SCHEMA,
        errors: count(Severity::Error),
        warnings: count(Severity::Warning),
        diagnostics: diagnostics.iter().map(|note| row(&both, note)).collect(),
    }
}

fn row(both: &Both<'_>, note: &Diagnostic) -> DiagnosticRow {
    let (line, column, end_line, end_column) = both.corners(note.span);
    DiagnosticRow {
        code: note.code.name(),
        severity: match note.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        },
        message: note.message.clone(),
        file: both.file(note.span),
        line,
        column,
        end_line,
        end_column,
        help: note.help.clone(),
        related: note
            .related
            .iter()
            .map(|related| {
                let (line, column) = both.rows(related.span.file).place(related.span.start);
                let file = both.file(related.span);
                RelatedRow { file, line, column, message: related.message.clone() }
            })
            .collect(),
        fix: note.fix.as_ref().map(|fix| FixRow {
            sure: fix.confidence == Confidence::Sure,
            edits: fix
                .edits
                .iter()
                .map(|edit| {
                    let (line, column, end_line, end_column) = both.corners(edit.span);
                    let (file, text) = (both.file(edit.span), edit.text.clone());
                    EditRow { file, line, column, end_line, end_column, text }
                })
                .collect(),
        }),
    }
}
