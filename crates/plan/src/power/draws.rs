//! What decoders, motors, signals and lights take, and from which bus.

use crate::decoder::lamp_amps;
use crate::model::{Plan, PlannedAddress};
use description::{BusKind, Drive, Part};
use measure::Current;
use network::{LeverId, MachineId};
use std::collections::BTreeMap;

/// A decoder of which nothing is said (common practice, no source).
const DECODER_USUAL_A: f64 = 0.05;

/// What a lever takes beyond holding while it is thrown.
#[derive(Clone, Debug)]
pub(super) struct Pulse {
    pub(super) lever: LeverId,
    /// Points and amperes.
    pub(super) at: Vec<(usize, f64)>,
    /// How many coils fire.
    pub(super) coils: usize,
}

/// Whether a bus feeds decoders and motors: an accessory bus, or a track bus where there is no other.
fn feeds_motors(plan: &Plan, bus: usize) -> bool {
    let buses = &plan.network.buses;
    buses[bus].kind == BusKind::Accessory || buses.iter().all(|bus| bus.kind == BusKind::Track)
}

impl Pulse {
    /// All that it takes.
    pub(super) fn amps(&self) -> f64 {
        self.at.iter().map(|&(_, amps)| amps).sum()
    }
}

/// The accessory bus that passes a place, the first of them, and whether it carries a signal for decoders.
pub(crate) fn accessory_bus_at(plan: &Plan, place: &str) -> Option<(usize, bool)> {
    let bus = first_at(plan, place, BusKind::Accessory)?;
    Some((bus, plan.network.buses[bus].carries_signal(&plan.network.described)))
}

/// The track bus that passes a place, the first of them.
pub(crate) fn track_bus_at(plan: &Plan, place: &str) -> Option<usize> {
    first_at(plan, place, BusKind::Track)
}

fn first_at(plan: &Plan, place: &str, kind: BusKind) -> Option<usize> {
    plan.network
        .buses
        .iter()
        .position(|bus| bus.kind == kind && bus.places.iter().any(|other| other == place))
}

/// The bus that feeds a place's decoders, and the place's point on it: the first that passes it.
pub(super) fn bus_of(plan: &Plan, place: &str) -> Option<(usize, usize)> {
    let buses = plan.network.buses.iter().enumerate();
    buses
        .filter(|&(index, _)| feeds_motors(plan, index))
        .find_map(|(index, bus)| Some((index, bus.places.iter().position(|other| other == place)?)))
}

/// Where a machine takes its current from: the bus, the point on it, and the part that it is. A motor with its decoder inside
/// needs the signal, too, so it hangs on a bus that carries one.
pub(super) fn fed_at<'p>(
    plan: &'p Plan,
    row: &PlannedAddress,
    machine: MachineId,
) -> Option<(usize, usize, &'p Part)> {
    let machine = plan.network.machine(machine);
    let motor = plan.network.described.parts.get(&machine.motor)?;
    let (bus, point) = if motor.decoder_inside {
        let place = plan.network.joint(machine.joint).at.as_deref()?;
        let bus = match accessory_bus_at(plan, place) {
            Some((bus, true)) => bus,
            Some((_, false)) | None => track_bus_at(plan, place)?,
        };
        (bus, plan.network.buses[bus].places.iter().position(|other| other == place)?)
    } else {
        bus_of(plan, &plan.decoders.get(row.decoder?)?.at.as_ref()?.value)?
    };
    Some((bus, point, motor))
}

/// What is drawn at each point of a bus all the time: by decoders; by stall motors, which take as much held as thrown; and by
/// signals and lights, as if all were on.
pub(super) fn held_at(plan: &Plan, bus: usize) -> Vec<f64> {
    let mut held = vec![0.0; plan.network.buses[bus].places.len()];
    let parts = &plan.network.described.parts;
    for decoder in &plan.decoders {
        let fed = decoder.at.as_ref().and_then(|place| bus_of(plan, &place.value));
        if let Some((_, point)) = fed.filter(|&(on, _)| on == bus) {
            let own = parts.get(&decoder.part).and_then(|part| part.draw);
            held[point] += own.map_or(DECODER_USUAL_A, Current::value);
        }
    }
    for row in &plan.addresses {
        for &machine in &row.machines {
            match fed_at(plan, row, machine) {
                Some((on, point, motor)) if on == bus && motor.drive == Some(Drive::Stall) => {
                    held[point] += motor.draw.map_or(0.0, Current::value);
                }
                Some(_) | None => {}
            }
        }
    }
    for planned in &plan.accessories {
        // What no decoder drives hangs on the bus where it stands.
        let decoder = planned.decoder.and_then(|decoder| plan.decoders.get(decoder));
        let own = plan.network.accessory(planned.accessory).at.as_deref();
        let place = decoder.map_or(own, |decoder| decoder.at.as_ref().map(|at| at.value.as_str()));
        let fed = place.and_then(|place| bus_of(plan, place));
        if let Some((_, point)) = fed.filter(|&(on, _)| on == bus) {
            held[point] += lamp_amps(&plan.network, planned.accessory);
        }
    }
    held
}

/// Every lever on this bus that takes more while it is thrown: of coils, and of servos.
pub(super) fn pulses(plan: &Plan, bus: usize) -> Vec<Pulse> {
    let mut pulses: BTreeMap<LeverId, Pulse> = BTreeMap::new();
    for row in &plan.addresses {
        for &machine in &row.machines {
            let Some((on, point, motor)) = fed_at(plan, row, machine) else { continue };
            let coils = match motor.drive {
                Some(Drive::Coil) => 1,
                Some(Drive::Servo) => 0,
                Some(Drive::Stall | Drive::Lamp) | None => continue,
            };
            let amps = motor.draw.map_or(0.0, Current::value);
            if on != bus || amps <= 0.0 {
                continue;
            }
            let none = Pulse { lever: row.lever, at: Vec::new(), coils: 0 };
            let pulse = pulses.entry(row.lever).or_insert(none);
            pulse.at.push((point, amps));
            pulse.coils += coils;
        }
    }
    pulses.into_values().collect()
}
