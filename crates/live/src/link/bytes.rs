//! A link of bytes in the user's own wording: what is sent for a throw, and what a row that comes in says of a machine.
//!
//! Rows end with a line feed or a carriage return. A row that the wording does not fit says nothing and is left out: other things may be
//! talked about on the same wire. One that goes on for more than [`ROW_MAX`] bytes is dropped up to its end.

use description::template::{Field, Piece, Template};
use network::Position;
use packet::{Basic, Direction, NormalIs, Packet, Scheme, UserAddress};

/// The longest row that is looked at, in bytes.
pub const ROW_MAX: usize = 1_000;

/// One machine's address and where it is to go, or where it says that it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At {
    /// The address as the user counts it.
    pub address: UserAddress,
    /// The position.
    pub position: Position,
}

/// How the system counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counting {
    /// The user numbers.
    pub scheme: Scheme,
    /// Which value of the direction bit is normal.
    pub normal_is: NormalIs,
}

impl Counting {
    fn bit(self, position: Position) -> u8 {
        Direction::of(of_packet(position), self.normal_is).bit()
    }

    fn position(self, bit: u8) -> Position {
        if self.bit(Position::Normal) == bit { Position::Normal } else { Position::Reverse }
    }
}

fn of_packet(position: Position) -> packet::Position {
    match position {
        Position::Normal => packet::Position::Normal,
        Position::Reverse => packet::Position::Reverse,
    }
}

/// The bytes that are sent to throw a machine.
pub fn fill(template: &Template, at: At, counting: Counting) -> Vec<u8> {
    let mut bytes = Vec::new();
    for piece in &template.pieces {
        match piece {
            Piece::Words(words) => bytes.extend_from_slice(words.as_bytes()),
            Piece::Field(field, digits) => {
                let number = |number: u16| {
                    let width = usize::from(digits.unwrap_or_default());
                    format!("{number:0width$}").into_bytes()
                };
                bytes.extend(match field {
                    Field::Address => number(at.address.number()),
                    Field::Board => number(board_and_pair(at.address, counting.scheme).0),
                    Field::Pair => number(board_and_pair(at.address, counting.scheme).1),
                    Field::Bit => number(u16::from(counting.bit(at.position))),
                    Field::Position => at.position.word().as_bytes().to_vec(),
                    Field::Packet => {
                        let pairs: Vec<String> =
                            packet_of(at, counting).iter().map(|byte| format!("{byte:02X}")).collect();
                        pairs.join(" ").into_bytes()
                    }
                    Field::PacketRaw => packet_of(at, counting),
                    // Refused when the description was read.
                    Field::Any => Vec::new(),
                });
            }
        }
    }
    bytes
}

/// Words that are sent as they are.
pub fn words(template: &Template) -> Vec<u8> {
    let words = template.pieces.iter().filter_map(|piece| match piece {
        Piece::Words(words) => Some(words.as_str()),
        Piece::Field(..) => None,
    });
    words.collect::<String>().into_bytes()
}

/// The board as the system counts boards, and the output on it from 1.
fn board_and_pair(address: UserAddress, scheme: Scheme) -> (u16, u16) {
    let bits = address.binary(scheme).bits();
    (bits >> 2, (bits & 0b11) + 1)
}

fn packet_of(at: At, counting: Counting) -> Vec<u8> {
    let throw = Basic::throw(at.address.binary(counting.scheme), of_packet(at.position), counting.normal_is);
    Packet::Basic(throw).encode().as_slice().to_vec()
}

/// Takes rows out of bytes as they come, and reads those that fit.
#[derive(Clone, Debug, Default)]
pub struct RowReader {
    row: Vec<u8>,
    is_long: bool,
}

impl RowReader {
    /// What more bytes say.
    pub fn read(&mut self, bytes: &[u8], template: &Template, counting: Counting) -> Vec<At> {
        let mut heard = Vec::new();
        for byte in bytes {
            if matches!(byte, b'\n' | b'\r') {
                if !self.is_long && !self.row.is_empty() {
                    heard.extend(hear(template, &self.row, counting));
                }
                self.row.clear();
                self.is_long = false;
            } else if self.row.len() < ROW_MAX {
                self.row.push(*byte);
            } else {
                self.is_long = true;
            }
        }
        heard
    }
}

/// What a row says; none when the wording does not fit, or the numbers are none of an address.
pub fn hear(template: &Template, row: &[u8], counting: Counting) -> Option<At> {
    let row = std::str::from_utf8(row).ok()?;
    // The row's end is cut off, so that of the wording is too.
    let pieces: Vec<Piece> = template
        .pieces
        .iter()
        .map(|piece| match piece {
            Piece::Words(words) => Piece::Words(words.trim_matches(['\n', '\r']).to_owned()),
            Piece::Field(field, digits) => Piece::Field(*field, *digits),
        })
        .collect();
    let (mut heard, mut steps) = (Heard::default(), STEPS_MAX);
    if !fits(&pieces, row, &mut heard, &mut steps) {
        return None;
    }
    let address = match (heard.address, heard.board, heard.pair) {
        (Some(number), _, _) => UserAddress::new(number)?,
        (None, Some(board), Some(pair @ 1..=4)) => (1..=UserAddress::MAX)
            .filter_map(UserAddress::new)
            .find(|address| board_and_pair(*address, counting.scheme) == (board, pair))?,
        _ => return None,
    };
    let position = heard.position.or_else(|| {
        let bit = u8::try_from(heard.bit?).ok().filter(|bit| *bit <= 1)?;
        Some(counting.position(bit))
    })?;
    Some(At { address, position })
}

/// How often a row is tried in another way before it counts as one that does not fit.
const STEPS_MAX: u32 = 10_000;

#[derive(Clone, Copy, Debug, Default)]
struct Heard {
    address: Option<u16>,
    board: Option<u16>,
    pair: Option<u16>,
    bit: Option<u16>,
    position: Option<Position>,
}

/// Whether the whole row is what the pieces say, and then what they said; `{any}` takes as little as will do.
fn fits(pieces: &[Piece], row: &str, heard: &mut Heard, steps: &mut u32) -> bool {
    let Some((piece, rest)) = pieces.split_first() else { return row.is_empty() };
    *steps = steps.saturating_sub(1);
    if *steps == 0 {
        return false;
    }
    let now = *heard;
    // What a way that fails has heard is forgotten.
    let mut go_on = |row: Option<&str>, then: Heard| {
        let mut then = then;
        let fits = row.is_some_and(|row| fits(rest, row, &mut then, steps));
        if fits {
            *heard = then;
        }
        fits
    };
    match piece {
        Piece::Words(words) => go_on(row.strip_prefix(words.as_str()), now),
        Piece::Field(Field::Any, _) => {
            let mut ends = row.char_indices().map(|(at, _)| at).chain([row.len()]);
            ends.any(|end| go_on(row.get(end..), now))
        }
        Piece::Field(Field::Position, _) => {
            [Position::Normal, Position::Reverse].into_iter().any(|position| {
                let is_same = now.position.is_none_or(|before| before == position);
                is_same && go_on(row.strip_prefix(position.word()), Heard { position: Some(position), ..now })
            })
        }
        Piece::Field(field, digits) => {
            let count = row.bytes().take_while(u8::is_ascii_digit).count();
            let count = digits.map_or(count, |digits| usize::from(digits).min(count));
            let is_wide = digits.is_none_or(|digits| usize::from(digits) == count);
            let Some(number) = row.get(..count).and_then(|number| number.parse().ok()).filter(|_| is_wide)
            else {
                return false;
            };
            let mut then = now;
            let slot = match field {
                Field::Address => &mut then.address,
                Field::Board => &mut then.board,
                Field::Pair => &mut then.pair,
                Field::Bit => &mut then.bit,
                Field::Position | Field::Packet | Field::PacketRaw | Field::Any => return false,
            };
            // A number that stands twice has to be the same both times.
            let is_same = slot.replace(number).is_none_or(|before| before == number);
            is_same && go_on(row.get(count..), then)
        }
    }
}
