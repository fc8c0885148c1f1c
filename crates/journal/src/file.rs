//! The journal in a file: begun whole or not at all, and what becomes of a file that can no longer be opened.
//!
//! A new journal is made beside its place, as `NAME.new`, and put there when it is complete; so a crash while one is begun
//! never leaves half a file under its name. A `NAME.new` found on opening is one that was complete but not yet put in
//! place, or the half of one, which nobody was told about.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use redb::backends::FileBackend;

use crate::log::open_error;
use crate::{Journal, Mended, OpenError, Opened, Record};

/// What every file of the embedded database begins with.
const DATABASE_MARK: &[u8] = b"redb";

impl Journal {
    /// Opens the journal in this file, or begins one there for this layout.
    ///
    /// When the file is a journal that is damaged beyond opening, it is kept under another name and every record that can
    /// still be found in it, up to the first that is missing, is carried over into a new journal.
    ///
    /// # Errors
    /// When the file cannot be used, is in use, or is something else than a journal. It is then left as it is.
    pub fn open_file(path: &Path, layout: &str) -> Result<Opened, OpenError> {
        if !path.exists() {
            drop(begin_beside(path, layout)?);
            put_in_place(path)?;
        }
        match open(path, layout) {
            Err(OpenError::Damaged(cause)) => carry_over(path, layout, cause),
            other => other,
        }
    }
}

fn open(path: &Path, layout: &str) -> Result<Opened, OpenError> {
    let file = fs::OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
    Journal::open(FileBackend::new(file).map_err(open_error)?, layout)
}

/// The complete journal beside this place, or a new one there.
fn begin_beside(path: &Path, layout: &str) -> Result<Opened, OpenError> {
    let beside = with_ending(path, "new");
    match open(&beside, layout) {
        Err(OpenError::Damaged(_)) => {
            fs::remove_file(&beside)?;
            open(&beside, layout)
        }
        other => other,
    }
}

/// Gives the journal beside its place its name, unless someone else has done so meanwhile.
fn put_in_place(path: &Path) -> Result<(), OpenError> {
    let beside = with_ending(path, "new");
    match fs::hard_link(&beside, path) {
        Ok(()) => fs::remove_file(&beside)?,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => fs::remove_file(&beside)?,
        // Memory cards know no second name for a file.
        Err(_) => fs::rename(&beside, path)?,
    }
    Ok(sync_folder_of(path)?)
}

/// A file's name is on disk only when its folder is. Only Unix can be asked for that.
fn sync_folder_of(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if cfg!(unix) { fs::File::open(folder)?.sync_all() } else { Ok(()) }
}

fn carry_over(
    path: &Path,
    layout: &str,
    cause: Box<dyn std::error::Error + Send + Sync>,
) -> Result<Opened, OpenError> {
    let bytes = fs::read(path)?;
    let records = Record::find_all(&bytes);
    if records.is_empty() && !bytes.starts_with(DATABASE_MARK) {
        return Err(OpenError::NotAJournal);
    }
    let Some(aside) = free_name_beside(path) else { return Err(OpenError::Damaged(cause)) };

    let mut fresh = begin_beside(path, layout)?;
    let first = records.first().map_or(1, |record| record.sequence);
    let rows: Vec<String> = records.into_iter().map(|record| record.row).collect();
    if fresh.journal.last_sequence() == 0 {
        fresh.journal.begin_at(first).map_err(|error| OpenError::Storage(error.into()))?;
        fresh.journal.append(&rows).map_err(|error| OpenError::Storage(error.into()))?;
    }
    let kept = fresh.journal.last_sequence() + 1 - fresh.journal.first_sequence();
    drop(fresh);
    // A crash between these two leaves a complete journal beside its place, which the next opening puts there.
    fs::rename(path, &aside)?;
    put_in_place(path)?;
    let opened = open(path, layout)?;
    Ok(Opened { mended: Some(Mended::CarriedOver { kept, aside }), ..opened })
}

/// A name beside the journal's that is not taken.
fn free_name_beside(path: &Path) -> Option<PathBuf> {
    (1..1000).map(|number| with_ending(path, &format!("damaged-{number}"))).find(|name| !name.exists())
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".");
    name.push(ending);
    name.into()
}
