//! The printed form of each byte of a packet: eight letters a byte, as the standard writes them.
//!
//! # Source
//! NMRA S-9.2 (July 2004), section B; NMRA S-9.2.1 (July 2012), sections A to D and Appendix A; NMRA S-9.2.3 (July 2012),
//! section E.

use crate::{Bytes, CvAction, CvTarget, Decoded, Instruction, Kind, LocoAddress};

/// The form of every byte of a packet, the error byte last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Forms {
    held: [&'static str; Bytes::MAX],
    count: usize,
}

const ERROR: &str = "EEEEEEEE";
const DATA: &str = "DDDDDDDD";
const UNDEFINED: &str = "UUUUUUUU";

impl Forms {
    /// The forms of the bytes of a packet.
    ///
    /// # Example
    /// ```
    /// use packet::{Bytes, Decoded, Forms, Seen};
    /// let throw = Decoded::new(Bytes::received(&[0x81, 0xF9, 0x78]).unwrap(), Seen::Main);
    /// assert_eq!(Forms::of(&throw).as_slice(), ["10AAAAAA", "1AAACDDD", "EEEEEEEE"]);
    /// ```
    pub fn of(decoded: &Decoded) -> Self {
        let count = decoded.bytes.as_slice().len();
        let mut held = [UNDEFINED; Bytes::MAX];
        let (before, after) = known(decoded.kind);
        for (to, from) in held.iter_mut().zip(before.iter().chain(after)) {
            *to = from;
        }
        if let Some(last) = held.get_mut(count - 1) {
            *last = ERROR;
        }
        Self { held, count }
    }

    /// All of them, eight letters each.
    pub fn as_slice(&self) -> &[&'static str] {
        self.held.get(..self.count).unwrap_or_default()
    }
}

/// What a letter of a form stands for.
pub const fn meaning(letter: char) -> &'static str {
    match letter {
        'A' => "address",
        'B' => "bit of the variable",
        'C' => "instruction",
        'D' => "data",
        'E' => "error detection",
        'F' => "flag of the instruction",
        'H' => "high part of the binary state's number",
        'L' => "low part of the binary state's number",
        'R' => "register",
        'S' => "which of two, or speed",
        'V' => "number of the variable",
        'X' => "aspect",
        _ => "not defined",
    }
}

type Parts = (&'static [&'static str], &'static [&'static str]);

fn known(kind: Kind) -> Parts {
    const BASIC: &[&str] = &["10AAAAAA", "1AAACDDD"];
    const EXTENDED: &[&str] = &["10AAAAAA", "0AAA0AA1"];
    match kind {
        Kind::Idle => (&["11111111", "00000000"], &[]),
        Kind::Reset => (&["00000000", "00000000"], &[]),
        Kind::LocoStop(_) => (&["00000000", "01DC000S"], &[]),
        Kind::Basic(_) => (BASIC, &[]),
        Kind::Extended(_) => (EXTENDED, &["XXXXXXXX"]),
        Kind::AccessoryCv(access) => {
            let address = if matches!(access.target, CvTarget::Extended(_)) { EXTENDED } else { BASIC };
            (address, long_form(access.action))
        }
        Kind::LegacyCv { .. } => (&["10AAAAAA", "0AAA11VV"], &["VVVVVVVV", DATA]),
        Kind::AccessoryNothing(_) => (&["10AAAAAA", "0AAA1AAU"], &[]),
        Kind::AccessoryReserved(_) => (&["10AAAAAA", UNDEFINED], &[]),
        Kind::MultiFunction { address, instruction } => (
            match address {
                LocoAddress::Broadcast => &["00000000"],
                LocoAddress::Short(_) => &["0AAAAAAA"],
                LocoAddress::Long(_) => &["11AAAAAA", "AAAAAAAA"],
            },
            instruction_forms(instruction),
        ),
        Kind::ServiceDirect { action, .. } => match action {
            CvAction::Verify(_) | CvAction::Write(_) => (&["0111CCAA", "AAAAAAAA"], &[DATA]),
            CvAction::VerifyBit(..) | CvAction::WriteBit(..) => (&["0111CCAA", "AAAAAAAA"], &["111CDBBB"]),
        },
        Kind::ServiceRegister { .. } => (&["0111CRRR", DATA], &[]),
        Kind::Reserved => (&[], &[]),
    }
}

fn long_form(action: CvAction) -> &'static [&'static str] {
    match action {
        CvAction::Verify(_) | CvAction::Write(_) => &["1110CCVV", "VVVVVVVV", DATA],
        CvAction::VerifyBit(..) | CvAction::WriteBit(..) => &["1110CCVV", "VVVVVVVV", "111CDBBB"],
    }
}

fn instruction_forms(instruction: Instruction) -> &'static [&'static str] {
    match instruction {
        Instruction::DecoderControl => &["0000CCCF", DATA],
        Instruction::ConsistControl => &["0001CCCC", "0AAAAAAA"],
        Instruction::Speed128 { .. } | Instruction::RestrictedSpeed => &["001CCCCC", DATA],
        Instruction::AnalogFunction => &["001CCCCC", "VVVVVVVV", DATA],
        Instruction::Speed { .. } => &["01DCSSSS"],
        Instruction::FunctionGroupOne => &["100DDDDD"],
        Instruction::F5ToF8 | Instruction::F9ToF12 => &["101SDDDD"],
        Instruction::BinaryStateLong => &["110CCCCC", "DLLLLLLL", "HHHHHHHH"],
        Instruction::BinaryStateShort => &["110CCCCC", "DLLLLLLL"],
        Instruction::F13ToF20 | Instruction::F21ToF28 => &["110CCCCC", DATA],
        Instruction::CvLong => &["1110CCVV", "VVVVVVVV", DATA],
        Instruction::CvShort => &["1111CCCC", DATA],
        Instruction::Reserved => &[],
    }
}
