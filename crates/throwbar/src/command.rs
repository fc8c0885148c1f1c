//! The commands, one module each, and the layout that most of them begin with.

pub(crate) mod binder;
pub(crate) mod check;
pub(crate) mod draw;
pub(crate) mod explain;
pub(crate) mod manual;
pub(crate) mod new;
pub(crate) mod plan;
pub(crate) mod routes;
pub(crate) mod serve;
pub(crate) mod show;

use crate::failure::Failure;
use crate::print::{self, Style};
use notice::{Diagnostic, Severity};
use std::io::IsTerminal;
use std::path::Path;

/// A layout that was read: its file, its text, what was found, and the plan.
pub(crate) struct Read {
    pub(crate) file: String,
    pub(crate) text: String,
    pub(crate) diagnostics: Vec<Diagnostic>,
    pub(crate) plan: ::plan::model::Plan,
}

impl Read {
    pub(crate) fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(|note| note.severity == Severity::Error)
    }
}

/// Reads, plans and verifies a layout. A file that is no text gives a diagnostic and the plan of nothing.
pub(crate) fn read(path: &Path) -> Result<Read, Failure> {
    let (file, bytes) = crate::file::read_layout(path)?;
    let file = file.display().to_string();
    let (text, outcome) = match description::decode(&bytes) {
        Ok(text) => (text.to_owned(), description::read(text)),
        Err(note) => {
            let readable = String::from_utf8_lossy(&bytes[..note.span.start.min(bytes.len())]).into_owned();
            let nothing = description::Description::default();
            return Ok(Read {
                file,
                text: readable,
                diagnostics: vec![*note],
                plan: network::resolve(nothing).then(::plan::make).value,
            });
        }
    };
    let outcome =
        outcome.then(network::resolve).then(::plan::make).then(rules::verify).then(::draw::check_panels);
    Ok(Read { file, text, diagnostics: outcome.diagnostics, plan: outcome.value })
}

/// Reads a layout for a command that needs a plan without errors. None when it has some: they have been printed.
pub(crate) fn read_sound(style: Style, path: &Path) -> Result<Option<Read>, Failure> {
    let read = read(path)?;
    if read.has_errors() {
        if style.json {
            print::json(&answers::check(&read.file, &read.text, &read.diagnostics))?;
        } else {
            let terminal = std::io::stderr().is_terminal();
            print::say(&print::diagnostics(style, terminal, &read.file, &read.text, &read.diagnostics));
        }
        return Ok(None);
    }
    if !style.json && !read.diagnostics.is_empty() {
        print::say(&format!("{}; `throwbar check` shows them", print::summary(&read.diagnostics)));
    }
    Ok(Some(read))
}
