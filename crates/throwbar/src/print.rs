//! What goes to the terminal: diagnostics drawn under the user's text, and tables fitted to the width there is.

use crate::arguments::Color;
use crate::failure::Failure;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use notice::{Diagnostic, File, Severity, Span};
use std::fmt::Write as _;
use std::io::{IsTerminal, Write as _};

/// The width of what is printed where no terminal says.
const WIDTH_USUAL: usize = 100;

/// How this run prints.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    /// Answer in JSON.
    pub(crate) json: bool,
    color: Color,
}

impl Style {
    pub(crate) fn new(json: bool, color: Color) -> Self {
        Self { json, color }
    }

    fn coloured(self, terminal: bool) -> bool {
        match self.color {
            Color::Always => true,
            Color::Never => false,
            Color::Auto => terminal && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
        }
    }
}

/// The width of standard output, in letters.
pub(crate) fn width() -> usize {
    let known = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    known.filter(|_| std::io::stdout().is_terminal()).unwrap_or(WIDTH_USUAL).max(40)
}

/// Prints an answer on standard output. A reader that has seen enough and closed the pipe is no failure.
pub(crate) fn answer(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => other.map_err(|source| Failure::Print { source }),
    }
}

/// Prints one JSON document as the answer.
pub(crate) fn json<T: serde::Serialize>(document: &T) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(document)
        .map_err(|error| Failure::Print { source: std::io::Error::other(error) })?;
    answer(&(text + "\n"))
}

/// Says something on standard error. Nothing more can be done when even that fails.
pub(crate) fn say(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

/// Diagnostics drawn under the texts they are about, with a count at the end.
pub(crate) fn diagnostics(
    style: Style,
    terminal: bool,
    texts: answers::Texts<'_>,
    notes: &[Diagnostic],
) -> String {
    let renderer = if style.coloured(terminal) { Renderer::styled() } else { Renderer::plain() };
    let rows = [File::Layout, File::AsBuilt].map(|file| (file, answers::Rows::new(texts.of(file).text)));
    let mut printed = String::new();
    for note in notes {
        let level = match note.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        // Each text that has anything to do with it is shown once, that of the diagnostic itself first.
        let mut order: Vec<_> = rows.iter().collect();
        order.sort_by_key(|(file, _)| *file != note.span.file);
        let snippets: Vec<_> = order
            .into_iter()
            .filter_map(|(file, rows)| snippet(note, texts.of(*file), *file, rows))
            .collect();
        let title = level.primary_title(&note.message).id(note.code.name());
        let mut group: Group<'_> = title.elements(snippets);
        if let Some(help) = &note.help {
            group = group.element(Level::HELP.message(help));
        }
        let _ = writeln!(printed, "{}\n", renderer.render(&[group]));
    }
    printed.push_str(&summary(notes));
    printed
}

/// The rows of one text that a diagnostic is about; none where it says nothing of this text.
fn snippet<'a>(
    note: &'a Diagnostic,
    text: answers::Text<'a>,
    file: File,
    rows: &answers::Rows<'_>,
) -> Option<Snippet<'a, annotate_snippets::Annotation<'a>>> {
    // Only the rows that matter are handed on: the renderer reads what it is given from the start.
    let spans = || note.related.iter().map(|related| related.span).chain([note.span]);
    let spans = || spans().filter(|span| span.file == file);
    let whole = Span::new(spans().map(|span| span.start).min()?, spans().map(|span| span.end).max()?);
    let (shown, first_row) = rows.around(whole);
    let within = |span: Span| span.start - shown.start..span.end - shown.start;
    let mut snippet =
        Snippet::source(&text.text[shown.start..shown.end]).line_start(first_row).path(text.file);
    if note.span.file == file {
        snippet = snippet.annotation(AnnotationKind::Primary.span(within(note.span)));
    }
    for related in note.related.iter().filter(|related| related.span.file == file) {
        let label = AnnotationKind::Context.span(within(related.span)).label(&related.message);
        snippet = snippet.annotation(label);
    }
    Some(snippet)
}

/// How many errors and warnings, in words.
pub(crate) fn summary(notes: &[Diagnostic]) -> String {
    let count = |severity| notes.iter().filter(|note| note.severity == severity).count();
    let words = |count: usize, one: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {one}s"),
    };
    let (errors, warnings) = (count(Severity::Error), count(Severity::Warning));
    if errors + warnings == 0 {
        return "nothing wrong".to_owned();
    }
    format!("{}, {}", words(errors, "error"), words(warnings, "warning"))
}

/// A table: a heading, then rows. The last column wraps to the width; the others are as wide as they need.
pub(crate) fn table(width: usize, heading: &[&str], rows: &[Vec<String>]) -> String {
    let columns = heading.len();
    let cell_width = |text: &str| unicode_width::UnicodeWidthStr::width(text);
    let mut widths: Vec<usize> = heading.iter().map(|text| cell_width(text)).collect();
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell_width(cell));
        }
    }
    let before_last: usize = widths[..columns - 1].iter().map(|width| width + 2).sum();
    let last_width = width.saturating_sub(before_last).max(24);
    let mut printed = String::new();
    let mut print_row = |cells: &[String]| {
        let last = cells.last().map_or("", String::as_str);
        for (index, part) in wrapped(last, last_width).into_iter().enumerate() {
            let mut row = String::new();
            for (cell, width) in cells[..columns - 1].iter().zip(&widths) {
                let cell = if index == 0 { cell.as_str() } else { "" };
                let _ = write!(row, "{cell}{}  ", " ".repeat(width - cell_width(cell)));
            }
            let _ = writeln!(printed, "{}", format!("{row}{part}").trim_end());
        }
    };
    print_row(&heading.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>());
    for row in rows {
        print_row(row);
    }
    printed
}

/// The words of a text in rows of at most this width; a longer word has a row of its own.
pub(crate) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut rows = vec![String::new()];
    for word in text.split(' ') {
        let row = rows.last().map_or(0, |row| unicode_width::UnicodeWidthStr::width(row.as_str()));
        let fits = row == 0 || row + 1 + unicode_width::UnicodeWidthStr::width(word) <= width;
        match rows.last_mut().filter(|_| fits) {
            Some(last) => {
                if !last.is_empty() {
                    last.push(' ');
                }
                last.push_str(word);
            }
            None => rows.push(word.to_owned()),
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_keeps_to_its_width() {
        let rows = [vec!["1".to_owned(), "it stands next on line main".to_owned()]];
        let printed = table(33, &["lever", "because"], &rows);
        assert_eq!(printed, "lever  because\n1      it stands next on line\n       main\n");
        assert!(printed.lines().all(|row| row.len() <= 33));
    }
}
