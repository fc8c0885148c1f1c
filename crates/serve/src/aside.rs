//! Old rows of the journal in a file of their own: the table that `/log.csv` gives, named for the journal, the day of its last row and
//! its rows.

use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use journal::{Journal, ReadError};
use live::{Entry, Moment};

use crate::endpoint::log::{HEAD, row, time};

/// The most rows that go into one file. More wait for the next day, or the next opening.
pub(crate) const ASIDE_ROWS_MAX: u64 = 1_000_000;

/// What was put aside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PutAside {
    pub(crate) first: u64,
    pub(crate) last: u64,
    /// The file's name, without its folder.
    pub(crate) name: String,
}

/// Why rows could not be put aside. They are all still in the journal then.
#[derive(Debug, thiserror::Error)]
pub(crate) enum AsideError {
    #[error("old rows of the journal cannot be read to be put aside")]
    Read(#[from] ReadError),
    #[error("old rows of the journal cannot be put aside in {}: {source}", path.display())]
    Write { path: PathBuf, source: io::Error },
}

/// Writes every row before this moment, up to the first that is not, into a file beside the journal. When this returns, it is on disk;
/// nothing has left the journal. None when there is no such row.
pub(crate) fn write(
    journal: &Journal,
    beside: &Path,
    before: Moment,
) -> Result<Option<PutAside>, AsideError> {
    let first = journal.first_sequence();
    let mut last = None;
    for (number, record) in (first..).zip(journal.replay_after(first - 1)?).take(rows_max()) {
        match record {
            // One that cannot be read goes with its neighbours.
            Ok(record) => match Entry::read(&record.row) {
                Ok(entry) if entry.at >= before => break,
                Ok(entry) => last = Some((number, entry.at)),
                Err(_) => {}
            },
            Err(ReadError::Record(_)) => {}
            Err(error @ ReadError::Storage(_)) => return Err(error.into()),
        }
    }
    let Some((last, at)) = last else { return Ok(None) };
    let day = time(at.0);
    let mut path = beside.as_os_str().to_owned();
    path.push(format!(".until-{}.rows-{first}-{last}.csv", day.get(..10).unwrap_or_default()));
    let path = PathBuf::from(path);
    let failed = |source| AsideError::Write { path: path.clone(), source };
    let mut new = path.as_os_str().to_owned();
    new.push(".new");
    let new = PathBuf::from(new);
    fill(journal, &new, first, last).map_err(failed)?;
    fs::rename(&new, &path).and_then(|()| sync_folder_of(&path)).map_err(failed)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    Ok(Some(PutAside { first, last, name }))
}

fn rows_max() -> usize {
    usize::try_from(ASIDE_ROWS_MAX).unwrap_or(usize::MAX)
}

fn fill(journal: &Journal, path: &Path, first: u64, last: u64) -> io::Result<()> {
    let mut file = BufWriter::new(fs::File::create(path)?);
    file.write_all(HEAD.as_bytes())?;
    let records = journal.replay_after(first - 1).map_err(io::Error::other)?;
    for (number, record) in (first..=last).zip(records) {
        match record {
            Ok(record) => file.write_all(row(&record).as_bytes())?,
            Err(error) => file.write_all(format!("{number},,\"{error}\",\"\"\r\n").as_bytes())?,
        }
    }
    file.into_inner().map_err(io::IntoInnerError::into_error)?.sync_all()
}

/// A file's name is on disk only when its folder is. Only Unix can be asked for that.
fn sync_folder_of(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if cfg!(unix) { fs::File::open(folder)?.sync_all() } else { Ok(()) }
}
