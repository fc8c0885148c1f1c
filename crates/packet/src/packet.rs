//! Every packet that may be sent. There is no other way to make one, so a wrong one cannot be made.

use crate::{Basic, Bytes, CvAccess, Extended};

/// A packet to send.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Packet {
    /// For nobody: keeps the signal going.
    Idle,
    /// All decoders go back to how they were when power came on.
    Reset,
    /// A pair of outputs.
    Basic(Basic),
    /// An aspect.
    Extended(Extended),
    /// All basic accessory decoders stop.
    BasicStop,
    /// All extended accessory decoders show the absolute stop.
    ExtendedStop,
    /// All locomotives stop.
    LocoStop(LocoStop),
    /// A configuration variable of an accessory decoder.
    Cv(CvAccess),
}

/// How locomotives stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LocoStop {
    /// Whether the motors are cut off; else they are brought to a stop.
    pub cut_off: bool,
    /// The direction bit of the packet.
    pub forward: bool,
    /// Whether functions may leave the direction bit unheeded.
    pub direction_optional: bool,
}

impl Packet {
    /// Its bytes, the error byte among them. Allocates nothing.
    ///
    /// # Source
    /// NMRA S-9.2 (July 2004), section B, for idle, reset and the stop of locomotives; NMRA S-9.2.1 (July 2012), section D,
    /// for accessories. That the broadcast `10111111 1000CDDD` with `CDDD` = 0110 stops basic accessories is RCN-213, from
    /// memory; the form is that of S-9.2.1.
    pub const fn encode(self) -> Bytes {
        match self {
            Self::Idle => Bytes::two([0xFF, 0x00]),
            Self::Reset => Bytes::two([0x00, 0x00]),
            Self::Basic(basic) => basic.encode(),
            Self::Extended(extended) => extended.encode(),
            Self::BasicStop => Bytes::two([0xBF, 0x86]),
            Self::ExtendedStop => Bytes::three([0xBF, 0x07, 0x00]),
            Self::LocoStop(stop) => {
                let direction = (stop.forward as u8) << 5 | (stop.direction_optional as u8) << 4;
                Bytes::two([0x00, 0x40 | direction | stop.cut_off as u8])
            }
            Self::Cv(access) => access.encode(),
        }
    }
}
