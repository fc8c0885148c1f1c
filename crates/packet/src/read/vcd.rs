//! Value change dumps, word by word.
//!
//! # Source
//! IEEE 1364-2001, clause 18; from memory, and tried on files of two other programs in the tests.

use super::{ChannelName, Channels, Read, ReadFault};
use crate::Ns;

/// The longest word that is looked at; longer ones are values of wide buses, which no signal on rails is.
const WORD_MAX: usize = 64;

/// What the words up to the next `$end` are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Within {
    /// Changes.
    Nothing,
    /// Something that is passed over.
    Other,
    Timescale,
    /// A channel: so many of its words have come.
    Var(u8),
    /// The value of a bus has come; the word of its channel follows.
    Value(Option<bool>),
}

/// Takes a value change dump apart as it comes.
#[derive(Clone, Debug)]
pub struct VcdReader {
    channels: Channels,
    /// The words that stand for the channels.
    words: [u64; super::CHANNELS_MAX],
    /// For words of one letter: the channel, counted from 1.
    letters: [u8; 128],
    within: Within,
    /// The word of the channel that is being declared, while it has one bit.
    declared: Option<u64>,
    /// Nanoseconds of a step, over `per`.
    step: Ns,
    per: Ns,
    /// The number of the timescale, where it stands apart from its unit.
    number: Ns,
    at: Ns,
    row: u64,
    held: [u8; WORD_MAX],
    length: usize,
    long: bool,
}

impl Default for VcdReader {
    fn default() -> Self {
        Self {
            channels: Channels::new(),
            words: [0; super::CHANNELS_MAX],
            letters: [0; 128],
            within: Within::Nothing,
            declared: None,
            step: 1,
            per: 1,
            number: 1,
            at: 0,
            row: 1,
            held: [0; WORD_MAX],
            length: 0,
            long: false,
        }
    }
}

impl VcdReader {
    /// A reader at the beginning of a file.
    pub fn new() -> Self {
        Self::default()
    }

    /// The channels of one bit, as far as they have been declared.
    pub fn channels(&self) -> &[ChannelName] {
        self.channels.names()
    }

    /// The last moment that was named.
    pub const fn at(&self) -> Ns {
        self.at
    }

    /// How far a time may be off, since it is told in whole steps.
    pub fn resolution(&self) -> Ns {
        self.step / self.per
    }

    /// More of the file.
    pub fn feed(&mut self, text: &[u8], to: &mut impl FnMut(Read)) {
        let mut begun = 0;
        for (index, byte) in text.iter().enumerate() {
            if *byte > b' ' {
                continue;
            }
            let part = text.get(begun..index).unwrap_or_default();
            begun = index + 1;
            self.whole(part, to);
            self.row += u64::from(*byte == b'\n');
        }
        self.hold(text.get(begun..).unwrap_or_default());
    }

    /// The file is at its end.
    pub fn finish(&mut self, to: &mut impl FnMut(Read)) {
        self.whole(&[], to);
        if self.channels.count == 0 {
            self.fault(ReadFault::NoChannel, to);
        }
    }

    fn fault(&self, what: ReadFault, to: &mut impl FnMut(Read)) {
        to(Read::Fault { row: self.row, what });
    }

    /// Keeps the beginning of a word whose end has not come.
    fn hold(&mut self, part: &[u8]) {
        for byte in part {
            match self.held.get_mut(self.length) {
                Some(to) => {
                    *to = *byte;
                    self.length += 1;
                }
                None => self.long = true,
            }
        }
    }

    /// The end of a word has come.
    #[inline]
    fn whole(&mut self, part: &[u8], to: &mut impl FnMut(Read)) {
        if self.length == 0 && !self.long {
            if !part.is_empty() && part.len() <= WORD_MAX {
                self.word(part, to);
            } else if !part.is_empty() {
                self.too_long(to);
            }
            return;
        }
        self.hold(part);
        let (held, length, long) = (self.held, self.length, self.long);
        self.length = 0;
        self.long = false;
        if long {
            self.too_long(to);
        } else {
            self.word(held.get(..length).unwrap_or_default(), to);
        }
    }

    fn too_long(&mut self, to: &mut impl FnMut(Read)) {
        match self.within {
            Within::Nothing => {
                // The value of a wide bus: its channel follows.
                self.within = Within::Value(None);
            }
            Within::Value(_) => {
                self.within = Within::Nothing;
                self.fault(ReadFault::Long, to);
            }
            Within::Var(count) => self.within = Within::Var(count.saturating_add(1)),
            Within::Other | Within::Timescale => {}
        }
    }

    #[inline]
    fn word(&mut self, word: &[u8], to: &mut impl FnMut(Read)) {
        match (self.within, word) {
            (Within::Nothing, [b'#', digits @ ..]) => self.time(digits, to),
            (Within::Nothing, [value @ (b'0' | b'1'), id @ ..]) => self.value(id, *value == b'1', to),
            (Within::Nothing, [b'$', rest @ ..]) => self.keyword(rest),
            (Within::Nothing, [b'x' | b'X' | b'z' | b'Z', ..]) => {}
            (Within::Nothing, [b'b' | b'B', .., last]) => {
                self.within = Within::Value(match last {
                    b'0' => Some(false),
                    b'1' => Some(true),
                    _ => None,
                });
            }
            (Within::Nothing, [b'r' | b'R' | b's' | b'S', ..]) => self.within = Within::Value(None),
            (Within::Nothing, _) => self.fault(ReadFault::Word, to),
            (Within::Value(value), id) => {
                self.within = Within::Nothing;
                if let Some(level) = value {
                    self.value(id, level, to);
                }
            }
            (Within::Var(_) | Within::Other | Within::Timescale, b"$end") => self.within = Within::Nothing,
            (Within::Other, _) => {}
            (Within::Timescale, word) => self.timescale(word, to),
            (Within::Var(count), word) => self.declare(count, word, to),
        }
    }

    fn keyword(&mut self, word: &[u8]) {
        self.within = match word {
            b"timescale" => Within::Timescale,
            b"var" => Within::Var(0),
            // What stands in these is read as changes, and `$end` is passed over.
            b"dumpvars" | b"dumpall" | b"dumpon" | b"dumpoff" | b"end" => Within::Nothing,
            _ => Within::Other,
        };
    }

    fn time(&mut self, digits: &[u8], to: &mut impl FnMut(Read)) {
        let mut steps: Ns = 0;
        for byte in digits {
            if !byte.is_ascii_digit() {
                return self.fault(ReadFault::Word, to);
            }
            steps = steps.saturating_mul(10).saturating_add(Ns::from(byte - b'0'));
        }
        let at = if self.per == 1 {
            steps.saturating_mul(self.step)
        } else {
            steps.saturating_mul(self.step).saturating_add(self.per / 2) / self.per
        };
        if digits.is_empty() {
            self.fault(ReadFault::Word, to);
        } else if at < self.at {
            self.fault(ReadFault::TimeBack, to);
        } else {
            self.at = at;
        }
    }

    #[inline]
    fn value(&mut self, id: &[u8], level: bool, to: &mut impl FnMut(Read)) {
        let channel = match *id {
            [letter @ ..128] => match self.letters.get(usize::from(letter)) {
                Some(0) | None => return,
                Some(channel) => usize::from(channel - 1),
            },
            _ => {
                let Some(key) = key(id) else { return };
                let known = self.words.iter().take(self.channels.count);
                let Some(channel) = known.clone().position(|word| *word == key) else { return };
                channel
            }
        };
        self.channels.set(self.at, channel, level, to);
    }

    /// The words of a declaration: kind, size, the word that stands for it, name.
    fn declare(&mut self, count: u8, word: &[u8], to: &mut impl FnMut(Read)) {
        self.within = Within::Var(count.saturating_add(1));
        match count {
            0 => self.declared = if word == b"real" { None } else { Some(0) },
            1 if word != b"1" => self.declared = None,
            2 if self.declared.is_some() => self.declared = key(word),
            3 => {
                let Some(key) = self.declared.take() else { return };
                if self.words.iter().take(self.channels.count).any(|word| *word == key) {
                    // The same signal seen from another scope.
                    return;
                }
                let Some(channel) = self.channels.add(word) else {
                    return self.fault(ReadFault::ManyChannels, to);
                };
                if let Some(held) = self.words.get_mut(channel) {
                    *held = key;
                }
                if let (Ok(letter), Ok(number)) = (usize::try_from(key), u8::try_from(channel + 1))
                    && let Some(held) = self.letters.get_mut(letter)
                {
                    *held = number;
                }
            }
            _ => {}
        }
    }

    fn timescale(&mut self, word: &[u8], to: &mut impl FnMut(Read)) {
        let digits = word.iter().take_while(|byte| byte.is_ascii_digit()).count();
        let (number, unit) = word.split_at(digits);
        match number {
            [] => {}
            b"1" => self.number = 1,
            b"10" => self.number = 10,
            b"100" => self.number = 100,
            _ => self.fault(ReadFault::Word, to),
        }
        let (step, per) = match unit {
            b"" => return,
            b"s" => (1_000_000_000, 1),
            b"ms" => (1_000_000, 1),
            b"us" => (1_000, 1),
            b"ns" => (1, 1),
            b"ps" => (1, 1_000),
            b"fs" => (1, 1_000_000),
            _ => return self.fault(ReadFault::Word, to),
        };
        self.step = step * self.number;
        self.per = per;
    }
}

/// A word of up to eight letters as a number; one letter is its own.
fn key(word: &[u8]) -> Option<u64> {
    if word.is_empty() || word.len() > 8 {
        return None;
    }
    Some(word.iter().fold(0, |key, byte| key << 8 | u64::from(*byte)))
}
