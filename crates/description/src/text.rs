//! From bytes to a spanned TOML tree, with everything that is wrong on the way.
//!
//! The parser recovers, so the tree is the best that could be made of a broken text. One slip makes it complain many
//! times; here each slip is kept once, at the letter where it began, with a place of at least one letter. The words for
//! each are in `mistake`.

mod blank;
mod mistake;

use notice::{Diagnostic, Span, code};
use std::borrow::Cow;
use toml::de::{DeTable, DeValue};

/// The longest text that is read.
///
/// # Units
/// Bytes. A layout of 10,000 turnouts needs about 1.5 million.
pub const TEXT_MAX: usize = 4 << 20;

/// The most mistakes of spelling that are reported; past that the text is not a layout.
const SYNTAX_MAX: usize = 100;

/// How often the text is read anew with broken rows overwritten. Each time shows what the last ones hid.
const ROUNDS_MAX: usize = 6;

/// The text of a layout file, or why it is none.
///
/// # Errors
/// More than [`TEXT_MAX`] bytes, or bytes that are not UTF-8.
pub fn decode(bytes: &[u8]) -> Result<&str, Box<Diagnostic>> {
    if bytes.len() > TEXT_MAX {
        let message = format!("the file is longer than {} MB, which no layout is", TEXT_MAX >> 20);
        let note = Diagnostic::error(code::TEXT_TOO_LONG, Span::new(0, 0), message)
            .help("check that this is the file you meant");
        return Err(Box::new(note));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let byte = bytes.get(at).copied().unwrap_or_default();
        let message = format!("byte {} is {byte:#04x}, which is not UTF-8 text", at + 1);
        let note = Diagnostic::error(code::TEXT_NOT_UTF8, Span::new(at, at), message)
            .help("save the file as UTF-8 in your text editor; if it is not a text file, name another");
        Box::new(note)
    })
}

/// A text whose mistakes of spelling are known.
pub(crate) struct Spelled<'t> {
    /// The text, with the rows overwritten behind which the parser gives up.
    pub(crate) text: Cow<'t, str>,
    /// The mistakes of spelling.
    pub(crate) notes: Vec<Diagnostic>,
    /// Where the parser has to guess, so that nothing wrong with its guesses is the user's mistake.
    pub(crate) guessed: Vec<Span>,
}

/// One fault as the parser reports it.
struct Fault<'e> {
    span: Span,
    message: &'e str,
}

/// The best tree that can be made of a text.
pub(crate) fn parse(text: &str) -> DeTable<'_> {
    DeTable::parse_recoverable(text).0.into_inner()
}

/// Finds the mistakes of spelling.
pub(crate) fn spell(text: &str) -> Spelled<'_> {
    let mut spelled = Spelled { text: Cow::Borrowed(text), notes: Vec::new(), guessed: Vec::new() };
    for _ in 0..ROUNDS_MAX {
        let (tree, errors) = DeTable::parse_recoverable(&spelled.text);
        let mut faults: Vec<Fault<'_>> = errors
            .iter()
            .map(|error| Fault {
                span: widen(text, error.span().map_or(Span::new(0, 0), Span::from)),
                message: error.message(),
            })
            .collect();
        faults.sort_by_key(|fault| fault.span);
        let open = open_bracket(tree.get_ref(), &faults);
        if let Some((_, open)) = open {
            // It runs to the end of the text, and whatever stands there was read as if it belonged inside.
            faults.retain(|fault| fault.span.start < open.start);
        }
        let hidden_behind = note_faults(text, &faults, &mut spelled);
        if let Some((_, open)) = open
            && !is_guess(&spelled.guessed, open)
        {
            spelled.notes.push(mistake::not_closed(text, open));
        }
        if hidden_behind.is_empty() && open.is_none() {
            break;
        }
        let mut bytes = spelled.text.into_owned().into_bytes();
        for row in hidden_behind {
            blank::row(&mut bytes, text, row);
        }
        if let Some((outermost, _)) = open {
            spelled.guessed.push(blank::open_bracket(&mut bytes, text, outermost));
        }
        // Whole rows are overwritten with letters of one byte, so this is a text again.
        spelled.text = Cow::Owned(String::from_utf8_lossy(&bytes).into_owned());
    }
    spelled
}

pub(crate) fn is_guess(guessed: &[Span], span: Span) -> bool {
    guessed.iter().any(|row| row.start <= span.start && span.start <= row.end)
}

/// Notes each fault that is not the consequence of another; returns the rows behind which the parser gave up.
fn note_faults(text: &str, faults: &[Fault<'_>], spelled: &mut Spelled<'_>) -> Vec<Span> {
    let mut hidden_behind = Vec::new();
    let mut place = Place::start(text);
    let mut last_row = None;
    let mut last_heading_twice = None;
    for fault in faults {
        place.go_on_to(fault.span.start);
        let row = place.row;
        let begins = |start: &str| fault.message.starts_with(start);
        let twice = begins("duplicate key");
        // What follows on the same row, or under a heading that stands twice, has the same cause.
        let follows = last_row == Some(row) || (twice && last_heading_twice == Some(place.heading));
        if follows || is_guess(&spelled.guessed, fault.span) {
            continue;
        }
        last_row = Some(row);
        let heading = is_heading(&text[row.start..row.end]);
        if twice && heading {
            last_heading_twice = Some(row.start);
        }
        if spelled.notes.len() == SYNTAX_MAX {
            spelled.guessed.push(Span::new(row.start, text.len()));
            let says = "from here on there are too many mistakes to list";
            spelled.notes.push(
                Diagnostic::error(code::TEXT_SYNTAX, fault.span, says)
                    .help("mend the ones above first, and check that this is a layout file"),
            );
            break;
        }
        let note = mistake::reword(text, fault.span, fault.message);
        let start = row.start.min(row_of(text, note.span.start).start);
        spelled.guessed.push(Span::new(start, row.end.max(fault.span.end)));
        spelled.notes.push(note);
        let gave_up = if heading {
            begins("unclosed") || begins("invalid unquoted key") || begins("unquoted keys")
        } else {
            begins("key with no value") || begins("unquoted keys") || begins("extra `=`")
        };
        if gave_up {
            hidden_behind.push(row);
        }
    }
    hidden_behind
}

/// The brackets or braces that are never closed, if the parser ran into the end of the text looking for their other
/// halves: the outermost one, and the innermost one that was open where the trouble began.
fn open_bracket(tree: &DeTable<'_>, faults: &[Fault<'_>]) -> Option<(Span, Span)> {
    let unclosed = |fault: &&Fault<'_>| {
        fault.message.starts_with("unclosed array,") || fault.message.starts_with("unclosed inline table")
    };
    let end = faults.iter().rfind(unclosed)?.span.end;
    let mut open: Vec<Span> = Vec::new();
    let mut next: Vec<&toml::Spanned<DeValue<'_>>> = tree.iter().map(|(_, value)| value).collect();
    while let Some(value) = next.pop() {
        let span = Span::from(value.span());
        match value.get_ref() {
            DeValue::Array(items) => {
                next.extend(items.iter());
                open.extend((span.end + 1 >= end && span.start < span.end).then_some(span));
            }
            DeValue::Table(entries) => {
                next.extend(entries.iter().map(|(_, value)| value));
                open.extend((span.end + 1 >= end && span.start < span.end).then_some(span));
            }
            DeValue::String(_)
            | DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_) => {}
        }
    }
    let outermost = open.iter().map(|span| span.start).min()?;
    let trouble = faults.iter().find(|fault| fault.span.start > outermost)?.span.start;
    let innermost = open.iter().map(|span| span.start).filter(|&start| start < trouble).max()?;
    Some((Span::new(outermost, outermost + 1), Span::new(innermost, innermost + 1)))
}

/// The row that holds a byte, without its line end.
fn row_of(text: &str, at: usize) -> Span {
    let start = text[..at].rfind('\n').map_or(0, |at| at + 1);
    let end = text[at..].find('\n').map_or(text.len(), |len| at + len);
    Span::new(start, end)
}

fn is_heading(row: &str) -> bool {
    row.trim_start().starts_with('[')
}

/// A place in the text that only ever moves on, so that all faults together cost one walk over the text.
struct Place<'t> {
    text: &'t str,
    /// The row it is in, without the line end.
    row: Span,
    /// Where the heading starts under which the row stands; 0 above the first.
    heading: usize,
}

impl<'t> Place<'t> {
    fn start(text: &'t str) -> Self {
        Self { text, row: row_of(text, 0), heading: 0 }
    }

    /// Moves on to the row that holds the byte `at`.
    fn go_on_to(&mut self, at: usize) {
        while self.row.end < at && self.row.end < self.text.len() {
            self.row = row_of(self.text, self.row.end + 1);
            if is_heading(&self.text[self.row.start..self.row.end]) {
                self.heading = self.row.start;
            }
        }
    }
}

/// A span of at least one letter, so that something can be underlined.
fn widen(text: &str, span: Span) -> Span {
    if span.end > span.start {
        return span;
    }
    let at = span.start.min(text.len());
    let before = text[..at].chars().next_back().filter(|&c| c != '\n' && c != '\r');
    let after = text[at..].chars().next().filter(|&c| c != '\n' && c != '\r');
    match (after, before) {
        (Some(c), _) => Span::new(at, at + c.len_utf8()),
        (None, Some(c)) => Span::new(at - c.len_utf8(), at),
        (None, None) => Span::new(at, at),
    }
}
