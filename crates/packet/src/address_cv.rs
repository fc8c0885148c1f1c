//! The variables that tell an accessory decoder its address and its kind: CV 1, CV 9 and CV 29.
//!
//! There are two methods, and the text contradicts itself about the second, so the user chooses its reading; only a test on
//! the bench settles which one a decoder has.
//!
//! # Source
//! NMRA S-9.2.2 (July 2012), accessory decoders: table 3, CV 1, CV 9, CV 29.

use crate::{BinaryAddress, Board, UserAddress};

/// The two variables of an address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AddressCvs {
    /// CV 1, the low part.
    pub cv1: u8,
    /// CV 9, the high part.
    pub cv9: u8,
}

/// What the variables count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AddressMethod {
    /// Boards: the decoder answers all four pairs of one.
    Decoder,
    /// Outputs: the decoder answers this pair and those that follow.
    Output(OutputReading),
}

/// Which packet a decoder with output addresses answers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum OutputReading {
    /// User number u is binary address u + 3: the sentence on the default value, by which 1 and 0 are the same packets in both
    /// methods. Also RCN-225, from memory.
    #[default]
    Linear,
    /// User number u is binary address u − 1: the formula and the list of bits, to the letter.
    Literal,
}

impl AddressCvs {
    /// The variables of a board: its low six bits, and its high three.
    pub fn of_board(board: Board) -> Self {
        let [high, low] = (board.number() << 2).to_be_bytes();
        Self { cv1: low >> 2, cv9: high }
    }

    /// The variables of the first output: the user's number in two bytes. That of 2048 needs a fourth bit in CV 9, which the
    /// standard does not describe.
    pub const fn of_output(user: UserAddress) -> Self {
        let [cv9, cv1] = user.number().to_be_bytes();
        Self { cv1, cv9 }
    }

    /// The first binary address that a decoder with these variables answers; none where they are no address.
    pub fn first(self, method: AddressMethod) -> Option<BinaryAddress> {
        match method {
            AddressMethod::Decoder => {
                let board = u16::from(self.cv9) << 6 | u16::from(self.cv1);
                BinaryAddress::new(board << 2).filter(|_| self.cv1 < 64 && self.cv9 < 8)
            }
            AddressMethod::Output(reading) => {
                let user = UserAddress::new(u16::from_be_bytes([self.cv9, self.cv1]))?;
                Some(user.binary(match reading {
                    OutputReading::Linear => crate::Scheme::Linear,
                    OutputReading::Literal => crate::Scheme::ZeroBased,
                }))
            }
        }
    }
}

/// What CV 29 says of an accessory decoder.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AccessoryConfiguration {
    /// It answers in the cutout.
    pub feedback: bool,
    /// It takes extended packets; else basic ones.
    pub extended: bool,
    /// Its address counts outputs; else boards.
    pub outputs: bool,
}

impl AccessoryConfiguration {
    /// The value of CV 29. Bit 7 says that it is an accessory decoder.
    pub fn value(self) -> u8 {
        0x80 | u8::from(self.outputs) << 6 | u8::from(self.extended) << 5 | u8::from(self.feedback) << 3
    }

    /// What a value says; none where it is not of an accessory decoder.
    pub const fn of_value(value: u8) -> Option<Self> {
        if value & 0x80 == 0 {
            return None;
        }
        Some(Self {
            feedback: value & 0b1000 != 0,
            extended: value & 0b10_0000 != 0,
            outputs: value & 0b100_0000 != 0,
        })
    }
}
