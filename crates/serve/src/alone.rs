//! A file of secrets: replaced whole or not at all, and nobody but its owner can read it, where the system knows owners.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Puts a text into a file.
pub(crate) fn write(path: &Path, text: &str) -> io::Result<()> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    let beside = PathBuf::from(beside);
    let mut file = mine_alone().open(&beside)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(beside, path)
}

fn mine_alone() -> fs::OpenOptions {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options
}
