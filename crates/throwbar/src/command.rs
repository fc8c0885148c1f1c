//! The commands, one module each, and the layout that most of them begin with.

pub(crate) mod binder;
pub(crate) mod capture;
pub(crate) mod changes;
pub(crate) mod check;
mod commissioning;
pub(crate) mod draw;
pub(crate) mod explain;
pub(crate) mod faults;
pub(crate) mod manual;
pub(crate) mod new;
pub(crate) mod packet;
pub(crate) mod plan;
mod power;
pub(crate) mod routes;
pub(crate) mod serve;
pub(crate) mod show;

use crate::failure::Failure;
use crate::print::{self, Style};
use answers::{Text, Texts};
use description::record::Record;
use notice::{Code, Diagnostic, File, Outcome, Severity, code};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// A layout that was read: its files, their texts, what was found, and the plan.
pub(crate) struct Read {
    pub(crate) file: String,
    text: String,
    /// Where the as-built record is, or would be.
    pub(crate) record_path: PathBuf,
    record_text: Option<String>,
    /// What is built, as far as the record could be read.
    pub(crate) record: Record,
    pub(crate) diagnostics: Vec<Diagnostic>,
    pub(crate) plan: ::plan::model::Plan,
}

impl Read {
    pub(crate) fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(|note| note.severity == Severity::Error)
    }

    /// The texts that the diagnostics are about.
    pub(crate) fn texts(&self) -> Texts<'_> {
        let record_file = self.record_path.to_str().unwrap_or("as-built.toml");
        Texts {
            layout: Text { file: &self.file, text: &self.text },
            as_built: Text { file: record_file, text: self.record_text.as_deref().unwrap_or_default() },
        }
    }

    /// The text of the record as it was read; none where there is no such file.
    pub(crate) fn record_text(&self) -> Option<&str> {
        self.record_text.as_deref()
    }

    /// Whether there is a record beside the layout.
    pub(crate) fn is_built(&self) -> bool {
        self.record_text.is_some()
    }
}

/// Reads, plans and verifies a layout beside its record, if it has one.
pub(crate) fn read(path: &Path) -> Result<Read, Failure> {
    let (file, bytes) = crate::file::read_layout(path)?;
    let (record_path, record_bytes) = crate::file::read_record(&file)?;
    let (record_text, record) = match record_bytes {
        None => (None, Outcome::new(Record::default(), Vec::new())),
        Some(bytes) => {
            let (text, record) = decoded(&bytes, description::record::read);
            let notes = record.diagnostics.into_iter().map(|note| note.of(File::AsBuilt)).collect();
            (Some(text), Outcome::new(record.value, notes))
        }
    };
    let mut read = plan_beside(file.display().to_string(), &bytes, &record);
    read.record_path = record_path;
    read.record_text = record_text;
    Ok(read)
}

/// The same for a layout that has no record of its own, planned beside another one's.
pub(crate) fn read_beside(path: &Path, record: &Record) -> Result<Read, Failure> {
    let (file, bytes) = crate::file::read_layout(path)?;
    Ok(plan_beside(file.display().to_string(), &bytes, &Outcome::new(record.clone(), Vec::new())))
}

/// Plans and verifies a layout beside a record. A record with anything wrong in it has no say.
fn plan_beside(file: String, bytes: &[u8], record: &Outcome<Record>) -> Read {
    let usable = if record.has_errors() { Record::default() } else { record.value.clone() };
    let (text, described) = decoded(bytes, description::read);
    let is_text = !described.diagnostics.iter().any(|note| NO_TEXT.contains(&note.code));
    let made = described.then(network::resolve).then(|network| ::plan::make_kept(network, &usable));
    // Of a file that is no text there is nothing more to say.
    let outcome = if is_text { made.then(rules::verify).then(::draw::check_panels) } else { made };
    let mut diagnostics = outcome.diagnostics;
    if !is_text {
        diagnostics.retain(|note| NO_TEXT.contains(&note.code));
    }
    diagnostics.extend(record.diagnostics.iter().cloned());
    let Outcome { value: plan, diagnostics } = Outcome::new(outcome.value, diagnostics);
    let (record_path, record_text) = (PathBuf::new(), None);
    Read { file, text, record_path, record_text, record: usable, diagnostics, plan }
}

/// What is found where a file is no text.
const NO_TEXT: [Code; 2] = [code::TEXT_NOT_UTF8, code::TEXT_TOO_LONG];

/// A text and what it says; of a file that is no text, as much as can be shown, and why.
fn decoded<T: Default>(bytes: &[u8], read: impl Fn(&str) -> Outcome<T>) -> (String, Outcome<T>) {
    match description::decode(bytes) {
        Ok(text) => (text.to_owned(), read(text)),
        Err(note) => {
            let readable = String::from_utf8_lossy(&bytes[..note.span.start.min(bytes.len())]).into_owned();
            (readable, Outcome::new(T::default(), vec![*note]))
        }
    }
}

/// Reads a layout for a command that needs a plan without errors. None when it has some: they have been printed.
pub(crate) fn read_sound(style: Style, path: &Path) -> Result<Option<Read>, Failure> {
    sound(style, read(path)?)
}

/// A layout without errors. None when it has some: they have been printed.
pub(crate) fn sound(style: Style, read: Read) -> Result<Option<Read>, Failure> {
    if read.has_errors() {
        if style.json {
            print::json(&answers::check(read.texts(), &read.diagnostics))?;
        } else {
            let terminal = std::io::stderr().is_terminal();
            print::say(&print::diagnostics(style, terminal, read.texts(), &read.diagnostics));
        }
        return Ok(None);
    }
    if !style.json && !read.diagnostics.is_empty() {
        print::say(&format!("{}; `throwbar check` shows them", print::summary(&read.diagnostics)));
    }
    Ok(Some(read))
}
