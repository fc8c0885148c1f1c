//! Captures as text, taken apart as they come: nothing is kept but the last level of each channel, so a file of any length
//! is read in the same space.

mod csv;
mod number;
mod vcd;

pub use csv::{CsvReader, TimeUnit};
pub use vcd::VcdReader;

use crate::Ns;

/// The most channels of one capture.
pub const CHANNELS_MAX: usize = 64;

/// A channel takes a level. The first of a channel says what it begins with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// When.
    pub at: Ns,
    /// Which channel, counted from 0.
    pub channel: usize,
    /// High.
    pub level: bool,
}

/// What cannot be read of a capture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadFault {
    /// No column holds times.
    NoTime,
    /// No channel is named.
    NoChannel,
    /// More channels than are read; the rest are left out.
    ManyChannels,
    /// Time goes backward.
    TimeBack,
    /// A time, level or word that makes no sense here.
    Word,
    /// A row or word that is too long.
    Long,
}

/// What a reader hands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Read {
    /// A channel takes a level.
    Change(Change),
    /// Something cannot be read; reading goes on behind it.
    Fault {
        /// The row it stands in, counted from 1.
        row: u64,
        /// What.
        what: ReadFault,
    },
}

/// The name of a channel, cut off where it is long.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChannelName {
    held: [u8; Self::MAX],
    length: u8,
}

impl ChannelName {
    const MAX: usize = 40;
    const NONE: Self = Self { held: [0; Self::MAX], length: 0 };

    fn new(name: &[u8]) -> Self {
        let mut held = [0; Self::MAX];
        let mut length = 0;
        for (to, from) in held.iter_mut().zip(name) {
            *to = *from;
            length += 1;
        }
        Self { held, length }
    }

    /// The name; what is no text in it is left out.
    pub fn as_str(&self) -> &str {
        let bytes = self.held.get(..usize::from(self.length)).unwrap_or_default();
        match core::str::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => {
                let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
                core::str::from_utf8(good).unwrap_or_default()
            }
        }
    }
}

/// The channels of a capture and the level each has.
#[derive(Clone, Debug)]
struct Channels {
    names: [ChannelName; CHANNELS_MAX],
    levels: [Option<bool>; CHANNELS_MAX],
    count: usize,
}

impl Channels {
    const fn new() -> Self {
        Self { names: [ChannelName::NONE; CHANNELS_MAX], levels: [None; CHANNELS_MAX], count: 0 }
    }

    /// Adds a channel; none where there are too many.
    fn add(&mut self, name: &[u8]) -> Option<usize> {
        *self.names.get_mut(self.count)? = ChannelName::new(name);
        self.count += 1;
        Some(self.count - 1)
    }

    fn names(&self) -> &[ChannelName] {
        self.names.get(..self.count).unwrap_or_default()
    }

    /// Hands a level on where it is another than before.
    #[inline]
    fn set(&mut self, at: Ns, channel: usize, level: bool, to: &mut impl FnMut(Read)) {
        if let Some(held) = self.levels.get_mut(channel)
            && *held != Some(level)
        {
            *held = Some(level);
            to(Read::Change(Change { at, channel, level }));
        }
    }
}
