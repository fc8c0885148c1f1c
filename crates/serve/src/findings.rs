//! What was found in commissioning, from a journal, for the record.

use std::path::{Path, PathBuf};

use commission::fault::System;
use commission::order::lay_out;
use commission::trial::{Findings, for_record};
use journal::{Journal, OpenError, ReadError};
use live::{Entry, Happened};
use plan::model::Plan;

/// Why what was found cannot be had from a journal.
#[derive(Debug, thiserror::Error)]
pub enum FindingsError {
    /// There is no such file.
    #[error("there is no journal {}", path.display())]
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// It cannot be opened.
    #[error("cannot open the journal {}; close the panel that writes it first", path.display())]
    Open {
        /// The file.
        path: PathBuf,
        /// Why.
        source: OpenError,
    },
    /// It was begun for another layout.
    #[error("the journal {} was begun for the layout “{layout}”", path.display())]
    OtherLayout {
        /// The file.
        path: PathBuf,
        /// The layout that it names.
        layout: String,
    },
    /// It cannot be read.
    #[error("cannot read the journal {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: ReadError,
    },
}

/// What was found out about this railroad, by what it is about: of each step the last word. Rows that are damaged, or that
/// a later version wrote, are passed over.
///
/// # Errors
/// When there is no such journal, it is in use, it is another layout's, or its storage fails.
pub fn findings(plan: &Plan, path: &Path) -> Result<Findings, FindingsError> {
    let own = || path.to_owned();
    if !path.exists() {
        return Err(FindingsError::Missing { path: own() });
    }
    let layout = &plan.network.described.layout.name;
    let opened =
        Journal::open_file(path, layout).map_err(|source| FindingsError::Open { path: own(), source })?;
    if opened.layout != *layout {
        return Err(FindingsError::OtherLayout { path: own(), layout: opened.layout });
    }
    let read = |source| FindingsError::Read { path: own(), source };
    let mut findings = Findings::new();
    for record in opened.journal.replay().map_err(read)? {
        let record = match record {
            Ok(record) => record,
            Err(ReadError::Record(_)) => continue,
            Err(source @ ReadError::Storage(_)) => return Err(read(source)),
        };
        if let Ok(Entry { what: Happened::Found(found), .. }) = Entry::read(&record.row) {
            findings.extend([found.for_record()]);
        }
    }
    Ok(for_record(plan, &lay_out(plan, &System::of(plan)), findings))
}
