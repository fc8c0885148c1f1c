//! One-push routes without blowing the supply: which levers are thrown together, and which wait for the next burst.
//!
//! A coil machine takes a large current for the length of its pulse, so only as many as the supply bears may fire at
//! once. Stall motors and servos take little and are all thrown in the first burst. All machines of a lever answer one
//! address and fire together; a lever with more coils than the supply bears has a burst of its own.

use crate::model::{LeverNumber, Plan};
use crate::reason::{COILS_WITHIN_SUPPLY, NO_COILS, SUPPLY_NOT_SAID};
use description::{Drive, Part};
use measure::Current;
use network::{LeverId, Network, Position, Route};
use notice::{Because, Decided};
use std::collections::BTreeMap;

/// How many coil machines may fire at once; decided from what the supply gives and what the hungriest coil takes.
pub(crate) fn coils_at_once(network: &Network) -> Decided<u16> {
    let parts = &network.described.parts;
    let hungriest = network
        .machines
        .iter()
        .filter_map(|machine| Some((machine.motor.as_str(), parts.get(&machine.motor)?)))
        .filter(|(_, part)| part.drive == Some(Drive::Coil))
        .max_by(|a, b| draw(a.1).total_cmp(&draw(b.1)));
    let Some((motor, part)) = hungriest else { return Decided::new(1, Because::new(&NO_COILS, [])) };
    let supply = &network.described.defaults.supply.value;
    let gives = parts.get(supply).and_then(|part| part.gives).map(Current::value);
    match gives {
        Some(gives) if draw(part) > 0.0 => {
            let (gives_words, draws_words) = (format!("{gives} A"), format!("{} A", draw(part)));
            let facts = [supply.as_str().into(), gives_words.into(), motor.into(), draws_words.into()];
            Decided::new(whole_times(gives, draw(part)).max(1), Because::new(&COILS_WITHIN_SUPPLY, facts))
        }
        _ => Decided::new(1, Because::new(&SUPPLY_NOT_SAID, [supply.as_str().into()])),
    }
}

/// How often a current goes into another, up to 1,000.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the quotient is between 0 and a thousand"
)]
fn whole_times(gives: f64, draw: f64) -> u16 {
    // A hair is forgiven, so that 0.3 A bears three coils of 0.1 A.
    (gives / draw + 1e-9).clamp(0.0, 1_000.0).floor() as u16
}

fn draw(part: &Part) -> f64 {
    part.draw.map_or(0.0, Current::value)
}

/// How many coil machines a lever fires.
pub fn coil_count(network: &Network, lever: LeverId) -> usize {
    let parts = &network.described.parts;
    let is_coil = |motor: &String| parts.get(motor).is_some_and(|part| part.drive == Some(Drive::Coil));
    let machines = &network.lever(lever).machines;
    machines.iter().filter(|&&machine| is_coil(&network.machine(machine).motor)).count()
}

/// The levers that a route throws, burst by burst, each in the order of the numbers. Empty for a route that needs one lever
/// in both positions.
pub fn throw_order(
    plan: &Plan,
    numbers: &BTreeMap<LeverId, LeverNumber>,
    route: &Route,
) -> Vec<Vec<LeverNumber>> {
    let network = &plan.network;
    let mut wanted = BTreeMap::new();
    for &(machine, position) in &route.needs {
        let lever = network.machine(machine).lever;
        let Some(&number) = numbers.get(&lever) else { continue };
        if *wanted.entry(number).or_insert((lever, position)) != (lever, position) {
            return Vec::new();
        }
    }
    in_bursts(plan, &wanted)
}

/// Levers by their numbers, burst by burst.
pub(crate) fn in_bursts(
    plan: &Plan,
    wanted: &BTreeMap<LeverNumber, (LeverId, Position)>,
) -> Vec<Vec<LeverNumber>> {
    let most = usize::from(plan.coils_at_once.value);
    let mut bursts: Vec<Vec<LeverNumber>> = Vec::new();
    let mut firing = 0;
    let mut quiet = Vec::new();
    for (&number, &(lever, _)) in wanted {
        let coils = coil_count(&plan.network, lever);
        if coils == 0 {
            quiet.push(number);
            continue;
        }
        match bursts.last_mut().filter(|_| firing + coils <= most) {
            Some(burst) => {
                burst.push(number);
                firing += coils;
            }
            None => {
                bursts.push(vec![number]);
                firing = coils;
            }
        }
    }
    if let Some(first) = bursts.first_mut() {
        first.extend(quiet);
        first.sort_unstable();
    } else if !quiet.is_empty() {
        bursts.push(quiet);
    }
    bursts
}
