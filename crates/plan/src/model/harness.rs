//! The wires of a plan, where they end, what they pass, and what has to be bought.

use description::{Job, WireUse};
use measure::{Conductor, Length};
use notice::{Decided, Span};

/// A wire: one conductor or several that go the same way, from one end to another.
#[derive(Clone, Debug)]
pub struct Wire {
    /// What it is, in words that stay the same as long as what it connects is called the same: `machine 3 motor`.
    pub key: String,
    /// What stands on its labels: `W12`.
    pub id: Decided<String>,
    /// What kind of wire.
    pub kind: WireKind,
    /// Where it starts and where it ends; what it serves is the second.
    pub ends: [WireEnd; 2],
    /// The size of its conductors, or the cable that is bought as it is.
    pub conductor: Decided<Strand>,
    /// Its conductors.
    pub cores: Vec<Core>,
    /// The places that it passes, both ends named; none where the way is not known.
    pub way: Vec<String>,
    /// How long to cut it, slack and drops included; none where that is not known.
    pub length: Decided<Option<Length>>,
    /// Whether it is there already and is used as it is.
    pub existing: bool,
    /// Why there is such a wire.
    pub why: Decided<()>,
}

/// What kind of wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WireKind {
    /// From a decoder's output to a machine.
    Motor,
    /// To a frog, from the contact or unit that feeds it.
    Frog,
    /// From the track bus to the contact or unit that feeds a frog.
    FrogSupply,
    /// To a button or toggle.
    Button,
    /// To a lamp.
    Lamp,
    /// From a decoder's output to the lamps of a signal or light.
    Accessory,
    /// From a strip to the next one.
    CabBus,
    /// From a supply of its own to a strip.
    StripSupply,
    /// From the track bus to a decoder.
    Decoder,
    /// From the track bus to the unit that turns a reversing section over.
    Section,
    /// From a bus or a section's unit to the rails.
    Dropper,
    /// A run of a bus, or from a supply to its bus.
    Bus,
}

impl WireKind {
    /// The word for it, as JSON and tables have it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Motor => "motor",
            Self::Frog => "frog",
            Self::FrogSupply => "frog supply",
            Self::Button => "button",
            Self::Lamp => "lamp",
            Self::Accessory => "signal or light",
            Self::CabBus => "cab bus",
            Self::StripSupply => "strip supply",
            Self::Decoder => "decoder feed",
            Self::Section => "section feed",
            Self::Dropper => "dropper",
            Self::Bus => "bus",
        }
    }

    /// Whether it is joined to its like by plugs or joints of its own, and has neither terminals nor pins of the harness.
    pub fn has_own_plugs(self) -> bool {
        matches!(self, Self::CabBus | Self::Bus)
    }
}

/// One end of a wire.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WireEnd {
    /// What it is fastened to: `D2 output 3`.
    pub what: String,
    /// The place where that is.
    pub at: Option<String>,
    /// Where that place is written, or what stands there.
    pub span: Span,
}

/// What a wire is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Strand {
    /// Conductors of this size.
    Size(Conductor, WireUse),
    /// A cable that is bought with its plugs on.
    ReadyMade,
}

impl std::fmt::Display for Strand {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Size(size, _) => size.fmt(f),
            Self::ReadyMade => f.write_str("ready-made cable"),
        }
    }
}

/// What stands for a colour where any will do.
pub const ANY_COLOUR: &str = "any";

/// One conductor of a wire.
#[derive(Clone, Debug)]
pub struct Core {
    /// What stands on its labels: the wire's id, and a letter where the wire has several conductors.
    pub id: String,
    /// What it does.
    pub job: Job,
    /// Its colour, or [`ANY_COLOUR`].
    pub colour: Decided<String>,
    /// Where it passes the terminal strip at its far end.
    pub terminal: Option<Terminal>,
    /// The pin that it has in every connector it passes.
    pub pin: Option<u16>,
    /// What stands on the label at each of its ends: its id, and where it goes from there.
    pub labels: [String; 2],
}

/// A position on a terminal strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Terminal {
    /// Index in [`super::Plan::terminal_strips`].
    pub strip: usize,
    /// Counted from 1.
    pub position: u16,
}

/// One conductor: index of the wire in [`super::Plan::wires`] and of the core in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CoreAt {
    /// The wire.
    pub wire: usize,
    /// Its conductor.
    pub core: usize,
}

/// The terminals at one place, numbered through however many strips they take.
#[derive(Clone, Debug)]
pub struct TerminalStrip {
    /// The place, which stands on it.
    pub at: String,
    /// What is at each position, from 1 on.
    pub positions: Vec<Option<CoreAt>>,
    /// Why it is there.
    pub why: Decided<()>,
}

/// Where wires pass from one module to another.
#[derive(Clone, Debug)]
pub struct ModuleJoint {
    /// The two places that the bench run joins, in the order of the run; they stand on its plugs.
    pub places: [String; 2],
    /// The modules of those places.
    pub modules: [String; 2],
    /// What each pin in use carries, by its number, which means the same at every joint.
    pub pins: Vec<(u16, CoreAt)>,
    /// The plugs it takes, by number: plug 1 has the first pins, plug 2 those after them.
    pub plugs: Vec<u16>,
    /// Why it is there.
    pub why: Decided<()>,
}

/// Two ends of a wire with no way between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoWay {
    /// The two places.
    pub places: [String; 2],
    /// Where each is written.
    pub spans: [Span; 2],
    /// How many wires lack a length because of it.
    pub wires: usize,
}

/// A part on the list of what to buy.
#[derive(Clone, Debug)]
pub struct ListedPart {
    /// What it is.
    pub what: String,
    /// How many the plan needs.
    pub needed: u32,
    /// How many of those and of the spares are on the shelf already.
    pub shelf: u32,
    /// How many more to have as spares.
    pub spares: u32,
    /// How many to buy, and why.
    pub buy: Decided<u32>,
}

impl Terminal {
    /// What stands on a label: `bay 3 · 4`.
    pub fn words(self, strips: &[TerminalStrip]) -> String {
        let at = strips.get(self.strip).map_or("", |strip| strip.at.as_str());
        format!("{at} · {}", self.position)
    }
}

impl ModuleJoint {
    /// What stands on its plugs: `bay 2 – bay 3`.
    pub fn words(&self) -> String {
        self.places.join(" – ")
    }
}

/// A kind of wire on the list of what to buy.
#[derive(Clone, Debug)]
pub struct ListedWire {
    /// The size of its conductor, or that it is bought as it is.
    pub strand: Strand,
    /// Its colour, or [`ANY_COLOUR`].
    pub colour: String,
    /// How many conductors are of it.
    pub cores: u32,
    /// How long they are together, where their lengths are known.
    pub length: Length,
    /// How many of them have no known length.
    pub unmeasured: u32,
    /// How much to buy, in whole metres or feet, spares included; ready-made cables by the piece.
    pub buy: Decided<u32>,
}
