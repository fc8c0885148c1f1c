//! The tables of `layout.toml` and their keys: what each means, how its value is written, what holds without it, an example.
//!
//! The reader knows its keys from here: it asks for no other, takes ranges and units' examples from here, and says what a missing
//! key is with the words that stand here. The reference in the handbook is printed from the same rows, so neither can tell
//! another story than the other.

mod bench;
mod likelihood;
mod print;
mod railroad;
mod running;

pub use print::reference;

/// One table of the description.
#[derive(Debug)]
pub struct TableKeys {
    /// Its name: `turnout` for `[turnout.*]`.
    pub name: &'static str,
    /// Whether there are many, each with an id of the user's own.
    pub many: bool,
    /// What it describes: one or two sentences.
    pub says: &'static str,
    /// Its keys, in the order of the handbook.
    pub keys: &'static [Key],
}

/// One key of a table.
#[derive(Debug)]
pub struct Key {
    /// How it is written.
    pub name: &'static str,
    /// What stands behind it.
    pub kind: Kind,
    /// Whether it has to be there, and what holds without it.
    pub without: Without,
    /// What it means, as words that go on from "track:".
    pub says: &'static str,
    /// A value for it, as text of the description.
    pub example: &'static str,
    /// The kinds (the key `kind`) that have it; empty: all.
    pub only: &'static [&'static str],
}

/// What holds where a key is not written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Without {
    /// It has to be there.
    Needed,
    /// This value.
    Usual(&'static str),
    /// What these words say.
    Open(&'static str),
}

/// How a value is written.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// Words or a name, in quotation marks.
    Text,
    /// A date, or words.
    Date,
    /// A list of names.
    Names,
    /// Two names.
    Pair,
    /// Lists of names.
    Lists,
    /// `true` or `false`.
    Flag,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// Some of these words.
    Choices(&'static [&'static str]),
    /// A whole number from the first to the second.
    Whole(u32, u32),
    /// Whole numbers, each from the first to the second.
    Wholes(u16, u16),
    /// A quantity with its unit.
    Quantity(Quantity),
    /// Text with fields in braces.
    Template,
    /// A table in braces.
    Entry(&'static TableKeys),
    /// A list of tables in braces.
    Entries(&'static TableKeys),
    /// Names of tracks with a level each.
    Levels,
}

/// What a quantity measures; its units follow from that.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantity {
    /// How long.
    Length,
    /// Amperes.
    Current,
    /// Volts.
    Voltage,
    /// Ohms.
    Resistance,
    /// Farads.
    Capacitance,
    /// How thick a conductor is.
    Conductor,
    /// A part of a whole.
    Share,
    /// How long it takes.
    Duration,
    /// Money for a metre.
    Price,
}

/// Every table, in the order of the handbook.
pub const TABLES: [&TableKeys; 31] = [
    &railroad::LAYOUT,
    &railroad::END,
    &railroad::TURNOUT,
    &railroad::WYE,
    &railroad::THREEWAY,
    &railroad::CROSSOVER,
    &railroad::SCISSORS,
    &railroad::SLIP,
    &railroad::CROSSING,
    &railroad::TURNTABLE,
    &railroad::TRACK,
    &railroad::LINE,
    &railroad::ROUTE,
    &railroad::LEVER,
    &railroad::NUMBERING,
    &bench::BENCH,
    &bench::PLACE,
    &bench::DEFAULTS,
    &bench::PART,
    &bench::PANEL,
    &bench::LABELS,
    &bench::COLOURS,
    &bench::CONDUCTORS,
    &running::SYSTEM,
    &running::BUS,
    &running::DRAWING,
    &running::LIGHT,
    &running::SIGNAL,
    &running::WORK,
    &running::LINK,
    &likelihood::LIKELIHOOD,
];

impl TableKeys {
    /// The table of this name.
    pub fn find(name: &str) -> Option<&'static Self> {
        TABLES.into_iter().find(|table| table.name == name)
    }

    /// The key of this name.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// How its heading is written.
    pub fn heading(&self) -> String {
        if self.many { format!("[{}.*]", self.name) } else { format!("[{}]", self.name) }
    }
}

impl Key {
    /// The example without its quotation marks.
    pub(crate) fn bare_example(&self) -> &'static str {
        self.example.trim_matches('"')
    }

    const fn new(
        name: &'static str,
        kind: Kind,
        without: Without,
        says: &'static str,
        example: &'static str,
    ) -> Self {
        Self { name, kind, without, says, example, only: &[] }
    }

    /// The same key, which only these kinds of the table have.
    const fn only(self, only: &'static [&'static str]) -> Self {
        Self { only, ..self }
    }
}

/// A key that has to be there.
const fn needed(name: &'static str, kind: Kind, says: &'static str, example: &'static str) -> Key {
    Key::new(name, kind, Without::Needed, says, example)
}

/// A key that may be left out, with what holds then.
const fn usual(
    name: &'static str,
    kind: Kind,
    usual: &'static str,
    says: &'static str,
    example: &'static str,
) -> Key {
    Key::new(name, kind, Without::Usual(usual), says, example)
}

/// A key that may be left out, with what is done then.
const fn open(
    name: &'static str,
    kind: Kind,
    without: &'static str,
    says: &'static str,
    example: &'static str,
) -> Key {
    Key::new(name, kind, Without::Open(without), says, example)
}
