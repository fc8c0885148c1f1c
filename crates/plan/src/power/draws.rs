//! What decoders and motors take, and from which bus.

use crate::model::Plan;
use description::{BusKind, Drive};
use measure::Current;
use network::LeverId;

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

/// The bus that feeds a place's decoders, and the place's point on it: the first that passes it.
pub(super) fn bus_of(plan: &Plan, place: &str) -> Option<(usize, usize)> {
    let buses = plan.network.buses.iter().enumerate();
    buses
        .filter(|&(index, _)| feeds_motors(plan, index))
        .find_map(|(index, bus)| Some((index, bus.places.iter().position(|other| other == place)?)))
}

/// What is drawn at each point of a bus all the time: by decoders, and by stall motors, which take as much held as thrown.
pub(super) fn held_at(plan: &Plan, bus: usize) -> Vec<f64> {
    let mut held = vec![0.0; plan.network.buses[bus].places.len()];
    let parts = &plan.network.described.parts;
    for (index, decoder) in plan.decoders.iter().enumerate() {
        let Some(place) = &decoder.at else { continue };
        let Some((on, point)) = bus_of(plan, &place.value) else { continue };
        if on != bus {
            continue;
        }
        let own = parts.get(&decoder.part).and_then(|part| part.draw).map_or(DECODER_USUAL_A, Current::value);
        held[point] += own;
        let driven =
            plan.addresses.iter().filter(|row| row.decoder == Some(index)).flat_map(|row| &row.machines);
        for &machine in driven {
            let motor = parts.get(&plan.network.machine(machine).motor);
            if let Some(motor) = motor.filter(|motor| motor.drive == Some(Drive::Stall)) {
                held[point] += motor.draw.map_or(0.0, Current::value);
            }
        }
    }
    held
}

/// Every lever on this bus that takes more while it is thrown: of coils, and of servos.
pub(super) fn pulses(plan: &Plan, bus: usize) -> Vec<Pulse> {
    let parts = &plan.network.described.parts;
    let mut pulses: Vec<Pulse> = Vec::new();
    for row in &plan.addresses {
        let place = row.decoder.and_then(|decoder| plan.decoders.get(decoder)?.at.as_ref());
        let Some((on, point)) = place.and_then(|place| bus_of(plan, &place.value)) else { continue };
        if on != bus {
            continue;
        }
        let (mut amps, mut coils) = (0.0, 0);
        for &machine in &row.machines {
            let Some(motor) = parts.get(&plan.network.machine(machine).motor) else { continue };
            match motor.drive {
                Some(Drive::Coil) => {
                    amps += motor.draw.map_or(0.0, Current::value);
                    coils += 1;
                }
                Some(Drive::Servo) => amps += motor.draw.map_or(0.0, Current::value),
                Some(Drive::Stall) | None => {}
            }
        }
        if amps <= 0.0 {
            continue;
        }
        match pulses.iter_mut().find(|pulse| pulse.lever == row.lever) {
            Some(pulse) => {
                pulse.at.push((point, amps));
                pulse.coils += coils;
            }
            None => pulses.push(Pulse { lever: row.lever, at: vec![(point, amps)], coils }),
        }
    }
    pulses
}
