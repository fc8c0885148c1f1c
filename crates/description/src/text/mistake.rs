//! Mistakes of spelling in a builder's words. The parser's messages speak of grammar; here each becomes what is wrong
//! with the row and what to write instead.

use super::{is_heading, row_of};
use notice::{Confidence, Diagnostic, Span, code};

/// The parser's message, as it begins, with what is wrong and what to write instead.
const WORDS: [(&str, &str, &str); 12] = [
    ("unclosed", "the heading is not closed", "write `]` at the end of the heading"),
    (
        "missing table open",
        "a bracket stands here that opens or closes nothing",
        "delete it, or write a heading such as [turnout.1]",
    ),
    ("unquoted keys cannot be empty", "a name is missing here", "write [table.name] or key = value"),
    (
        "missing opening quote",
        "a comma or a quotation mark is missing before this",
        "write `\"` at both ends of each text, and a comma between two",
    ),
    (
        "missing comma",
        "a comma or a quotation mark is missing before this",
        "write `\"` at both ends of each text, and a comma between two",
    ),
    ("extra comma", "a comma stands here with nothing before it", "delete it, or write what is missing"),
    ("missing escaped", "a lone backslash stands in this text", "write `\\\\` where one backslash is meant"),
    ("too few unicode", "a lone backslash stands in this text", "write `\\\\` where one backslash is meant"),
    ("invalid comment", "an unprintable letter stands in this remark", "delete it"),
    ("carriage return", "a stray end of line stands here", "let your text editor save the file anew"),
    ("cannot recurse", "brackets are nested too deep", "a layout never needs more than three levels"),
    ("recursion limit", "brackets are nested too deep", "a layout never needs more than three levels"),
];

/// A fault of the parser as a diagnostic.
pub(super) fn reword(text: &str, span: Span, message: &str) -> Diagnostic {
    let written = text[span.start..span.end].trim();
    let row = row_of(text, span.start);
    let begins = |start: &str| message.starts_with(start);
    if begins("duplicate key") {
        return twice(text, span);
    }
    if begins("string values must be quoted") {
        return without_quotes(span, written);
    }
    if begins("invalid basic string") || begins("invalid literal string") || begins("invalid multi-line") {
        return broken_text(text, row, span, message);
    }
    let heading = is_heading(&text[row.start..row.end]);
    if heading
        && (begins("unclosed") || begins("invalid unquoted key"))
        && let Some(note) = id_without_quotes(text, row)
    {
        return note;
    }
    if begins("invalid unquoted key") || begins("key with no value") || begins("extra `=`") {
        return bad_key(text, row, span);
    }
    let (says, help): (String, &str) = if begins("unexpected key or value") || begins("unexpected content") {
        let what = if heading { "heading" } else { "value" };
        (
            format!("something stands after the end of the {what}"),
            "write one `[table.name]` or one `key = value` a row",
        )
    } else if let Some((_, says, help)) = WORDS.iter().find(|(start, _, _)| begins(start)) {
        ((*says).into(), help)
    } else if message.contains("inline table") || message.contains("key-value pair") {
        (
            "between braces, `key = value` belongs here".into(),
            "write { key = value, key = value }, and close the braces",
        )
    } else if begins("cannot extend") {
        (format!("`{written}` has a value above, so nothing can be put under it"), "keep one of the two")
    } else if written.starts_with(char::is_alphabetic)
        || written.starts_with(|c: char| c.is_ascii_digit())
            && written.contains(|c: char| c.is_alphabetic() || ":/".contains(c))
    {
        return without_quotes(span, written);
    } else if written.starts_with(|c: char| c.is_ascii_digit() || "+-_.".contains(c)) {
        (
            "this number cannot be read".into(),
            "write digits only, such as 12; a quantity stands in quotation marks with its unit, such as \"4 ft\"",
        )
    } else {
        ("this cannot be read".into(), "a row is `[table.name]`, `key = value` or `# a remark`")
    };
    syntax(span, says).help(help)
}

fn syntax(span: Span, says: impl Into<String>) -> Diagnostic {
    Diagnostic::error(code::TEXT_SYNTAX, span, says)
}

/// A list or braces that are never closed, at their opening.
pub(super) fn not_closed(text: &str, open: Span) -> Diagnostic {
    let (what, close) = if text[open.start..].starts_with('{') { ("braces", '}') } else { ("list", ']') };
    let verb = if close == '}' { "open here are" } else { "opens here is" };
    syntax(open, format!("the {what} that {verb} not closed"))
        .help(format!("write `{close}` where it should end"))
}

/// A row that should be `key = value` and whose key cannot be read.
fn bad_key(text: &str, row: Span, span: Span) -> Diagnostic {
    let row_text = &text[row.start..row.end];
    for before in [&text[row.start..span.end], &text[row.start..span.start]] {
        let before = before.trim_end();
        if before.ends_with(':') {
            let end = row.start + before.len();
            return syntax(Span::new(end - 1, end), "`:` stands where `=` belongs")
                .help("write `key = value`");
        }
    }
    if row_text.contains("==") {
        return syntax(span, "`=` stands here twice").help("write `key = value`");
    }
    let Some((key, _)) = row_text.split_once('=') else {
        return syntax(span, "a key stands here without a value").help("write `key = value`");
    };
    let start = row.start + key.len() - key.trim_start().len();
    let key = key.trim();
    if key.contains(char::is_whitespace) && !key.contains(['"', '\'', '#', '[', '{']) {
        let words: Vec<&str> = key.split_whitespace().collect();
        return syntax(
            Span::new(start, start + key.len()),
            format!("`{key}` is a key of {} words", words.len()),
        )
        .help(format!("write it as one word, such as {}", words.join("_")));
    }
    syntax(span, "this cannot stand in a key without quotation marks")
        .help("keys are made of letters, digits, `-` and `_`; put an id that has more in quotation marks")
}

/// Text whose quotation marks or letters are wrong.
fn broken_text(text: &str, row: Span, span: Span, message: &str) -> Diagnostic {
    let quote = if message.contains("literal") { '\'' } else { '"' };
    if message.starts_with("invalid multi-line") {
        let marks = quote.to_string().repeat(3);
        let start = text[..span.end].rfind(&marks).unwrap_or(span.start);
        return syntax(Span::new(start, start + marks.len()), "the text that opens here is not closed")
            .help("write the text on one row, with `\"` at both ends");
    }
    if !message.ends_with(&format!("expected `{quote}`")) {
        return syntax(span, "an unprintable letter stands in this text").help("delete it");
    }
    let start = text[row.start..span.end].rfind(quote).map_or(span.start, |at| row.start + at);
    syntax(Span::new(start, span.end), "this text has no closing quotation mark")
        .help(format!("write `{quote}` at both ends of the text"))
}

/// A value that should be text.
fn without_quotes(span: Span, written: &str) -> Diagnostic {
    if written.is_empty() || written == "=" {
        return syntax(span, "no value is written after `=`").help("write a value, or delete the row");
    }
    let curved = ['“', '”', '„', '‘', '’', '‚', '«', '»'];
    if let Some(inner) = written.strip_prefix(curved).and_then(|rest| rest.strip_suffix(curved)) {
        let quoted = quoted(inner);
        return syntax(span, format!("{written} stands in curved quotation marks"))
            .help(format!("write {quoted}, with straight ones"))
            .replace(quoted, Confidence::Sure);
    }
    let quoted = quoted(written);
    syntax(span, format!("`{written}` is text without quotation marks"))
        .help(format!("write {quoted}"))
        .replace(quoted, Confidence::Ask)
}

/// As text in the file, without the letters that would need an escape.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace(['\\', '"'], "").replace(|c: char| c.is_control(), " "))
}

/// A heading such as `[end.yard 4]`, whose id has to stand in quotation marks.
fn id_without_quotes(text: &str, row: Span) -> Option<Diagnostic> {
    let start = row.start + text[row.start..row.end].find('[')?;
    let close = text[start..row.end].find(']')?;
    let heading = Span::new(start, start + close + 1);
    let (table, id) = text[start + 1..start + close].split_once('.')?;
    if id.trim().is_empty() || id.contains(['"', '\'', '[', '.']) {
        return None;
    }
    let id_start = start + 1 + table.len() + 1 + id.len() - id.trim_start().len();
    let id = id.trim();
    let mended = format!("[{}.{}]", table.trim(), quoted(id));
    let message = format!("the id `{id}` needs quotation marks because of its {}", needs(id));
    Some(
        syntax(Span::new(id_start, id_start + id.len()), message).help(format!("write {mended}")).replace_at(
            heading,
            mended,
            Confidence::Ask,
        ),
    )
}

fn needs(id: &str) -> String {
    match id.chars().find(|c| !(c.is_ascii_alphanumeric() || *c == '-' || *c == '_')) {
        Some(c) if !c.is_whitespace() => format!("`{c}`"),
        _ => "space".into(),
    }
}

/// A key or heading that was there before: says where.
fn twice(text: &str, span: Span) -> Diagnostic {
    let row = row_of(text, span.start);
    let row_text = &text[row.start..row.end];
    let heading = is_heading(row_text).then(|| heading_of(row_text));
    let written = &text[span.start..span.end];
    let diagnostic = match heading {
        Some(heading) => {
            Diagnostic::error(code::KEY_TWICE, span, format!("the heading `{heading}` stands twice"))
                .help("put all keys of it under one heading, or give one of the two another id")
        }
        None => Diagnostic::error(code::KEY_TWICE, span, format!("`{written}` is given twice"))
            .help("keep one of the two"),
    };
    let mut at = 0;
    let mut first = None;
    for earlier in text[..row.start].split_inclusive('\n') {
        let trimmed = earlier.trim_start();
        let start = at + earlier.len() - trimmed.len();
        at += earlier.len();
        match heading {
            Some(heading) if is_heading(earlier) && bare(heading_of(earlier)) == bare(heading) => {
                first = Some(Span::new(start, start + heading_of(earlier).len()));
                break;
            }
            // A key of the same name under another heading is another key.
            None if is_heading(earlier) => first = None,
            None if trimmed.strip_prefix(written).is_some_and(|rest| rest.trim_start().starts_with('=')) => {
                first = Some(Span::new(start, start + written.len()));
            }
            Some(_) | None => {}
        }
    }
    match first {
        Some(first) => diagnostic.related(first, "it stands here already"),
        None => diagnostic,
    }
}

/// The heading at the start of a row, brackets and all, without a remark behind it.
fn heading_of(row: &str) -> &str {
    let row = row.trim();
    let mut quote = None;
    for (at, c) in row.char_indices() {
        match (quote, c) {
            (None, '"' | '\'') => quote = Some(c),
            (Some(open), _) if open == c => quote = None,
            (None, ']') => return &row[..=at],
            _ => {}
        }
    }
    row
}

/// A heading without its quotation marks and the space outside them, so that two of one table read the same.
fn bare(heading: &str) -> String {
    let mut quote = None;
    let mut bare = String::new();
    for c in heading.chars() {
        match (quote, c) {
            (None, '"' | '\'') => quote = Some(c),
            (Some(open), _) if open == c => quote = None,
            (None, c) if c.is_whitespace() => {}
            _ => bare.push(c),
        }
    }
    bare
}
