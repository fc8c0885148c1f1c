//! Places in the user's texts: the description, and the record of what is built.

/// Which of the user's two texts a place is in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum File {
    /// `layout.toml`, the description.
    #[default]
    Layout,
    /// `as-built.toml`, the record of what is built.
    AsBuilt,
}

/// A stretch of `layout.toml` or of `as-built.toml`.
///
/// # Units
/// Bytes from the start of the text; `end` is past the last byte.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The text it is in.
    pub file: File,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The stretch of the description from `start` up to, not including, `end`.
    pub fn new(start: usize, end: usize) -> Self {
        Self { file: File::Layout, start, end: end.max(start) }
    }

    /// The same stretch of another text.
    #[must_use]
    pub fn of(self, file: File) -> Self {
        Self { file, ..self }
    }
}

impl From<std::ops::Range<usize>> for Span {
    fn from(range: std::ops::Range<usize>) -> Self {
        Self::new(range.start, range.end)
    }
}

/// A value and where the user wrote it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Binds a value to its place.
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// The same place with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: change(self.value), span: self.span }
    }
}
