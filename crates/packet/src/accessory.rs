//! What accessory packets say: one of a pair of outputs, or an aspect.

use crate::{BinaryAddress, Bytes};

/// One of the two positions of a machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Position {
    /// For the route along the main.
    Normal,
    /// The other.
    Reverse,
}

impl Position {
    /// The trade's word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Reverse => "reverse",
        }
    }
}

/// Bit 0 of the second byte of a basic accessory packet: which of a pair of outputs is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    /// The bit is 0.
    Zero,
    /// The bit is 1.
    One,
}

/// Which value of the direction bit is the normal position. The packet standard leaves it open, so the user chooses.
///
/// # Source
/// LCC TN-9.7.0.4 (July 2024), section 2.5.3.3, prints "1 (normal)" beside bit 1. NMRA S-9.2.1 (July 2012), section D,
/// says only that the bit tells the two outputs of a pair apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NormalIs {
    /// Bit 1 is normal.
    #[default]
    One,
    /// Bit 0 is normal.
    Zero,
}

impl Direction {
    /// The bit itself.
    pub const fn bit(self) -> u8 {
        match self {
            Self::Zero => 0,
            Self::One => 1,
        }
    }

    /// The direction of a bit.
    pub const fn of_bit(bit: bool) -> Self {
        if bit { Self::One } else { Self::Zero }
    }

    /// The bit that stands for a position.
    pub const fn of(position: Position, normal: NormalIs) -> Self {
        match (position, normal) {
            (Position::Normal, NormalIs::One) | (Position::Reverse, NormalIs::Zero) => Self::One,
            (Position::Reverse, NormalIs::One) | (Position::Normal, NormalIs::Zero) => Self::Zero,
        }
    }

    /// The position that the bit stands for.
    pub const fn position(self, normal: NormalIs) -> Position {
        match (self, normal) {
            (Self::One, NormalIs::One) | (Self::Zero, NormalIs::Zero) => Position::Normal,
            (Self::Zero, NormalIs::One) | (Self::One, NormalIs::Zero) => Position::Reverse,
        }
    }
}

/// What a basic accessory packet says.
///
/// # Source
/// NMRA S-9.2.1 (July 2012), section D: `10AAAAAA 1AAACDDD`. The high three address bits are turned over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Basic {
    /// The board and the pair of outputs.
    pub address: BinaryAddress,
    /// Which output of the pair.
    pub direction: Direction,
    /// Whether it is switched on; off is seldom needed, since decoders time their outputs.
    pub active: bool,
}

impl Basic {
    /// Switches on the output of a pair that throws a machine to this position.
    pub const fn throw(address: BinaryAddress, position: Position, normal: NormalIs) -> Self {
        Self { address, direction: Direction::of(position, normal), active: true }
    }

    /// Its bytes, the error byte among them.
    ///
    /// # Example
    /// ```
    /// use packet::{Basic, NormalIs, Position, Scheme, UserAddress};
    /// let first = UserAddress::new(1).unwrap().binary(Scheme::Linear);
    /// let packet = Basic::throw(first, Position::Normal, NormalIs::One);
    /// assert_eq!(packet.encode().as_slice(), [0x81, 0xF9, 0x78]);
    /// ```
    pub const fn encode(self) -> Bytes {
        let active = if self.active { 0b1000 } else { 0 };
        Bytes::two([
            first(self.address),
            0x80 | high(self.address) | active | pair(self.address) | self.direction.bit(),
        ])
    }
}

/// What an extended accessory packet says: an aspect, for a signal or anything with more than two states.
///
/// # Source
/// NMRA S-9.2.1 (July 2012), section D: `10AAAAAA 0AAA0AA1 000XXXXX`, five bits of aspect. LCC TN-9.7.0.4 (July 2024)
/// and NEM 672 (2015) use all eight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Extended {
    /// Whom it is for.
    pub address: BinaryAddress,
    /// The aspect; 0 is the absolute stop.
    pub aspect: u8,
}

impl Extended {
    /// The highest aspect that the five bits of S-9.2.1 hold.
    pub const FIVE_BITS_MAX: u8 = 31;

    /// Its bytes, the error byte among them.
    pub const fn encode(self) -> Bytes {
        Bytes::three([first(self.address), extended_second(self.address), self.aspect])
    }
}

// Every cast below is of a value masked to fit, and `try_from` cannot be called in a constant function.

/// `10AAAAAA`: the low six bits of the board.
#[allow(clippy::cast_possible_truncation, reason = "masked to six bits")]
pub(crate) const fn first(address: BinaryAddress) -> u8 {
    0x80 | (address.board() & 0x3F) as u8
}

/// `_AAA____`: the high three bits of the board, turned over.
#[allow(clippy::cast_possible_truncation, reason = "a board has nine bits")]
pub(crate) const fn high(address: BinaryAddress) -> u8 {
    ((!(address.board() >> 6) & 7) as u8) << 4
}

/// `_____DD_`: the pair of outputs.
#[allow(clippy::cast_possible_truncation, reason = "an output has two bits")]
const fn pair(address: BinaryAddress) -> u8 {
    (address.output() as u8) << 1
}

/// `0AAA0AA1`.
pub(crate) const fn extended_second(address: BinaryAddress) -> u8 {
    high(address) | pair(address) | 1
}

/// The address in the first two bytes of any accessory packet.
pub(crate) fn address_in(first: u8, second: u8) -> BinaryAddress {
    let board = u16::from(first & 0x3F) | (u16::from(!second & 0x70) << 2);
    BinaryAddress::truncated((board << 2) | u16::from((second >> 1) & 3))
}
