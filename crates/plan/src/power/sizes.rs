//! Which conductors: the cheapest of those that can be had. Proven where the bus is a tree fed at one place or a small ring;
//! with a bound on what may be cheaper where it is larger.

use super::TIMES_TRIP_AIM;
use super::assess::assess;
use super::lay::{Laid, ROOM_CELSIUS, one_metre};
use super::thrown::{Throwing, throw_most};
use description::BusShape;
use electric::{Gauged, Pair, RingBus, Size, TreeBus, TreeRun, Wires, ampacity, area_mm2, run_ohms};
use measure::{Conductor, Units};

/// The usual sizes, where nothing says what can be had.
const AWG: [u8; 6] = [10, 12, 14, 16, 18, 20];
const SQUARE_MM: [f64; 6] = [4.0, 2.5, 1.5, 1.0, 0.75, 0.5];

/// Times that sizes are chosen anew because of what is thrown.
const AGAIN_MAX: usize = 8;

/// Loop ohms of a metre.
pub(super) fn per_m(conductor: Conductor) -> f64 {
    run_ohms(conductor, one_metre(), Wires::OutAndReturn, ROOM_CELSIUS)
}

/// The sizes that can be had.
pub(super) fn can_be_had(laid: &Laid<'_>) -> Vec<Conductor> {
    let buy = &laid.described.buy;
    if !buy.is_empty() {
        return buy.iter().map(|buy| buy.conductor.value).collect();
    }
    match laid.plan.network.described.layout.units {
        Units::Imperial => AWG.map(Conductor::Awg).to_vec(),
        Units::Metric => SQUARE_MM.map(Conductor::SquareMm).to_vec(),
    }
}

/// The heaviest of them.
pub(super) fn heaviest(laid: &Laid<'_>) -> Conductor {
    let sizes = can_be_had(laid).into_iter();
    sizes.min_by(|a, b| per_m(*a).total_cmp(&per_m(*b))).unwrap_or(Conductor::Awg(AWG[0]))
}

/// Whether the bus is a tree fed at one place, where what each run carries is known beforehand.
fn is_tree(laid: &Laid<'_>) -> bool {
    laid.bus.shape == BusShape::Tree && laid.sources.len() == 1
}

/// The cheapest sizes that were found.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chosen {
    /// Run by run.
    pub(super) sizes: Vec<Conductor>,
    /// By what share another choice may be cheaper; 0 where none is.
    pub(super) gap: f64,
}

/// Sizes as the search wants them. Without prices a size costs what its copper weighs.
fn priced(laid: &Laid<'_>, sizes: &[Conductor]) -> Vec<Size> {
    let buy = &laid.described.buy;
    let all_priced = !buy.is_empty() && buy.iter().all(|buy| buy.price.is_some());
    let price = |at: usize, size: Conductor| match buy.get(at).and_then(|buy| buy.price) {
        Some(price) if all_priced => price.value.value(),
        Some(_) | None => 2.0 * area_mm2(size),
    };
    let sized = sizes.iter().enumerate().map(|(at, &size)| Size {
        loop_ohm_per_m: per_m(size),
        amps_max: ampacity(size).current.value(),
        price_per_m: price(at, size),
    });
    sized.collect()
}

/// The cheapest sizes, run by run; none if no choice keeps all limits.
///
/// The limit on volts holds while levers are thrown, too. Which are the worst hangs on the sizes, so sizes are chosen for what is
/// always drawn, then again with what the worst levers draw beside it, until the worst levers ask for no more. Fewer limits
/// never cost more, so the first choice bounds what any may save.
pub(super) fn choose(laid: &Laid<'_>, throwing: Option<&Throwing>, drop_limit: f64) -> Option<Chosen> {
    let had = can_be_had(laid);
    let mut extra = vec![0.0; laid.bus.places.len()];
    let first = gauge(laid, &had, drop_limit, &extra)?;
    let price_min = first.price_min;
    // The feeders of a ring follow its runs, and their sizes are not sought for.
    let runs = laid.bus.runs.len();
    let named =
        |gauged: &Gauged| -> Vec<Conductor> { gauged.sizes.iter().take(runs).map(|&at| had[at]).collect() };
    let mut gauged = first;
    if let Some(throwing) = throwing {
        let mut keeps = false;
        for _ in 0..AGAIN_MAX {
            let sizes = named(&gauged);
            let assessed = assess(&laid.circuit(&sizes, &[]), &laid.ends(), laid.moving.amps()).ok()?;
            let thrown = throw_most(laid, throwing, &sizes, &assessed.points).value;
            keeps = thrown.volts.is_some_and(|volts| laid.drop(volts) <= drop_limit * (1.0 + 1e-9));
            if keeps {
                break;
            }
            let drawn = throwing.drawn(laid, &thrown.levers);
            extra.iter_mut().zip(drawn).for_each(|(most, drawn)| *most = most.max(drawn));
            gauged = gauge(laid, &had, drop_limit, &extra)?;
        }
        if !keeps {
            return None;
        }
    }
    let cheaper = gauged.price > price_min * (1.0 + 1e-9);
    let gap = if cheaper { (1.0 - price_min / gauged.price).clamp(0.0, 1.0) } else { 0.0 };
    Some(Chosen { sizes: named(&gauged), gap })
}

fn gauge(laid: &Laid<'_>, had: &[Conductor], drop_limit: f64, extra: &[f64]) -> Option<Gauged> {
    if is_tree(laid) { tree(laid, had, drop_limit, extra) } else { ring(laid, had, drop_limit, extra) }
}

/// Least amperes of a short, so that the breaker opens at once.
fn short_amps_min(laid: &Laid<'_>) -> f64 {
    laid.trip_amps().map_or(0.0, |trip| TIMES_TRIP_AIM * trip)
}

fn tree(laid: &Laid<'_>, had: &[Conductor], drop_limit: f64, extra: &[f64]) -> Option<Gauged> {
    let source = laid.sources.first()?;
    let (order, after) = from_source(laid, source.at);
    // What each run carries: all that hangs behind it, and what moves.
    let own: Vec<f64> = laid.held.iter().zip(extra).map(|(held, extra)| held + extra).collect();
    let mut held = own.clone();
    let far = |run: usize, point: usize| {
        let run = &laid.bus.runs[run];
        if run.from == point { run.to } else { run.from }
    };
    let mut near = vec![source.at; order.len()];
    for at in 0..order.len() {
        if let Some(before) = after[at] {
            near[at] = far(order[before], near[before]);
        }
    }
    for at in (0..order.len()).rev() {
        let behind = held[far(order[at], near[at])];
        held[near[at]] += behind;
    }
    let (moving, inner) = (laid.moving.amps(), source.inner.value);
    let all = held[source.at] + moving;
    let trip = laid.trip_amps().unwrap_or(0.0);
    let runs = order.iter().enumerate().map(|(at, &run)| {
        let amps = held[far(run, near[at])] + moving;
        TreeRun {
            after: after[at],
            length_m: laid.bus.runs[run].length.value(),
            joint_ohms: laid.joint_ohms(),
            amps,
            bears_amps: amps.max(trip),
            pinned: None,
        }
    });
    let feeder = laid.feeder_ohms().unwrap_or(0.0);
    let most_held = own.iter().fold(0.0_f64, |most, held| most.max(*held));
    let short = short_amps_min(laid);
    let bus = TreeBus {
        runs: runs.collect(),
        sizes: priced(laid, had),
        drop_volts_max: source.volts * drop_limit - all * inner - (moving + most_held) * feeder,
        loop_ohms_max: if short > 0.0 { source.volts / short - inner - feeder } else { f64::MAX / 4.0 },
    };
    let gauged = bus.cheapest().ok()?;
    let mut sizes = vec![0; order.len()];
    for (at, &run) in order.iter().enumerate() {
        sizes[run] = gauged.sizes[at];
    }
    Some(Gauged { sizes, ..gauged })
}

/// The runs of a tree from its source outwards, and for each the one before it in that order.
fn from_source(laid: &Laid<'_>, source: usize) -> (Vec<usize>, Vec<Option<usize>>) {
    let (mut order, mut after) = (Vec::new(), Vec::new());
    let mut open: Vec<(usize, Option<usize>)> = vec![(source, None)];
    let mut seen = vec![false; laid.bus.runs.len()];
    let mut next = 0;
    while let Some(&(point, by)) = open.get(next) {
        next += 1;
        for (index, run) in laid.bus.runs.iter().enumerate() {
            if seen[index] || (run.from != point && run.to != point) {
                continue;
            }
            seen[index] = true;
            order.push(index);
            after.push(by);
            open.push((if run.from == point { run.to } else { run.from }, Some(order.len() - 1)));
        }
    }
    (order, after)
}

fn ring(laid: &Laid<'_>, had: &[Conductor], drop_limit: f64, extra: &[f64]) -> Option<Gauged> {
    let circuit = laid.circuit(&vec![heaviest(laid); laid.bus.runs.len()], extra);
    let feeders = circuit.runs.len() - laid.bus.runs.len();
    // The feeders keep their ohms: they have no length that is sought for.
    let mut length_m: Vec<f64> = laid.bus.runs.iter().map(|run| run.length.value()).collect();
    let mut joint_ohms = vec![laid.joint_ohms(); length_m.len()];
    length_m.extend(vec![0.0; feeders]);
    joint_ohms.extend(vec![laid.feeder_ohms().unwrap_or(0.0); feeders]);
    let heaviest_at = (0..had.len()).min_by(|&a, &b| per_m(had[a]).total_cmp(&per_m(had[b])))?;
    let mut pinned = vec![None; laid.bus.runs.len()];
    pinned.extend(vec![Some(heaviest_at); feeders]);
    let bus = RingBus {
        circuit: &circuit,
        length_m,
        joint_ohms,
        sizes: priced(laid, had),
        pinned,
        bears_amps: laid.trip_amps().unwrap_or(0.0),
        points: laid.ends().into_iter().map(|end| -> Pair { (end, None) }).collect(),
        moving_amps: laid.moving.amps(),
        volts_min: laid.highest_volts() * (1.0 - drop_limit),
        short_amps_min: short_amps_min(laid),
    };
    bus.cheapest()
}
