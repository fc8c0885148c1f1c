//! What is sent over a link of bytes, written by the user: words with fields in braces, such as `address {address 4} bit {bit}`; and the
//! same read backwards, for what comes in.
//!
//! A field is a name and, if numbers are to have a fixed width, how many digits. `{{` and `}}` stand for the braces themselves. Nothing here knows any
//! system: the words are the user's.

use std::fmt;
use std::ops::Range;

/// The most letters that a template may have.
const LETTERS_MAX: usize = 500;

/// The most digits that a field may be given.
const DIGITS_MAX: u8 = 8;

/// A part of a template.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// Letters as they are.
    Words(String),
    /// A field; numbers with so many digits, or as many as they need.
    Field(Field, Option<u8>),
}

/// What a field stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// The accessory address as the user counts it.
    Address,
    /// The board, counted from 1 (0 where the system counts from zero).
    Board,
    /// The output of its board, 1 to 4.
    Pair,
    /// The direction bit: 0 or 1.
    Bit,
    /// `normal` or `reverse`.
    Position,
    /// The packet's bytes as pairs of hexadecimal digits with blanks between.
    Packet,
    /// The packet's bytes themselves.
    PacketRaw,
    /// Whatever stands there; only in what comes in.
    Any,
}

/// Every field with its name.
const FIELDS: [(&str, Field); 8] = [
    ("address", Field::Address),
    ("board", Field::Board),
    ("pair", Field::Pair),
    ("bit", Field::Bit),
    ("position", Field::Position),
    ("packet", Field::Packet),
    ("packet raw", Field::PacketRaw),
    ("any", Field::Any),
];

/// A template that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Template {
    /// Its parts, in order.
    pub pieces: Vec<Piece>,
}

/// What is wrong with a template, and where in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TemplateError {
    /// Which bytes of the template.
    pub at: Range<usize>,
    /// What is wrong with them.
    pub fault: TemplateFault,
}

/// What can be wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TemplateFault {
    /// It has no letters.
    Empty,
    /// It has too many.
    Long,
    /// A brace that opens is not closed, or one closes that was not opened.
    Brace,
    /// There is no such field.
    FieldUnknown(String),
    /// The digits are no number from 1 to 8, or the field is no number.
    Digits(String),
    /// The field has no place there: `any` in what is sent, a packet in what is heard.
    Misplaced(&'static str),
    /// It does not say which address, or which position, is meant.
    SaysTooLittle(&'static str),
}

impl fmt::Display for TemplateFault {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => to.write_str("it is empty"),
            Self::Long => write!(to, "it has more than {LETTERS_MAX} letters"),
            Self::Brace => to.write_str("a brace stands alone"),
            Self::FieldUnknown(name) => write!(to, "there is no field called `{name}`"),
            Self::Digits(digits) => write!(to, "`{digits}` is no number of digits"),
            Self::Misplaced(field) => write!(to, "`{{{field}}}` has no place here"),
            Self::SaysTooLittle(what) => write!(to, "it does not say which {what} is meant"),
        }
    }
}

impl Template {
    /// Reads what is sent for a throw.
    ///
    /// # Errors
    /// When a brace, a field or its digits cannot be read, or address or position are left open.
    ///
    /// # Example
    /// ```
    /// use description::template::{Field, Piece, Template};
    /// let template = Template::sent("address {address 4} bit {bit}\n").unwrap();
    /// assert_eq!(template.pieces[1], Piece::Field(Field::Address, Some(4)));
    /// assert!(Template::sent("throw {adress}").is_err());
    /// ```
    pub fn sent(text: &str) -> Result<Self, TemplateError> {
        let template = Self::read(text, |field| (field != Field::Any).then_some(()).ok_or("any"))?;
        let has = |wanted: &[Field]| template.has(wanted);
        let has_packet = has(&[Field::Packet]) || has(&[Field::PacketRaw]);
        template.says_enough(text, has_packet)
    }

    /// Reads words that are sent as they are, without fields.
    ///
    /// # Errors
    /// When a brace stands alone or a field is in it.
    pub fn words(text: &str) -> Result<Self, TemplateError> {
        Self::read(text, |field| Err(name_of(field)))
    }

    /// Reads what comes in when a machine has moved.
    ///
    /// # Errors
    /// As for what is sent; packets cannot be read back.
    pub fn heard(text: &str) -> Result<Self, TemplateError> {
        let is_packet = |field| matches!(field, Field::Packet | Field::PacketRaw);
        let template = Self::read(text, |field| if is_packet(field) { Err(name_of(field)) } else { Ok(()) })?;
        template.says_enough(text, false)
    }

    fn has(&self, wanted: &[Field]) -> bool {
        wanted.iter().all(|field| {
            self.pieces.iter().any(|piece| matches!(piece, Piece::Field(other, _) if other == field))
        })
    }

    fn says_enough(self, text: &str, is_whole: bool) -> Result<Self, TemplateError> {
        let lacks = if is_whole {
            None
        } else if !self.has(&[Field::Address]) && !self.has(&[Field::Board, Field::Pair]) {
            Some("address")
        } else if !self.has(&[Field::Bit]) && !self.has(&[Field::Position]) {
            Some("position")
        } else {
            None
        };
        match lacks {
            Some(what) => Err(TemplateError { at: 0..text.len(), fault: TemplateFault::SaysTooLittle(what) }),
            None => Ok(self),
        }
    }

    fn read(text: &str, may: impl Fn(Field) -> Result<(), &'static str>) -> Result<Self, TemplateError> {
        let error = |at: Range<usize>, fault| Err(TemplateError { at, fault });
        if text.is_empty() {
            return error(0..0, TemplateFault::Empty);
        }
        if text.chars().count() > LETTERS_MAX {
            return error(0..text.len(), TemplateFault::Long);
        }
        let mut pieces = Vec::new();
        let mut words = String::new();
        let mut at = 0;
        while let Some(letter) = text.get(at..).and_then(|rest| rest.chars().next()) {
            let rest = &text[at..];
            if rest.starts_with("{{") || rest.starts_with("}}") {
                words.push(letter);
                at += 2;
            } else if letter == '{' {
                let Some(end) = rest.find('}') else { return error(at..at + 1, TemplateFault::Brace) };
                let (field, digits) =
                    field(&rest[1..end]).map_err(|fault| TemplateError { at: at..at + end + 1, fault })?;
                if let Err(name) = may(field) {
                    return error(at..at + end + 1, TemplateFault::Misplaced(name));
                }
                if !words.is_empty() {
                    pieces.push(Piece::Words(std::mem::take(&mut words)));
                }
                pieces.push(Piece::Field(field, digits));
                at += end + 1;
            } else if letter == '}' {
                return error(at..at + 1, TemplateFault::Brace);
            } else {
                words.push(letter);
                at += letter.len_utf8();
            }
        }
        if !words.is_empty() {
            pieces.push(Piece::Words(words));
        }
        Ok(Self { pieces })
    }
}

/// The names of all fields, for those who mistook one.
pub fn field_names() -> impl Iterator<Item = &'static str> {
    FIELDS.iter().map(|(name, _)| *name)
}

fn name_of(field: Field) -> &'static str {
    FIELDS.iter().find(|(_, other)| *other == field).map_or("", |(name, _)| name)
}

/// A name and digits, as they stand between braces.
fn field(inner: &str) -> Result<(Field, Option<u8>), TemplateFault> {
    let inner = inner.trim();
    if let Some((_, field)) = FIELDS.iter().find(|(name, _)| *name == inner) {
        return Ok((*field, None));
    }
    let Some((name, digits)) = inner.rsplit_once(' ') else {
        return Err(TemplateFault::FieldUnknown(inner.to_owned()));
    };
    let Some((_, field)) = FIELDS.iter().find(|(known, _)| *known == name.trim()) else {
        return Err(TemplateFault::FieldUnknown(inner.to_owned()));
    };
    let is_number = matches!(field, Field::Address | Field::Board | Field::Pair | Field::Bit);
    match digits.parse::<u8>() {
        Ok(count) if is_number && (1..=DIGITS_MAX).contains(&count) => Ok((*field, Some(count))),
        _ => Err(TemplateFault::Digits(digits.to_owned())),
    }
}
