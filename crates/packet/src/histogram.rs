//! Lengths of half bits and preambles, counted, so that their middle is known without keeping them.

use crate::wave::{Half, Ns, TAKEN_ONE, TAKEN_ZERO};

/// The least, the middle and the most of what was counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spread {
    /// The least.
    pub min: Ns,
    /// As many are below as above; for an even count, halfway between the two in the middle.
    pub median: Ns,
    /// The most.
    pub max: Ns,
}

/// Counts values between two ends in steps.
#[derive(Clone, Debug)]
struct Histogram<const STEPS: usize> {
    from: Ns,
    step: Ns,
    counts: [u64; STEPS],
    /// Past the last step, in steps of a hundred times that.
    beyond: [u64; BEYOND],
    total: u64,
    min: Ns,
    max: Ns,
}

const BEYOND: usize = 1_000;
const COARSE: Ns = 100;
/// Steps of a tenth of a microsecond.
const ONE_STEPS: usize = 121;
const ZERO_STEPS: usize = 3_100;
const PREAMBLE_STEPS: usize = 256;
const TENTH: Ns = 100;

impl<const STEPS: usize> Histogram<STEPS> {
    const fn new(from: Ns, step: Ns) -> Self {
        let (counts, beyond) = ([0; STEPS], [0; BEYOND]);
        Self { from, step, counts, beyond, total: 0, min: Ns::MAX, max: 0 }
    }

    #[inline]
    fn add(&mut self, value: Ns) {
        self.total += 1;
        self.min = self.min.min(value);
        self.max = self.max.max(value);
        let steps = (value.saturating_sub(self.from) + self.step / 2) / self.step;
        let place = usize::try_from(steps).unwrap_or(usize::MAX);
        let held = match self.counts.get_mut(place) {
            Some(held) => Some(held),
            None => self.beyond.get_mut((place - STEPS) / 100),
        };
        if let Some(held) = held {
            *held += 1;
        }
    }

    /// The value with this many below it, to half a step; past the fine steps, to half a coarse one.
    fn nth(&self, n: u64) -> Ns {
        let mut below = 0;
        let fine = self.counts.iter().zip(0..).map(|(count, index)| (*count, self.from + index * self.step));
        let coarse_from = self.from + self.step * Ns::try_from(STEPS).unwrap_or_default();
        let width = self.step * COARSE;
        let beyond = self.beyond.iter().zip(0..);
        let coarse = beyond.map(|(count, index)| (*count, coarse_from + index * width + width / 2));
        for (count, value) in fine.chain(coarse) {
            below += count;
            if below > n {
                return value.clamp(self.min, self.max);
            }
        }
        self.max
    }

    fn spread(&self) -> Option<Spread> {
        let last = self.total.checked_sub(1)?;
        let median = self.nth(last / 2).midpoint(self.nth(last.div_ceil(2)));
        Some(Spread { min: self.min, median, max: self.max })
    }
}

/// How long half bits and preambles were.
#[derive(Clone, Debug)]
pub struct Timing {
    one: Histogram<ONE_STEPS>,
    zero: Histogram<ZERO_STEPS>,
    preamble: Histogram<PREAMBLE_STEPS>,
}

impl Default for Timing {
    fn default() -> Self {
        Self {
            one: Histogram::new(TAKEN_ONE.min, TENTH),
            zero: Histogram::new(TAKEN_ZERO.min, TENTH),
            preamble: Histogram::new(0, 1),
        }
    }
}

impl Timing {
    /// Nothing has been counted yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Counts a half bit, if it is one.
    #[inline]
    pub fn half(&mut self, length: Ns) {
        match Half::taken(length) {
            Half::One => self.one.add(length),
            Half::Zero => self.zero.add(length),
            Half::Neither => {}
        }
    }

    /// Counts the preamble of a packet.
    pub fn preamble(&mut self, bits: u32) {
        self.preamble.add(bits.into());
    }

    /// Halves of 1 bits, in nanoseconds.
    pub fn one(&self) -> Option<Spread> {
        self.one.spread()
    }

    /// Halves of 0 bits, in nanoseconds.
    pub fn zero(&self) -> Option<Spread> {
        self.zero.spread()
    }

    /// Preambles, in bits.
    pub fn preambles(&self) -> Option<Spread> {
        self.preamble.spread()
    }
}
