//! Bits on the rails: how long each half lasts, and what a station may send and a decoder must take.
//!
//! # Units
//! Times are whole nanoseconds.
//!
//! # Source
//! NMRA S-9.1 (7 March 2020), section A, table 1; NMRA S-9.2 (July 2004), section A.

use crate::Bytes;

/// A span of time or a moment, in nanoseconds.
pub type Ns = u64;

const US: Ns = 1_000;

/// A range of lengths, both ends in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// The shortest.
    pub min: Ns,
    /// The longest.
    pub max: Ns,
}

impl Limits {
    /// Whether a length is within.
    pub const fn hold(self, length: Ns) -> bool {
        length >= self.min && length <= self.max
    }
}

/// Half of a 1, as a station sends it.
pub const SENT_ONE: Limits = Limits { min: 55 * US, max: 61 * US };
/// Half of a 1, as a decoder must take it.
pub const TAKEN_ONE: Limits = Limits { min: 52 * US, max: 64 * US };
/// How far the two halves of a 1 may differ when sent.
pub const SENT_ONE_DIFFERENCE: Ns = 3 * US;
/// How far the two halves of a 1 may differ where a decoder must take it.
pub const TAKEN_ONE_DIFFERENCE: Ns = 6 * US;
/// Half of a 0, as a station sends it; the longer ones are stretched.
pub const SENT_ZERO: Limits = Limits { min: 95 * US, max: 9_900 * US };
/// Half of a 0, as a decoder must take it.
pub const TAKEN_ZERO: Limits = Limits { min: 90 * US, max: 10_000 * US };
/// The most that a whole 0 lasts when sent.
pub const SENT_ZERO_TOTAL: Ns = 12_000 * US;
/// A half of a 1 where nothing else is asked for.
pub const NOMINAL_ONE: Ns = 58 * US;
/// A half of a 0 where nothing else is asked for.
pub const NOMINAL_ZERO: Ns = 100 * US;
/// The least time from the end bit of a packet to the start bit of the next to the same decoder.
///
/// # Source
/// NMRA S-9.2 (July 2004), section C.
pub const SPACING: Ns = 5_000 * US;
/// The 1 bits before a packet that a decoder must not take fewer of.
pub const TAKEN_PREAMBLE: u32 = 10;

/// What a half bit is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Half {
    /// A 1.
    One,
    /// A 0.
    Zero,
    /// No bit that a decoder must take.
    Neither,
}

impl Half {
    /// What a decoder must take a half bit of this length for.
    #[inline]
    pub const fn taken(length: Ns) -> Self {
        if TAKEN_ONE.hold(length) {
            Self::One
        } else if TAKEN_ZERO.hold(length) {
            Self::Zero
        } else {
            Self::Neither
        }
    }

    /// What a station may send a half bit of this length as.
    pub const fn sent(length: Ns) -> Self {
        if SENT_ONE.hold(length) {
            Self::One
        } else if SENT_ZERO.hold(length) {
            Self::Zero
        } else {
            Self::Neither
        }
    }
}

/// How many 1 bits are sent before a packet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Preamble(u8);

impl Preamble {
    /// The fewest that a station may send.
    pub const STANDARD: Self = Self(14);
    /// Room for the cutout in which decoders answer.
    ///
    /// # Source
    /// RCN-211, from memory.
    pub const CUTOUT: Self = Self(17);
    /// The most that can be asked for.
    pub const MAX: u8 = 64;

    /// This many; none below 14, which a station must not send.
    pub const fn new(bits: u8) -> Option<Self> {
        if bits >= Self::STANDARD.0 && bits <= Self::MAX { Some(Self(bits)) } else { None }
    }

    /// How many.
    pub const fn bits(self) -> u8 {
        self.0
    }
}

/// How long the two halves of each bit last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wave {
    one: [Ns; 2],
    zero: [Ns; 2],
}

/// Why halves may not be sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaveFault {
    /// A half of a 1 is too short or too long.
    One,
    /// The two halves of a 1 differ too much.
    OneDifference,
    /// A half of a 0 is too short or too long.
    Zero,
    /// A 0 lasts too long.
    ZeroTotal,
}

impl Wave {
    /// 58 µs and 100 µs.
    pub const NOMINAL: Self = Self { one: [NOMINAL_ONE; 2], zero: [NOMINAL_ZERO; 2] };

    /// Halves of these lengths, if a station may send them.
    pub const fn new(one: [Ns; 2], zero: [Ns; 2]) -> Result<Self, WaveFault> {
        if !SENT_ONE.hold(one[0]) || !SENT_ONE.hold(one[1]) {
            return Err(WaveFault::One);
        }
        if one[0].abs_diff(one[1]) > SENT_ONE_DIFFERENCE {
            return Err(WaveFault::OneDifference);
        }
        if !SENT_ZERO.hold(zero[0]) || !SENT_ZERO.hold(zero[1]) {
            return Err(WaveFault::Zero);
        }
        if zero[0] + zero[1] > SENT_ZERO_TOTAL {
            return Err(WaveFault::ZeroTotal);
        }
        Ok(Self { one, zero })
    }

    /// The halves of one bit.
    pub const fn halves(self, bit: bool) -> [Ns; 2] {
        if bit { self.one } else { self.zero }
    }

    const fn length(self, bit: bool) -> Ns {
        let [first, second] = self.halves(bit);
        first + second
    }

    /// How long the preamble lasts.
    pub const fn preamble(self, preamble: Preamble) -> Ns {
        preamble.0 as Ns * self.length(true)
    }

    /// How long a packet lasts, from its first preamble bit to the end of its end bit.
    pub fn duration(self, bytes: &Bytes, preamble: Preamble) -> Ns {
        Bits::new(*bytes, preamble).map(|bit| self.length(bit)).sum()
    }
}

/// The bits of a packet in the order they are sent: the preamble, a 0 and eight bits for each byte, a 1.
#[derive(Clone, Debug)]
pub struct Bits {
    bytes: Bytes,
    preamble: u8,
    at: usize,
}

impl Bits {
    /// The bits of a packet.
    pub const fn new(bytes: Bytes, preamble: Preamble) -> Self {
        Self { bytes, preamble: preamble.0, at: 0 }
    }
}

impl Iterator for Bits {
    type Item = bool;

    fn next(&mut self) -> Option<bool> {
        let behind = self.at.checked_sub(usize::from(self.preamble));
        let bytes = self.bytes.as_slice();
        let bit = match behind.map(|behind| (behind / 9, behind % 9)) {
            None => true,
            Some((byte, place)) => match (bytes.get(byte), place) {
                (Some(_), 0) => false,
                (Some(byte), place) => byte >> (8 - place) & 1 == 1,
                (None, 0) if byte == bytes.len() => true,
                (None, _) => return None,
            },
        };
        self.at += 1;
        Some(bit)
    }
}
