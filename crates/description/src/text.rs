//! From bytes to a spanned TOML tree, with everything that is wrong on the way.
//!
//! The parser recovers, so the tree is the best that could be made of a broken text. Its messages speak of grammar;
//! here they are put in a builder's words, and each gets a place of at least one letter.

use notice::{Confidence, Diagnostic, Span, code};
use toml::de::DeTable;

/// The longest text that is read.
///
/// # Units
/// Bytes. A layout of 10,000 turnouts needs about 1.5 million.
pub const TEXT_MAX: usize = 4 << 20;

/// The most mistakes of spelling that are reported; past that the text is not a layout.
const SYNTAX_MAX: usize = 100;

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

/// Parses the text; the notes are the mistakes of spelling.
pub(crate) fn parse(text: &str) -> (DeTable<'_>, Vec<Diagnostic>) {
    let (tree, errors) = DeTable::parse_recoverable(text);
    let mut notes: Vec<Diagnostic> = Vec::new();
    for error in errors {
        let span = widen(text, error.span().map_or(Span::new(0, 0), Span::from));
        // One fault can be reported twice; the first report says the most.
        if notes.last().is_some_and(|last| last.span == span) {
            continue;
        }
        if notes.len() == SYNTAX_MAX {
            notes.push(
                Diagnostic::error(
                    code::TEXT_SYNTAX,
                    span,
                    "from here on there are too many mistakes to list",
                )
                .help("mend the ones above first, and check that this is a layout file"),
            );
            break;
        }
        notes.push(reword(text, span, error.message()));
    }
    (tree.into_inner(), notes)
}

/// A span of at least one letter, so that something can be underlined.
fn widen(text: &str, span: Span) -> Span {
    if span.end > span.start {
        return span;
    }
    let at = span.start.min(text.len());
    let before = text[..at].chars().next_back().filter(|&c| c != '\n');
    let after = text[at..].chars().next().filter(|&c| c != '\n' && c != '\r');
    match (after, before) {
        (Some(c), _) => Span::new(at, at + c.len_utf8()),
        (None, Some(c)) => Span::new(at - c.len_utf8(), at),
        (None, None) => Span::new(at, at),
    }
}

fn reword(text: &str, span: Span, message: &str) -> Diagnostic {
    let written = &text[span.start..span.end];
    let syntax = |message: String| Diagnostic::error(code::TEXT_SYNTAX, span, message);
    if message.starts_with("duplicate key") {
        return twice(text, span);
    }
    if message.starts_with("string values must be quoted") {
        return if written.trim().is_empty() || written == "=" {
            syntax("no value is written after `=`".into()).help("write a value, or delete the line")
        } else {
            let quoted = format!("\"{}\"", written.trim().replace(['\\', '"'], ""));
            syntax(format!("`{}` is text without quotation marks", written.trim()))
                .help(format!("write {quoted}"))
                .replace(quoted, Confidence::Ask)
        };
    }
    let (says, help) = if message.starts_with("unclosed table") {
        ("the heading is not closed", "write `]` at the end of the heading")
    } else if message.starts_with("unclosed array") {
        ("the list is not closed", "write `]` at the end of the list")
    } else if message.starts_with("unclosed inline table") {
        ("the braces are not closed", "write `}` at the end")
    } else if message.starts_with("invalid basic string") || message.starts_with("invalid literal string") {
        (
            "this text has no closing quotation mark, or holds a letter that cannot stand in it",
            "write `\"` at both ends of the text",
        )
    } else if message.starts_with("key with no value") {
        ("a key stands here without a value", "write `key = value`")
    } else if message.contains("recurs") {
        ("brackets are nested too deep", "a layout never needs more than three levels")
    } else {
        return syntax(format!("this cannot be read ({message})"))
            .help("a line is `[table.name]`, `key = value` or `# a remark`");
    };
    syntax(says.into()).help(help)
}

/// A key or heading that was there before: says where.
fn twice(text: &str, span: Span) -> Diagnostic {
    let written = &text[span.start..span.end];
    let row_start = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
    let row = text[row_start..].lines().next().unwrap_or_default();
    let heading = row.trim_start().starts_with('[');
    let diagnostic = if heading {
        let heading = row.split('#').next().unwrap_or_default().trim();
        Diagnostic::error(code::KEY_TWICE, span, format!("the heading `{heading}` stands twice"))
            .help("put all keys of it under one heading, or give one of the two another id")
    } else {
        Diagnostic::error(code::KEY_TWICE, span, format!("`{written}` is given twice"))
            .help("keep one of the two")
    };
    let wanted = if heading { row.split('#').next().unwrap_or_default().trim() } else { written };
    let mut at = 0;
    let mut first = None;
    for earlier in text[..row_start].split_inclusive('\n') {
        let trimmed = earlier.trim_start();
        let indent = earlier.len() - trimmed.len();
        let same = if heading {
            trimmed.split('#').next().unwrap_or_default().trim() == wanted
        } else {
            trimmed.strip_prefix(wanted).is_some_and(|rest| rest.trim_start().starts_with('='))
        };
        if same {
            first = Some(Span::new(at + indent, at + indent + wanted.len()));
        }
        at += earlier.len();
    }
    match first {
        Some(first) => diagnostic.related(first, "it stands here already"),
        None => diagnostic,
    }
}
