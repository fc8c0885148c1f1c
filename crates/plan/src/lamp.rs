//! The resistor before each lamp of a fascia: which value to buy, and what it gets hot.
//!
//! Lamps hang on a plain accessory bus: the one that passes their fascia, or else the only one there is. Where there is none, or
//! nothing but buses that carry a signal, they are reckoned at the usual voltage.
//!
//! # Source
//! 12 V at a panel, 2 V across a lamp, 10 mA through it: common practice, no source. Values: series E24 of IEC 60063.

use crate::model::{DeviceKind, Fascia, LampResistor, Plan};
use crate::power::accessory_bus_at;
use crate::reason::{LAMP_DRAW, LAMP_NO_RESISTOR, LAMP_RESISTOR, LAMP_VOLTS_BUS, LAMP_VOLTS_USUAL};
use description::{BusKind, Part};
use electric::{LedString, SeriesResistor};
use measure::{Current, Voltage};
use notice::{Because, Decided};
use std::collections::BTreeMap;

const SUPPLY_USUAL_V: f64 = 12.0;
const LAMP_USUAL_V: f64 = 2.0;
const LAMP_USUAL_A: f64 = 0.010;

/// What every lamp of each fascia is put behind, fascia by fascia and part by part.
pub fn lamp_resistors(plan: &Plan) -> Vec<LampResistor> {
    plan.fascias.iter().flat_map(|fascia| of_fascia(plan, fascia)).collect()
}

fn of_fascia(plan: &Plan, fascia: &Fascia) -> Vec<LampResistor> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for device in fascia.devices.iter().filter(|device| device.kind == DeviceKind::Lamp) {
        *counts.entry(&device.part).or_default() += 1;
    }
    let volts = volts_at(plan, fascia.at.as_deref());
    let one = |(part, lamps): (&str, usize)| {
        let described = plan.network.described.parts.get(part);
        let resistor = behind(described, &volts);
        LampResistor {
            panel: fascia.panel.clone(),
            part: part.to_owned(),
            lamps,
            supply_volts: volts.value,
            resistor,
        }
    };
    counts.into_iter().map(one).collect()
}

fn behind(part: Option<&Part>, volts: &Decided<f64>) -> Decided<Option<SeriesResistor>> {
    let led_volts = part.and_then(|part| part.volts).map_or(LAMP_USUAL_V, Voltage::value);
    let amps = part.and_then(|part| part.draw).map_or(LAMP_USUAL_A, Current::value);
    let string =
        LedString { supply_volts: volts.value, other_drop_volts: 0.0, led_volts, led_count: 1, amps };
    let resistor = string.resistor();
    let (across, wanted) = (format!("{led_volts:.1} V"), format!("{:.0} mA", amps * 1000.0));
    let supply = format!("{:.1} V", volts.value);
    let first = match resistor {
        Some(resistor) => {
            let ideal = format!("{:.0} Ω", resistor.ideal_ohms);
            Because::new(&LAMP_RESISTOR, [ideal.into(), print_resistor(resistor.ohms).into()])
        }
        None => Because::new(&LAMP_NO_RESISTOR, [supply.as_str().into(), across.as_str().into()]),
    };
    let mut decided = Decided::new(resistor, first);
    decided = decided.and(Because::new(&LAMP_DRAW, [supply.into(), across.into(), wanted.into()]));
    for because in volts.because() {
        decided = decided.and(because.clone());
    }
    decided
}

/// Volts that a fascia's lamps hang on.
fn volts_at(plan: &Plan, place: Option<&str>) -> Decided<f64> {
    let network = &plan.network;
    let here = place.and_then(|place| accessory_bus_at(plan, place));
    let plain = |&index: &usize| {
        let bus = &network.buses[index];
        bus.kind == BusKind::Accessory && !bus.carries_signal(&network.described)
    };
    let mut all = (0..network.buses.len()).filter(plain);
    let only = all.next().filter(|_| all.next().is_none());
    let bus = match here {
        Some((bus, false)) => Some(bus),
        Some((_, true)) | None => only,
    };
    let Some(bus) = bus.map(|bus| &network.buses[bus]) else {
        let usual = format!("{SUPPLY_USUAL_V:.1} V");
        return Decided::new(SUPPLY_USUAL_V, Because::new(&LAMP_VOLTS_USUAL, [usual.into()]));
    };
    let sources = network.described.buses[bus.described].sources.iter();
    let volts = sources.map(|source| source.volts.value.value()).fold(0.0, f64::max);
    let facts = [bus.name.as_str().into(), format!("{volts:.1} V").into()];
    Decided::new(volts, Because::new(&LAMP_VOLTS_BUS, facts))
}

/// A resistor as it is asked for: `470 Ω`, `1 kΩ`, `1.2 kΩ`.
pub fn print_resistor(ohms: f64) -> String {
    if ohms < 999.95 { format!("{ohms} Ω") } else { format!("{} kΩ", ohms / 1000.0) }
}
