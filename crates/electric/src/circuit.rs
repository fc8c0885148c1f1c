//! A circuit as a builder would list it: points, runs of conductor, supplies and loads, and what is wrong with the list.
//!
//! A point is a pair of terminals (out and return together: `back` is left out, and a run's ohms are those of its loop) or a
//! single terminal (`back` names the other one). Nothing is implied: there is no hidden wire. Values are checked here, once,
//! so that everything behind it reckons with finite numbers.
//!
//! # Units
//! Volts, amperes, ohms, watts; each name says which.

/// Values past this are a slip of the pen.
pub const VALUE_MAX: f64 = 1e9;

/// Below this a conductor has no resistance worth reckoning: 100 A drop a millionth of a volt along it.
pub const OHMS_MIN: f64 = 1e-8;

/// The points a circuit may have.
pub const NODES_MAX: usize = 200_000;

/// The runs, supplies and loads, all together, that a circuit may have.
pub const PARTS_MAX: usize = 1_000_000;

/// A point of the circuit: its place in [`Circuit::nodes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NodeId(pub usize);

/// A length of conductor between two points, with the joints in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// The user's word for it.
    pub id: String,
    /// Where current that counts as positive comes from.
    pub from: NodeId,
    /// Where it goes to.
    pub to: NodeId,
    /// Resistance of the whole run, joints included: out and return together where points are pairs.
    pub ohms: f64,
    /// Cut, so that nothing flows.
    pub open: bool,
}

/// What feeds the circuit: an ideal voltage behind a resistance.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// The user's word for it.
    pub id: String,
    /// The point it feeds.
    pub node: NodeId,
    /// Its other terminal; none where points are pairs.
    pub back: Option<NodeId>,
    /// Its voltage without load.
    pub volts: f64,
    /// The resistance inside it.
    pub source_ohms: f64,
    /// The current at which its breaker opens, if it has one.
    pub trip_amps: Option<f64>,
}

/// What a load takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Draw {
    /// The same current at any voltage: a stalled motor behind its resistor, a decoder.
    Amps(f64),
    /// A plain resistance: a lamp, a coil.
    Ohms(f64),
    /// The same power at any voltage, more current when the voltage sinks: a switching converter.
    Watts(f64),
}

/// What is fed.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// The user's word for it.
    pub id: String,
    /// The point it hangs on.
    pub node: NodeId,
    /// Its other terminal; none where points are pairs.
    pub back: Option<NodeId>,
    /// What it takes.
    pub draw: Draw,
}

/// Points and what joins, feeds and loads them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Circuit {
    /// The names of the points.
    pub nodes: Vec<String>,
    /// The point that voltages are told against; none where points are pairs.
    pub reference: Option<NodeId>,
    /// Conductors.
    pub runs: Vec<Run>,
    /// Supplies and boosters.
    pub supplies: Vec<Supply>,
    /// Loads.
    pub loads: Vec<Load>,
}

/// What is wrong with a circuit, or worth knowing about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// A value is not a finite number.
    NotANumber,
    /// A value below zero, where nothing below zero is made.
    BelowZero,
    /// A value too large to be meant.
    TooLarge,
    /// A point is named that is not in the list.
    PointUnknown,
    /// More points or parts than are reckoned with.
    TooMany,
    /// Nothing feeds the circuit.
    NoSupply,
    /// A load that is a short.
    LoadShorted,
    /// A supply joined to itself by conductors without resistance.
    SupplyShorted,
    /// Supplies of different voltage, joined without any resistance between them.
    SuppliesClash,
    /// A load whose terminals are the wrong way round.
    LoadReversed,
    /// Note: a run without resistance; its ends count as one point.
    NoResistance,
    /// Note: parts without resistance in parallel; how the current parts between them cannot be known.
    SplitUnknown,
    /// Note: no supply feeds this point.
    PointUnfed,
    /// Note: no supply feeds this load.
    LoadUnfed,
    /// Note: fed, but joined to the reference by no conductor, so that its voltage against it has no meaning.
    Floating,
    /// Note: current is pushed into this supply.
    DrivenBackwards,
    /// Note: nothing limits a short here, not even a source resistance.
    ShortUnbounded,
    /// Note: a run from a point to itself.
    RunToItself,
}

impl FaultKind {
    /// Its name in answers: two to four words.
    pub fn code(self) -> &'static str {
        match self {
            Self::NotANumber => "not-a-number",
            Self::BelowZero => "below-zero",
            Self::TooLarge => "too-large",
            Self::PointUnknown => "point-unknown",
            Self::TooMany => "too-many-parts",
            Self::NoSupply => "no-supply",
            Self::LoadShorted => "load-shorted",
            Self::SupplyShorted => "supply-shorted",
            Self::SuppliesClash => "supplies-clash",
            Self::LoadReversed => "load-reversed",
            Self::NoResistance => "run-no-resistance",
            Self::SplitUnknown => "split-unknown",
            Self::PointUnfed => "point-unfed",
            Self::LoadUnfed => "load-unfed",
            Self::Floating => "point-floating",
            Self::DrivenBackwards => "supply-driven-backwards",
            Self::ShortUnbounded => "short-unbounded",
            Self::RunToItself => "run-to-itself",
        }
    }
}

/// One fault or note: what, at which part or point, in words, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What kind of thing it is.
    pub kind: FaultKind,
    /// The name of the part or point.
    pub at: String,
    /// One sentence: what is.
    pub message: String,
    /// One sentence: what to do.
    pub help: String,
}

impl Fault {
    pub(crate) fn new(
        kind: FaultKind,
        at: &str,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self { kind, at: at.to_owned(), message: message.into(), help: help.into() }
    }
}

impl Circuit {
    /// Everything that keeps the circuit from being reckoned, in the order of its parts.
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let parts = self.runs.len() + self.supplies.len() + self.loads.len();
        if self.nodes.len() > NODES_MAX || parts > PARTS_MAX {
            let message = format!("the circuit has {} points and {parts} parts", self.nodes.len());
            let help =
                format!("part it: at most {NODES_MAX} points and {PARTS_MAX} parts are reckoned at once");
            return vec![Fault::new(FaultKind::TooMany, "circuit", message, help)];
        }
        let known = |node: &NodeId| node.0 < self.nodes.len();
        let unknown = |at: &str| {
            let help = "name a point that is in the list of points";
            Fault::new(FaultKind::PointUnknown, at, format!("`{at}` names a point that does not exist"), help)
        };
        for run in &self.runs {
            if !known(&run.from) || !known(&run.to) {
                faults.push(unknown(&run.id));
            }
            faults.extend(value(&run.id, "resistance", "ohms", run.ohms));
        }
        for supply in &self.supplies {
            if !known(&supply.node) || !supply.back.as_ref().is_none_or(known) {
                faults.push(unknown(&supply.id));
            }
            faults.extend(value(&supply.id, "voltage", "volts", supply.volts));
            faults.extend(value(&supply.id, "source resistance", "ohms", supply.source_ohms));
            faults
                .extend(supply.trip_amps.and_then(|amps| value(&supply.id, "trip current", "amperes", amps)));
        }
        for load in &self.loads {
            if !known(&load.node) || !load.back.as_ref().is_none_or(known) {
                faults.push(unknown(&load.id));
            }
            faults.extend(match load.draw {
                Draw::Amps(amps) => value(&load.id, "current", "amperes", amps),
                Draw::Watts(watts) => value(&load.id, "power", "watts", watts),
                Draw::Ohms(ohms) => {
                    value(&load.id, "resistance", "ohms", ohms).or_else(|| shorted(load, ohms))
                }
            });
        }
        if !self.reference.as_ref().is_none_or(known) {
            faults.push(unknown("reference"));
        }
        if self.supplies.is_empty() {
            let message = "nothing feeds this circuit";
            faults.push(Fault::new(FaultKind::NoSupply, "circuit", message, "add a supply"));
        }
        faults
    }
}

fn shorted(load: &Load, ohms: f64) -> Option<Fault> {
    (ohms < OHMS_MIN).then(|| {
        let message = format!("`{}` has no resistance: that is a short, not a load", load.id);
        Fault::new(FaultKind::LoadShorted, &load.id, message, "measure it, or take it out")
    })
}

/// What is wrong with one value of a part.
fn value(at: &str, what: &str, unit: &str, value: f64) -> Option<Fault> {
    let (kind, words) = if value.is_nan() || value.is_infinite() {
        (FaultKind::NotANumber, "is not a number".to_owned())
    } else if value < 0.0 {
        (FaultKind::BelowZero, format!("is {value} {unit}, below zero"))
    } else if value > VALUE_MAX {
        (FaultKind::TooLarge, format!("is {value:e} {unit}, too large to be meant"))
    } else {
        return None;
    };
    let help = format!("give the {what} in {unit}, from 0 to {VALUE_MAX:e}");
    Some(Fault::new(kind, at, format!("the {what} of `{at}` {words}"), help))
}
