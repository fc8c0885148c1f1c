//! Connectors between modules: which conductors pass each joint, and on which pin.
//!
//! A bench run between places of two modules is a joint. A conductor has one pin number for all joints that it passes, and no
//! other conductor has that number at any joint: whoever measures pin 7 measures the same thing wherever a plug is open.
//! Conductors that pass the same joints have numbers side by side, so that a joint needs few plugs.

use super::Kept;
use super::id::name_all;
use super::terminal::kept_of;
use crate::model::{CoreAt, ModuleJoint, Wire};
use crate::reason::{MODULES_MEET, SAME_PIN};
use network::Network;
use notice::{Because, Decided};
use std::collections::{BTreeMap, BTreeSet};

/// The pins of a connector whose part does not say.
const PINS_USUAL: u16 = 25;

/// The highest number of a pin that a record can ask for; the rest of what it says is not followed.
const PINS_MAX: u16 = 9_999;

/// How many pins a connector of this layout has.
pub(crate) fn pins_of(network: &Network) -> u16 {
    network.described.parts.get("connector").and_then(|part| part.pins).unwrap_or(PINS_USUAL).max(1)
}

/// Which plug a pin is in, counted from 1: plug 1 has the first pins, plug 2 those after them.
pub fn plug_of(network: &Network, pin: u16) -> u16 {
    pin.saturating_sub(1) / pins_of(network) + 1
}

/// Every joint between modules, with a pin for each conductor that passes.
pub(super) fn join(network: &Network, wires: &mut [Wire], kept: &Kept) -> Vec<ModuleJoint> {
    let mut joints = joints(network);
    let index_of: BTreeMap<[String; 2], usize> =
        joints.iter().enumerate().map(|(index, joint)| (sorted(joint.places.clone()), index)).collect();
    // Which joints each conductor passes; those that pass the same ones stand together.
    let mut passing: BTreeMap<Vec<usize>, Vec<CoreAt>> = BTreeMap::new();
    for (index, wire) in wires.iter().enumerate() {
        // Strips and buses have plugs of their own.
        if wire.kind.has_own_plugs() {
            continue;
        }
        let steps = wire.way.windows(2).filter_map(|step| match step {
            [from, to] => index_of.get(&sorted([from.clone(), to.clone()])).copied(),
            _ => None,
        });
        let passed: BTreeSet<usize> = steps.collect();
        if !passed.is_empty() {
            let cores = (0..wire.cores.len()).map(|core| CoreAt { wire: index, core });
            passing.entry(passed.into_iter().collect()).or_default().extend(cores);
        }
    }
    let order: Vec<(Vec<usize>, CoreAt)> = passing
        .into_iter()
        .flat_map(|(joints, cores)| cores.into_iter().map(move |core| (joints.clone(), core)))
        .collect();
    let keys = order.iter().map(|(_, core)| super::pin_key(&wires[core.wire].key, core.core));
    let keys: Vec<String> = keys.collect();
    let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
    let given = name_all(&keys, &kept_of(kept, "pin "), |number| number.to_string());
    for ((passed, core), given) in order.into_iter().zip(given) {
        let Some(pin) = given.value.parse().ok().filter(|pin| (1..=PINS_MAX).contains(pin)) else { continue };
        wires[core.wire].cores[core.core].pin = Some(pin);
        for joint in passed {
            joints[joint].pins.push((pin, core));
        }
    }
    for joint in &mut joints {
        joint.pins.sort_unstable();
        let plugs: BTreeSet<u16> = joint.pins.iter().map(|&(pin, _)| plug_of(network, pin)).collect();
        joint.plugs = plugs.into_iter().collect();
    }
    joints
}

fn sorted(mut places: [String; 2]) -> [String; 2] {
    places.sort();
    places
}

/// Every bench run between places of two modules, each pair of places once.
fn joints(network: &Network) -> Vec<ModuleJoint> {
    let described = &network.described;
    let module_of: BTreeMap<&str, &str> = described
        .places
        .iter()
        .filter_map(|place| Some((place.id.value.as_str(), place.module.as_ref()?.value.as_str())))
        .collect();
    let (mut seen, mut joints) = (BTreeSet::new(), Vec::new());
    for run in described.bench.iter().flat_map(|bench| &bench.runs) {
        let places = [run.from.value.clone(), run.to.value.clone()];
        let modules = [module_of.get(places[0].as_str()), module_of.get(places[1].as_str())];
        let [Some(&one), Some(&other)] = modules else { continue };
        if one == other || !seen.insert(sorted(places.clone())) {
            continue;
        }
        let why = Decided::new((), Because::new(&MODULES_MEET, [one.into(), other.into()]));
        joints.push(ModuleJoint {
            modules: [one.to_owned(), other.to_owned()],
            places,
            pins: Vec::new(),
            plugs: Vec::new(),
            why: why.and(Because::new(&SAME_PIN, [])),
        });
    }
    joints
}
