//! `throwbar serve`: the live panel.

mod keys;

use super::read_sound;
use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// What the user asked for besides the layout.
pub(crate) struct Wish {
    pub(crate) listen: SocketAddr,
    pub(crate) journal: Option<PathBuf>,
    pub(crate) keep_days: Option<u32>,
    pub(crate) tls: Option<::serve::Tls>,
}

pub(crate) fn run(style: Style, path: &Path, wish: Wish) -> Result<Ended, Failure> {
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let beside = Path::new(&read.file).with_file_name("operation.journal");
    let options = ::serve::Options {
        listen: wish.listen,
        journal: wish.journal.unwrap_or(beside),
        tls: wish.tls,
        keep_days: wish.keep_days,
        reread: Some(reread(style, path)),
    };
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

/// Reads the layout anew. What is wrong with it is said as `check` says it, without colours.
fn reread(style: Style, path: &Path) -> ::serve::Reread {
    let path = path.to_owned();
    ::serve::Reread::by(move || {
        let read = super::read(&path).map_err(|failure| crate::chain(&failure))?;
        if !read.has_errors() {
            return Ok(read.plan);
        }
        let errors: Vec<_> = read
            .diagnostics
            .iter()
            .filter(|note| note.severity == notice::Severity::Error)
            .cloned()
            .collect();
        Err(print::diagnostics(style, false, read.texts(), &errors))
    })
}
