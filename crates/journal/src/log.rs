//! The journal itself: opened and checked, appended to, replayed.

use std::path::PathBuf;

use redb::{
    Database, DatabaseError, ReadableDatabase, ReadableTable, StorageError, TableDefinition, TableError,
};

use crate::{ROW_BYTES_MAX, Record, Storage};

const RECORDS: TableDefinition<u64, &[u8]> = TableDefinition::new("records");
/// Records that failed their check on some opening: kept for whoever wants to look.
const SET_ASIDE: TableDefinition<u64, &[u8]> = TableDefinition::new("set aside");
/// What the rows up to some record come to, in rows of their own; the first says how many there are.
const CHECKPOINT: TableDefinition<u64, &[u8]> = TableDefinition::new("checkpoint");
/// Which record is the first, once others were put aside.
const FIRST: TableDefinition<u64, &[u8]> = TableDefinition::new("first");
const FACTS: TableDefinition<&str, &str> = TableDefinition::new("facts");
const LAYOUT: &str = "layout";

/// Enough for the pages that an evening touches; the library's own default is a gigabyte.
const CACHE_BYTES: usize = 8 * 1024 * 1024;

/// An open journal. While it is open nobody else can open the same file.
#[derive(Debug)]
pub struct Journal {
    database: Database,
    first: u64,
    last: u64,
    checkpoint: Option<Checkpoint>,
}

/// What the records up to one of them come to, so that only those after it need to be gone through. What its rows mean is
/// theirs who wrote them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// The last record that it takes in.
    pub sequence: u64,
    /// What was written.
    pub rows: Vec<String>,
}

/// A journal that was opened, and what there is to say about it.
#[derive(Debug)]
pub struct Opened {
    /// The journal.
    pub journal: Journal,
    /// What had to be mended on opening, to be told to the user.
    pub mended: Option<Mended>,
    /// The name of the layout for which it was begun.
    pub layout: String,
}

/// What had to be mended on opening.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mended {
    /// Records at the end failed their check.
    TailCut {
        /// How many records are good.
        kept: u64,
        /// How many were cut.
        cut: u64,
    },
    /// The file could not be opened, but records were found in its bytes.
    CarriedOver {
        /// How many records were found whole and in sequence.
        kept: u64,
        /// Where the damaged file is now.
        aside: PathBuf,
    },
}

impl std::fmt::Display for Mended {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TailCut { kept, cut } => write!(
                f,
                "the journal was damaged at its end: its first {kept} records are good, the {cut} after them were cut"
            ),
            Self::CarriedOver { kept, aside } => write!(
                f,
                "the journal was damaged: its first {kept} records were carried over into a new one, and the damaged \
                 file is kept as {}",
                aside.display()
            ),
        }
    }
}

/// Why a journal could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// Someone has it open already.
    #[error("another throwbar is using this journal")]
    InUse,
    /// It is something else, and is left as it is.
    #[error("this file is no journal")]
    NotAJournal,
    /// The storage holds a journal that is damaged beyond opening.
    #[error("the journal is damaged")]
    Damaged(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// The storage cannot be read or written.
    #[error("the journal cannot be read or written")]
    Storage(#[source] Box<dyn std::error::Error + Send + Sync>),
}

impl From<std::io::Error> for OpenError {
    fn from(error: std::io::Error) -> Self {
        Self::Storage(error.into())
    }
}

/// Why rows were not appended. None of them counts as written, though the last may turn up on the next opening.
#[derive(Debug, thiserror::Error)]
pub enum AppendError {
    /// A row is longer than [`ROW_BYTES_MAX`].
    #[error("a row of {0} bytes is too long for the journal")]
    RowTooLong(usize),
    /// The storage refused: the disk may be full. Nothing more can be appended until the journal is opened again.
    #[error("the journal cannot be written")]
    Storage(#[source] Box<dyn std::error::Error + Send + Sync>),
}

/// Why a journal could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The storage refused.
    #[error("the journal cannot be read")]
    Storage(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// A record has been damaged since the journal was opened.
    #[error("record {0} of the journal is damaged")]
    Record(u64),
}

impl Journal {
    /// Opens the journal in this storage, or begins one there for this layout.
    ///
    /// # Errors
    /// When the storage cannot be used or holds something that cannot be opened.
    pub fn open(storage: impl Storage, layout: &str) -> Result<Opened, OpenError> {
        let database = redb::Builder::new()
            .set_cache_size(CACHE_BYTES)
            // Without it a file that was damaged while it lay there may be trusted, and its reader may panic.
            .set_check_integrity_on_open(true)
            .create_with_backend(storage)
            .map_err(open_error)?;
        prepare(database, layout).map_err(|error| {
            let damaged = matches!(error, redb::Error::Corrupted(_));
            if damaged { OpenError::Damaged(error.into()) } else { OpenError::Storage(error.into()) }
        })
    }

    /// Appends these rows, all of them or none. When this returns, they are on disk.
    ///
    /// # Errors
    /// When a row is too long, or the storage refuses.
    pub fn append(&mut self, rows: &[String]) -> Result<(), AppendError> {
        if let Some(row) = rows.iter().find(|row| row.len() > ROW_BYTES_MAX) {
            return Err(AppendError::RowTooLong(row.len()));
        }
        self.last = self.commit(rows).map_err(|error| AppendError::Storage(error.into()))?;
        Ok(())
    }

    fn commit(&mut self, rows: &[String]) -> Result<u64, redb::Error> {
        // A transaction is synced on commit unless it is told otherwise.
        let transaction = self.database.begin_write()?;
        let mut last = self.last;
        {
            let mut records = transaction.open_table(RECORDS)?;
            for row in rows {
                last += 1;
                records.insert(last, Record::seal(last, row).as_slice())?;
            }
        }
        transaction.commit()?;
        Ok(last)
    }

    /// The number of the last record; 0 when there is none.
    pub fn last_sequence(&self) -> u64 {
        self.last
    }

    /// The number of the first record that is still here: 1, or higher when others were put aside. One more than the last when there is
    /// none.
    pub fn first_sequence(&self) -> u64 {
        self.first
    }

    /// Takes the records up to this one out, all of them or none. Whoever wants them has written them elsewhere before. The checkpoint's
    /// own record and those after it always stay. When this returns, it is on disk.
    ///
    /// # Errors
    /// When the storage refuses.
    pub fn put_aside(&mut self, through: u64) -> Result<(), AppendError> {
        let stays = self.checkpoint.as_ref().map_or(self.first, |checkpoint| checkpoint.sequence);
        let first = through.saturating_add(1).min(stays);
        if first > self.first {
            self.commit_first(first).map_err(|error| AppendError::Storage(error.into()))?;
        }
        Ok(())
    }

    /// Gives room back to the disk that records which were put aside took. Takes as long as writing what is left.
    ///
    /// # Errors
    /// When the storage refuses. Nothing is lost then.
    pub fn shrink(&mut self) -> Result<(), AppendError> {
        self.database.compact().map(drop).map_err(|error| AppendError::Storage(error.into()))
    }

    /// Lets the records of an empty journal begin with another number than 1.
    pub(crate) fn begin_at(&mut self, first: u64) -> Result<(), AppendError> {
        if self.last == 0 && first > 1 {
            self.commit_first(first).map_err(|error| AppendError::Storage(error.into()))?;
            self.last = first - 1;
        }
        Ok(())
    }

    fn commit_first(&mut self, first: u64) -> Result<(), redb::Error> {
        let transaction = self.database.begin_write()?;
        {
            transaction.open_table(RECORDS)?.retain_in(..first, |_, _| false)?;
            transaction.open_table(FIRST)?.insert(0, Record::seal_first(first).as_slice())?;
        }
        transaction.commit()?;
        self.first = first;
        Ok(())
    }

    /// The checkpoint that was found on opening, or kept since.
    pub fn checkpoint(&self) -> Option<&Checkpoint> {
        self.checkpoint.as_ref()
    }

    /// Keeps what all records up to now come to, in the place of what was kept before.
    ///
    /// # Errors
    /// When a row is too long, or the storage refuses. The checkpoint is then the one before.
    pub fn keep_checkpoint(&mut self, rows: Vec<String>) -> Result<(), AppendError> {
        if let Some(row) = rows.iter().find(|row| row.len() > ROW_BYTES_MAX) {
            return Err(AppendError::RowTooLong(row.len()));
        }
        let checkpoint = Checkpoint { sequence: self.last, rows };
        let write = || -> Result<(), redb::Error> {
            let transaction = self.database.begin_write()?;
            {
                let mut table = transaction.open_table(CHECKPOINT)?;
                table.retain(|_, _| false)?;
                let count = checkpoint.rows.len().to_string();
                for (index, row) in (0..).zip([&count].into_iter().chain(&checkpoint.rows)) {
                    table.insert(index, Record::seal_checkpoint(checkpoint.sequence, row).as_slice())?;
                }
            }
            Ok(transaction.commit()?)
        };
        write().map_err(|error| AppendError::Storage(error.into()))?;
        self.checkpoint = Some(checkpoint);
        Ok(())
    }

    /// Every record from the first on.
    ///
    /// # Errors
    /// When the storage cannot be read.
    pub fn replay(&self) -> Result<Replay, ReadError> {
        self.replay_after(0)
    }

    /// Every record after this one.
    ///
    /// # Errors
    /// When the storage cannot be read.
    pub fn replay_after(&self, sequence: u64) -> Result<Replay, ReadError> {
        let read = || -> Result<_, redb::Error> {
            Ok(self.database.begin_read()?.open_table(RECORDS)?.range::<u64>(sequence.saturating_add(1)..)?)
        };
        Ok(Replay { records: read().map_err(|error| ReadError::Storage(error.into()))? })
    }
}

/// The records of a journal, in sequence.
pub struct Replay {
    records: redb::Range<'static, u64, &'static [u8]>,
}

impl Iterator for Replay {
    type Item = Result<Record, ReadError>;

    fn next(&mut self) -> Option<Self::Item> {
        Some(match self.records.next()? {
            Ok((sequence, bytes)) => {
                Record::unseal(bytes.value()).ok_or_else(|| ReadError::Record(sequence.value()))
            }
            Err(error) => Err(ReadError::Storage(error.into())),
        })
    }
}

/// Makes the tables of a new journal; checks every record of an old one and cuts from the first that is not good.
fn prepare(database: Database, layout: &str) -> Result<Opened, redb::Error> {
    if let Some(begun_for) = begun_for(&database)? {
        let checkpoint = kept_checkpoint(&database)?;
        let first = kept_first(&database)?;
        let checked = checkpoint.as_ref().map_or(0, |checkpoint| checkpoint.sequence).max(first - 1);
        let (kept, cut) = cut_damaged_tail(&database, checked)?;
        let mended = (cut > 0).then_some(Mended::TailCut { kept, cut });
        return Ok(Opened {
            journal: Journal { database, first, last: kept, checkpoint },
            mended,
            layout: begun_for,
        });
    }
    let transaction = database.begin_write()?;
    transaction.open_table(RECORDS)?;
    transaction.open_table(FACTS)?.insert(LAYOUT, layout)?;
    transaction.commit()?;
    Ok(Opened {
        journal: Journal { database, first: 1, last: 0, checkpoint: None },
        mended: None,
        layout: layout.to_owned(),
    })
}

/// The layout that the journal was begun for; none when it is yet to be begun.
fn begun_for(database: &Database) -> Result<Option<String>, redb::Error> {
    match database.begin_read()?.open_table(FACTS) {
        Ok(facts) => Ok(facts.get(LAYOUT)?.map(|name| name.value().to_owned())),
        Err(TableError::TableDoesNotExist(_)) => Ok(None),
        Err(other) => Err(other.into()),
    }
}

/// The first record that is here.
fn kept_first(database: &Database) -> Result<u64, redb::Error> {
    let transaction = database.begin_read()?;
    match transaction.open_table(FIRST) {
        Ok(table) => {
            let first = table.get(0)?.and_then(|bytes| Record::unseal_first(bytes.value()));
            // Should it be damaged, what is there begins where it begins.
            let lowest = || -> Result<_, redb::Error> {
                Ok(transaction.open_table(RECORDS)?.first()?.map(|(sequence, _)| sequence.value()))
            };
            Ok(first.map_or_else(lowest, |first| Ok(Some(first)))?.unwrap_or(1).max(1))
        }
        Err(TableError::TableDoesNotExist(_)) => Ok(1),
        Err(other) => Err(other.into()),
    }
}

/// The checkpoint, when every row of it and the record it was made at are as they were written; otherwise there might as well
/// be none, for all records are there.
fn kept_checkpoint(database: &Database) -> Result<Option<Checkpoint>, redb::Error> {
    let transaction = database.begin_read()?;
    let table = match transaction.open_table(CHECKPOINT) {
        Ok(table) => table,
        Err(TableError::TableDoesNotExist(_)) => return Ok(None),
        Err(other) => return Err(other.into()),
    };
    let mut read = Vec::new();
    for entry in table.iter()? {
        let Some(row) = Record::unseal_checkpoint(entry?.1.value()) else { return Ok(None) };
        read.push(row);
    }
    let mut rows = read.into_iter();
    let Some(Record { sequence, row: count }) = rows.next() else { return Ok(None) };
    let is_whole = count.parse() == Ok(rows.len()) && rows.clone().all(|row| row.sequence == sequence);
    let records = transaction.open_table(RECORDS)?;
    let made_at = records.get(sequence)?.and_then(|bytes| Record::unseal(bytes.value()));
    let is_there = sequence == 0 || made_at.is_some_and(|record| record.sequence == sequence);
    Ok((is_whole && is_there).then(|| Checkpoint { sequence, rows: rows.map(|row| row.row).collect() }))
}

/// The number of good records, and of those after them that were cut. Those up to `checked` are taken as good: what they come to
/// is known, and one that is damaged is noticed when it is read.
fn cut_damaged_tail(database: &Database, checked: u64) -> Result<(u64, u64), redb::Error> {
    let mut good = checked;
    let mut bad = Vec::new();
    for entry in database.begin_read()?.open_table(RECORDS)?.range(checked.saturating_add(1)..)? {
        let (key, bytes) = entry?;
        let sequence = key.value();
        let record = Record::unseal(bytes.value()).filter(|record| record.sequence == sequence);
        if bad.is_empty() && sequence == good + 1 && record.is_some() {
            good = sequence;
        } else {
            bad.push((sequence, bytes.value().to_vec()));
        }
    }
    if !bad.is_empty() {
        let transaction = database.begin_write()?;
        {
            let mut records = transaction.open_table(RECORDS)?;
            let mut aside = transaction.open_table(SET_ASIDE)?;
            for (sequence, bytes) in &bad {
                records.remove(sequence)?;
                aside.insert(sequence, bytes.as_slice())?;
            }
        }
        transaction.commit()?;
    }
    Ok((good, bad.len() as u64))
}

pub(crate) fn open_error(error: DatabaseError) -> OpenError {
    use DatabaseError as E;
    let no_journal = |io: &std::io::Error| io.kind() == std::io::ErrorKind::InvalidData;
    if matches!(error, E::DatabaseAlreadyOpen | E::LockProtocolMismatch) {
        OpenError::InUse
    } else if matches!(
        error,
        E::Storage(StorageError::Corrupted(_)) | E::UpgradeRequired(_) | E::RepairAborted
    ) || matches!(&error, E::Storage(StorageError::Io(io)) if no_journal(io))
    {
        OpenError::Damaged(error.into())
    } else {
        OpenError::Storage(error.into())
    }
}
