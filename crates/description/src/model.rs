//! What a layout description says, in types. Names are still the user's words, not yet resolved; everything carries
//! the place where it was written.

mod bus;
mod link;
mod sheet;
mod work;

pub use bus::{Bus, BusKind, BusShape, BusSource, Buy};
pub use link::{Bytes, Link, LinkKind, Port, SocketName};
pub use sheet::{Drawing, LEVEL_MAX, Labels};
pub use work::Work;

use crate::accessory::Accessory;
use crate::harness::{Colours, Conductors};
use indexmap::IndexMap;
use measure::{Current, Length, Share, Units, Voltage};
use notice::{Span, Spanned};
use std::collections::BTreeSet;

/// A name as the user wrote it.
pub type Name = Spanned<String>;

/// All that one `layout.toml` says.
#[derive(Clone, Debug, Default)]
pub struct Description {
    /// Facts about the layout as a whole.
    pub layout: LayoutFacts,
    /// `[end.*]`: where tracks stop.
    pub ends: Vec<End>,
    /// Everything else that joins tracks: turnouts, wyes, crossovers, slips and so on.
    pub joints: Vec<Joint>,
    /// `[track.*]`: optional facts about tracks.
    pub tracks: Vec<TrackFacts>,
    /// `[line.*]`, in the order of the file.
    pub lines: Vec<Line>,
    /// `[route.*]`: routes that the user gives a name or a way to take.
    pub routes: Vec<Route>,
    /// `[lever.*]`: controls that move several machines, or carry pins.
    pub levers: Vec<Lever>,
    /// `[numbering]`.
    pub numbering: Numbering,
    /// `[bench]`.
    pub bench: Option<Bench>,
    /// `[place.*]`: optional facts about places.
    pub places: Vec<Place>,
    /// `[defaults]`.
    pub defaults: Defaults,
    /// The generic library, with what `[part.*]` adds or overrides.
    pub parts: IndexMap<String, Part>,
    /// `[panel.*]`, in the order of the file.
    pub panels: Vec<Panel>,
    /// `[labels]`.
    pub labels: Labels,
    /// `[colours]`.
    pub colours: Colours,
    /// `[conductors]`.
    pub conductors: Conductors,
    /// `[system]`.
    pub system: System,
    /// `[likelihood]`: in how many of a thousand parts each failure is there, where the builder says so.
    pub likelihood: std::collections::BTreeMap<&'static str, u16>,
    /// `[bus.*]`, in the order of the file.
    pub buses: Vec<Bus>,
    /// `[link.*]`, in the order of the file.
    pub links: Vec<Link>,
    /// `[signal.*]` and `[light.*]`.
    pub accessories: Vec<Accessory>,
    /// `[drawing]`.
    pub drawing: Drawing,
    /// `[work]`.
    pub work: Work,
    /// What could not be read, so that nothing that follows from it is held against the user.
    pub unread: Unread,
}

/// The parts of a description that were there but could not be read.
#[derive(Clone, Debug, Default)]
pub struct Unread {
    /// The text itself is broken somewhere, so any table may be missing or cut short.
    pub text: bool,
    /// How many ends of tracks stand in keys that could not be read.
    pub ends: usize,
    /// Track names from tables that could not be read as a whole.
    pub tracks: BTreeSet<String>,
    /// Ids of tables that could not be read as a whole.
    pub ids: BTreeSet<String>,
}

impl Unread {
    /// Whether anything was left out, so that what the layout lacks may be what could not be read.
    pub fn anything(&self) -> bool {
        self.text || self.ends > 0 || !self.tracks.is_empty() || !self.ids.is_empty()
    }
}

/// `[layout]`.
#[derive(Clone, Debug, Default)]
pub struct LayoutFacts {
    /// The layout's name, printed on every sheet.
    pub name: String,
    /// The scale as written, for the cover.
    pub scale: Option<String>,
    /// What sheets are printed in.
    pub units: Units,
    /// The longest train that runs.
    pub longest_train: Option<Spanned<Length>>,
    /// The date on the sheets, as the user writes dates. Never the clock's.
    pub date: Option<String>,
    /// The revision on the sheets.
    pub revision: Option<String>,
}

/// Left or right, seen from the points (a turnout's hand) or from the operating side (a layout's side).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hand {
    /// The left one.
    Left,
    /// The right one.
    Right,
}

/// What a track does at an `[end.*]`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum EndKind {
    /// It stops for good.
    #[default]
    Bumper,
    /// It is where trains are made up.
    Staging,
    /// It goes on past what is described.
    Beyond,
}

/// `[end.*]`.
#[derive(Clone, Debug)]
pub struct End {
    /// What the user calls it.
    pub id: Name,
    /// The track that ends here.
    pub track: Name,
    /// What the track does here.
    pub is: EndKind,
    /// On which side of the drawing it lies, seen from the operating side.
    pub side: Option<Hand>,
}

/// Which leg of a turnout is called normal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NormalLeg {
    /// The through leg; the left leg of a wye.
    #[default]
    Usual,
    /// The diverging leg; the right leg of a wye.
    Other,
}

/// How a frog gets its polarity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrogFeed {
    /// A contact on the machine switches it.
    Switched,
    /// It has none.
    Dead,
    /// A unit of its own senses and switches it.
    PolarityUnit,
}

/// Which track lies where in a joint: the tracks in the order the kind documents.
#[derive(Clone, Debug)]
pub enum JointKind {
    /// `[turnout.*]`: tracks are points, through, diverging. `hand` is the side of the diverging leg.
    Turnout {
        /// The way the diverging leg leaves, seen from the points.
        hand: Option<Hand>,
    },
    /// `[wye.*]`: tracks are points, left, right.
    Wye,
    /// `[threeway.*]`: tracks are points, through, left, right.
    Threeway,
    /// `[crossover.*]`: tracks are `one[0]`, `one[1]`, `other[0]`, `other[1]`.
    Crossover {
        /// The way the crossing move leaves line `one`, seen from the points of machine A, where the user says it.
        hand: Option<Hand>,
    },
    /// `[scissors.*]`: tracks as a crossover.
    Scissors,
    /// `[slip.*]`: tracks are a, b, c, d; straight moves a–b and c–d.
    Slip {
        /// Whether both curves exist (a–d and c–b) or only a–d.
        double: bool,
        /// The other linkage of the two ends.
        swap_ends: bool,
    },
    /// `[crossing.*]`: tracks are a, b, c, d; moves a–b and c–d.
    Crossing,
    /// `[turntable.*]`: approaches, then stalls. Each approach leads to each stall over the bridge; two approaches, or two
    /// stalls, do not lead to each other.
    Turntable {
        /// How many of the tracks are approaches.
        approach_count: usize,
    },
}

/// One table that joins tracks.
#[derive(Clone, Debug)]
pub struct Joint {
    /// What the builder calls it.
    pub id: Name,
    /// What it is.
    pub kind: JointKind,
    /// The tracks it joins, in the order of its kind. Each place names an end of a track.
    pub tracks: Vec<Name>,
    /// What the plate and the tables call it; without it, the id.
    pub name: Option<Name>,
    /// Which leg is normal.
    pub normal: NormalLeg,
    /// What moves it.
    pub motor: Option<Name>,
    /// The place it stands at, under the benchwork.
    pub at: Option<Name>,
    /// The frog number as written.
    pub frog: Option<Name>,
    /// How the frog is fed.
    pub frog_feed: Option<FrogFeed>,
    /// What the user pinned.
    pub pins: Pins,
}

/// Decisions that the user made.
#[derive(Clone, Debug, Default)]
pub struct Pins {
    /// The number on the panel.
    pub number: Option<Spanned<u16>>,
    /// The accessory address.
    pub address: Option<Spanned<u16>>,
    /// The id of the decoder that drives it.
    pub decoder: Option<Name>,
}

/// `[track.*]`.
#[derive(Clone, Debug)]
pub struct TrackFacts {
    /// The track.
    pub id: Name,
    /// How long it is.
    pub length: Option<Spanned<Length>>,
    /// Whether routes begin and end here; without it, they do on tracks with an end.
    pub stop: Option<bool>,
    /// Its power district.
    pub district: Option<Name>,
    /// How far apart its feeders are.
    pub feeders: Option<Spanned<Length>>,
    /// The places it passes.
    pub at: Vec<Name>,
    /// Whether its wiring is there already and is to be reused.
    pub existing: bool,
}

/// `[line.*]`: a named run.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name.
    pub id: Name,
    /// The end or track it starts at.
    pub from: Name,
    /// The end or track it goes to.
    pub to: Name,
    /// Tracks it passes on the way.
    pub via: Vec<Name>,
}

/// Which of several routes between two stops is meant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Preference {
    /// The one that reverses the fewest machines.
    #[default]
    FewestReverse,
    /// The shortest.
    Shortest,
}

/// `[route.*]`: a route that the user names.
#[derive(Clone, Debug)]
pub struct Route {
    /// Its name.
    pub id: Name,
    /// One stop: an end, or a track.
    pub from: Name,
    /// The other.
    pub to: Name,
    /// Tracks that it runs over.
    pub via: Vec<Name>,
    /// Tracks and joints that it does not run over.
    pub avoid: Vec<Name>,
    /// Which one of the routes that are left.
    pub prefer: Preference,
}

/// `[lever.*]`: one control.
#[derive(Clone, Debug)]
pub struct Lever {
    /// Its name.
    pub id: Name,
    /// The machines or joints it moves.
    pub moves: Vec<Name>,
    /// What the user pinned.
    pub pins: Pins,
}

/// `[numbering]`.
#[derive(Clone, Debug)]
pub struct Numbering {
    /// The first lever number.
    pub first: u16,
    /// Numbers left free after each line.
    pub spare_per_line: u16,
}

impl Default for Numbering {
    fn default() -> Self {
        Self { first: 1, spare_per_line: 0 }
    }
}

/// `[bench]`.
#[derive(Clone, Debug)]
pub struct Bench {
    /// Lengths along which cable is laid.
    pub runs: Vec<BenchRun>,
    /// What is added to each length for slack.
    pub slack: Option<Spanned<Share>>,
    /// What each end of a wire takes from the run along the bench to what it is fastened to.
    pub drop: Option<Spanned<Length>>,
}

/// One entry of `bench.runs`.
#[derive(Clone, Debug)]
pub struct BenchRun {
    /// One place.
    pub from: Name,
    /// The other.
    pub to: Name,
    /// How far it is between them.
    pub length: Spanned<Length>,
}

/// `[place.*]`.
#[derive(Clone, Debug)]
pub struct Place {
    /// Its name.
    pub id: Name,
    /// How many decoders fit; absent: no limit.
    pub decoders: Option<Spanned<u16>>,
    /// The module it belongs to, on a layout that is taken apart.
    pub module: Option<Name>,
    /// What to know about it.
    pub note: Option<String>,
}

/// `[defaults]`.
#[derive(Clone, Debug)]
pub struct Defaults {
    /// The part that moves a turnout when it names none.
    pub motor: Name,
    /// The part that drives motors.
    pub decoder: Name,
    /// The part that feeds them.
    pub supply: Name,
    /// What is bought beyond what is needed, of wire and of small parts.
    pub spares: Spanned<Share>,
}

impl Default for Defaults {
    fn default() -> Self {
        let unwritten = |name: &str| Spanned::new(name.to_owned(), Span::default());
        Self {
            motor: unwritten("stall motor"),
            decoder: unwritten("eight output decoder"),
            supply: unwritten("accessory supply"),
            spares: Spanned::new(Share::new(0.1), Span::default()),
        }
    }
}

/// What a part is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Moves points.
    Motor,
    /// Drives motors at accessory addresses.
    Decoder,
    /// Rows of button pairs with consecutive addresses.
    Strip,
    /// Feeds low-voltage power.
    Supply,
    /// Feeds track power.
    Booster,
    /// A push button on a panel.
    Button,
    /// A lamp on a panel, in a signal or in a light.
    Lamp,
    /// A toggle on a panel: it stays where it is put.
    Toggle,
    /// A row of terminals that wires end at.
    TerminalStrip,
    /// A plug and its socket, between modules.
    Connector,
    /// What turns polarity over when it meets the wrong one.
    PolarityUnit,
    /// What keeps a lamp's current down.
    Resistor,
    /// What lets one button throw several levers.
    Diode,
}

/// How a motor is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Drive {
    /// A stall motor: current all the time, direction by polarity.
    Stall,
    /// A coil machine: a short pulse to one of two coils.
    Coil,
    /// A servo.
    Servo,
    /// A lamp or lamps: current as long as they are on. No motor is driven so.
    Lamp,
}

/// A part, from the generic library or from `[part.*]`.
#[derive(Clone, Debug)]
pub struct Part {
    /// What it is for.
    pub role: Role,
    /// A decoder's outputs.
    pub outputs: Option<u16>,
    /// A decoder's outputs start on a board of this many.
    pub aligned: Option<u16>,
    /// What a decoder can drive.
    pub drives: Vec<Drive>,
    /// How a motor is driven.
    pub drive: Option<Drive>,
    /// A motor has its own decoder inside, and is set to its address by itself.
    pub decoder_inside: bool,
    /// A motor's changeover contacts that move with the points; absent: none.
    pub contacts: Option<u16>,
    /// A strip's pairs of buttons.
    pub pairs: Option<u16>,
    /// A terminal strip's positions.
    pub positions: Option<u16>,
    /// A connector's pins.
    pub pins: Option<u16>,
    /// Current it takes, all the time or for the length of its pulse.
    pub draw: Option<Current>,
    /// Volts across a lamp that shines.
    pub volts: Option<Voltage>,
    /// Current that a supply gives, or each output of a decoder.
    pub gives: Option<Current>,
    /// How wide a hole a button, lamp or toggle stands in.
    pub hole: Option<Spanned<Length>>,
    /// How wide its nut or body is at the widest, before or behind the panel.
    pub nut: Option<Spanned<Length>>,
    /// How far it reaches behind the panel.
    pub depth: Option<Spanned<Length>>,
    /// Whether a lamp needs a resistor in front of it, as an LED does.
    pub resistor: bool,
    /// How a strip, a decoder or a motor with a decoder inside counts accessory addresses; absent: as the system does.
    pub counts: Option<Spanned<AddressScheme>>,
    /// How many are on the shelf; absent: buy what is needed.
    pub count: Option<u16>,
    /// Where the user wrote it; none for the built-in library.
    pub span: Option<Span>,
}

/// What kind of panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanelKind {
    /// Rows of button pairs with consecutive addresses.
    Strip,
    /// A drawn diagram with buttons and lamps.
    Fascia,
    /// A page on a screen.
    Screen,
}

/// What the hands find on a fascia.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Buttons {
    /// A button at each place a train can be sent to.
    OnePush,
    /// A button on each leg of each turnout.
    #[default]
    Pair,
    /// A toggle at each turnout.
    Toggle,
}

/// What `[panel.*]` says of a fascia and of nothing else. Sizes that are absent are left to the tool.
#[derive(Clone, Debug, Default)]
pub struct FasciaFacts {
    /// How wide it is.
    pub width: Option<Spanned<Length>>,
    /// How high it is.
    pub height: Option<Spanned<Length>>,
    /// What the hands find on it.
    pub buttons: Buttons,
    /// Whether it has no lamps.
    pub dark: bool,
    /// How thick its sheet is.
    pub thickness: Option<Spanned<Length>>,
    /// The border that buttons and lamps keep clear.
    pub margin: Option<Spanned<Length>>,
    /// How wide the holes in its corners are that it is fixed by.
    pub holes: Option<Spanned<Length>>,
    /// How much room is behind it.
    pub room: Option<Spanned<Length>>,
}

/// `[panel.*]`.
#[derive(Clone, Debug)]
pub struct Panel {
    /// Its name.
    pub id: Name,
    /// What kind.
    pub kind: PanelKind,
    /// Where it stands.
    pub at: Option<Name>,
    /// The part it is made of.
    pub part: Option<Name>,
    /// The first accessory address, where the user pins it.
    pub start: Option<Spanned<u16>>,
    /// Lines, levers and accessories, in order. None written: every lever no other panel has.
    pub controls: Option<Vec<Name>>,
    /// The chain of strips it belongs to.
    pub chain: Option<Spanned<u16>>,
    /// What a fascia says beyond that.
    pub fascia: FasciaFacts,
}

/// How user numbers count in the packet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AddressScheme {
    /// User address 1 is board 1, output 1.
    #[default]
    Linear,
    /// User address 1 is board 0, output 1.
    ZeroBased,
    /// As linear, but the last four of every 256 belong to the board that starts the block.
    BlocksOf256,
}

/// The last address where the user writes none: the highest that no text gives another meaning.
pub const LAST_ADDRESS_USUAL: u16 = 2040;

/// `[system]`.
#[derive(Clone, Debug)]
pub struct System {
    /// How user numbers count in the packet.
    pub address_scheme: AddressScheme,
    /// The highest accessory address that may be used.
    pub last_address: u16,
    /// Where the user wrote it; none where it is the usual one.
    pub last_address_at: Option<Span>,
    /// Which value of the direction bit moves to normal.
    pub normal_is: u8,
    /// Cab-bus addresses that are in use already.
    pub cabs_in_use: Vec<Spanned<u16>>,
    /// Accessory addresses used by something else.
    pub taken: Vec<Spanned<(u16, u16)>>,
}

impl Default for System {
    fn default() -> Self {
        Self {
            address_scheme: AddressScheme::default(),
            last_address: LAST_ADDRESS_USUAL,
            last_address_at: None,
            normal_is: 1,
            cabs_in_use: Vec::new(),
            taken: Vec::new(),
        }
    }
}
