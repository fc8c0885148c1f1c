//! One thing that is wrong or doubtful in the user's layout, and the outcome of a stage that may find several.

use crate::{Code, File, Span, code};

/// How much a diagnostic weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The layout cannot be planned as written.
    Error,
    /// The layout can be planned, but something should be looked at.
    Warning,
}

/// Another place that has to do with a diagnostic, and why it matters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Related {
    /// Where.
    pub span: Span,
    /// Why it matters, in one short sentence.
    pub message: String,
}

/// How far a fix may be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Confidence {
    /// Applying it clears the diagnostic and changes nothing else.
    Sure,
    /// It is one way; the user has to say.
    Ask,
}

/// A replacement of one stretch of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced.
    pub span: Span,
    /// By what.
    pub text: String,
}

/// A change to the description that would clear a diagnostic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    /// The replacements, in the order of their places.
    pub edits: Vec<Edit>,
    /// Whether it may be applied without asking.
    pub confidence: Confidence,
}

/// One thing that is wrong or doubtful, with its place and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// What kind of thing; stable for ever.
    pub code: Code,
    /// How much it weighs.
    pub severity: Severity,
    /// The letters to underline.
    pub span: Span,
    /// What is, in the user's own names: one sentence, no full stop.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
    /// Other places that matter.
    pub related: Vec<Related>,
    /// The change to make, where one is known.
    pub fix: Option<Fix>,
}

impl Diagnostic {
    /// An error at this place.
    pub fn error(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            span,
            message: message.into(),
            help: None,
            related: Vec::new(),
            fix: None,
        }
    }

    /// A warning at this place.
    pub fn warning(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(code, span, message) }
    }

    /// The same about another text: every place in it is one of that text.
    #[must_use]
    pub fn of(mut self, file: File) -> Self {
        self.span = self.span.of(file);
        for related in &mut self.related {
            related.span = related.span.of(file);
        }
        for edit in self.fix.iter_mut().flat_map(|fix| &mut fix.edits) {
            edit.span = edit.span.of(file);
        }
        self
    }

    /// Adds what to write instead.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds another place and why it matters.
    #[must_use]
    pub fn related(mut self, span: Span, message: impl Into<String>) -> Self {
        self.related.push(Related { span, message: message.into() });
        self
    }

    /// Adds a replacement of the underlined letters.
    #[must_use]
    pub fn replace(self, text: impl Into<String>, confidence: Confidence) -> Self {
        let span = self.span;
        self.replace_at(span, text, confidence)
    }

    /// Adds a replacement of other letters than the underlined ones.
    #[must_use]
    pub fn replace_at(mut self, span: Span, text: impl Into<String>, confidence: Confidence) -> Self {
        self.fix = Some(Fix { edits: vec![Edit { span, text: text.into() }], confidence });
        self
    }
}

/// The most findings that are kept: past that nobody mends one by one, and printing them would take for ever.
pub const FINDINGS_MAX: usize = 1_000;

fn sort(diagnostics: &mut [Diagnostic]) {
    diagnostics.sort_by(|a, b| (a.span, a.code, &a.message).cmp(&(b.span, b.code, &b.message)));
}

/// The first [`FINDINGS_MAX`] findings, errors before warnings, and one more that says that there are others.
fn keep_most(diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let (said, mut found): (Vec<_>, Vec<_>) =
        diagnostics.into_iter().partition(|note| note.code == code::FINDINGS_TOO_MANY);
    sort(&mut found);
    found.sort_by_key(|note| note.severity);
    let left_out = found.get(FINDINGS_MAX).map(|first| {
        let message = "from here on there are more findings than are listed";
        Diagnostic {
            severity: first.severity,
            ..Diagnostic::error(code::FINDINGS_TOO_MANY, first.span, message)
        }
        .help("mend the ones that are listed first, and check that this is the file you meant")
    });
    found.truncate(FINDINGS_MAX);
    found.extend(left_out.or(said.into_iter().next()));
    found
}

/// The best value a stage could make, and all it has to say. Bad input is not a failure.
#[derive(Clone, Debug)]
pub struct Outcome<T> {
    /// The best value that could be made.
    pub value: T,
    /// All that was found, in the order of the text.
    pub diagnostics: Vec<Diagnostic>,
}

impl<T> Outcome<T> {
    /// A value and what was found while making it; sorts the findings by place and keeps [`FINDINGS_MAX`] of them.
    pub fn new(value: T, mut diagnostics: Vec<Diagnostic>) -> Self {
        if diagnostics.len() > FINDINGS_MAX {
            diagnostics = keep_most(diagnostics);
        }
        sort(&mut diagnostics);
        diagnostics.dedup();
        Self { value, diagnostics }
    }

    /// True when at least one finding is an error.
    pub fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
    }

    /// Hands the value to the next stage and keeps what both found.
    pub fn then<U>(self, next: impl FnOnce(T) -> Outcome<U>) -> Outcome<U> {
        let next = next(self.value);
        let mut diagnostics = self.diagnostics;
        diagnostics.extend(next.diagnostics);
        Outcome::new(next.value, diagnostics)
    }
}
