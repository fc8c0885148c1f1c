//! The append-only operating log: rows of text that are on disk before anyone is told that they happened.
//!
//! ```text
//! append ─ one commit, synced ─▶ records:  sequence number ─▶ mark, length, sequence number, checksum, row
//! open ─ every record checked ─▶ a tail that fails the check is cut, set aside, and said
//! ```
//!
//! The rows mean nothing here; `live` writes and reads them. Commits and their recovery after a crash are the embedded
//! database's; each record still carries its own checksum, for two reasons: a record that was damaged while it lay there is
//! noticed, and when the database can no longer be opened at all, its records can still be found in the file's bytes and
//! carried over into a new one. A damaged file is never deleted and never silently begun afresh.
//!
//! Storage stands behind a trait, so that tests can keep it in memory and make any write of it fail.

#![allow(clippy::disallowed_methods, reason = "the journal's file is this crate's to touch")]

mod checksum;
mod file;
mod log;
mod record;

pub use checksum::checksum;
pub use log::{AppendError, Checkpoint, Journal, Mended, OpenError, Opened, ReadError, Replay};
pub use record::{ROW_BYTES_MAX, Record};
pub use redb::StorageBackend as Storage;
pub use redb::backends::InMemoryBackend as Memory;
