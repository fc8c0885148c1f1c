//! The lowest voltage and the most amperes while as much is thrown at once as can be.
//!
//! Not the sum of everything: levers are thrown by routes, routes that conflict are not set together, and coils fire in bursts. What
//! each lever costs at each place is exact, because all draws are constant currents: the volts lost there for each ampere drawn
//! here come from the circuit itself. So for each place the worst set is a heaviest choice (`network::Throws`), and the lowest
//! of all places is the answer, with its proof or a bound.

use super::assess::{Figures, assess};
use super::draws::{Pulse, pulses};
use super::lay::{Laid, print_volts};
use crate::model::power::Thrown;
use crate::reason::{THROWN_AS_HELD, THROWN_BOUND, THROWN_SET};
use electric::{Answer, System};
use measure::Conductor;
use network::{LOCKED_ROUTES_MAX, LeverId, Throws, lock};
use notice::{Because, Decided};
use std::collections::BTreeMap;

/// Drawn at one place to see what is lost at the others: small, so that it is there to be had.
const PROBE_A: f64 = 0.01;

/// With more places that throw something than this, each lever is counted as if all it takes were lost everywhere.
const PROBED_MAX: usize = 200;

/// The most volts that a lever costs at each place, lever by lever.
type Lost = Vec<Vec<f64>>;

/// What can be thrown on a bus, made ready to be asked with whatever conductors.
pub(super) struct Throwing {
    pulses: Vec<Pulse>,
    /// None where nothing takes more while it is thrown.
    ready: Option<Throws>,
}

impl Throwing {
    pub(super) fn new(laid: &Laid<'_>) -> Self {
        let pulses = pulses(laid.plan, index_of(laid));
        let ready = (!pulses.is_empty()).then(|| ready(laid, &pulses));
        Self { pulses, ready }
    }

    /// By point, what these levers take beyond holding.
    pub(super) fn drawn(&self, laid: &Laid<'_>, levers: &[LeverId]) -> Vec<f64> {
        let mut drawn = vec![0.0; laid.bus.places.len()];
        for pulse in self.pulses.iter().filter(|pulse| levers.contains(&pulse.lever)) {
            pulse.at.iter().for_each(|&(point, amps)| drawn[point] += amps);
        }
        drawn
    }
}

/// Throws the most that can be thrown at once.
pub(super) fn throw_most(
    laid: &Laid<'_>,
    throwing: &Throwing,
    sizes: &[Conductor],
    figures: &[Figures],
) -> Decided<Thrown> {
    let Throwing { pulses, ready } = throwing;
    let Some(ready) = ready else {
        let lowest = figures.iter().enumerate().min_by(|a, b| a.1.volts.total_cmp(&b.1.volts));
        let thrown = Thrown {
            levers: Vec::new(),
            amps: 0.0,
            amps_max: 0.0,
            point: lowest.map_or(0, |(point, _)| point),
            volts: lowest.map(|(_, figure)| figure.volts),
            volts_min: lowest.map(|(_, figure)| figure.volts),
            proven: true,
        };
        return Decided::new(thrown, Because::new(&THROWN_AS_HELD, []));
    };
    let amps: Vec<f64> = pulses.iter().map(Pulse::amps).collect();
    let heaviest = ready.heaviest(&amps);
    let (chosen, volts_min) = match volts_lost(laid, sizes, figures, pulses) {
        Some(lost) => lowest(figures, ready, &lost),
        None => (heaviest.things.clone(), None),
    };
    let levers: Vec<LeverId> = chosen.iter().map(|&pulse| pulses[pulse].lever).collect();
    let extra = throwing.drawn(laid, &levers);
    let assessed = assess(&laid.circuit(sizes, &extra), &laid.ends(), laid.moving.amps());
    let points = assessed.map(|assessed| assessed.points).unwrap_or_default();
    let found = points.iter().enumerate().min_by(|a, b| a.1.volts.total_cmp(&b.1.volts));
    let volts = found.map(|(_, figure)| figure.volts);
    let reached = volts.zip(volts_min).is_some_and(|(volts, least)| volts <= least + 1e-6 * volts.abs());
    let thrown = Thrown {
        levers,
        amps: extra.iter().sum(),
        amps_max: heaviest.bound,
        point: found.map_or(0, |(point, _)| point),
        volts,
        volts_min,
        proven: reached && heaviest.proven(),
    };
    told(laid, thrown)
}

fn told(laid: &Laid<'_>, thrown: Thrown) -> Decided<Thrown> {
    let plan = laid.plan;
    let numbers = plan.numbers();
    let mut named: Vec<u16> = thrown.levers.iter().filter_map(|lever| numbers.get(lever).copied()).collect();
    named.sort_unstable();
    let named: Vec<String> = named.iter().map(ToString::to_string).collect();
    let least = thrown.volts_min.map(print_volts);
    let cut = !thrown.proven || !plan.routes_complete || plan.routes.len() > LOCKED_ROUTES_MAX;
    let worse = if cut { "as far as the search went" } else { "proven" };
    let facts = [named.join(", ").into(), plan.coils_at_once.value.into(), worse.into()];
    let decided = Decided::new(Thrown { proven: !cut, ..thrown }, Because::new(&THROWN_SET, facts));
    match least.filter(|_| cut) {
        Some(least) => decided.and(Because::new(&THROWN_BOUND, [least.into()])),
        None => decided,
    }
}

fn index_of(laid: &Laid<'_>) -> usize {
    laid.plan.network.buses.iter().position(|bus| std::ptr::eq(bus, laid.bus)).unwrap_or(0)
}

/// The routes with the levers that take more while they are thrown, and how many coils those have.
fn ready(laid: &Laid<'_>, pulses: &[Pulse]) -> Throws {
    let network = &laid.plan.network;
    let routes = &laid.plan.routes[..laid.plan.routes.len().min(LOCKED_ROUTES_MAX)];
    let index: BTreeMap<LeverId, usize> =
        pulses.iter().enumerate().map(|(at, pulse)| (pulse.lever, at)).collect();
    let throws: Vec<Vec<usize>> = routes
        .iter()
        .map(|route| {
            let levers = route.needs.iter().map(|&(machine, _)| network.machine(machine).lever);
            levers.filter_map(|lever| index.get(&lever).copied()).collect()
        })
        .collect();
    let coils: Vec<usize> = pulses.iter().map(|pulse| pulse.coils).collect();
    Throws::new(&lock(network, routes), &throws, &coils, usize::from(laid.plan.coils_at_once.value))
}

/// By place, what each lever costs there in volts; none where the circuit has no steady state.
fn volts_lost(laid: &Laid<'_>, sizes: &[Conductor], figures: &[Figures], pulses: &[Pulse]) -> Option<Lost> {
    let places = laid.bus.places.len();
    let mut throwing: Vec<usize> =
        pulses.iter().flat_map(|pulse| pulse.at.iter().map(|&(at, _)| at)).collect();
    throwing.sort_unstable();
    throwing.dedup();
    if figures.len() != places {
        return None;
    }
    let mut ohms: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for &point in &throwing {
        // Nowhere is more lost than where it is drawn.
        let everywhere = || vec![figures[point].loop_ohms; places];
        let probed = if throwing.len() > PROBED_MAX {
            everywhere()
        } else {
            probed(laid, sizes, figures, point).unwrap_or_else(everywhere)
        };
        ohms.insert(point, probed);
    }
    let cost = |pulse: &Pulse, place: usize| -> f64 {
        pulse.at.iter().map(|&(point, amps)| amps * ohms[&point][place]).sum()
    };
    Some((0..places).map(|place| pulses.iter().map(|pulse| cost(pulse, place)).collect()).collect())
}

/// Volts lost at each place for each ampere drawn at one.
fn probed(laid: &Laid<'_>, sizes: &[Conductor], figures: &[Figures], point: usize) -> Option<Vec<f64>> {
    let mut extra = vec![0.0; laid.bus.places.len()];
    extra[point] = PROBE_A;
    let circuit = laid.circuit(sizes, &extra);
    let Answer::Steady(state) = System::new(&circuit, &[]).ok()?.steady().ok()? else { return None };
    let lost = |(end, figure): (electric::NodeId, &Figures)| {
        let volts = state.node_volts.get(end.0).copied().flatten()?;
        Some(((figure.held_volts - volts) / PROBE_A).max(0.0))
    };
    laid.ends().into_iter().zip(figures).map(lost).collect()
}

/// The choice that brings the lowest volts at any place, and the volts that no choice falls below.
fn lowest(figures: &[Figures], ready: &Throws, lost: &Lost) -> (Vec<usize>, Option<f64>) {
    // Where most could be lost is asked first; where less could be lost than is found already is not asked.
    let all = |place: usize| lost[place].iter().sum::<f64>();
    let mut order: Vec<usize> = (0..figures.len()).collect();
    order.sort_by(|&a, &b| (figures[a].volts - all(a)).total_cmp(&(figures[b].volts - all(b))));
    let mut best: Option<(f64, Vec<usize>)> = None;
    let mut volts_min = f64::INFINITY;
    for place in order {
        let volts = figures[place].volts;
        if best.as_ref().is_some_and(|(found, _)| volts - all(place) >= *found) {
            continue;
        }
        let heaviest = ready.heaviest(&lost[place]);
        volts_min = volts_min.min(volts - heaviest.bound);
        if best.as_ref().is_none_or(|(found, _)| volts - heaviest.weight < *found) {
            best = Some((volts - heaviest.weight, heaviest.things));
        }
    }
    let volts_min = best.is_some().then_some(volts_min);
    (best.map(|(_, things)| things).unwrap_or_default(), volts_min)
}
