//! What is known about a bus when the plan is finished: conductors, volts, shorts, what to buy and what a meter will read.
//!
//! # Units
//! Volts, amperes, ohms of the loop (out and return together), shares of one; each name says which.

use description::BusKind;
use electric::Circuit;
use measure::{Conductor, Length};
use network::LeverId;
use notice::Decided;

/// A bus with everything that was reckoned of it.
#[derive(Clone, Debug)]
pub struct PlannedBus {
    /// The index of it in the network's buses.
    pub bus: usize,
    /// What it feeds.
    pub kind: BusKind,
    /// Its points, in the order of the network's places.
    pub points: Vec<BusPoint>,
    /// Its runs, in the order of the network's.
    pub runs: Vec<BusLength>,
    /// By what share of its price a choice of conductors may be cheaper than the one that would do: 0 where that is proven to be the
    /// cheapest; none where no choice keeps the limits.
    pub cheapest_gap: Option<f64>,
    /// What feeds it.
    pub supplies: Vec<BusSupply>,
    /// Its share of the voltage that may be lost.
    pub drop_limit: Decided<f64>,
    /// The place with the lowest voltage; none where there is no steady state.
    pub worst: Option<Decided<Worst>>,
    /// Why there is no steady state, and what would mend it.
    pub overload: Option<(String, String)>,
    /// What it comes to while the most that can be thrown at once is thrown; none on a track bus.
    pub thrown: Option<Decided<Thrown>>,
    /// Whether its decoders are still heard while the rails are shorted: not where they take the signal from a track bus. None on a
    /// track bus.
    pub throws_in_short: Option<bool>,
    /// A ring cut at each of its runs in turn.
    pub opened: Vec<Opened>,
    /// Where a second cable from the supply helps most.
    pub feeder: Option<Decided<MoreFeeder>>,
    /// A damper across its end, as an option; only for a track bus.
    pub damper: Option<Damper>,
    /// A capacitor-discharge unit for its coils; none where it feeds none.
    pub discharge: Option<Decided<DischargeUnit>>,
    /// What a meter reads, in order.
    pub readings: Vec<Reading>,
    /// Its circuit with what is always drawn, for whoever wants a second opinion.
    pub circuit: Circuit,
}

/// A place on a bus.
#[derive(Clone, Debug)]
pub struct BusPoint {
    /// The place.
    pub place: String,
    /// What hangs there all the time.
    pub held_amps: f64,
    /// Volts with what is always drawn.
    pub held_volts: Option<f64>,
    /// Volts when what moves is drawn here, too.
    pub volts: Option<f64>,
    /// The share of the voltage that is lost then.
    pub drop: Option<f64>,
    /// Amperes of a dead short here; none where nothing limits them.
    pub short_amps: Option<f64>,
    /// Ohms of the loop, the supply's own among them.
    pub loop_ohms: Option<f64>,
    /// Whether a short here opens the breaker.
    pub trip: Trip,
    /// Amperes of the short as times the trip current; none without a breaker.
    pub times_trip: Option<f64>,
}

/// Whether a short opens a breaker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Trip {
    /// At least twice the trip current flows.
    Surely,
    /// More than the trip current flows, but less than twice.
    Late,
    /// The trip current is not reached.
    Never,
    /// There is no breaker.
    NoBreaker,
}

/// A length of a bus.
#[derive(Clone, Debug)]
pub struct BusLength {
    /// The index of the point it comes from.
    pub from: usize,
    /// The index of the point it goes to.
    pub to: usize,
    /// How long, slack included.
    pub length: Length,
    /// Its size.
    pub conductor: Decided<Conductor>,
    /// The cheapest choice for it where the size is written; none where no size keeps the limits.
    pub would_do: Option<Conductor>,
    /// Its loop, joints included.
    pub loop_ohms: f64,
    /// What it carries with what is always drawn.
    pub held_amps: f64,
    /// What it may carry for good.
    pub bears_amps: f64,
    /// Where that figure comes from.
    pub bears_source: &'static str,
}

/// What feeds a bus.
#[derive(Clone, Debug)]
pub struct BusSupply {
    /// The index of its point.
    pub at: usize,
    /// The part, if the description names one.
    pub part: Option<String>,
    /// Volts without load.
    pub volts: f64,
    /// Ohms inside it.
    pub inner_ohms: Decided<f64>,
    /// The current at which its breaker opens.
    pub trip_amps: Option<f64>,
    /// The most that is asked of it.
    pub amps: f64,
    /// What it has to be rated at.
    pub rated_amps: Decided<f64>,
    /// What the part gives, if that is written.
    pub gives_amps: Option<f64>,
    /// The fuse to put behind it; none where its breaker protects the bus, or no fuse can.
    pub fuse_amps: Decided<Option<f64>>,
}

/// The place with the lowest voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// The index of the point.
    pub point: usize,
    /// Volts there.
    pub volts: f64,
    /// The share that is lost.
    pub drop: f64,
}

/// While the most that can be thrown at once is thrown.
#[derive(Clone, Debug, PartialEq)]
pub struct Thrown {
    /// The levers; none where throwing takes no more than holding.
    pub levers: Vec<LeverId>,
    /// What they take beyond what they hold.
    pub amps: f64,
    /// No levers that can be thrown at once take more than this.
    pub amps_max: f64,
    /// The index of the point with the lowest voltage.
    pub point: usize,
    /// Volts there; none where there is no steady state.
    pub volts: Option<f64>,
    /// No levers that can be thrown at once bring a lower voltage anywhere; none where there is no steady state.
    pub volts_min: Option<f64>,
    /// Whether these levers are proven to be the worst, both in volts and in amperes.
    pub proven: bool,
}

/// A ring cut at one run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opened {
    /// The index of the run.
    pub run: usize,
    /// The index of the point that is then worst.
    pub point: usize,
    /// The share lost there; none where there is no steady state.
    pub drop: Option<f64>,
    /// Whether a short opens the breaker everywhere even then.
    pub trips: bool,
}

/// A second cable from the supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoreFeeder {
    /// The index of the point it would go to.
    pub point: usize,
    /// The lowest volts with it.
    pub volts: f64,
}

/// A resistor and a capacitor in series across the end of a bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Damper {
    /// The resistor.
    pub ohms: f64,
    /// The capacitor.
    pub farads: f64,
    /// The heat in the resistor at the shortest half period of the signal.
    pub watts: f64,
}

/// A capacitor that is emptied into coils.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DischargeUnit {
    /// The capacitor.
    pub farads: f64,
    /// What it is charged to.
    pub volts: f64,
    /// What it holds then.
    pub stored_joules: f64,
    /// The index of the point of the coil that gets least of it.
    pub point: usize,
    /// That coil.
    pub coil_ohms: f64,
    /// Out and return on the way to it.
    pub wiring_ohms: f64,
    /// What it gets, alone in a burst.
    pub coil_joules: f64,
    /// The greatest current then.
    pub peak_amps: f64,
    /// How many coils like it one burst may have; 0 where it holds too little for one.
    pub coils_per_burst: u32,
    /// The resistor that it is charged through.
    pub charge_ohms: f64,
    /// Seconds until the next burst may follow.
    pub wait_s: f64,
    /// The heat in that resistor when burst follows burst.
    pub charge_watts: f64,
}

/// What a meter reads.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The index of the point.
    pub point: usize,
    /// What to do before reading.
    pub with: String,
    /// What the meter is set to.
    pub meter: &'static str,
    /// What it reads.
    pub expect: f64,
    /// The least that is still good.
    pub low: f64,
    /// The most that is still good.
    pub high: f64,
    /// What a reading outside means.
    pub outside: String,
}
