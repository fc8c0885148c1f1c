//! What is counted of requests: answers by class, and how long what was asked for took.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// The bounds of the histogram.
///
/// # Units
/// Milliseconds.
pub(crate) const BOUNDS_MS: [u64; 8] = [1, 2, 5, 10, 25, 50, 100, 500];

#[derive(Clone, Debug, Default)]
pub(crate) struct Counts(Arc<Counted>);

#[derive(Debug, Default)]
struct Counted {
    /// Answers with statuses from 200, 300, 400 and 500 on.
    answers: [AtomicU64; 4],
    /// How many took no longer than each bound.
    asked: [AtomicU64; BOUNDS_MS.len()],
    asked_us: AtomicU64,
    asked_count: AtomicU64,
}

impl Counts {
    pub(crate) fn answered(&self, status: u16) {
        let class = usize::from(status / 100).saturating_sub(2);
        if let Some(count) = self.0.answers.get(class) {
            count.fetch_add(1, Ordering::Relaxed);
        }
    }

    pub(crate) fn took(&self, time: Duration) {
        let us = u64::try_from(time.as_micros()).unwrap_or(u64::MAX);
        self.0.asked_us.fetch_add(us, Ordering::Relaxed);
        self.0.asked_count.fetch_add(1, Ordering::Relaxed);
        for (_, count) in BOUNDS_MS.iter().zip(&self.0.asked).filter(|(bound, _)| us <= **bound * 1_000) {
            count.fetch_add(1, Ordering::Relaxed);
        }
    }

    pub(crate) fn answers(&self) -> [(&'static str, u64); 4] {
        let [done, elsewhere, refused, failed] =
            self.0.answers.each_ref().map(|count| count.load(Ordering::Relaxed));
        [("2xx", done), ("3xx", elsewhere), ("4xx", refused), ("5xx", failed)]
    }

    /// How many took no longer than each bound, how long all took in microseconds, and how many there were.
    pub(crate) fn asked(&self) -> ([u64; BOUNDS_MS.len()], u64, u64) {
        let counts = self.0.asked.each_ref().map(|count| count.load(Ordering::Relaxed));
        (counts, self.0.asked_us.load(Ordering::Relaxed), self.0.asked_count.load(Ordering::Relaxed))
    }
}
