//! What packets for multi-function decoders say, as far as a capture needs it: the name of the instruction.

/// An instruction to a locomotive or another multi-function decoder.
///
/// # Source
/// NMRA S-9.2.1 (July 2012), section C.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Instruction {
    /// `0000CCCF`
    DecoderControl,
    /// `0001CCCC 0AAAAAAA`
    ConsistControl,
    /// `00111111 DDDDDDDD`
    Speed128 {
        /// Forward; else reverse.
        forward: bool,
        /// 0 stop, 1 emergency stop, 2 to 127 the steps.
        step: u8,
    },
    /// `00111110 DDDDDDDD`
    RestrictedSpeed,
    /// `00111101 VVVVVVVV DDDDDDDD`
    AnalogFunction,
    /// `01DCSSSS`
    Speed {
        /// Forward; else reverse.
        forward: bool,
        /// The five low bits as they are: what the first of them means depends on the decoder.
        bits: u8,
    },
    /// `100DDDDD`: FL and F1 to F4.
    FunctionGroupOne,
    /// `1011DDDD`: F5 to F8.
    F5ToF8,
    /// `1010DDDD`: F9 to F12.
    F9ToF12,
    /// `11000000 DLLLLLLL HHHHHHHH`
    BinaryStateLong,
    /// `11011101 DLLLLLLL`
    BinaryStateShort,
    /// `11011110 DDDDDDDD`
    F13ToF20,
    /// `11011111 DDDDDDDD`
    F21ToF28,
    /// `1110CCVV VVVVVVVV DDDDDDDD`
    CvLong,
    /// `1111CCCC DDDDDDDD`
    CvShort,
    /// Of a form that the standard keeps back.
    Reserved,
}

impl Instruction {
    /// The first instruction of these bytes, which stand behind the address.
    pub(crate) fn of(bytes: &[u8]) -> Self {
        let Some((&first, data)) = bytes.split_first() else { return Self::Reserved };
        match (first >> 5, data) {
            (0b000, _) if first & 0b1_0000 == 0 => Self::DecoderControl,
            (0b000, [_, ..]) => Self::ConsistControl,
            (0b001, [data, ..]) if first == 0b0011_1111 => {
                Self::Speed128 { forward: data & 0x80 != 0, step: data & 0x7F }
            }
            (0b001, [_, ..]) if first == 0b0011_1110 => Self::RestrictedSpeed,
            (0b001, [_, _, ..]) if first == 0b0011_1101 => Self::AnalogFunction,
            (0b010 | 0b011, _) => Self::Speed { forward: first & 0b10_0000 != 0, bits: first & 0b1_1111 },
            (0b100, _) => Self::FunctionGroupOne,
            (0b101, _) if first & 0b1_0000 != 0 => Self::F5ToF8,
            (0b101, _) => Self::F9ToF12,
            (0b110, [_, _, ..]) if first == 0b1100_0000 => Self::BinaryStateLong,
            (0b110, [_, ..]) if first == 0b1101_1101 => Self::BinaryStateShort,
            (0b110, [_, ..]) if first == 0b1101_1110 => Self::F13ToF20,
            (0b110, [_, ..]) if first == 0b1101_1111 => Self::F21ToF28,
            (0b111, [_, _, ..]) if first & 0b1_0000 == 0 => Self::CvLong,
            (0b111, [_, ..]) if first & 0b1_0000 != 0 => Self::CvShort,
            _ => Self::Reserved,
        }
    }

    /// Its name, after the standard.
    pub const fn name(self) -> &'static str {
        match self {
            Self::DecoderControl => "decoder control",
            Self::ConsistControl => "consist control",
            Self::Speed128 { .. } => "128 speed step control",
            Self::RestrictedSpeed => "restricted speed step",
            Self::AnalogFunction => "analog function group",
            Self::Speed { .. } => "speed and direction",
            Self::FunctionGroupOne => "function group one",
            Self::F5ToF8 => "function group two, F5 to F8",
            Self::F9ToF12 => "function group two, F9 to F12",
            Self::BinaryStateLong => "binary state control, long form",
            Self::BinaryStateShort => "binary state control, short form",
            Self::F13ToF20 => "F13 to F20 function control",
            Self::F21ToF28 => "F21 to F28 function control",
            Self::CvLong => "CV access, long form",
            Self::CvShort => "CV access, short form",
            Self::Reserved => "reserved",
        }
    }
}
