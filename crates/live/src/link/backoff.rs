//! How long to wait before a link is tried again. The steps are always the same; there is nothing random in them, because one panel has few links
//! and they are not tried by thousands at once.

use crate::{Moment, Wait};

/// The waits, one after the other; the last one again and again (common practice, no source).
pub const STEPS: [Wait; 6] = [Wait(250), Wait(500), Wait(1_000), Wait(2_000), Wait(5_000), Wait(15_000)];

/// How long a link has to have been of use before its next loss begins with the first step again: a far end that takes
/// connections only to close them is not tried in haste.
pub const STEADY: Wait = Wait(5_000);

/// Which step comes next.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Backoff {
    lost: usize,
    up_since: Option<Moment>,
}

impl Backoff {
    /// The link became of use.
    pub fn up(&mut self, at: Moment) {
        self.up_since.get_or_insert(at);
    }

    /// The link was lost, or could not be had: how long to wait.
    pub fn lost(&mut self, at: Moment) -> Wait {
        if self.up_since.take().is_some_and(|since| at.since(since) >= STEADY) {
            self.lost = 0;
        }
        let step = STEPS.get(self.lost.min(STEPS.len() - 1)).copied().unwrap_or(STEADY);
        self.lost = self.lost.saturating_add(1);
        step
    }
}
