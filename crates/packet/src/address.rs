//! Accessory addresses: the number a user counts, the board and output it stands for, and the eleven bits that go into
//! a packet.
//!
//! Three ways of counting are met with. They differ in which binary address a user number means:
//!
//! | scheme | binary address of user number u |
//! |---|---|
//! | linear | (u + 3) mod 2048: user 1 is board 1, output 1 |
//! | zero-based | u − 1: user 1 is board 0, output 1 |
//! | blocks of 256 | as linear, but the last four of every 256 wrap to the start of their block |
//!
//! # Source
//! NMRA S-9.2.1 (July 2012), section D, basic accessory decoder packet: nine address bits and two bits that choose one
//! of four outputs. User numbering: LCC TN-9.7.0.4 (July 2024), section 2.5.3.3.

/// The board address that every accessory decoder answers.
pub const BROADCAST_BOARD: u16 = 511;

/// An accessory address as users count it, from 1 to 2048.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct UserAddress(u16);

/// How user numbers count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scheme {
    /// User 1 is board 1, output 1.
    #[default]
    Linear,
    /// User 1 is board 0, output 1.
    ZeroBased,
    /// As linear, but the last four of every 256 wrap to the start of their block.
    BlocksOf256,
}

impl Scheme {
    /// All of them, the usual one first.
    pub const ALL: [Self; 3] = [Self::Linear, Self::ZeroBased, Self::BlocksOf256];

    /// The word for it, as the user writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Linear => "linear",
            Self::ZeroBased => "zero-based",
            Self::BlocksOf256 => "blocks-of-256",
        }
    }
}

/// The eleven address bits of an accessory packet: nine of the board, two of the output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BinaryAddress(u16);

impl UserAddress {
    /// The highest number that eleven bits hold.
    pub const MAX: u16 = 2048;
    /// The address of the highest number.
    pub const LAST: Self = Self(Self::MAX);
    /// The highest number that no system mistakes for the broadcast or a wrapped board.
    pub const SAFE_MAX: u16 = 2040;

    /// The address of this number; none outside 1 to 2048.
    pub const fn new(number: u16) -> Option<Self> {
        if number >= 1 && number <= Self::MAX { Some(Self(number)) } else { None }
    }

    /// The number users say.
    pub const fn number(self) -> u16 {
        self.0
    }

    /// The board it belongs to, as users count boards: 1 for the addresses 1 to 4.
    ///
    /// # Example
    /// ```
    /// use packet::UserAddress;
    /// let address = UserAddress::new(5).unwrap();
    /// assert_eq!((address.board(), address.output()), (2, 1));
    /// ```
    pub const fn board(self) -> u16 {
        (self.0 - 1) / 4 + 1
    }

    /// The output of that board, from 1 to 4.
    pub const fn output(self) -> u16 {
        (self.0 - 1) % 4 + 1
    }

    /// The bits that a packet carries for it.
    pub const fn binary(self, scheme: Scheme) -> BinaryAddress {
        BinaryAddress(match scheme {
            Scheme::Linear => (self.0 + 3) % 2048,
            Scheme::ZeroBased => self.0 - 1,
            Scheme::BlocksOf256 => ((self.0 - 1) & 0x700) | ((self.0 + 3) & 0xFF),
        })
    }
}

/// The highest user number that a railroad uses: texts differ, so the user chooses.
///
/// # Source
/// NMRA S-9.2.1 (July 2012), section D, makes board 511 the broadcast, which linear counting reaches at 2041. LCC
/// TN-9.7.0.4 of April 2021 stops at 2040, that of July 2024 goes on to 2044; eleven bits hold 2048.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LastAddress {
    /// 2040: no address that any text gives another meaning.
    N2040,
    /// 2044: the broadcast board is used for four more.
    N2044,
    /// 2048: all that eleven bits hold; the last four wrap to board 0.
    #[default]
    N2048,
}

impl LastAddress {
    /// The number itself.
    pub const fn number(self) -> u16 {
        match self {
            Self::N2040 => 2040,
            Self::N2044 => 2044,
            Self::N2048 => 2048,
        }
    }
}

impl BinaryAddress {
    /// The highest address that eleven bits hold.
    pub const MAX: u16 = 2047;

    /// The address of these eleven bits; none where there are more.
    pub const fn new(bits: u16) -> Option<Self> {
        if bits <= Self::MAX { Some(Self(bits)) } else { None }
    }

    /// The address of these eleven bits; what is above them is left out.
    pub(crate) const fn truncated(bits: u16) -> Self {
        Self(bits & Self::MAX)
    }

    /// The number that users say for it.
    ///
    /// # Example
    /// ```
    /// use packet::{BinaryAddress, Scheme};
    /// let binary = BinaryAddress::new(256).unwrap();
    /// assert_eq!(binary.user(Scheme::Linear).number(), 253);
    /// assert_eq!(binary.user(Scheme::ZeroBased).number(), 257);
    /// assert_eq!(binary.user(Scheme::BlocksOf256).number(), 509);
    /// ```
    pub const fn user(self, scheme: Scheme) -> UserAddress {
        UserAddress(match scheme {
            Scheme::Linear => (self.0 + 2044) % 2048 + 1,
            Scheme::ZeroBased => self.0 + 1,
            // The low eight bits count four ahead within their block; the high three are as they are.
            Scheme::BlocksOf256 => ((self.0 & 0x700) | ((self.0 + 252) & 0xFF)) + 1,
        })
    }

    /// The address so many further on; addresses go round at the end, as the bits do.
    ///
    /// # Example
    /// ```
    /// use packet::BinaryAddress;
    /// let second = BinaryAddress::new(2).unwrap();
    /// assert_eq!((second.further(4).bits(), second.further(-4).bits()), (6, 2046));
    /// ```
    #[must_use]
    pub const fn further(self, by: i16) -> Self {
        // 2048 addresses go into the numbers of 16 bits without a rest.
        Self::truncated(self.0.wrapping_add_signed(by))
    }

    /// Whether every accessory decoder answers it.
    pub const fn is_broadcast_board(self) -> bool {
        self.board() == BROADCAST_BOARD
    }

    /// The nine board bits as a number, 0 to 511.
    pub const fn board(self) -> u16 {
        self.0 >> 2
    }

    /// The two output bits as a number, 0 to 3.
    pub const fn output(self) -> u16 {
        self.0 & 3
    }

    /// All eleven bits as a number, 0 to 2047.
    pub const fn bits(self) -> u16 {
        self.0
    }
}
