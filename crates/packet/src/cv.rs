//! Access to configuration variables on the main: the long form, to accessory decoders.
//!
//! The short form that some old decoders take writes a variable with a single packet; there is no way to make one here.
//!
//! # Source
//! NMRA S-9.2.1 (July 2012), section C (long form) and section D (accessory decoder addresses for it).

use crate::accessory::{extended_second, first, high};
use crate::{BinaryAddress, Bytes};

/// The number of a configuration variable, 1 to 1024.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CvNumber(u16);

/// One of the eight bits of a variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BitIndex(u8);

/// What is done to a variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CvAction {
    /// The decoder compares its value with this one.
    Verify(u8),
    /// The decoder takes this value, once the packet has come twice.
    Write(u8),
    /// The decoder compares one bit.
    VerifyBit(BitIndex, bool),
    /// The decoder takes one bit, once the packet has come twice.
    WriteBit(BitIndex, bool),
}

/// Whose variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CvTarget {
    /// A whole board: the nine bits of its address.
    Board(Board),
    /// One of the eight outputs of a board.
    Output(Board, BitIndex),
    /// An extended accessory decoder.
    Extended(BinaryAddress),
}

/// The nine bits of a board's address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Board(u16);

/// Access to one variable of one accessory decoder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CvAccess {
    /// Whose.
    pub target: CvTarget,
    /// Which.
    pub cv: CvNumber,
    /// What is done.
    pub action: CvAction,
}

impl CvNumber {
    /// The highest number that ten bits hold.
    pub const MAX: u16 = 1024;
    /// From here on, numbers of accessory variables are those of older texts: 513 is 1.
    pub const OLD_FIRST: u16 = 513;

    /// The variable of this number; none outside 1 to 1024.
    pub const fn new(number: u16) -> Option<Self> {
        if number >= 1 && number <= Self::MAX { Some(Self(number)) } else { None }
    }

    /// Its number.
    pub const fn number(self) -> u16 {
        self.0
    }

    /// From the ten bits of a packet, which count from 0.
    pub(crate) fn from_bits(high: u8, low: u8) -> Self {
        Self((u16::from(high & 3) << 8 | u16::from(low)) + 1)
    }

    const fn bits(self) -> [u8; 2] {
        (self.0 - 1).to_be_bytes()
    }
}

impl BitIndex {
    /// Bit 0 to 7; none for other numbers.
    pub const fn new(bit: u8) -> Option<Self> {
        if bit <= 7 { Some(Self(bit)) } else { None }
    }

    pub(crate) const fn truncated(bit: u8) -> Self {
        Self(bit & 7)
    }

    /// Its number, 0 to 7.
    pub const fn number(self) -> u8 {
        self.0
    }
}

impl Board {
    /// The board of this number, 0 to 511; none for others.
    pub const fn new(board: u16) -> Option<Self> {
        if board <= 511 { Some(Self(board)) } else { None }
    }

    /// The board of an address.
    pub const fn of(address: BinaryAddress) -> Self {
        Self(address.board())
    }

    /// Its number, 0 to 511.
    pub const fn number(self) -> u16 {
        self.0
    }

    const fn address(self) -> BinaryAddress {
        BinaryAddress::truncated(self.0 << 2)
    }
}

impl CvAction {
    /// What is done, in words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Verify(_) => "verify byte",
            Self::Write(_) => "write byte",
            Self::VerifyBit(..) => "verify bit",
            Self::WriteBit(..) => "write bit",
        }
    }

    /// Whether it changes anything, so that the packet has to come twice.
    pub const fn writes(self) -> bool {
        match self {
            Self::Write(_) | Self::WriteBit(..) => true,
            Self::Verify(_) | Self::VerifyBit(..) => false,
        }
    }

    /// The two bits `CC` and the byte of data.
    const fn bits(self) -> (u8, u8) {
        match self {
            Self::Verify(value) => (0b01, value),
            Self::Write(value) => (0b11, value),
            Self::VerifyBit(index, value) => (0b10, 0b1110_0000 | (value as u8) << 3 | index.0),
            Self::WriteBit(index, value) => (0b10, 0b1111_0000 | (value as u8) << 3 | index.0),
        }
    }

    /// From the two bits `CC` and the byte of data; none where the standard keeps them back.
    pub(crate) fn from_bits(instruction: u8, data: u8) -> Option<Self> {
        let (index, value) = (BitIndex::truncated(data), data & 0b1000 != 0);
        match instruction & 3 {
            0b01 => Some(Self::Verify(data)),
            0b11 => Some(Self::Write(data)),
            0b10 if data >> 4 == 0b1110 => Some(Self::VerifyBit(index, value)),
            0b10 if data >> 4 == 0b1111 => Some(Self::WriteBit(index, value)),
            _ => None,
        }
    }
}

impl CvAccess {
    /// Its bytes, the error byte among them: `1110CCVV VVVVVVVV DDDDDDDD` behind the address of the decoder.
    pub const fn encode(self) -> Bytes {
        let [first, second] = self.target.bytes();
        let (instruction, data) = self.action.bits();
        let [high, low] = self.cv.bits();
        Bytes::five([first, second, 0b1110_0000 | instruction << 2 | high, low, data])
    }
}

impl CvTarget {
    const fn bytes(self) -> [u8; 2] {
        match self {
            Self::Board(board) => [first(board.address()), 0x80 | high(board.address())],
            Self::Output(board, output) => [first(board.address()), 0x88 | high(board.address()) | output.0],
            Self::Extended(address) => [first(address), extended_second(address)],
        }
    }

    /// From the first two bytes of a packet of six; none where the standard keeps them back.
    pub(crate) fn from_bytes(first: u8, second: u8) -> Option<Self> {
        let address = crate::accessory::address_in(first, second);
        match (second & 0x80 != 0, second & 0b1111) {
            (true, 0) => Some(Self::Board(Board::of(address))),
            (true, 8..) => Some(Self::Output(Board::of(address), BitIndex::truncated(second))),
            (false, low) if low & 0b1001 == 1 => Some(Self::Extended(address)),
            _ => None,
        }
    }

    /// The bits of its address; for a whole board those of its first output.
    pub const fn address(self) -> BinaryAddress {
        match self {
            Self::Board(board) => board.address(),
            Self::Output(board, output) => BinaryAddress::truncated(board.0 << 2 | (output.0 >> 1) as u16),
            Self::Extended(address) => address,
        }
    }
}
