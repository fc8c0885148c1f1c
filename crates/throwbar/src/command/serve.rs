//! `throwbar serve`: the live panel.

mod keys;

use super::read_sound;
use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use notice::{Diagnostic, File, Severity};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// What the user asked for besides the layout.
pub(crate) struct Wish {
    pub(crate) listen: SocketAddr,
    pub(crate) journal: Option<PathBuf>,
    /// Whether only the address is wanted.
    pub(crate) address: bool,
    pub(crate) keep_days: Option<u32>,
    pub(crate) tls: Option<::serve::Tls>,
}

pub(crate) fn run(style: Style, path: &Path, wish: Wish) -> Result<Ended, Failure> {
    let only_address = wish.address;
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let beside = Path::new(&read.file).with_file_name("operation.journal");
    let options = ::serve::Options {
        listen: wish.listen,
        journal: wish.journal.unwrap_or(beside),
        tls: wish.tls,
        keep_days: wish.keep_days,
        reread: Some(reread(path)),
    };
    if only_address {
        let url =
            ::serve::address_of(&options).map_err(|source| Failure::Serve { source: Box::new(source) })?;
        return print_address(style, &url);
    }
    let journal = options.journal.display().to_string();
    let links = &read.plan.network.described.links;
    let modelled = links.iter().all(|link| matches!(link.kind, description::LinkKind::Simulator));
    let opened = move |open: &::serve::Open| {
        // The address is the first row of standard output, so that other programs can read it.
        let row = if style.json {
            let document = serde_json::json!({ "schema": answers::SCHEMA, "url": open.url, "journal": journal, "fingerprint": open.fingerprint, "keys": keys::told(open) });
            format!("{document}\n")
        } else {
            format!("{}\n", open.url)
        };
        if print::answer(&row).is_err() {
            print::say(&open.url);
        }
        if !style.json {
            for row in keys::rows(open) {
                print::say(&row);
            }
        }
        if let (Some(fingerprint), false) = (&open.fingerprint, style.json) {
            print::say(&format!("SHA-256 of the certificate: {fingerprint}"));
        }
        for note in &open.notes {
            print::say(note);
        }
        if !style.json {
            print::say("open this address in a browser on this computer; Ctrl-C ends it");
            print::say(if modelled {
                "the layout behind it is modelled: no real points move"
            } else {
                "real points move: look before you throw; software is no safety device"
            });
        }
    };
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|source| Failure::Runtime { source })?;
    runtime
        .block_on(::serve::serve(read.plan, options, opened, ::serve::interrupted()))
        .map_err(|source| Failure::Serve { source: Box::new(source) })?;
    Ok(Ended::Well)
}

/// The address for other devices, and its code, without any key.
fn print_address(style: Style, url: &str) -> Result<Ended, Failure> {
    let rows = if style.json {
        vec![serde_json::json!({ "schema": answers::SCHEMA, "url": url }).to_string()]
    } else {
        [url.to_owned()].into_iter().chain(keys::code(url)).collect()
    };
    print::answer(&(rows.join("\n") + "\n"))?;
    Ok(Ended::Well)
}

/// How many errors of a layout that is read anew are said.
const ERRORS_SAID_MAX: usize = 8;

/// Reads the layout anew. What is wrong with it is said with the rows of its file, for a page that draws no letters under them.
fn reread(path: &Path) -> ::serve::Reread {
    let path = path.to_owned();
    ::serve::Reread::by(move || {
        let read = super::read(&path).map_err(|failure| crate::chain(&failure))?;
        if read.has_errors() { Err(errors(&read)) } else { Ok(read.plan) }
    })
}

fn errors(read: &super::Read) -> String {
    let is_error = |note: &&Diagnostic| note.severity == Severity::Error;
    let say = |note: &Diagnostic| {
        let text = read.texts().of(note.span.file);
        let (row, _) = answers::Rows::new(text.text).place(note.span.start);
        let help = note.help.as_ref().map(|help| format!(" ({help})")).unwrap_or_default();
        format!(
            "Row {row} of {}: {}{help}.",
            if note.span.file == File::Layout { "the layout" } else { "the record" },
            note.message
        )
    };
    let errors: Vec<&Diagnostic> = read.diagnostics.iter().filter(is_error).collect();
    let mut said: Vec<String> = errors.iter().take(ERRORS_SAID_MAX).map(|note| say(note)).collect();
    if errors.len() > ERRORS_SAID_MAX {
        said.push(format!("And {} more: `throwbar check` shows them.", errors.len() - ERRORS_SAID_MAX));
    }
    said.join("\n")
}
