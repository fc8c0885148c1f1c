//! What the bytes of a packet mean, as far as the standard says.
//!
//! # Source
//! NMRA S-9.2 (July 2004), section B; NMRA S-9.2.1 (July 2012), sections A to D and Appendix A; NMRA S-9.2.3 (July 2012),
//! section E, for what only a programming track carries.

use crate::accessory::address_in;
use crate::{
    Basic, BinaryAddress, Board, Bytes, CvAccess, CvAction, CvNumber, CvTarget, Direction, Extended,
    Instruction, LocoStop,
};

/// Where a packet was seen: the same bytes mean other things on a programming track.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Seen {
    /// On the main: operations mode.
    #[default]
    Main,
    /// On a programming track, right after a reset packet: service mode.
    Programming,
}

/// What a packet is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// For nobody.
    Idle,
    /// All decoders go back to how they were when power came on.
    Reset,
    /// All locomotives stop.
    LocoStop(LocoStop),
    /// A pair of accessory outputs. Board 511 is the broadcast.
    Basic(Basic),
    /// An aspect. Address 2047 is the broadcast.
    Extended(Extended),
    /// A configuration variable of an accessory decoder.
    AccessoryCv(CvAccess),
    /// The obsolete form that writes a variable of an accessory decoder with one packet. Never sent.
    LegacyCv {
        /// The board.
        board: Board,
        /// The variable.
        cv: CvNumber,
        /// Its new value.
        value: u8,
    },
    /// An accessory packet of three bytes that is said to do nothing but let a decoder answer.
    ///
    /// # Source
    /// RCN-213, from memory; NMRA S-9.2.1 does not know it.
    AccessoryNothing(BinaryAddress),
    /// For accessories, of a form that the standard does not define.
    AccessoryReserved(BinaryAddress),
    /// For locomotives and other multi-function decoders.
    MultiFunction {
        /// Whom it is for.
        address: LocoAddress,
        /// What it says.
        instruction: Instruction,
    },
    /// A variable of the decoder on the programming track, by its number.
    ServiceDirect {
        /// The variable.
        cv: CvNumber,
        /// What is done.
        action: CvAction,
    },
    /// A register of the decoder on the programming track, 1 to 8.
    ServiceRegister {
        /// The register.
        register: u8,
        /// Written; else verified.
        write: bool,
        /// Its value.
        value: u8,
    },
    /// The first byte is one that the standard keeps back.
    Reserved,
}

/// Whom a packet for multi-function decoders is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LocoAddress {
    /// All of them.
    Broadcast,
    /// Seven bits, 1 to 127.
    Short(u8),
    /// Fourteen bits, 0 to 10239.
    Long(u16),
}

/// What stands out about a packet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Warning {
    /// The obsolete form of a write to a variable.
    LegacyCvWrite,
    /// Every accessory decoder answers it.
    Broadcast,
    /// Numbers of accessory variables from 513 on are those of older texts.
    OldCvNumber,
    /// The aspect has more than the five bits of S-9.2.1.
    AspectOfEightBits,
}

/// A packet that was received.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decoded {
    /// Its bytes.
    pub bytes: Bytes,
    /// What it is, whether or not its error byte is right.
    pub kind: Kind,
}

impl Decoded {
    /// Reads the bytes of a packet.
    pub fn new(bytes: Bytes, seen: Seen) -> Self {
        Self { bytes, kind: kind(bytes.payload(), seen) }
    }

    /// Whether its error byte is right; a decoder ignores it where not.
    pub fn checksum_ok(&self) -> bool {
        self.bytes.checksum_ok()
    }

    /// The first thing that stands out about it.
    pub fn warning(&self) -> Option<Warning> {
        match self.kind {
            Kind::LegacyCv { .. } => Some(Warning::LegacyCvWrite),
            Kind::Basic(basic) if basic.address.is_broadcast_board() => Some(Warning::Broadcast),
            Kind::Extended(extended) if extended.is_broadcast() => Some(Warning::Broadcast),
            Kind::Extended(extended) if extended.aspect > Extended::FIVE_BITS_MAX => {
                Some(Warning::AspectOfEightBits)
            }
            Kind::AccessoryCv(access) if access.cv.number() >= CvNumber::OLD_FIRST => {
                Some(Warning::OldCvNumber)
            }
            Kind::Idle
            | Kind::Reset
            | Kind::LocoStop(_)
            | Kind::Basic(_)
            | Kind::Extended(_)
            | Kind::AccessoryCv(_)
            | Kind::AccessoryNothing(_)
            | Kind::AccessoryReserved(_)
            | Kind::MultiFunction { .. }
            | Kind::ServiceDirect { .. }
            | Kind::ServiceRegister { .. }
            | Kind::Reserved => None,
        }
    }
}

impl Extended {
    /// Whether every extended accessory decoder answers it.
    pub const fn is_broadcast(self) -> bool {
        self.address.bits() == BinaryAddress::MAX
    }
}

impl Kind {
    /// The name of the kind.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Idle => "idle",
            Self::Reset => "reset",
            Self::LocoStop(_) => "broadcast stop",
            Self::Basic(basic) if basic.address.is_broadcast_board() => "basic accessory broadcast",
            Self::Basic(_) => "basic accessory",
            Self::Extended(extended) if extended.is_broadcast() => "extended accessory broadcast",
            Self::Extended(_) => "extended accessory",
            Self::AccessoryCv(_) => "accessory CV access",
            Self::LegacyCv { .. } => "obsolete accessory CV write",
            Self::AccessoryNothing(_) => "accessory, nothing to do",
            Self::AccessoryReserved(_) => "accessory, reserved",
            Self::MultiFunction { .. } => "multi-function decoder",
            Self::ServiceDirect { .. } => "service mode, direct",
            Self::ServiceRegister { .. } => "service mode, register",
            Self::Reserved => "reserved",
        }
    }

    /// The accessory address that it is for.
    pub const fn accessory(self) -> Option<BinaryAddress> {
        match self {
            Self::Basic(basic) => Some(basic.address),
            Self::Extended(extended) => Some(extended.address),
            Self::AccessoryCv(access) => Some(access.target.address()),
            Self::LegacyCv { board, .. } => Some(CvTarget::Board(board).address()),
            Self::AccessoryNothing(address) | Self::AccessoryReserved(address) => Some(address),
            Self::Idle
            | Self::Reset
            | Self::LocoStop(_)
            | Self::MultiFunction { .. }
            | Self::ServiceDirect { .. }
            | Self::ServiceRegister { .. }
            | Self::Reserved => None,
        }
    }
}

/// The kind of the bytes before the error byte.
fn kind(payload: &[u8], seen: Seen) -> Kind {
    if seen == Seen::Programming
        && let Some(service) = service(payload)
    {
        return service;
    }
    match payload {
        [0xFF, 0x00] => Kind::Idle,
        [0x00, 0x00] => Kind::Reset,
        // 00000000 01DC000S
        [0x00, stop] if stop & 0b1100_1110 == 0b0100_0000 => Kind::LocoStop(LocoStop {
            cut_off: stop & 1 != 0,
            forward: stop & 0b10_0000 != 0,
            direction_optional: stop & 0b1_0000 != 0,
        }),
        [0x00, rest @ ..] => multi_function(LocoAddress::Broadcast, rest),
        [short @ 1..=127, rest @ ..] => multi_function(LocoAddress::Short(*short), rest),
        [first @ 128..=191, second, rest @ ..] => accessory(*first, *second, rest),
        [high @ 192..=231, low, rest @ ..] => {
            multi_function(LocoAddress::Long(u16::from(high & 0x3F) << 8 | u16::from(*low)), rest)
        }
        _ => Kind::Reserved,
    }
}

fn multi_function(address: LocoAddress, rest: &[u8]) -> Kind {
    Kind::MultiFunction { address, instruction: Instruction::of(rest) }
}

fn accessory(first: u8, second: u8, rest: &[u8]) -> Kind {
    let address = address_in(first, second);
    let reserved = Kind::AccessoryReserved(address);
    match *rest {
        // 1AAACDDD
        [] if second & 0x80 != 0 => Kind::Basic(Basic {
            address,
            direction: Direction::of_bit(second & 1 != 0),
            active: second & 0b1000 != 0,
        }),
        // 0AAA1AAx, three bytes
        [] if second & 0b1000 != 0 => Kind::AccessoryNothing(address),
        // 0AAA0AA1 XXXXXXXX
        [aspect] if second & 0b1000_1001 == 1 => Kind::Extended(Extended { address, aspect }),
        // 0AAA11VV VVVVVVVV DDDDDDDD
        [low, value] if second & 0b1000_1100 == 0b1100 => {
            Kind::LegacyCv { board: Board::of(address), cv: CvNumber::from_bits(second, low), value }
        }
        // 1110CCVV VVVVVVVV DDDDDDDD
        [high, low, data] if high >> 4 == 0b1110 => {
            match (CvTarget::from_bytes(first, second), CvAction::from_bits(high >> 2, data)) {
                (Some(target), Some(action)) => {
                    Kind::AccessoryCv(CvAccess { target, cv: CvNumber::from_bits(high, low), action })
                }
                (None, _) | (_, None) => reserved,
            }
        }
        _ => reserved,
    }
}

/// What only a programming track carries.
fn service(payload: &[u8]) -> Option<Kind> {
    match *payload {
        // 0111CCAA AAAAAAAA DDDDDDDD
        [first, low, data] if first >> 4 == 0b0111 => Some(Kind::ServiceDirect {
            cv: CvNumber::from_bits(first, low),
            action: CvAction::from_bits(first >> 2, data)?,
        }),
        // 0111CRRR DDDDDDDD
        [first, value] if first >> 4 == 0b0111 => {
            Some(Kind::ServiceRegister { register: (first & 7) + 1, write: first & 0b1000 != 0, value })
        }
        _ => None,
    }
}
