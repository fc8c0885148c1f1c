//! `packet`: one packet, its address and its bits.

use crate::SCHEMA;
use packet::{
    Bits, CvAccess, CvAction, CvTarget, Decoded, Forms, Kind, LastAddress, LocoAddress, NormalIs, Ns,
    Preamble, Scheme, Seen, Sent, Warning,
};
use serde::Serialize;
use std::collections::BTreeSet;

/// How the numbers of a packet are read: texts differ, so the user says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reading {
    /// How user numbers count.
    pub scheme: Scheme,
    /// Which direction bit is normal.
    pub normal: NormalIs,
    /// The highest number in use.
    pub last: LastAddress,
    /// Where the packet was seen.
    pub seen: Seen,
}

/// `packet encode` and `packet decode`.
#[derive(Clone, Debug, Serialize)]
pub struct PacketAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Two hexadecimal digits a byte, the error byte last.
    pub bytes: String,
    /// The accessory address as users count, or the locomotive's; none where the packet is for all or nobody.
    pub address: Option<u16>,
    /// `normal` or `reverse`.
    pub position: Option<&'static str>,
    /// The nine board bits of an accessory packet as a number.
    pub board: Option<u16>,
    /// The pair of outputs of the board, 1 to 4.
    pub pair: Option<u16>,
    /// Whether the error byte is right; decoders ignore the packet where not.
    pub checksum_ok: bool,
    /// All bits in the order they are sent, the preamble first, blanks between the bytes.
    pub bits: String,
    /// What kind of packet it is.
    pub kind: &'static str,
    /// Whether the output is switched on, of a basic accessory packet.
    pub active: Option<bool>,
    /// The aspect, of an extended accessory packet.
    pub aspect: Option<u8>,
    /// The variable and what is done to it.
    pub cv: Option<CvRow>,
    /// The instruction, of a packet for a multi-function decoder.
    pub instruction: Option<&'static str>,
    /// The eleven address bits of an accessory packet as a number.
    pub binary: Option<u16>,
    /// What stands out about it, a sentence each.
    pub warnings: Vec<String>,
    /// Each byte and what its bits are for; only where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub explained: Option<Vec<ByteRow>>,
}

/// Access to a configuration variable.
#[derive(Clone, Debug, Serialize)]
pub struct CvRow {
    /// Its number.
    pub number: u16,
    /// `write byte`, `verify byte`, `write bit` or `verify bit`.
    pub action: &'static str,
    /// The value of the byte, or of the bit.
    pub value: u8,
    /// Which bit.
    pub bit: Option<u8>,
    /// The output whose variable it is, 0 to 7; none for a whole decoder.
    pub output: Option<u8>,
}

/// One byte of a packet.
#[derive(Clone, Debug, Serialize)]
pub struct ByteRow {
    /// Two hexadecimal digits.
    pub byte: String,
    /// Its bits.
    pub bits: String,
    /// The printed form of the standard, a letter a bit.
    pub form: &'static str,
    /// The bits that belong together.
    pub parts: Vec<PartOfByteRow>,
}

/// Bits that belong together.
#[derive(Clone, Debug, Serialize)]
pub struct PartOfByteRow {
    /// The number of the first of them, which is the highest: 7 to 0.
    pub from_bit: u8,
    /// The bits.
    pub bits: String,
    /// What they are for.
    pub means: String,
}

/// Answers `packet encode` and `packet decode`.
pub fn packet(decoded: &Decoded, preamble: Preamble, reading: Reading) -> PacketAnswer {
    let row = Fields::of(decoded.kind, reading);
    let binary = decoded.kind.accessory();
    PacketAnswer {
        schema: SCHEMA,
        bytes: decoded.bytes.to_string(),
        address: row.address,
        position: row.position,
        board: binary.map(packet::BinaryAddress::board),
        pair: binary.map(|binary| binary.output() + 1).filter(|_| row.of_pair),
        checksum_ok: decoded.checksum_ok(),
        bits: bits(decoded, preamble),
        kind: decoded.kind.name(),
        active: row.active,
        aspect: row.aspect,
        cv: cv(decoded.kind),
        instruction: row.instruction,
        binary: binary.map(packet::BinaryAddress::bits),
        warnings: warnings(decoded, row.address, reading),
        explained: None,
    }
}

/// `packet stream`: packets in a row.
#[derive(Clone, Debug, Serialize)]
pub struct StreamAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Every packet, idle ones between them too.
    pub packets: Vec<SentRow>,
    /// When each command has been sent once.
    pub once_s: f64,
    /// When all has been sent.
    pub seconds: f64,
    /// The file that holds the signal.
    pub written: Option<String>,
}

/// A packet that was sent.
#[derive(Clone, Debug, Serialize)]
pub struct SentRow {
    /// When its start bit begins.
    pub at_s: f64,
    /// Two hexadecimal digits a byte.
    pub bytes: String,
    /// What kind of packet it is.
    pub kind: &'static str,
    /// The accessory address as users count.
    pub address: Option<u16>,
    /// `normal` or `reverse`.
    pub position: Option<&'static str>,
    /// The aspect, of an extended accessory packet.
    pub aspect: Option<u8>,
}

/// Answers `packet stream`.
pub fn stream(sent: &[Sent], reading: Reading, written: Option<String>) -> StreamAnswer {
    let rows = sent.iter().map(|sent| {
        let decoded = Decoded::new(sent.bytes, Seen::Main);
        let fields = Fields::of(decoded.kind, reading);
        SentRow {
            at_s: seconds(sent.start_bit),
            bytes: sent.bytes.to_string(),
            kind: decoded.kind.name(),
            address: fields.address,
            position: fields.position,
            aspect: fields.aspect,
        }
    });
    let mut heard = BTreeSet::new();
    let firsts = sent.iter().filter(|sent| sent.job.is_some_and(|job| heard.insert(job)));
    let once = firsts.map(|sent| sent.ended).max().unwrap_or_default();
    StreamAnswer {
        schema: SCHEMA,
        packets: rows.collect(),
        once_s: seconds(once),
        seconds: seconds(sent.last().map_or(0, |sent| sent.ended)),
        written,
    }
}

/// Nanoseconds as seconds.
#[allow(clippy::cast_precision_loss, reason = "2^53 ns are 104 days")]
pub(crate) fn seconds(ns: Ns) -> f64 {
    ns as f64 / 1e9
}

/// The members that depend on the kind, for single packets and rows of a capture alike.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Fields {
    pub(crate) address: Option<u16>,
    pub(crate) position: Option<&'static str>,
    pub(crate) active: Option<bool>,
    pub(crate) aspect: Option<u8>,
    pub(crate) instruction: Option<&'static str>,
    /// Whether it is for one pair of outputs.
    of_pair: bool,
}

impl Fields {
    pub(crate) fn of(kind: Kind, reading: Reading) -> Self {
        let user = |address: packet::BinaryAddress| {
            Some(address.user(reading.scheme).number()).filter(|&number| number <= reading.last.number())
        };
        match kind {
            Kind::Basic(basic) => Self {
                address: user(basic.address),
                position: Some(basic.direction.position(reading.normal).word()),
                active: Some(basic.active),
                of_pair: true,
                ..Self::default()
            },
            Kind::Extended(extended) => Self {
                address: user(extended.address),
                aspect: Some(extended.aspect),
                of_pair: true,
                ..Self::default()
            },
            Kind::AccessoryCv(CvAccess { target: CvTarget::Board(_), .. }) | Kind::LegacyCv { .. } => {
                Self::default()
            }
            Kind::AccessoryCv(access) => {
                Self { address: user(access.target.address()), of_pair: true, ..Self::default() }
            }
            Kind::AccessoryNothing(address) | Kind::AccessoryReserved(address) => {
                Self { address: user(address), of_pair: true, ..Self::default() }
            }
            Kind::MultiFunction { address, instruction } => Self {
                address: match address {
                    LocoAddress::Broadcast => None,
                    LocoAddress::Short(short) => Some(short.into()),
                    LocoAddress::Long(long) => Some(long),
                },
                instruction: Some(instruction.name()),
                ..Self::default()
            },
            Kind::Idle
            | Kind::Reset
            | Kind::LocoStop(_)
            | Kind::ServiceDirect { .. }
            | Kind::ServiceRegister { .. }
            | Kind::Reserved => Self::default(),
        }
    }
}

fn bits(decoded: &Decoded, preamble: Preamble) -> String {
    let mut text = String::new();
    let before = usize::from(preamble.bits());
    for (index, bit) in Bits::new(decoded.bytes, preamble).enumerate() {
        // A blank on either side of each start bit, and before the end bit.
        if index >= before && matches!((index - before) % 9, 0 | 1) {
            text.push(' ');
        }
        text.push(if bit { '1' } else { '0' });
    }
    text
}

fn cv(kind: Kind) -> Option<CvRow> {
    let row = |number, action: CvAction, output| {
        let (value, bit) = match action {
            CvAction::Verify(value) | CvAction::Write(value) => (value, None),
            CvAction::VerifyBit(bit, value) | CvAction::WriteBit(bit, value) => {
                (value.into(), Some(bit.number()))
            }
        };
        Some(CvRow { number, action: action.word(), value, bit, output })
    };
    match kind {
        Kind::AccessoryCv(access) => {
            let output = match access.target {
                CvTarget::Output(_, output) => Some(output.number()),
                CvTarget::Board(_) | CvTarget::Extended(_) => None,
            };
            row(access.cv.number(), access.action, output)
        }
        Kind::LegacyCv { cv, value, .. } => row(cv.number(), CvAction::Write(value), None),
        Kind::ServiceDirect { cv, action } => row(cv.number(), action, None),
        Kind::Idle
        | Kind::Reset
        | Kind::LocoStop(_)
        | Kind::Basic(_)
        | Kind::Extended(_)
        | Kind::AccessoryNothing(_)
        | Kind::AccessoryReserved(_)
        | Kind::MultiFunction { .. }
        | Kind::ServiceRegister { .. }
        | Kind::Reserved => None,
    }
}

fn warnings(decoded: &Decoded, address: Option<u16>, reading: Reading) -> Vec<String> {
    let mut words = Vec::new();
    if !decoded.checksum_ok() {
        words.push(format!(
            "the error byte is {:02X} and has to be {:02X}, so decoders ignore this packet",
            decoded.bytes.error_byte(),
            decoded.bytes.checksum()
        ));
    }
    if let Some(warning) = decoded.warning() {
        words.push(warning_words(warning).to_owned());
    }
    let accessory = decoded.kind.accessory();
    if accessory.is_some_and(|binary| binary.board() == 0)
        && reading.scheme == Scheme::Linear
        && let Some(address) = address
    {
        words.push(format!(
            "{address} wraps to board 0, which many systems cannot command; use 1 to {}",
            packet::UserAddress::SAFE_MAX
        ));
    }
    words
}

/// What stands out about a packet, in words.
pub(crate) fn warning_words(warning: Warning) -> &'static str {
    match warning {
        Warning::LegacyCvWrite => {
            "this obsolete form writes a variable with a single packet (S-9.2.1, Appendix A); nothing should send it"
        }
        Warning::Broadcast => {
            "board 511 is the broadcast (S-9.2.1, section D): every decoder of the kind answers, not only that of 2041 to 2044"
        }
        Warning::OldCvNumber => {
            "variables from 513 on are numbered as in older texts; S-9.2.2 (2012) counts them from 1"
        }
        Warning::AspectOfEightBits => {
            "S-9.2.1 (2012) knows aspects of five bits, 0 to 31; later texts use all eight"
        }
    }
}

/// Each byte of a packet, drawn with the letters of the standard.
pub fn explained(decoded: &Decoded) -> Vec<ByteRow> {
    let forms = Forms::of(decoded);
    let bytes = decoded.bytes.as_slice();
    forms
        .as_slice()
        .iter()
        .zip(bytes)
        .enumerate()
        .map(|(index, (form, byte))| ByteRow {
            byte: format!("{byte:02X}"),
            bits: format!("{byte:08b}"),
            form,
            parts: parts(decoded, index, form, *byte),
        })
        .collect()
}

/// The runs of one letter in a form, and what each is for.
fn parts(decoded: &Decoded, index: usize, form: &'static str, byte: u8) -> Vec<PartOfByteRow> {
    let letters: Vec<char> = form.chars().collect();
    let bits: Vec<char> = format!("{byte:08b}").chars().collect();
    let mut parts = Vec::new();
    let mut from = 0;
    for run in letters.chunk_by(|a, b| a == b || (is_fixed(*a) && is_fixed(*b))) {
        let letter = run.first().copied().unwrap_or('U');
        let held: String = bits.iter().skip(from).take(run.len()).collect();
        parts.push(PartOfByteRow {
            from_bit: u8::try_from(7usize.saturating_sub(from)).unwrap_or_default(),
            means: means(decoded, index, letter, from, &held),
            bits: held,
        });
        from += run.len();
    }
    parts
}

fn is_fixed(letter: char) -> bool {
    letter.is_ascii_digit()
}

/// What a run of bits is for. `from` is the place of its first bit, counted from the left.
fn means(decoded: &Decoded, index: usize, letter: char, from: usize, bits: &str) -> String {
    if is_fixed(letter) {
        return "fixed: they say what kind of packet this is".to_owned();
    }
    if letter == 'E' {
        let sum = decoded.bytes.checksum();
        return if decoded.checksum_ok() {
            "error detection: the exclusive or of all bytes before it".to_owned()
        } else {
            format!("error detection: wrong, the exclusive or of all bytes before it is {sum:02X}")
        };
    }
    let board = decoded.kind.accessory().map(packet::BinaryAddress::board);
    match (decoded.kind, board, index, letter, from) {
        (_, Some(board), 0, 'A', _) => {
            format!("address: the low six of the nine bits of board {board}, {board:09b}")
        }
        (_, Some(board), 1, 'A', 1) => {
            format!(
                "address: the high three bits of board {board}, turned over: {:03b} is sent as {bits}",
                board >> 6
            )
        }
        (Kind::Extended(_) | Kind::AccessoryCv(_), Some(_), 1, 'A', _) => {
            format!("address: pair {} of the board, which the bits count from 0", low_bits(bits) + 1)
        }
        (Kind::Basic(basic), _, 1, 'C', _) => {
            format!("1 switches the output on, 0 off; this is {}", u8::from(basic.active))
        }
        (Kind::Basic(basic), _, 1, 'D', _) => format!(
            "pair {} of the board, which the bits count from 0, then the direction bit: {}",
            basic.address.output() + 1,
            basic.direction.bit()
        ),
        (Kind::AccessoryCv(_), _, 1, 'C', _) => {
            "1 for the variables of one output, 0 for those of the whole decoder".to_owned()
        }
        (Kind::AccessoryCv(access), _, 1, 'D', _) => match access.target {
            CvTarget::Output(_, output) => format!("output {}", output.number()),
            CvTarget::Board(_) | CvTarget::Extended(_) => "000, since the whole decoder is meant".to_owned(),
        },
        (Kind::AccessoryCv(_), _, 4, 'C', _) => "1 writes the bit, 0 compares it".to_owned(),
        (Kind::AccessoryCv(_), _, 4, 'D', 4) => "the value of the bit".to_owned(),
        (Kind::AccessoryCv(access), _, 4, 'B', _) => {
            format!("bit {} of CV {}", low_bits(bits), access.cv.number())
        }
        (Kind::AccessoryCv(access), _, 2, 'C', _) => format!("instruction: {}", access.action.word()),
        (Kind::AccessoryCv(access), _, 2 | 3, 'V', _) => {
            let cv = access.cv.number();
            format!("number of the variable: {cv} less 1, in ten bits over two bytes, {:010b}", cv - 1)
        }
        (Kind::Extended(extended), _, 2, 'X', _) => {
            let stop = if extended.aspect == 0 { ", the absolute stop" } else { "" };
            format!("aspect {}{stop}", extended.aspect)
        }
        _ => packet::meaning(letter).to_owned(),
    }
}

fn low_bits(bits: &str) -> u8 {
    u8::from_str_radix(bits, 2).unwrap_or_default()
}
