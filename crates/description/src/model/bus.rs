//! `[bus.*]`: what feeds the rails and the decoders, as it is written.

use super::Name;
use measure::{Capacitance, Conductor, Current, Length, Price, Resistance, Share, Voltage};
use notice::Spanned;

/// What a bus is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BusKind {
    /// It feeds the rails.
    Track,
    /// It feeds decoders and, through them, what moves points.
    Accessory,
}

/// How a bus is laid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum BusShape {
    /// Its ends are open.
    #[default]
    Tree,
    /// Its path comes back to where it began.
    Ring,
}

/// `[bus.*]`.
#[derive(Clone, Debug)]
pub struct Bus {
    /// What the user calls it.
    pub id: Name,
    /// What it is for.
    pub kind: BusKind,
    /// What feeds it: `source`, then those of `also_fed`.
    pub sources: Vec<BusSource>,
    /// Its size; absent: decided.
    pub conductor: Option<Spanned<Conductor>>,
    /// How it is laid.
    pub shape: BusShape,
    /// The places it passes, in order.
    pub path: Vec<Name>,
    /// Further ways, each from a place that it passes already.
    pub branches: Vec<Vec<Name>>,
    /// How much of the voltage may be lost; absent: 5 %.
    pub drop_limit: Option<Spanned<Share>>,
    /// What trains, or other things than decoders and motors, take from it; absent on a track bus: all that the breaker lets through.
    pub load: Option<Spanned<Current>>,
    /// The resistance of the joints at a place.
    pub joint: Option<Spanned<Resistance>>,
    /// The wires from the bus to the rails or to a decoder.
    pub feeder: Option<Spanned<Conductor>>,
    /// How long each of those is.
    pub feeder_length: Option<Spanned<Length>>,
    /// Whether it is there already and is used as it is.
    pub existing: bool,
    /// The capacitor of a discharge unit for its coils; absent: a usual one.
    pub capacitor: Option<Spanned<Capacitance>>,
    /// Conductors that can be had; absent: the usual sizes.
    pub buy: Vec<Buy>,
}

/// What feeds a bus.
#[derive(Clone, Debug)]
pub struct BusSource {
    /// Where it stands.
    pub at: Name,
    /// The part that it is.
    pub part: Option<Name>,
    /// Its voltage without load.
    pub volts: Spanned<Voltage>,
    /// The current at which its breaker opens.
    pub trip: Option<Spanned<Current>>,
    /// The resistance inside it.
    pub inner: Option<Spanned<Resistance>>,
}

/// A conductor that can be had.
#[derive(Clone, Debug)]
pub struct Buy {
    /// Its size.
    pub conductor: Spanned<Conductor>,
    /// What two conductors of it cost together; absent: told by its copper.
    pub price: Option<Spanned<Price>>,
}
