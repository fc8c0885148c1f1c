//! What the desk does from time to time: it opens a journal again that could not be written, and puts old rows aside.

use journal::{Journal, Memory, ReadError, Replay};
use live::{Entry, Moment, Wait};

use super::keeper::Keeper;
use super::{Aside, Reopen, Upkeep};
use crate::aside;
use crate::refusal::JournalStopped;

/// How long until a journal that could not be written is tried again.
const MEND_WAIT: Wait = Wait(2_000);

/// How often old rows are looked for.
const ASIDE_WAIT: Wait = Wait(24 * 60 * 60 * 1_000);

/// How many rows have to be put aside at once, and more than are left, for the file to be made smaller.
const SHRINK_ROWS: u64 = 10_000;

/// What is tended, and when next.
#[derive(Default)]
pub(super) struct Tended {
    reopen: Option<Reopen>,
    aside: Option<Aside>,
    next_mending: Option<Moment>,
    next_aside: Option<Moment>,
}

impl Tended {
    pub(super) fn begin(&mut self, upkeep: Upkeep) {
        self.next_aside = upkeep.aside.is_some().then_some(Moment(0));
        (self.reopen, self.aside) = (upkeep.reopen, upkeep.aside);
    }
}

impl Keeper {
    /// When something is to be tended next; none when nothing is.
    pub(super) fn next_tending(&self) -> Option<Moment> {
        let mending = self.tended.reopen.is_some() && self.stopped;
        let mending = mending.then(|| self.tended.next_mending.unwrap_or_default());
        let aside = if self.stopped { None } else { self.tended.next_aside };
        [mending, aside].into_iter().flatten().min()
    }

    pub(super) fn tend(&mut self) {
        let now = self.clock.now();
        if self.stopped && self.tended.reopen.is_some() {
            let due = *self.tended.next_mending.get_or_insert(now.after(MEND_WAIT));
            if due <= now {
                self.mend();
                self.tended.next_mending = self.stopped.then_some(now.after(MEND_WAIT));
            }
        }
        if !self.stopped && self.tended.next_aside.is_some_and(|next| next <= now) {
            self.tended.next_aside = Some(now.after(ASIDE_WAIT));
            self.put_aside(now);
        }
    }

    /// Opens the journal again. Meanwhile the layout may have reported more than could be written: all that is so is written now.
    fn mend(&mut self) {
        let Some(reopen) = &mut self.tended.reopen else { return };
        let Ok(nowhere) = Journal::open(Memory::new(), "") else { return };
        // Nobody can open it while it is open here.
        drop(std::mem::replace(&mut self.journal, nowhere.journal));
        let Ok(opened) = reopen() else { return };
        self.journal = opened.journal;
        let now = self.clock.now();
        let whole = self.state.whole(
            &self.railroad,
            "The journal could not be written for a while; this is how things stand now",
            now,
        );
        if !self.write_whole(&whole) {
            return;
        }
        self.stopped = false;
        self.snapshot.trouble = None;
        self.look_back();
        self.announce(&[]);
    }

    fn write_whole(&mut self, whole: &[Entry]) -> bool {
        let rows: Vec<String> = whole.iter().map(Entry::write).collect();
        let written = self.journal.append(&rows).is_ok();
        if written {
            let first = self.journal.last_sequence().saturating_sub(rows.len() as u64) + 1;
            whole.iter().zip(first..).for_each(|(entry, sequence)| self.logbook.add(sequence, entry));
        }
        written
    }

    /// Every row of the journal.
    pub(super) fn replay(&self) -> Result<Replay, ReadError> {
        if self.stopped {
            // What stands in its place then is empty.
            return Err(ReadError::Storage(JournalStopped {}.into()));
        }
        self.journal.replay()
    }

    /// Sees from when on there are rows.
    pub(super) fn look_back(&mut self) {
        let first = self.journal.first_sequence();
        let at = || {
            let mut replay = self.journal.replay_after(first - 1).ok()?;
            let row = replay.next()?.ok()?.row;
            Some(Entry::read(&row).ok()?.at)
        };
        self.snapshot.rows_from = (first > 1).then(|| (first, at().unwrap_or_default()));
    }

    /// Puts rows aside that are older than is wished, in this order: into a file of their own, synced and named; then all that is so,
    /// whole, into the journal, and as its checkpoint; then out of the journal. A kill after any of them loses nothing.
    fn put_aside(&mut self, now: Moment) {
        let Some(Aside { journal, days }) = self.tended.aside.clone() else { return };
        let before = Moment(now.0.saturating_sub(u64::from(days) * 24 * 60 * 60 * 1_000));
        let done = aside::write(&self.journal, &journal, before);
        self.snapshot.aside_trouble = done.as_ref().err().map(ToString::to_string);
        if let Ok(Some(file)) = done {
            let why = format!("Rows {} to {} were put aside in {}", file.first, file.last, file.name);
            let whole = self.state.whole(&self.railroad, &why, now);
            if !self.write_whole(&whole) {
                return self.stop_writing();
            }
            let checkpoint = self.journal.keep_checkpoint(self.state.write(&self.railroad));
            if checkpoint.is_err() || self.journal.put_aside(file.last).is_err() {
                return self.stop_writing();
            }
            let (gone, left) = (file.last - file.first + 1, self.journal.last_sequence() - file.last);
            if gone >= SHRINK_ROWS && gone > left {
                // Without it the file only stays as large as it was, and is filled again.
                drop(self.journal.shrink());
            }
            self.look_back();
        }
        self.announce(&[]);
    }
}
