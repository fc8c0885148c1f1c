//! A capacitor-discharge unit for a bus with coil machines: what it holds, what the coil at the end of the longest way gets of it,
//! how many coils a burst may have, and how long the next burst has to wait.
//!
//! The coil is taken without inductance, so that the greatest current is not told too small; it shares what is stored with the
//! resistance on the way to it. A coil's resistance is told by what its machine draws at the volts of the bus.
//!
//! # Source
//! 2,200 to 4,700 µF for a unit, 0.3 J to move points, recharged to 95 % before the next burst: common practice, no source. Charge
//! and energy of a capacitor: any textbook.

use super::assess::Figures;
use super::draws;
use super::lay::{Laid, print_amps, print_ohms};
use crate::model::power::DischargeUnit;
use crate::reason::{
    CAPACITOR_USUAL, CAPACITOR_WRITTEN, CHARGE_RESISTOR, COIL_FARTHEST, COIL_LITTLE, COILS_PER_BURST,
};
use description::{BusKind, Drive};
use electric::{Discharge, Recharge, e24_at_or_above};
use measure::{Capacitance, Current};
use notice::{Because, Decided};

const CAPACITOR_USUAL_F: f64 = 4_700e-6;

/// What moves points for certain.
const COIL_NEEDS_J: f64 = 0.3;

/// So much of its full voltage has to be back before the next burst.
const CHARGED: f64 = 0.95;

/// What charges a unit at most where nothing says what the supply gives.
const CHARGE_USUAL_A: f64 = 1.0;

/// The unit of an accessory bus that feeds coils; none where no coil hangs on it.
pub(super) fn discharge_unit(laid: &Laid<'_>, figures: &[Figures]) -> Option<Decided<DischargeUnit>> {
    if laid.bus.kind != BusKind::Accessory || laid.bus.carries_signal(&laid.plan.network.described) {
        return None;
    }
    let volts = laid.highest_volts();
    let inner = laid.sources.iter().map(|source| source.inner.value).fold(f64::INFINITY, f64::min);
    // The coil that gets least: the one with the most resistance on the way, beside its own.
    let coils = coils(laid).into_iter().filter(|&(_, amps)| amps > 0.0 && volts > 0.0);
    let way = |point: usize| figures.get(point).map_or(0.0, |figure| (figure.loop_ohms - inner).max(0.0));
    let share = |&(point, amps): &(usize, f64)| {
        let coil = volts / amps;
        // What it takes to move points goes by the coil; what is lost, by what is beside it.
        coil / (coil + way(point))
    };
    let (point, amps) = coils.min_by(|a, b| share(a).total_cmp(&share(b)))?;
    let written = laid.described.capacitor.map(|capacitor| capacitor.value);
    let farads = written.map_or(CAPACITOR_USUAL_F, Capacitance::value);
    let discharge = Discharge {
        farads,
        volts,
        coil_ohms: volts / amps,
        coil_henry: 0.0,
        wiring_ohms: way(point),
        inner_ohms: 0.0,
    };
    let pulse = discharge.pulse();
    let coils = discharge.coils_per_burst(COIL_NEEDS_J);
    let charge_amps =
        laid.sources.iter().find_map(|source| source.gives.or(source.trip)).unwrap_or(CHARGE_USUAL_A);
    let charge_ohms = e24_at_or_above(volts / charge_amps)?;
    let recharge = Recharge { farads, volts, ohms: charge_ohms };
    let wait_s = recharge.seconds_to(CHARGED);
    let unit = DischargeUnit {
        farads,
        volts,
        stored_joules: pulse.stored_joules,
        point,
        coil_ohms: discharge.coil_ohms,
        wiring_ohms: discharge.wiring_ohms,
        coil_joules: pulse.coil_joules,
        peak_amps: pulse.peak_amps,
        coils_per_burst: coils,
        charge_ohms,
        wait_s,
        charge_watts: pulse.stored_joules / wait_s,
    };
    Some(told(laid, unit, amps, charge_amps))
}

fn told(laid: &Laid<'_>, unit: DischargeUnit, amps: f64, charge_amps: f64) -> Decided<DischargeUnit> {
    let farads = format!("{:.0} µF", unit.farads * 1e6);
    let rule = if laid.described.capacitor.is_some() { &CAPACITOR_WRITTEN } else { &CAPACITOR_USUAL };
    let place = laid.bus.places[unit.point].as_str();
    let far = [
        place.into(),
        print_amps(amps).into(),
        print_ohms(unit.coil_ohms).into(),
        print_ohms(unit.wiring_ohms).into(),
    ];
    let needs = format!("{COIL_NEEDS_J} J");
    let burst = match unit.coils_per_burst {
        0 => Because::new(&COIL_LITTLE, [format!("{:.2} J", unit.coil_joules).into(), needs.into()]),
        coils => Because::new(&COILS_PER_BURST, [u64::from(coils).into(), needs.into()]),
    };
    let charge = [print_ohms(unit.charge_ohms).into(), print_amps(charge_amps).into()];
    Decided::new(unit, Because::new(rule, [farads.into()]))
        .and(Because::new(&COIL_FARTHEST, far))
        .and(burst)
        .and(Because::new(&CHARGE_RESISTOR, charge))
}

/// Every coil machine on the bus: its point, and what it draws.
fn coils(laid: &Laid<'_>) -> Vec<(usize, f64)> {
    let plan = laid.plan;
    let index = plan.network.buses.iter().position(|bus| std::ptr::eq(bus, laid.bus));
    let rows = plan.addresses.iter().flat_map(|row| row.machines.iter().map(move |&machine| (row, machine)));
    let coil = |(row, machine)| {
        let (bus, point, motor) = draws::fed_at(plan, row, machine)?;
        let here = Some(bus) == index && motor.drive == Some(Drive::Coil);
        here.then(|| (point, motor.draw.map_or(0.0, Current::value)))
    };
    rows.filter_map(coil).collect()
}
