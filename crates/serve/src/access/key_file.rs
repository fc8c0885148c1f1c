//! The file of keys and sessions, beside the journal: hashes only, readable by its owner only.
//!
//! ```text
//! throwbar keys 1
//! key      look       HASH
//! session  operate    HASH   UNTIL, milliseconds since 1970
//! ```
//! Columns are divided by tabs. The file is replaced whole or not at all. One that cannot be understood is never replaced:
//! whoever wants new keys deletes it.

use std::fs;
use std::io;
use std::path::Path;

use live::Moment;

use super::secret::{Hash, Secret};
use super::{NewKey, Role};
use crate::alone;

const FIRST_ROW: &str = "throwbar keys 1";

/// Why keys cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum KeysError {
    /// The file cannot be read or written.
    #[error("the keys cannot be read or written")]
    File(#[from] io::Error),
    /// The file holds something else.
    #[error("row {0} of the keys cannot be understood; delete the file to have new keys made")]
    Row(usize),
    /// The system gives no random numbers.
    #[error("the system gives no random numbers, so no keys can be made")]
    Random(#[source] getrandom::Error),
}

#[derive(Debug, Default)]
pub(super) struct Keys {
    pub(super) keys: Vec<(Role, Hash)>,
    pub(super) sessions: Vec<Session>,
}

#[derive(Debug)]
pub(super) struct Session {
    pub(super) role: Role,
    pub(super) hash: Hash,
    pub(super) until: Moment,
}

impl Keys {
    /// The keys in this file; when there is none, new ones, which are given back too.
    pub(super) fn read_or_make(path: &Path) -> Result<(Self, Vec<NewKey>), KeysError> {
        match fs::read_to_string(path) {
            Ok(text) => Ok((Self::read(&text)?, Vec::new())),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Self::make(path),
            Err(error) => Err(error.into()),
        }
    }

    fn make(path: &Path) -> Result<(Self, Vec<NewKey>), KeysError> {
        let (mut keys, mut fresh) = (Self::default(), Vec::new());
        for role in Role::ALL {
            let secret = Secret::new().map_err(KeysError::Random)?;
            keys.keys.push((role, secret.hash()));
            fresh.push(NewKey { role, key: secret.letters().to_owned() });
        }
        keys.write(path)?;
        Ok((keys, fresh))
    }

    fn read(text: &str) -> Result<Self, KeysError> {
        let mut keys = Self::default();
        let mut rows = (1..).zip(text.lines());
        if rows.next().is_none_or(|(_, row)| row != FIRST_ROW) {
            return Err(KeysError::Row(1));
        }
        for (number, row) in rows {
            keys.take(row).ok_or(KeysError::Row(number))?;
        }
        if keys.keys.is_empty() { Err(KeysError::Row(1)) } else { Ok(keys) }
    }

    fn take(&mut self, row: &str) -> Option<()> {
        let columns: Vec<&str> = row.split('\t').collect();
        match columns[..] {
            ["key", role, hash] => self.keys.push((Role::called(role)?, hash_of(hash)?)),
            ["session", role, hash, until] => {
                let until = Moment(until.parse().ok()?);
                self.sessions.push(Session { role: Role::called(role)?, hash: hash_of(hash)?, until });
            }
            _ => return None,
        }
        Some(())
    }

    /// Puts them into the file, whole or not at all.
    pub(super) fn write(&self, path: &Path) -> io::Result<()> {
        let keys = self.keys.iter().map(|(role, hash)| format!("key\t{}\t{}\n", role.word(), hash.0));
        let sessions = self.sessions.iter().map(|Session { role, hash, until }| {
            format!("session\t{}\t{}\t{}\n", role.word(), hash.0, until.0)
        });
        let text: String = [format!("{FIRST_ROW}\n")].into_iter().chain(keys).chain(sessions).collect();
        alone::write(path, &text)
    }
}

fn hash_of(text: &str) -> Option<Hash> {
    let is_hash = text.len() == 64 && text.bytes().all(|letter| letter.is_ascii_hexdigit());
    is_hash.then(|| Hash(text.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_holds_something_else_is_refused_with_its_row() {
        let hash = "a".repeat(64);
        let good = format!("{FIRST_ROW}\nkey\tlook\t{hash}\n");
        assert!(Keys::read(&good).is_ok());
        for (text, row) in [
            (String::new(), 1),
            ("something else".to_owned(), 1),
            (format!("{FIRST_ROW}\n"), 1),
            (format!("{good}key\tdrive\t{hash}\n"), 3),
            (format!("{good}key\tlook\tshort\n"), 3),
            (format!("{good}session\tlook\t{hash}\tsoon\n"), 3),
            (format!("{good}\n"), 3),
        ] {
            let error = Keys::read(&text).unwrap_err();
            assert!(matches!(error, KeysError::Row(found) if found == row), "{text}: {error}");
        }
    }
}
