//! From the moments at which a signal changes to packets, with the tolerances of a decoder; knows no files.
//!
//! A half bit that a decoder need not take breaks the packet it stands in, and so do two halves of unlike kinds; the next
//! preamble of ten 1 bits begins anew. Which half is the first of a bit is told by the start bit, the first 0 behind a
//! preamble, so a signal may begin anywhere and have either polarity.
//!
//! The 1 bits of a preamble are those behind the end bit of a packet, whatever its error byte says: the standard ends a packet by its form.
//! What has fewer or more bytes than a packet is none. Nor is what holds a whole packet beside one false bit: begun at a false start bit,
//! or gone on past a false end bit into the next preamble. Then every 1 bit since the last 0 counts. The end bit may count as one of the next preamble (footnote 3): that is left to a station
//! that sends only 13 more, and is not needed to take a packet.
//!
//! # Source
//! NMRA S-9.1 (7 March 2020), section A, table 1; NMRA S-9.2 (July 2004), sections A and C and footnote 3.

mod false_bit;

use crate::wave::{
    Half, Ns, SENT_ONE, SENT_ONE_DIFFERENCE, SENT_ZERO, SENT_ZERO_TOTAL, TAKEN_ONE, TAKEN_PREAMBLE,
};
use crate::{Bytes, Preamble};
use false_bit::ran_past_its_packet;

/// How long after a packet the signal may be cut out for decoders to answer.
///
/// # Source
/// RCN-217: the cutout begins behind the end bit of a packet. Its length, 488 µs at most, is from memory; half a bit is
/// added for the edge at its end.
pub const CUTOUT: Ns = 600_000;

/// The most bytes that something which begins like a packet is followed for.
///
/// # Source
/// RCN-211, from memory; NMRA S-9.2.1 (July 2012) ends packets at 6.
pub const LONG_MAX: u8 = 15;

/// A packet as it was received.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Received {
    /// When its start bit began.
    pub start_bit: Ns,
    /// When its end bit ended.
    pub ended: Ns,
    /// How many whole 1 bits came before it; the end bit of the packet before is not among them.
    pub preamble: u32,
    /// Its bytes; the error byte may be wrong.
    pub bytes: Bytes,
    /// Whether the level was high in the first half of its start bit.
    pub first_half_high: bool,
    /// How many of its halves, or pairs of halves, a station may not send so.
    pub uneven: u32,
    /// The length of the worst of them.
    pub worst: Ns,
}

/// What is wrong with a signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignalFault {
    /// A half bit that a decoder need not take.
    BadHalf {
        /// How long it lasts.
        length: Ns,
    },
    /// The two halves of a bit are of unlike kinds.
    UnlikeHalves {
        /// How long the first lasts.
        first: Ns,
        /// How long the second lasts.
        second: Ns,
    },
    /// Too few 1 bits before a packet for a decoder to take it.
    ShortPreamble {
        /// How many.
        bits: u32,
    },
    /// Enough 1 bits for a decoder, but fewer than a station must send.
    LowPreamble {
        /// How many.
        bits: u32,
    },
    /// The packet ends after fewer bytes than any packet has.
    FewBytes {
        /// How many.
        count: u8,
    },
    /// The packet has more bytes than S-9.2.1 (July 2012) knows. Newer texts have longer ones, which are left out here.
    ManyBytes {
        /// How many; one more than [`LONG_MAX`] where it goes on.
        count: u8,
        /// Whether its error byte is right, so that it was meant so.
        checksum_ok: bool,
    },
    /// The signal ends in the middle of a packet.
    Cut,
}

/// Something that was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A whole packet.
    Packet(Received),
    /// Something wrong.
    Fault {
        /// When it began.
        at: Ns,
        /// What.
        what: SignalFault,
    },
}

#[derive(Clone, Copy, Debug)]
enum State {
    /// Between packets, or lost.
    Ones,
    /// The first half of a start bit has come.
    Start { preamble: u32, first: Ns },
    /// In a packet, between bits.
    Bit,
    /// In a packet, the first half of a bit has come.
    HalfBit { first: Ns, kind: Half },
}

/// Reads a signal edge by edge.
///
/// # Example
/// ```
/// use packet::{Bits, Event, Packet, Preamble, Receiver, Wave};
/// let mut receiver = Receiver::new(1_000);
/// let (mut at, mut level, mut heard) = (0, false, 0);
/// let mut hear = |event| heard += usize::from(matches!(event, Event::Packet(packet) if packet.bytes.checksum_ok()));
/// receiver.edge(at, level, &mut hear);
/// for half in Bits::new(Packet::Idle.encode(), Preamble::STANDARD).flat_map(|bit| Wave::NOMINAL.halves(bit)) {
///     at += half;
///     level = !level;
///     receiver.edge(at, level, &mut hear);
/// }
/// assert_eq!(heard, 1);
/// ```
#[derive(Clone, Debug)]
pub struct Receiver {
    /// How far a time may be off because of how it was sampled.
    resolution: Ns,
    state: State,
    /// When the half that is running began.
    began: Option<Ns>,
    /// Whole 1 bits so far, in either way of pairing halves.
    ones: [u32; 2],
    /// Which of the two ways ends with the next half.
    pairing: usize,
    /// Whether the half before was half of a 1.
    one_before: bool,
    /// 1 bits in a row up to the last bit of a packet.
    run: u32,
    /// When the last packet ended, while nothing has gone wrong since.
    after_packet: Option<Ns>,
    /// Whether the signal was cut out since the last packet, which takes some 1 bits away.
    cut_out: bool,
    start_bit: Ns,
    preamble: u32,
    /// How many a station has to send before it.
    least: u32,
    first_half_high: bool,
    /// When the bit that is running began.
    bit_began: Ns,
    byte: u8,
    bits_of_byte: u8,
    held: [u8; Bytes::MAX],
    count: u8,
    /// The exclusive or of all bytes, those that are not held among them.
    sum: u8,
    uneven: u32,
    worst: Ns,
}

impl Receiver {
    /// A receiver at the beginning of a signal whose times are exact to this.
    pub const fn new(resolution: Ns) -> Self {
        Self {
            resolution,
            state: State::Ones,
            began: None,
            ones: [0; 2],
            pairing: 0,
            one_before: false,
            run: 0,
            after_packet: None,
            cut_out: false,
            start_bit: 0,
            preamble: 0,
            least: 0,
            first_half_high: false,
            bit_began: 0,
            byte: 0,
            bits_of_byte: 0,
            held: [0; Bytes::MAX],
            count: 0,
            sum: 0,
            uneven: 0,
            worst: 0,
        }
    }

    /// The signal changes to this level at this moment. The first call only says when the signal began.
    #[inline]
    pub fn edge(&mut self, at: Ns, level: bool, to: &mut impl FnMut(Event)) {
        if let Some(began) = self.began {
            self.half(began, at.saturating_sub(began), !level, to);
        }
        self.began = Some(at);
    }

    /// The signal was looked at until this moment, and did not change again.
    pub fn finish(&mut self, end: Ns, to: &mut impl FnMut(Event)) {
        let (Some(began), false) = (self.began, matches!(self.state, State::Ones)) else { return };
        let lasts = end.saturating_sub(began);
        // The second half of an end bit has no edge at its end where the signal stops there.
        let at_end = matches!(self.state, State::HalfBit { kind: Half::One, .. }) && self.bits_of_byte == 8;
        if at_end && lasts >= TAKEN_ONE.min {
            self.half(began, lasts.min(TAKEN_ONE.max), false, to);
        } else {
            to(Event::Fault { at: self.start_bit, what: SignalFault::Cut });
        }
        self.state = State::Ones;
    }

    /// A half bit.
    #[inline]
    fn half(&mut self, began: Ns, length: Ns, high: bool, to: &mut impl FnMut(Event)) {
        let kind = Half::taken(length);
        self.pairing ^= 1;
        match (self.state, kind) {
            (State::Ones, Half::One) => self.one(length),
            (State::Ones, _) => self.no_one(began, length, kind, high, to),
            (State::Bit, Half::One | Half::Zero) => {
                self.bit_began = began;
                self.state = State::HalfBit { first: length, kind };
            }
            (State::Start { preamble, first }, Half::Zero) => {
                self.uneven_zero(first, length);
                self.begin(preamble);
            }
            (State::HalfBit { first, kind: before }, _) if before == kind => {
                if kind == Half::One {
                    self.uneven_one(first, length);
                } else {
                    self.uneven_zero(first, length);
                }
                self.bit(kind == Half::One, began + length, to);
            }
            (State::Bit | State::Start { .. } | State::HalfBit { .. }, Half::Neither) => {
                self.lost(began, SignalFault::BadHalf { length }, length, kind, to);
            }
            (State::Start { first, .. } | State::HalfBit { first, .. }, Half::One | Half::Zero) => {
                let what = SignalFault::UnlikeHalves { first, second: length };
                self.lost(self.bit_began, what, length, kind, to);
            }
        }
    }

    /// Half of a 1 outside a packet.
    #[inline]
    fn one(&mut self, length: Ns) {
        if self.one_before {
            self.ones[self.pairing] += 1;
        }
        self.one_before = true;
        self.uneven_half(length, SENT_ONE.min, SENT_ONE.max);
    }

    /// Any other half outside a packet: a start bit, if enough whole 1 bits end right before it.
    fn no_one(&mut self, began: Ns, length: Ns, kind: Half, high: bool, to: &mut impl FnMut(Event)) {
        let bits = self.ones[self.pairing ^ 1];
        self.ones = [0; 2];
        self.one_before = false;
        if kind == Half::Zero && bits >= TAKEN_PREAMBLE {
            let standard = u32::from(Preamble::STANDARD.bits());
            self.least = match self.after_packet {
                Some(_) if self.cut_out => 0,
                Some(_) => standard - 1,
                None => standard,
            };
            self.bit_began = began;
            self.start_bit = began;
            self.first_half_high = high;
            self.state = State::Start { preamble: bits, first: length };
            return;
        }
        self.uneven = 0;
        self.worst = 0;
        let Some(ended) = self.after_packet else { return };
        if began.saturating_add(length) <= ended.saturating_add(CUTOUT) {
            self.cut_out = true;
            return;
        }
        self.after_packet = None;
        let what = match kind {
            Half::Zero => SignalFault::ShortPreamble { bits },
            Half::One | Half::Neither => SignalFault::BadHalf { length },
        };
        to(Event::Fault { at: began, what });
    }

    fn begin(&mut self, preamble: u32) {
        self.preamble = preamble;
        self.state = State::Bit;
        self.run = 0;
        self.byte = 0;
        self.bits_of_byte = 0;
        self.count = 0;
        self.sum = 0;
    }

    /// Gives the packet up; the half that broke it may begin what comes next.
    fn lost(&mut self, at: Ns, what: SignalFault, length: Ns, kind: Half, to: &mut impl FnMut(Event)) {
        to(Event::Fault { at, what });
        self.rest();
        if kind == Half::One {
            self.one(length);
        }
    }

    fn rest(&mut self) {
        self.state = State::Ones;
        self.after_packet = None;
        self.cut_out = false;
        self.ones = [0; 2];
        self.one_before = false;
        self.uneven = 0;
        self.worst = 0;
    }

    /// A whole bit in a packet.
    #[inline]
    fn bit(&mut self, one: bool, ended: Ns, to: &mut impl FnMut(Event)) {
        self.state = State::Bit;
        self.run = if one { self.run + 1 } else { 0 };
        if self.bits_of_byte < 8 {
            self.byte = self.byte << 1 | u8::from(one);
            self.bits_of_byte += 1;
            return;
        }
        if let Some(held) = self.held.get_mut(usize::from(self.count)) {
            *held = self.byte;
        }
        self.count += 1;
        self.sum ^= self.byte;
        self.bits_of_byte = 0;
        if one {
            self.end(ended, to);
        } else if self.count >= LONG_MAX {
            let what = SignalFault::ManyBytes { count: LONG_MAX + 1, checksum_ok: false };
            to(Event::Fault { at: self.start_bit, what });
            self.rest();
        }
    }

    /// Why what has ended is no packet.
    fn unlike_a_packet(&self) -> SignalFault {
        if usize::from(self.count) < Bytes::MIN {
            SignalFault::FewBytes { count: self.count }
        } else {
            SignalFault::ManyBytes { count: self.count, checksum_ok: self.sum == 0 }
        }
    }

    /// The end bit has come.
    fn end(&mut self, ended: Ns, to: &mut impl FnMut(Event)) {
        let bytes = self.held.get(..usize::from(self.count)).and_then(Bytes::received);
        let (uneven, worst, preamble) = (self.uneven, self.worst, self.preamble);
        let short = preamble < self.least;
        self.rest();
        if bytes.is_none_or(ran_past_its_packet) {
            self.ones[self.pairing] = self.run;
            self.one_before = true;
        }
        let Some(bytes) = bytes else {
            to(Event::Fault { at: self.start_bit, what: self.unlike_a_packet() });
            return;
        };
        self.after_packet = Some(ended);
        if short {
            to(Event::Fault { at: self.start_bit, what: SignalFault::LowPreamble { bits: preamble } });
        }
        to(Event::Packet(Received {
            start_bit: self.start_bit,
            ended,
            preamble,
            bytes,
            first_half_high: self.first_half_high,
            uneven,
            worst,
        }));
    }

    /// Counts a half that a station may not send so, though a decoder takes it.
    #[inline]
    fn uneven_half(&mut self, length: Ns, least: Ns, most: Ns) {
        let over = length.saturating_sub(most + self.resolution);
        let under = least.saturating_sub(length + self.resolution);
        if over.max(under) > 0 {
            self.note_uneven(length);
        }
    }

    fn note_uneven(&mut self, length: Ns) {
        self.uneven += 1;
        if length.abs_diff(SENT_ONE.min) >= self.worst.abs_diff(SENT_ONE.min) {
            self.worst = length;
        }
    }

    #[inline]
    fn uneven_one(&mut self, first: Ns, second: Ns) {
        self.uneven_half(first, SENT_ONE.min, SENT_ONE.max);
        self.uneven_half(second, SENT_ONE.min, SENT_ONE.max);
        if first.abs_diff(second) > SENT_ONE_DIFFERENCE + 2 * self.resolution {
            self.note_uneven(first.max(second));
        }
    }

    #[inline]
    fn uneven_zero(&mut self, first: Ns, second: Ns) {
        self.uneven_half(first, SENT_ZERO.min, SENT_ZERO.max);
        self.uneven_half(second, SENT_ZERO.min, SENT_ZERO.max);
        if first + second > SENT_ZERO_TOTAL + 2 * self.resolution {
            self.note_uneven(first.max(second));
        }
    }
}
