//! The bytes of a capture, handed on in pieces of one size, with progress on a terminal.

use crate::failure::Failure;
use std::fs::File;
use std::io::{IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The size of a piece.
const PIECE: usize = 1 << 20;

/// How much of a pipe, which can be read once only, is looked at to find the signal.
const HEAD_MAX: u64 = 4 << 20;

/// How often progress is told.
const EVERY: Duration = Duration::from_millis(200);

/// A capture: a file that can be read again, or a pipe with what was read of it.
pub(super) struct Source {
    path: PathBuf,
    /// The beginning of what cannot be read again, and the rest of it.
    pipe: Option<(Vec<u8>, File)>,
    length: u64,
}

/// Whether to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Go {
    On,
    Enough,
}

impl Source {
    pub(super) fn open(path: &Path) -> Result<Self, Failure> {
        let failed = |source| Failure::ReadCapture { path: path.to_owned(), source };
        let file = File::open(path).map_err(failed)?;
        let facts = file.metadata().map_err(failed)?;
        if facts.is_dir() {
            return Err(failed(std::io::Error::from(std::io::ErrorKind::IsADirectory)));
        }
        let pipe = if facts.is_file() {
            None
        } else {
            let mut head = Vec::new();
            (&file).take(HEAD_MAX).read_to_end(&mut head).map_err(failed)?;
            Some((head, file))
        };
        Ok(Self { path: path.to_owned(), pipe, length: facts.len() })
    }

    /// Whether it is a value change dump: those begin with a keyword.
    pub(super) fn is_dump(&self) -> Result<bool, Failure> {
        let mut first = None;
        self.look(&mut |piece| {
            first = piece.iter().copied().find(|byte| !byte.is_ascii_whitespace());
            if first.is_some() { Go::Enough } else { Go::On }
        })?;
        Ok(first == Some(b'$'))
    }

    /// Hands on as much as is wanted to find the signal; all of it can be read again afterwards.
    pub(super) fn look(&self, to: &mut impl FnMut(&[u8]) -> Go) -> Result<(), Failure> {
        match &self.pipe {
            Some((head, _)) => {
                to(head);
                Ok(())
            }
            None => self.pieces(self.reopened()?, 0, to),
        }
    }

    /// Hands on all of it.
    pub(super) fn whole(&self, to: &mut impl FnMut(&[u8]) -> Go) -> Result<(), Failure> {
        match &self.pipe {
            Some((head, rest)) => {
                if to(head) == Go::Enough {
                    return Ok(());
                }
                self.pieces(rest, 0, to)
            }
            None => self.pieces(self.reopened()?, self.length, to),
        }
    }

    fn reopened(&self) -> Result<File, Failure> {
        File::open(&self.path).map_err(|source| self.failed(source))
    }

    fn failed(&self, source: std::io::Error) -> Failure {
        Failure::ReadCapture { path: self.path.clone(), source }
    }

    /// Reads to the end; tells progress where the length is known and a terminal looks on.
    fn pieces(
        &self,
        mut file: impl Read,
        length: u64,
        to: &mut impl FnMut(&[u8]) -> Go,
    ) -> Result<(), Failure> {
        let mut piece = vec![0; PIECE];
        let mut progress = Progress::new(length);
        loop {
            let count = match file.read(&mut piece) {
                Ok(0) => break,
                Ok(count) => count,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(self.failed(error)),
            };
            if to(&piece[..count]) == Go::Enough {
                break;
            }
            progress.tell(count as u64);
        }
        Ok(())
    }
}

/// A row on the terminal that says how far reading is.
struct Progress {
    length: u64,
    done: u64,
    told: Option<Instant>,
    shown: bool,
}

impl Progress {
    fn new(length: u64) -> Self {
        // Where the answer itself goes to the terminal it says how far reading is.
        let looked_at = std::io::stderr().is_terminal() && !std::io::stdout().is_terminal();
        Self { length, done: 0, told: (length > 0 && looked_at).then(Instant::now), shown: false }
    }

    fn tell(&mut self, more: u64) {
        self.done += more;
        if self.told.is_none_or(|told| told.elapsed() < EVERY) {
            return;
        }
        self.told = Some(Instant::now());
        self.shown = true;
        let part = self.done.saturating_mul(100) / self.length.max(1);
        // Nothing hangs on it, so that it cannot be shown is no failure.
        let _ = write!(std::io::stderr().lock(), "\r{} MB read, {}% ", self.done >> 20, part.min(100));
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown {
            let _ = write!(std::io::stderr().lock(), "\r{}\r", " ".repeat(40));
        }
    }
}
