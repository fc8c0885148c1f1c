//! A finished plan: everything that was decided, each with its reasons. Nothing here decides.

mod harness;

pub use harness::{
    ANY_COLOUR, Core, CoreAt, ListedPart, ListedWire, ModuleJoint, NoWay, Strand, Terminal, TerminalStrip,
    Wire, WireEnd, WireKind,
};
pub mod power;

use description::AddressScheme;
use measure::Length;
use network::{
    AccessoryId, JointId, LeverId, LineId, MachineId, Network, Piece, Port, Position, Route, TrackId,
};
use notice::{Decided, Span};
use packet::{NormalIs, Scheme, UserAddress};
use std::collections::BTreeMap;

/// A number painted on the panel.
pub type LeverNumber = u16;

/// The plan of a layout: the network it is for and every decision about its controls.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The railroad.
    pub network: Network,
    /// What was found out when things were tried, as the record has it, by what it is about.
    pub findings: std::collections::BTreeMap<String, description::record::Finding>,
    /// Every lever, in the order of the numbers.
    pub levers: Vec<PlannedLever>,
    /// Every accessory address in use, in order.
    pub addresses: Vec<PlannedAddress>,
    /// Every signal and light, in the order of the network.
    pub accessories: Vec<PlannedAccessory>,
    /// Decoders, in the order of their first addresses.
    pub decoders: Vec<Decoder>,
    /// What their cables come to.
    pub cable: Cable,
    /// Strips of button pairs, chain by chain.
    pub strips: Vec<Strip>,
    /// Which panel each strip of the as-built record is now, by its name there.
    pub strips_built: BTreeMap<String, String>,
    /// Chains of strips, by number.
    pub chains: Vec<Chain>,
    /// Fascias with what stands on them, in the order of the file.
    pub fascias: Vec<Fascia>,
    /// What else the plan needs.
    pub parts: Vec<PartNeed>,
    /// Every route, in the order of the stops.
    pub routes: Vec<Route>,
    /// False when a limit ended the list of routes.
    pub routes_complete: bool,
    /// Routes that the user names, in the order of the description.
    pub named: Vec<NamedRoute>,
    /// For each two stops with several routes between them, the index in [`Plan::routes`] of the one to set.
    pub preferred: Vec<Decided<usize>>,
    /// How many coil machines may fire at once.
    pub coils_at_once: Decided<u16>,
    /// Stretches of track that polarity turns over in, in the order of the network.
    pub reversing: Vec<ReversingSection>,
    /// Every gap: of the reversing sections first, then where districts meet.
    pub gaps: Vec<Gap>,
    /// No fewer tracks than this can be gapped for polarity.
    pub gaps_fewest: usize,
    /// The power district of every track, by its id; none where nothing it is joined to has one.
    pub districts: Vec<Option<Decided<String>>>,
    /// Every frog, joint by joint.
    pub frogs: Vec<Frog>,
    /// Every bus, in the order of the network's, with all that was reckoned of it.
    pub buses: Vec<power::PlannedBus>,
    /// Levers for which no address was free; a layout with any has an error.
    pub unplaced: Vec<LeverId>,
    /// Every wire, kind by kind.
    pub wires: Vec<Wire>,
    /// The terminals of each place that has any, in natural order of the places.
    pub terminal_strips: Vec<TerminalStrip>,
    /// Where wires pass from module to module, in the order of the bench runs.
    pub module_joints: Vec<ModuleJoint>,
    /// Pairs of places that wires should join and no bench run leads between.
    pub no_ways: Vec<NoWay>,
    /// What to have and what to buy, part by part.
    pub parts_list: Vec<ListedPart>,
    /// The same of wire, by size and colour.
    pub wire_list: Vec<ListedWire>,
}

impl Plan {
    /// The number of every lever.
    pub fn numbers(&self) -> BTreeMap<LeverId, LeverNumber> {
        self.levers.iter().map(|lever| (lever.lever, lever.number.value)).collect()
    }

    /// How the system counts accessory addresses.
    pub fn scheme(&self) -> Scheme {
        scheme_of(self.network.described.system.address_scheme)
    }

    /// Which direction bit of a packet moves to normal.
    pub fn normal_is(&self) -> NormalIs {
        if self.network.described.system.normal_is == 0 { NormalIs::Zero } else { NormalIs::One }
    }

    /// What was decided about a signal or light.
    pub fn accessory(&self, id: AccessoryId) -> Option<&PlannedAccessory> {
        self.accessories.iter().find(|planned| planned.accessory == id)
    }

    /// The decoder that drives a signal or light, and which of its outputs does, counted from 1.
    pub fn output_of(&self, accessory: &PlannedAccessory) -> Option<(&Decoder, u16)> {
        let decoder = self.decoders.get(accessory.decoder?)?;
        let address = accessory.address.as_ref()?.value.number();
        Some((decoder, address.checked_sub(decoder.first.value.number())? + 1))
    }

    /// The signals and lights that a decoder drives, by its index.
    pub fn accessories_of(&self, decoder: usize) -> impl Iterator<Item = &PlannedAccessory> {
        self.accessories.iter().filter(move |planned| planned.decoder == Some(decoder))
    }

    /// The first fascia that a lever stands on.
    pub fn fascia_of(&self, lever: LeverId) -> Option<&Fascia> {
        self.fascias.iter().find(|fascia| fascia.levers.contains(&lever))
    }
}

/// What a way of counting that is described means in a packet.
pub const fn scheme_of(described: AddressScheme) -> Scheme {
    match described {
        AddressScheme::Linear => Scheme::Linear,
        AddressScheme::ZeroBased => Scheme::ZeroBased,
        AddressScheme::BlocksOf256 => Scheme::BlocksOf256,
    }
}

/// What was decided about one lever.
#[derive(Clone, Debug)]
pub struct PlannedLever {
    /// The lever.
    pub lever: LeverId,
    /// The number on the panel.
    pub number: Decided<LeverNumber>,
    /// The first line it stands on.
    pub line: Option<LineId>,
    /// Where its buttons are.
    pub control: Option<Control>,
    /// The accessory address that all its machines answer.
    pub address: Decided<UserAddress>,
}

/// What was decided about one signal or light.
#[derive(Clone, Debug)]
pub struct PlannedAccessory {
    /// The signal or light.
    pub accessory: AccessoryId,
    /// The number on the panel.
    pub number: Decided<LeverNumber>,
    /// Where its buttons are.
    pub control: Option<Control>,
    /// Its accessory address; none where no address was free, which is an error.
    pub address: Option<Decided<UserAddress>>,
    /// Index in [`Plan::decoders`] of the decoder that drives its lamps; none where no output can answer its address.
    pub decoder: Option<usize>,
}

/// What the lamps of a fascia are put behind.
#[derive(Clone, Debug)]
pub struct LampResistor {
    /// The fascia.
    pub panel: String,
    /// The part that the lamps are.
    pub part: String,
    /// How many there are, each with a resistor of its own.
    pub lamps: usize,
    /// Volts that they hang on.
    pub supply_volts: f64,
    /// The resistor; none where the volts do not reach or no resistor bears the heat.
    pub resistor: Decided<Option<electric::SeriesResistor>>,
}

/// A route that the user names.
#[derive(Clone, Debug)]
pub struct NamedRoute {
    /// Its name.
    pub name: String,
    /// Where its name is written.
    pub span: Span,
    /// Its index in [`Plan::routes`].
    pub route: Decided<usize>,
}

/// A pair of buttons on a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Control {
    /// Index of the strip in [`Plan::strips`].
    pub strip: usize,
    /// The pair, counted from 1.
    pub pair: u16,
}

/// One accessory address in use.
#[derive(Clone, Debug)]
pub struct PlannedAddress {
    /// The address, and from it board and output.
    pub address: UserAddress,
    /// The lever it belongs to.
    pub lever: LeverId,
    /// The machines that answer it.
    pub machines: Vec<MachineId>,
    /// Index of the decoder in [`Plan::decoders`].
    pub decoder: Option<usize>,
    /// Whether the machines have their decoder inside, so that none of [`Plan::decoders`] is needed.
    pub inside: bool,
}

/// What the cables from new decoders to their machines come to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cable {
    /// How long they are together; none where the bench does not tell.
    pub metres: Option<Length>,
    /// No plan with as few decoders to buy takes less.
    pub lower_bound: Option<Length>,
    /// How many decoders have to be bought.
    pub bought: usize,
    /// No fewer can be bought.
    pub bought_least: usize,
    /// Whether both are the least there can be, for certain.
    pub proven: bool,
}

impl Cable {
    /// Where nothing is known of lengths.
    pub fn unknown() -> Self {
        Self::default()
    }
}

/// A decoder: a block of outputs at consecutive addresses.
#[derive(Clone, Debug)]
pub struct Decoder {
    /// `D1`, `D2`, … in the order of the addresses, or what levers are pinned to.
    pub id: String,
    /// The part, a key of the parts library.
    pub part: String,
    /// The place it is screwed to; none where the layout names no places.
    pub at: Option<Decided<String>>,
    /// The address of its first output.
    pub first: Decided<UserAddress>,
    /// How many outputs it has.
    pub outputs: u16,
}

impl Decoder {
    /// What the live page calls the place where this decoder's levers begin; labels lead there.
    pub fn anchor(&self) -> String {
        // An id that the user chose may hold anything; an anchor may not.
        let mut anchor = String::from("decoder-");
        for letter in self.id.chars() {
            if letter.is_ascii_alphanumeric() {
                anchor.push(letter);
            } else {
                anchor.push('_');
                anchor.push_str(&u32::from(letter).to_string());
            }
        }
        anchor
    }
}

/// A strip of button pairs.
#[derive(Clone, Debug)]
pub struct Strip {
    /// The panel's name.
    pub panel: String,
    /// Where the panel is described.
    pub span: Span,
    /// The place it stands at.
    pub at: Option<String>,
    /// The part it is made of.
    pub part: String,
    /// The chain it belongs to.
    pub chain: u16,
    /// How many pairs of buttons it has.
    pub pair_count: u16,
    /// The address of its first pair.
    pub first: Decided<UserAddress>,
    /// What each pair commands, from pair 1 on; shorter than `pair_count` where addresses run out.
    pub pairs: Vec<Option<LeverId>>,
    /// Which signal or light each pair commands, as long as `pairs`; a pair never has both.
    pub accessories: Vec<Option<AccessoryId>>,
    /// Fed from the cab bus, or by a supply of its own.
    pub feed: Decided<StripFeed>,
}

impl Strip {
    /// The address its last pair would command; past 2048 when the strip does not fit.
    pub fn last(&self) -> u32 {
        u32::from(self.first.value.number()) + u32::from(self.pair_count.max(1)) - 1
    }
}

/// What feeds a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StripFeed {
    /// The cab bus it is plugged into.
    CabBus,
    /// A regulated supply of its own, 12–18 V DC, centre positive.
    OwnSupply,
}

/// Strips that follow one another.
#[derive(Clone, Debug)]
pub struct Chain {
    /// The user's number for it.
    pub number: u16,
    /// Its address on the cab bus.
    pub cab: Decided<u16>,
    /// Indices of its strips in [`Plan::strips`], in order.
    pub strips: Vec<usize>,
}

/// A panel with a drawn diagram and what stands on it.
#[derive(Clone, Debug)]
pub struct Fascia {
    /// The panel's name.
    pub panel: String,
    /// Where the panel is described.
    pub span: Span,
    /// The index of its table in the description's panels, which hold its sizes.
    pub described: usize,
    /// The place it stands at.
    pub at: Option<String>,
    /// The levers that it controls, in the order of its `controls`.
    pub levers: Vec<LeverId>,
    /// Buttons, toggles and lamps.
    pub devices: Vec<Device>,
}

/// A button, toggle or lamp on a fascia.
#[derive(Clone, Debug)]
pub struct Device {
    /// What the hole table calls it: `B1`, `T1`, `L1`, …
    pub id: String,
    /// What kind of thing it is.
    pub kind: DeviceKind,
    /// The part that it is, a key of the parts library.
    pub part: String,
    /// Where on the diagram it belongs.
    pub stands: Stand,
    /// What it does.
    pub does: Decided<Does>,
}

/// What kind of thing stands in a hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DeviceKind {
    /// A push button.
    Button,
    /// A toggle.
    Toggle,
    /// A lamp.
    Lamp,
}

/// Where on a diagram a device belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// On the leg that this position of a machine opens.
    Leg(MachineId, Position),
    /// At the machine itself.
    Machine(MachineId),
    /// On a track where trains are sent to.
    Track(TrackId),
}

/// What a device does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Does {
    /// A push throws these levers, burst by burst.
    Throws(Vec<Vec<(LeverId, Position)>>),
    /// A toggle holds this lever where it is put.
    Holds(LeverId),
    /// A lamp shines while all these levers stand so.
    Shines(Vec<(LeverId, Position)>),
}

/// A part that has to be there.
#[derive(Clone, Debug)]
pub struct PartNeed {
    /// What it is, in words.
    pub what: String,
    /// How many, and why.
    pub count: Decided<u32>,
}

/// A stretch of track with both rails cut wherever it meets the rest, fed through something that turns polarity over.
#[derive(Clone, Debug)]
pub struct ReversingSection {
    /// The name of the track where the rails meet crossed, or words for a link inside a joint.
    pub name: String,
    /// That track or link.
    pub piece: Piece,
    /// Its tracks, in natural order; none for a link.
    pub tracks: Decided<Vec<TrackId>>,
    /// How long its tracks are together, where all their lengths are known.
    pub length: Option<Length>,
    /// The shortest way of a train from a gap on one side of that track to a gap on the other, tracks of unknown length
    /// counting as none: what the longest train has to be shorter than. None where the track's own length is not known, or
    /// no train can run from one side to the other.
    pub shortest: Option<Length>,
    /// Where it is too short for the longest train: tracks over which it might go on if their lengths were written.
    pub unmeasured: Vec<TrackId>,
}

/// Both rails cut at an end of a track, or in a link inside a joint.
#[derive(Clone, Debug)]
pub struct Gap {
    /// The track's name, or words for a link inside a joint.
    pub track: String,
    /// Which end of it, in words.
    pub end: String,
    /// The track or link.
    pub piece: Piece,
    /// Which end of the track; none for a link.
    pub at: Option<Port>,
    /// The reversing sections that end here, as indices into [`Plan::reversing`]; none where only districts meet.
    pub sections: Vec<usize>,
    /// Why it is cut there.
    pub why: Decided<()>,
}

/// A frog: the metal where a rail of one leg crosses a rail of another.
#[derive(Clone, Debug)]
pub struct Frog {
    /// The joint it lies in.
    pub joint: JointId,
    /// Which of its frogs, in words; a to d are the ends of `one` and of `other`, in order.
    pub name: &'static str,
    /// How it gets its polarity.
    pub feed: Decided<Feed>,
}

/// How a frog gets its polarity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feed {
    /// Over a contact that moves with the points of this machine; none where it has to come from a turnout beside.
    Contact(Option<MachineId>),
    /// From a unit that turns it over when it meets the wrong polarity.
    PolarityUnit,
    /// It has none.
    Dead,
}

impl Feed {
    /// The word for it, as the description has it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Contact(_) => "switched",
            Self::PolarityUnit => "polarity unit",
            Self::Dead => "dead",
        }
    }
}
