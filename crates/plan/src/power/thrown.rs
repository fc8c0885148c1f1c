//! The lowest voltage while the most that can be thrown at once is thrown.
//!
//! Not the sum of everything: levers are thrown by routes, routes that conflict are not set together, and coils fire in bursts. A
//! set of routes is gathered greedily, the one that adds most first, each lever weighed by what it takes and by the
//! resistance up to where it is; then coils beyond one burst are left out, the lightest first.

use super::assess::{Figures, assess};
use super::draws::{Pulse, pulses};
use super::lay::Laid;
use crate::model::power::Thrown;
use crate::reason::{THROWN_AS_HELD, THROWN_SET};
use measure::Conductor;
use network::{LOCKED_ROUTES_MAX, LeverId, lock};
use notice::{Because, Decided};
use std::collections::{BTreeMap, BTreeSet};

/// Throws the most that can be thrown at once.
pub(super) fn throw_most(laid: &Laid<'_>, sizes: &[Conductor], figures: &[Figures]) -> Decided<Thrown> {
    let plan = laid.plan;
    let pulses = pulses(plan, index_of(laid));
    let levers = most_at_once(laid, &pulses, figures);
    let mut extra = vec![0.0; laid.bus.places.len()];
    for pulse in pulses.iter().filter(|pulse| levers.contains(&pulse.lever)) {
        for &(point, amps) in &pulse.at {
            extra[point] += amps;
        }
    }
    let assessed = assess(&laid.circuit(sizes, &extra), &laid.ends(), laid.moving.amps());
    let points = assessed.map(|assessed| assessed.points).unwrap_or_default();
    let lowest = points.iter().enumerate().min_by(|a, b| a.1.volts.total_cmp(&b.1.volts));
    let thrown = Thrown {
        amps: extra.iter().sum(),
        point: lowest.map_or(0, |(point, _)| point),
        volts: lowest.map(|(_, figure)| figure.volts),
        levers: levers.iter().copied().collect(),
    };
    if levers.is_empty() {
        return Decided::new(thrown, Because::new(&THROWN_AS_HELD, []));
    }
    let numbers = plan.numbers();
    let mut named: Vec<u16> = levers.iter().filter_map(|lever| numbers.get(lever).copied()).collect();
    named.sort_unstable();
    let named: Vec<String> = named.iter().map(ToString::to_string).collect();
    let facts = [named.join(", ").into(), plan.coils_at_once.value.into()];
    Decided::new(thrown, Because::new(&THROWN_SET, facts))
}

fn index_of(laid: &Laid<'_>) -> usize {
    laid.plan.network.buses.iter().position(|bus| std::ptr::eq(bus, laid.bus)).unwrap_or(0)
}

fn most_at_once(laid: &Laid<'_>, pulses: &[Pulse], figures: &[Figures]) -> BTreeSet<LeverId> {
    if pulses.is_empty() {
        return BTreeSet::new();
    }
    let ohms = |point: usize| figures.get(point).map_or(1.0, |figure| figure.loop_ohms);
    let weight: BTreeMap<LeverId, f64> = pulses
        .iter()
        .map(|pulse| (pulse.lever, pulse.at.iter().map(|&(point, amps)| amps * ohms(point)).sum()))
        .collect();
    let mut levers = by_routes(laid, &weight);
    // One burst has only so many coils.
    let mut firing: Vec<&Pulse> =
        pulses.iter().filter(|pulse| levers.contains(&pulse.lever) && pulse.coils > 0).collect();
    firing.sort_by(|a, b| weight[&b.lever].total_cmp(&weight[&a.lever]));
    let mut room = usize::from(laid.plan.coils_at_once.value);
    for (place, pulse) in firing.into_iter().enumerate() {
        // A lever with more coils than a burst has a burst of its own.
        if pulse.coils <= room || place == 0 {
            room = room.saturating_sub(pulse.coils);
        } else {
            levers.remove(&pulse.lever);
        }
    }
    levers
}

/// The levers of routes that can be set together, gathered greedily.
fn by_routes(laid: &Laid<'_>, weight: &BTreeMap<LeverId, f64>) -> BTreeSet<LeverId> {
    let network = &laid.plan.network;
    let routes = &laid.plan.routes[..laid.plan.routes.len().min(LOCKED_ROUTES_MAX)];
    let locked = lock(network, routes);
    let needs: Vec<BTreeSet<LeverId>> = routes
        .iter()
        .map(|route| route.needs.iter().map(|&(machine, _)| network.machine(machine).lever).collect())
        .collect();
    let mut left: Vec<usize> = (0..routes.len()).collect();
    let mut levers: BTreeSet<LeverId> = BTreeSet::new();
    while !left.is_empty() {
        let gain = |route: usize| -> f64 {
            needs[route].difference(&levers).map(|lever| weight.get(lever).copied().unwrap_or(0.0)).sum()
        };
        let Some(best) = left.iter().copied().max_by(|&a, &b| gain(a).total_cmp(&gain(b)).then(b.cmp(&a)))
        else {
            break;
        };
        if gain(best) <= 0.0 {
            break;
        }
        levers.extend(needs[best].iter().filter(|lever| weight.contains_key(lever)));
        left.retain(|&route| route != best && !locked.conflict(best, route));
    }
    levers
}
