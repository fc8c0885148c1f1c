//! `as-built.toml`: what is built, so that later plans leave it where it is.
//!
//! One row a thing, in a fixed order, so that two people's branches merge row by row:
//!
//! ```toml
//! schema = 1
//! layout = "Tern Harbor Terminal"
//!
//! [levers]
//! wharf = { number = 5, address = 12, moves = ["wharf"] }
//!
//! [retired]
//! "number 7" = "lever cannery"
//!
//! [end]
//! whole = true
//! ```
//!
//! What is retired stays out of use until its row is deleted. The last row is there so that a text cut short is known
//! for one. Remarks stay with the row below them. Whether a record fits the description is judged in `plan`.

mod clash;
mod read;
mod remark;
mod write;

pub use read::read;
pub use write::write;

use notice::Span;
use std::collections::BTreeMap;

/// The version of the record that this program reads and writes.
pub const SCHEMA: u16 = 1;

/// The headings of the record, in the order in which they are written.
pub const HEADINGS: [&str; 9] =
    ["levers", "accessories", "strips", "decoders", "machines", "wires", "findings", "retired", "end"];

/// One row of the record. Two are equal when they say the same, wherever they stand.
#[derive(Clone, Debug)]
pub struct Entry<T> {
    /// What it says.
    pub value: T,
    /// The row, without what stands behind it.
    pub span: Span,
    /// Remarks above it, one a row, without their `#`.
    pub remarks: Vec<String>,
}

impl<T> Entry<T> {
    /// A row that is written nowhere yet.
    pub fn new(value: T) -> Self {
        Self { value, span: Span::default().of(notice::File::AsBuilt), remarks: Vec::new() }
    }
}

impl<T: PartialEq> PartialEq for Entry<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value && self.remarks == other.remarks
    }
}

impl<T: Eq> Eq for Entry<T> {}

/// Rows under one heading, by their keys.
pub type Entries<T> = BTreeMap<String, Entry<T>>;

/// All that one `as-built.toml` says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Record {
    /// The name of the layout that is built; none in a record that was never written.
    pub layout: Option<Entry<String>>,
    /// Levers, by their ids.
    pub levers: Entries<LeverBuilt>,
    /// Anything else at an accessory address, by its kind and id: `light depot`, `signal S1`.
    pub accessories: Entries<AccessoryBuilt>,
    /// Strips, by their panels.
    pub strips: Entries<StripBuilt>,
    /// Decoders, by their ids.
    pub decoders: Entries<DecoderBuilt>,
    /// Machines, by their names.
    pub machines: Entries<MachineBuilt>,
    /// Wires, by what they are for, in words: `machine 3 motor`.
    pub wires: Entries<WireBuilt>,
    /// What was found out when things were tried, by what it is about: `machine 4A`, `bus motors at bay 2`.
    pub findings: Entries<Finding>,
    /// What is out of use for good, with what it was. In the text the keys are words: `number 7`, `wire W12`.
    pub retired: BTreeMap<Retired, Entry<String>>,
    /// Remarks above headings, by heading; those above `schema` under the empty text, those below all under `"."`.
    pub remarks: BTreeMap<String, Vec<String>>,
}

/// A lever as it is built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeverBuilt {
    /// The number painted beside it.
    pub number: u16,
    /// The accessory address that its machines answer; none where it has none.
    pub address: Option<u16>,
    /// The names of its machines, in natural order: by them it is known again under another id.
    pub moves: Vec<String>,
}

/// A light, a signal or the like as it is built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AccessoryBuilt {
    /// Its accessory address.
    pub address: u16,
    /// The number painted beside it; none in a record from before it had one.
    pub number: Option<u16>,
}

/// A strip as it is set up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StripBuilt {
    /// The address of its first pair.
    pub first_address: u16,
    /// The chain it belongs to.
    pub chain: u16,
    /// The cab-bus address of its chain.
    pub cab: Option<u16>,
}

/// A decoder as it is mounted and programmed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DecoderBuilt {
    /// The part that it is.
    pub part: String,
    /// The place it is screwed to; none where the layout names no places.
    pub at: Option<String>,
    /// The address of its first output.
    pub first_address: u16,
    /// How many outputs it has.
    pub outputs: u16,
}

/// A machine as it is wired.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MachineBuilt {
    /// The id of the decoder that drives it; none where it has one inside, or none.
    pub decoder: Option<String>,
    /// The accessory address that it answers.
    pub address: Option<u16>,
    /// The tracks of its joint, in the order of the joint: by them it is known again under another name.
    pub tracks: Vec<String>,
}

/// A wire as it is laid.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WireBuilt {
    /// What its labels say.
    pub id: String,
    /// The place of one end; none where the layout names none.
    pub from: Option<String>,
    /// The place of the other, which it serves.
    pub to: Option<String>,
    /// The terminals there of its conductors, in order; none where they end at what they serve.
    pub terminals: Vec<u16>,
    /// The pins of its conductors at every joint between modules, in order; none where it passes none.
    pub pins: Vec<u16>,
}

/// What was found out about a thing when it was tried.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Finding {
    /// A machine that stands reverse where it should stand normal.
    pub inverted: bool,
    /// What a step of commissioning came to; none where the row was written by hand.
    pub tried: Option<Tried>,
    /// Anything else to know, in the user's words.
    pub note: Option<String>,
}

/// What a step of commissioning came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tried {
    /// Whether it was as it should be.
    pub verdict: Verdict,
    /// Who tried it.
    pub who: String,
    /// When, as a browser gave it: `2026-05-01T19:04:00Z`.
    pub when: String,
    /// What the meter showed: `12.31 V`.
    pub reading: Option<String>,
    /// What was seen instead of what should be, as `show faults --saw` takes it.
    pub saw: Option<String>,
}

/// Whether a step was as it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// It was.
    Good,
    /// It was not.
    Bad,
    /// Points moved, and the wrong way.
    WrongWay,
    /// It was left out, with a note.
    Skipped,
}

impl Verdict {
    /// Every one, with the word for it in the record and in a journal.
    pub const ALL: [(&'static str, Self); 4] =
        [("good", Self::Good), ("bad", Self::Bad), ("wrong way", Self::WrongWay), ("skipped", Self::Skipped)];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Bad => "bad",
            Self::WrongWay => "wrong way",
            Self::Skipped => "skipped",
        }
    }

    /// The verdict that a word stands for.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find_map(|(known, verdict)| (known == word).then_some(verdict))
    }
}

/// Something that is not to be used again until the user deletes its row.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Retired {
    /// A number of a lever.
    Number(u16),
    /// An accessory address.
    Address(u16),
    /// The id of a wire.
    Wire(String),
    /// The id of a decoder.
    Decoder(String),
}

impl Retired {
    /// The words of its key: `number 7`, `address 14`, `wire W12`, `decoder D3`.
    pub fn words(&self) -> String {
        match self {
            Self::Number(number) => format!("number {number}"),
            Self::Address(address) => format!("address {address}"),
            Self::Wire(id) => format!("wire {id}"),
            Self::Decoder(id) => format!("decoder {id}"),
        }
    }

    /// The thing that a key names; none when it names no such thing.
    ///
    /// # Example
    /// ```
    /// use description::record::Retired;
    /// assert_eq!(Retired::from_words("number 7"), Some(Retired::Number(7)));
    /// assert_eq!(Retired::from_words("number seven"), None);
    /// ```
    pub fn from_words(words: &str) -> Option<Self> {
        let (what, id) = words.split_once(' ')?;
        // A number written in another way, such as `+7`, would come back as another key.
        let number = || id.parse::<u16>().ok().filter(|number| number.to_string() == id);
        match what {
            "number" => number().map(Self::Number),
            "address" => number().map(Self::Address),
            "wire" if !id.trim().is_empty() => Some(Self::Wire(id.to_owned())),
            "decoder" if !id.trim().is_empty() => Some(Self::Decoder(id.to_owned())),
            _ => None,
        }
    }
}

impl Record {
    /// Whether nothing is kept by it, as where no record was ever written.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Adds what was found out. What is there already stays: of two trials of one thing the later counts, a note is only replaced
    /// by another, and a machine that is inverted stays so.
    pub fn add_finding(&mut self, about: &str, new: Finding) {
        let entry = self.findings.entry(about.to_owned()).or_insert_with(|| Entry::new(Finding::default()));
        let old = std::mem::take(&mut entry.value);
        let when = |tried: &Option<Tried>| tried.as_ref().map(|tried| tried.when.clone());
        let is_later = when(&new.tried) >= when(&old.tried);
        let (first, second) = if is_later { (new, old) } else { (old, new) };
        entry.value = Finding {
            inverted: first.inverted || second.inverted,
            tried: first.tried.or(second.tried),
            note: first.note.or(second.note),
        };
    }

    /// Whether a number is out of use.
    pub fn is_number_retired(&self, number: u16) -> bool {
        self.retired.contains_key(&Retired::Number(number))
    }

    /// Whether an accessory address is out of use.
    pub fn is_address_retired(&self, address: u16) -> bool {
        self.retired.contains_key(&Retired::Address(address))
    }
}
