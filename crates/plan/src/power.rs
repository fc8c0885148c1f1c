//! Buses: what they lose, what a short in them draws, how thick they have to be, what feeds and protects them, and what a
//! meter will read.
//!
//! Each bus becomes a circuit of its places: runs as long as the bench says, decoders and motors that draw all the time, and
//! what moves, a train or the user's `load`, at each place in turn. Everything else is asked of that circuit.
//! Whether the answers are any good is for `rules` to say.

mod assess;
mod discharge;
mod draws;
mod lay;
mod protect;
mod reading;
mod sizes;
mod thrown;

use crate::model::Plan;
use crate::model::power::{BusLength, BusPoint, Damper, MoreFeeder, Opened, PlannedBus, Trip, Worst};
use crate::reason::{
    CONDUCTOR_CHEAPEST, CONDUCTOR_HEAVIEST, CONDUCTOR_WRITTEN, DROP_LIMIT_USUAL, DROP_LIMIT_WRITTEN,
    FEEDER_HELPS, HELD_DRAWS, LOAD_MOVES, LOAD_TO_TRIP, LOWEST_AT,
};
use assess::{Figures, assess};
use description::BusKind;
pub(crate) use draws::{accessory_bus_at, track_bus_at};
use electric::{Run, Terminator, ampacity};
use lay::{Laid, Moving, percent, print_amps, print_volts};
use measure::Conductor;
use notice::{Because, Decided};
use thrown::{Throwing, throw_most};

/// How much may be lost where nothing is written.
const DROP_USUAL: f64 = 0.05;

/// A short that draws this many times the trip current opens any breaker at once (common practice, no source).
pub(crate) const TIMES_TRIP_AIM: f64 = 2.0;

/// The most places at which one more feeder is tried.
const FEEDERS_MAX: usize = 60;

/// The most runs of a ring that are cut in turn.
const CUTS_MAX: usize = 400;

/// What is put across the end of a track bus as an option (common practice, no source).
const DAMPER: Terminator = Terminator { ohms: 100.0, farads: 1e-7 };

/// The shortest half period of the signal: of a one bit.
///
/// # Source
/// NMRA S-9.1, from memory.
const HALF_PERIOD_S: f64 = 58e-6;

/// Reckons every bus of the network.
pub(crate) fn reckon_buses(plan: &Plan) -> Vec<PlannedBus> {
    (0..plan.network.buses.len()).map(|bus| reckon(plan, bus)).collect()
}

fn reckon(plan: &Plan, index: usize) -> PlannedBus {
    let laid = Laid::new(plan, index);
    let limit = drop_limit(&laid);
    let throwing = (laid.bus.kind == BusKind::Accessory).then(|| Throwing::new(&laid));
    let chosen = sizes::choose(&laid, throwing.as_ref(), limit.value);
    let conductors = conductors(&laid, chosen.as_ref());
    let sizes: Vec<Conductor> = conductors.iter().map(|conductor| conductor.value).collect();
    let circuit = laid.circuit(&sizes, &[]);
    let assessed = assess(&circuit, &laid.ends(), laid.moving.amps());
    let figures = assessed.as_ref().map(|assessed| assessed.points.as_slice()).unwrap_or_default();
    let thrown = throwing.as_ref().map(|throwing| throw_most(&laid, throwing, &sizes, figures));
    let worst = worst(&laid, figures);
    let extra = thrown.as_ref().map_or(0.0, |thrown| thrown.value.amps_max);
    let given = assessed.as_ref().map(|assessed| assessed.supply_amps.clone()).unwrap_or_default();
    PlannedBus {
        bus: index,
        kind: laid.bus.kind,
        points: points(&laid, figures),
        runs: runs(&laid, conductors, chosen.as_ref(), assessed.as_ref().ok()),
        supplies: protect::supplies(&laid, &sizes, &given, extra),
        throws_in_short: (laid.bus.kind == BusKind::Accessory)
            .then(|| laid.bus.carries_signal(&plan.network.described)),
        opened: opened(&laid, &sizes),
        feeder: worst.as_ref().and_then(|worst| more_feeder(&laid, &sizes, &circuit, (worst.value, figures))),
        damper: damper(&laid),
        discharge: discharge::discharge_unit(&laid, figures),
        readings: reading::expect_readings(&laid, figures),
        cheapest_gap: chosen.as_ref().map(|chosen| chosen.gap),
        drop_limit: limit,
        worst,
        overload: assessed.err(),
        thrown,
        circuit,
    }
}

fn drop_limit(laid: &Laid<'_>) -> Decided<f64> {
    match laid.described.drop_limit {
        Some(limit) => {
            let share = limit.value.value();
            Decided::new(share, Because::new(&DROP_LIMIT_WRITTEN, [percent(share).into()]))
        }
        None => Decided::new(DROP_USUAL, Because::new(&DROP_LIMIT_USUAL, [percent(DROP_USUAL).into()])),
    }
}

fn conductors(laid: &Laid<'_>, chosen: Option<&sizes::Chosen>) -> Vec<Decided<Conductor>> {
    let count = sizes::can_be_had(laid).len();
    let one = |at: usize| {
        if let Some(written) = laid.described.conductor {
            let fact = written.value.to_string().into();
            return Decided::new(written.value, Because::new(&CONDUCTOR_WRITTEN, [fact]));
        }
        match chosen {
            Some(chosen) => {
                let count = u64::try_from(count).unwrap_or(0);
                let proven = if chosen.gap > 0.0 {
                    format!(
                        "; it is the cheapest that a search finds, and none can be cheaper by more than {}",
                        percent(chosen.gap)
                    )
                } else {
                    ", which is proven to be the cheapest".to_owned()
                };
                Decided::new(
                    chosen.sizes[at],
                    Because::new(&CONDUCTOR_CHEAPEST, [count.into(), proven.into()]),
                )
            }
            None => Decided::new(sizes::heaviest(laid), Because::new(&CONDUCTOR_HEAVIEST, [])),
        }
    };
    (0..laid.bus.runs.len()).map(one).collect()
}

fn runs(
    laid: &Laid<'_>,
    conductors: Vec<Decided<Conductor>>,
    chosen: Option<&sizes::Chosen>,
    assessed: Option<&assess::Assessed>,
) -> Vec<BusLength> {
    let runs = laid.bus.runs.iter().zip(conductors).enumerate();
    let made = runs.map(|(at, (run, conductor))| {
        let bears = ampacity(conductor.value);
        BusLength {
            from: run.from,
            to: run.to,
            length: run.length,
            would_do: chosen.map(|chosen| chosen.sizes[at]),
            loop_ohms: laid.loop_ohms(at, conductor.value),
            held_amps: assessed.map_or(0.0, |assessed| assessed.run_amps[at]),
            bears_amps: bears.current.value(),
            bears_source: bears.source,
            conductor,
        }
    });
    made.collect()
}

fn points(laid: &Laid<'_>, figures: &[Figures]) -> Vec<BusPoint> {
    let trip = laid.trip_amps();
    let places = laid.bus.places.iter().enumerate();
    let made = places.map(|(at, place)| {
        let figure = figures.get(at);
        let short_amps = figure.and_then(|figure| figure.short_amps);
        let unbounded = figure.is_some_and(|figure| figure.short_amps.is_none());
        let times_trip = short_amps.zip(trip).map(|(short, trip)| short / trip);
        BusPoint {
            place: place.clone(),
            held_amps: laid.held[at],
            held_volts: figure.map(|figure| figure.held_volts),
            volts: figure.map(|figure| figure.volts),
            drop: figure.map(|figure| laid.drop(figure.volts)),
            short_amps,
            loop_ohms: figure.map(|figure| figure.loop_ohms),
            trip: match (trip, times_trip) {
                (None, _) => Trip::NoBreaker,
                (Some(_), Some(times)) if times < 1.0 => Trip::Never,
                (Some(_), Some(times)) if times < TIMES_TRIP_AIM => Trip::Late,
                (Some(_), None) if !unbounded => Trip::Never,
                (Some(_), _) => Trip::Surely,
            },
            times_trip,
        }
    });
    made.collect()
}

fn worst(laid: &Laid<'_>, figures: &[Figures]) -> Option<Decided<Worst>> {
    let (point, figure) = figures.iter().enumerate().min_by(|a, b| a.1.volts.total_cmp(&b.1.volts))?;
    let worst = Worst { point, volts: figure.volts, drop: laid.drop(figure.volts) };
    let what = match laid.moving {
        Moving::None => print_amps(laid.held.iter().sum()),
        Moving::Written(amps) | Moving::ToTrip(amps) => format!("{} drawn there", print_amps(amps)),
    };
    let facts = [what.into(), print_volts(figure.volts).into(), print_volts(laid.highest_volts()).into()];
    let mut decided = Decided::new(worst, Because::new(&LOWEST_AT, facts));
    decided = match laid.moving {
        Moving::None => decided,
        Moving::Written(amps) => decided.and(Because::new(&LOAD_MOVES, [print_amps(amps).into()])),
        Moving::ToTrip(amps) => decided.and(Because::new(&LOAD_TO_TRIP, [print_amps(amps).into()])),
    };
    let held: f64 = laid.held.iter().sum();
    if held > 0.0 {
        decided = decided.and(Because::new(&HELD_DRAWS, [print_amps(held).into()]));
    }
    Some(decided)
}

/// A ring cut at each run in turn, solved anew each time.
fn opened(laid: &Laid<'_>, sizes: &[Conductor]) -> Vec<Opened> {
    if laid.bus.shape != description::BusShape::Ring {
        return Vec::new();
    }
    // Branches hang on the ring; cutting one only leaves its end dark.
    let ring = laid.ring_runs();
    let cut = |run: usize| {
        let mut circuit = laid.circuit(sizes, &[]);
        circuit.runs[run].open = true;
        let Ok(assessed) = assess(&circuit, &laid.ends(), laid.moving.amps()) else {
            return Opened { run, point: 0, drop: None, trips: false };
        };
        let lowest = assessed.points.iter().enumerate().min_by(|a, b| a.1.volts.total_cmp(&b.1.volts));
        let trips = |figure: &Figures| match (laid.trip_amps(), figure.short_amps) {
            (Some(trip), Some(short)) => short >= trip,
            (None, _) | (_, None) => true,
        };
        Opened {
            run,
            point: lowest.map_or(0, |(point, _)| point),
            drop: lowest.map(|(_, figure)| laid.drop(figure.volts)),
            trips: assessed.points.iter().all(trips),
        }
    };
    ring.take(CUTS_MAX).map(cut).collect()
}

/// Where a second cable of the thickest size in use, laid along the bus from its first supply, lifts the lowest voltage most.
fn more_feeder(
    laid: &Laid<'_>,
    sizes: &[Conductor],
    circuit: &electric::Circuit,
    (worst, figures): (Worst, &[Figures]),
) -> Option<Decided<MoreFeeder>> {
    let source = laid.bus.sources.first()?.1;
    let metres = laid.metres_from(source);
    let size = sizes.iter().copied().min_by(|a, b| sizes::per_m(*a).total_cmp(&sizes::per_m(*b)))?;
    let mut best: Option<(usize, f64)> = None;
    // Where volts are lowest a feeder helps most, so only those places are tried.
    let mut lowest: Vec<usize> = (0..figures.len()).filter(|&point| point != source).collect();
    lowest.sort_by(|&a, &b| figures[a].volts.total_cmp(&figures[b].volts));
    lowest.truncate(FEEDERS_MAX);
    for point in lowest {
        let metres = metres[point];
        let mut fed = circuit.clone();
        let (from, to) = (electric::NodeId(source), electric::NodeId(point));
        fed.runs.push(Run {
            id: "second cable".into(),
            from,
            to,
            ohms: metres * sizes::per_m(size),
            open: false,
        });
        let Ok(assessed) = assess(&fed, &laid.ends(), laid.moving.amps()) else { continue };
        let lowest = assessed.points.iter().map(|figure| figure.volts).min_by(f64::total_cmp);
        if let Some(volts) = lowest.filter(|&volts| volts > best.map_or(worst.volts, |(_, most)| most) + 1e-9)
        {
            best = Some((point, volts));
        }
    }
    // A gain that does not show in print is no advice.
    let (point, volts) = best.filter(|&(_, volts)| print_volts(volts) != print_volts(worst.volts))?;
    let facts =
        [laid.bus.places[source].as_str().into(), print_volts(worst.volts).into(), print_volts(volts).into()];
    Some(Decided::new(MoreFeeder { point, volts }, Because::new(&FEEDER_HELPS, facts)))
}

fn damper(laid: &Laid<'_>) -> Option<Damper> {
    let heat = DAMPER.dissipation(laid.highest_volts(), HALF_PERIOD_S);
    let is_track = laid.bus.kind == BusKind::Track;
    is_track.then_some(Damper { ohms: DAMPER.ohms, farads: DAMPER.farads, watts: heat.watts })
}
