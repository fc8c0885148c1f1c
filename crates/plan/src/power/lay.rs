//! A bus as a circuit: points, runs with their ohms, what hangs on it, what feeds it.

use super::draws;
use crate::model::Plan;
use crate::reason::{INNER_USUAL, INNER_WRITTEN};
use description::BusKind;
use electric::{Circuit, Draw, Load, NodeId, Run, Supply, Wires, run_ohms};
use measure::{Conductor, Current, Length, Resistance};
use notice::{Because, Decided};

/// Wires are reckoned at the temperature of a room, at which they are measured, too.
pub(super) const ROOM_CELSIUS: f64 = 20.0;

/// Inside a supply of which nothing is said (common practice, no source).
const INNER_USUAL_OHMS: f64 = 0.05;

/// What is drawn at each place in turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Moving {
    /// Nothing moves.
    None,
    /// As much as is written.
    Written(f64),
    /// As much as the breaker lets through.
    ToTrip(f64),
}

impl Moving {
    pub(super) fn amps(self) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Written(amps) | Self::ToTrip(amps) => amps,
        }
    }
}

/// What feeds a bus.
#[derive(Clone, Debug)]
pub(super) struct Source {
    pub(super) at: usize,
    pub(super) part: Option<String>,
    pub(super) volts: f64,
    pub(super) inner: Decided<f64>,
    pub(super) trip: Option<f64>,
    pub(super) gives: Option<f64>,
}

/// A bus made ready.
#[derive(Clone, Debug)]
pub(super) struct Laid<'p> {
    pub(super) plan: &'p Plan,
    pub(super) bus: &'p network::Bus,
    pub(super) described: &'p description::Bus,
    /// By point: what is drawn there all the time.
    pub(super) held: Vec<f64>,
    pub(super) moving: Moving,
    pub(super) sources: Vec<Source>,
}

impl<'p> Laid<'p> {
    pub(super) fn new(plan: &'p Plan, index: usize) -> Self {
        let bus = &plan.network.buses[index];
        let described = &plan.network.described.buses[bus.described];
        let sources: Vec<Source> =
            bus.sources.iter().map(|&(source, at)| read(plan, described, source, at)).collect();
        let trip = sources.iter().filter_map(|source| source.trip).reduce(f64::max);
        let moving = match (described.load, bus.kind, trip) {
            (Some(load), _, _) => Moving::Written(load.value.value()),
            (None, BusKind::Track, Some(trip)) => Moving::ToTrip(trip),
            (None, BusKind::Track, None) | (None, BusKind::Accessory, _) => Moving::None,
        };
        Self { plan, bus, described, held: draws::held_at(plan, index), moving, sources }
    }

    /// The greatest trip current of its breakers.
    pub(super) fn trip_amps(&self) -> Option<f64> {
        self.sources.iter().filter_map(|source| source.trip).reduce(f64::max)
    }

    pub(super) fn highest_volts(&self) -> f64 {
        self.sources.iter().fold(0.0_f64, |most, source| most.max(source.volts))
    }

    /// The share that is lost where this is left.
    pub(super) fn drop(&self, volts: f64) -> f64 {
        let full = self.highest_volts();
        if full > 0.0 { 1.0 - volts / full } else { 0.0 }
    }

    pub(super) fn joint_ohms(&self) -> f64 {
        self.described.joint.map_or(0.0, |joint| joint.value.value())
    }

    pub(super) fn loop_ohms(&self, run: usize, conductor: Conductor) -> f64 {
        run_ohms(conductor, self.bus.runs[run].length, Wires::OutAndReturn, ROOM_CELSIUS) + self.joint_ohms()
    }

    /// The loop of the wires from the bus to the rails or a decoder; none where they are not described.
    pub(super) fn feeder_ohms(&self) -> Option<f64> {
        let (size, length) = (self.described.feeder?.value, self.described.feeder_length?.value);
        Some(run_ohms(size, length, Wires::OutAndReturn, ROOM_CELSIUS) + self.joint_ohms())
    }

    /// Where things hang at each point: at the end of its feeder, or on the bus itself.
    pub(super) fn ends(&self) -> Vec<NodeId> {
        let count = self.bus.places.len();
        let first = if self.feeder_ohms().is_some() { count } else { 0 };
        (0..count).map(|at| NodeId(first + at)).collect()
    }

    /// The runs that the ring is made of: those of its path come first.
    pub(super) fn ring_runs(&self) -> std::ops::Range<usize> {
        let branches: usize = self.described.branches.iter().map(|branch| branch.len() - 1).sum();
        0..self.bus.runs.len().saturating_sub(branches)
    }

    /// The circuit with these sizes, run by run, and `extra` drawn at points beside what is held.
    pub(super) fn circuit(&self, sizes: &[Conductor], extra: &[f64]) -> Circuit {
        let places = &self.bus.places;
        let mut nodes = places.clone();
        let runs = self.bus.runs.iter().enumerate().map(|(at, run)| Run {
            id: format!("{} – {}", places[run.from], places[run.to]),
            from: NodeId(run.from),
            to: NodeId(run.to),
            ohms: self.loop_ohms(at, sizes[at]),
            open: false,
        });
        let mut runs: Vec<Run> = runs.collect();
        let ends = self.ends();
        if let Some(ohms) = self.feeder_ohms() {
            for (at, place) in places.iter().enumerate() {
                nodes.push(format!("{place}, end of the feeder"));
                let id = format!("feeder at {place}");
                runs.push(Run { id, from: NodeId(at), to: ends[at], ohms, open: false });
            }
        }
        let supplies = self.sources.iter().enumerate().map(|(at, source)| Supply {
            id: format!("supply {} at {}", at + 1, places[source.at]),
            node: NodeId(source.at),
            back: None,
            volts: source.volts,
            source_ohms: source.inner.value,
            trip_amps: source.trip,
        });
        let drawn = |at: usize| self.held[at] + extra.get(at).copied().unwrap_or(0.0);
        let loads = (0..places.len()).filter(|&at| drawn(at) > 0.0).map(|at| Load {
            id: format!("decoders at {}", places[at]),
            node: ends[at],
            back: None,
            draw: Draw::Amps(drawn(at)),
        });
        Circuit { supplies: supplies.collect(), loads: loads.collect(), nodes, reference: None, runs }
    }

    /// Metres along the bus from a point to each.
    pub(super) fn metres_from(&self, point: usize) -> Vec<f64> {
        let mut metres = vec![f64::INFINITY; self.bus.places.len()];
        metres[point] = 0.0;
        // A bus has some dozens of runs: as often as there are runs is enough.
        for _ in 0..self.bus.runs.len() {
            for run in &self.bus.runs {
                let length = run.length.value();
                metres[run.to] = metres[run.to].min(metres[run.from] + length);
                metres[run.from] = metres[run.from].min(metres[run.to] + length);
            }
        }
        metres
    }
}

fn read(plan: &Plan, described: &description::Bus, source: usize, at: usize) -> Source {
    let source = &described.sources[source];
    let part = source.part.as_ref().map(|part| part.value.clone());
    let gives = part.as_ref().and_then(|part| plan.network.described.parts.get(part)?.gives);
    let inner = match source.inner {
        Some(inner) => {
            let ohms = inner.value.value();
            Decided::new(ohms, Because::new(&INNER_WRITTEN, [print_ohms(ohms).into()]))
        }
        None => {
            Decided::new(INNER_USUAL_OHMS, Because::new(&INNER_USUAL, [print_ohms(INNER_USUAL_OHMS).into()]))
        }
    };
    Source {
        at,
        part,
        volts: source.volts.value.value(),
        inner,
        trip: source.trip.map(|trip| trip.value.value()),
        gives: gives.map(Current::value),
    }
}

/// A current as sheets print it.
pub(super) fn print_amps(amps: f64) -> String {
    if amps.abs() < 0.9995 { format!("{:.0} mA", amps * 1000.0) } else { format!("{amps:.2} A") }
}

/// A voltage as sheets print it.
pub(super) fn print_volts(volts: f64) -> String {
    format!("{volts:.2} V")
}

/// A resistance as sheets print it.
pub(super) fn print_ohms(ohms: f64) -> String {
    let ohms = Resistance::new(ohms).value();
    if ohms < 0.9995 { format!("{:.0} mΩ", ohms * 1000.0) } else { format!("{ohms:.2} Ω") }
}

/// A share as sheets print it.
pub(super) fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

/// The length of one metre of run.
pub(super) fn one_metre() -> Length {
    Length::new(1.0)
}
