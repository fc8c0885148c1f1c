//! `throwbar show power` in words: buses, shorts, supplies and readings as tables; or their netlist.

use crate::print;
use answers::{BusRow, DischargeRow, PowerAnswer};
use measure::{Length, Units};
use plan::model::Plan;
use std::fmt::Write as _;

/// The netlist of all buses, side by side.
pub(super) fn netlist(plan: &Plan) -> String {
    let named = |index: usize| plan.network.buses[index].name.as_str();
    let circuits: Vec<_> = plan.buses.iter().map(|planned| (named(planned.bus), &planned.circuit)).collect();
    let title = format!("{}: buses with what is always drawn", plan.network.described.layout.name);
    electric::side_by_side(&circuits).spice(&title)
}

/// The tables.
pub(super) fn words(width: usize, units: Units, answer: &PowerAnswer) -> String {
    if answer.buses.is_empty() && answer.resistors.is_empty() {
        return "no bus is described; add [bus.track] or [bus.accessory], and `throwbar explain bus-drops-much` shows one\n"
            .to_owned();
    }
    let mut text = String::new();
    for bus in &answer.buses {
        one_bus(&mut text, width, units, bus);
    }
    resistors(&mut text, width, answer);
    supplies(&mut text, width, answer);
    readings(&mut text, width, answer);
    text
}

fn volts(volts: Option<f64>) -> String {
    volts.map_or_else(|| "–".to_owned(), |volts| format!("{volts:.2} V"))
}

fn amps(amps: f64) -> String {
    if amps < 0.9995 { format!("{:.0} mA", amps * 1000.0) } else { format!("{amps:.2} A") }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

fn one_bus(text: &mut String, width: usize, units: Units, bus: &BusRow) {
    let head = match (&bus.overload, bus.worst_drop, &bus.at) {
        (Some(overload), ..) => overload.clone(),
        (None, Some(drop), Some(at)) => {
            format!("loses {} at {at}, of {} allowed", percent(drop), percent(bus.drop_limit))
        }
        _ => "nothing is drawn".to_owned(),
    };
    let _ = writeln!(text, "bus {} ({}): {head}\n", bus.bus, bus.kind);
    let rows = bus.nodes.iter().zip(&bus.short_amps).map(|(node, short)| {
        let trips = match (short.trips, short.times_trip) {
            (Some(true), Some(times)) if times >= 2.0 => format!("yes, {times:.1} times"),
            (Some(true), Some(times)) => format!("late, {times:.1} times"),
            (Some(true), None) => "yes".to_owned(),
            (Some(false), Some(times)) => format!("NO, {times:.2} times"),
            (Some(false), None) => "NO".to_owned(),
            (None, _) => "no breaker".to_owned(),
        };
        vec![
            node.at.clone(),
            amps(node.held_amps),
            volts(node.held_volts),
            volts(node.volts),
            short.amps.map_or_else(|| "no limit".to_owned(), |short| format!("{short:.1} A")),
            trips,
        ]
    });
    let heading = ["place", "always drawn", "volts", "volts under load", "short", "opens the breaker"];
    text.push_str(&print::table(width, &heading, &rows.collect::<Vec<_>>()));
    text.push('\n');
    let rows = bus.runs.iter().map(|run| {
        vec![
            format!("{} – {}", run.from, run.to),
            Length::new(run.length_m).print(units),
            run.conductor.clone(),
            run.would_do.clone().unwrap_or_else(|| "none does".to_owned()),
            format!("{:.1} A", run.bears_amps),
            run.because.join("; "),
        ]
    });
    let heading = ["run", "length", "conductor", "would do", "bears", "because"];
    text.push_str(&print::table(width, &heading, &rows.collect::<Vec<_>>()));
    text.push('\n');
    if !bus.opened.is_empty() {
        let rows = bus.opened.iter().map(|cut| {
            let trips = if cut.trips { "yes" } else { "NO" };
            let drop = cut.drop.map_or_else(|| "too much".to_owned(), percent);
            vec![format!("{} – {}", cut.from, cut.to), drop, cut.at.clone(), trips.to_owned()]
        });
        let heading = ["ring cut at", "loses", "at", "shorts open the breaker"];
        text.push_str(&print::table(width, &heading, &rows.collect::<Vec<_>>()));
        text.push('\n');
    }
    notes(text, bus);
}

/// What else there is to know about a bus, a row each.
fn notes(text: &mut String, bus: &BusRow) {
    if let Some(thrown) = &bus.thrown {
        let lowest = volts(thrown.volts);
        let because = thrown.because.join("; ");
        let _ = writeln!(text, "while levers are thrown: {lowest} at {}; {because}", thrown.at);
    }
    match bus.throws_in_short {
        Some(true) => text.push_str("during a short on the rails: its turnouts still throw, from a booster of its own\n"),
        Some(false) => text.push_str(
            "during a short on the rails: its motors stay where they are, and nothing throws, since decoders take the signal from the track bus\n",
        ),
        None => {}
    }
    if let Some(feeder) = &bus.feeder {
        let _ = writeln!(text, "one more feeder helps most at {}: {}", feeder.at, feeder.because.join("; "));
    }
    if let Some(damper) = &bus.damper {
        let _ = writeln!(
            text,
            "option: {:.0} Ω and {:.2} µF in series across the far end, {:.2} W in the resistor",
            damper.ohms,
            damper.farads * 1e6,
            damper.watts
        );
    }
    if let Some(unit) = &bus.discharge {
        discharge(text, unit);
    }
    for reason in &bus.because {
        let _ = writeln!(text, "because {reason}");
    }
    text.push('\n');
}

fn resistors(text: &mut String, width: usize, answer: &PowerAnswer) {
    if answer.resistors.is_empty() {
        return;
    }
    let rows = answer.resistors.iter().map(|row| {
        vec![
            row.panel.clone(),
            format!("{} × {}", row.lamps, row.part),
            row.ohms.map_or_else(|| "none does".to_owned(), plan::print_resistor),
            row.rated_watts.map_or_else(|| "–".to_owned(), |watts| format!("{watts} W")),
            row.amps.map_or_else(|| "–".to_owned(), |amps| format!("{:.1} mA", amps * 1000.0)),
            row.because.join("; "),
        ]
    });
    let heading = ["panel", "lamps", "resistor", "rated", "current", "because"];
    text.push_str(&print::table(width, &heading, &rows.collect::<Vec<_>>()));
    text.push('\n');
}

fn discharge(text: &mut String, unit: &DischargeRow) {
    let _ = writeln!(
        text,
        "capacitor-discharge unit: {:.0} µF at {:.1} V hold {:.2} J; the coil at {} gets {:.2} J with a peak of {}; \
         {} coils in a burst, {:.1} s between bursts, charged through {}",
        unit.farads * 1e6,
        unit.volts,
        unit.stored_joules,
        unit.at,
        unit.coil_joules,
        amps(unit.peak_amps),
        unit.coils_per_burst,
        unit.wait_seconds,
        plan::print_resistor(unit.charge_ohms),
    );
    for because in &unit.because {
        let _ = writeln!(text, "because {because}");
    }
    let _ = writeln!(
        text,
        "caution: it stays charged after the power is off; drain it through a resistor, and measure, before touching it"
    );
}

fn supplies(text: &mut String, width: usize, answer: &PowerAnswer) {
    let rows = answer.supplies.iter().map(|supply| {
        vec![
            supply.bus.clone(),
            supply.at.clone(),
            format!("{:.1} V", supply.volts),
            amps(supply.amps),
            amps(supply.rated_amps),
            supply.fuse_amps.map_or_else(|| "–".to_owned(), amps),
            supply.because.join("; "),
        ]
    });
    let heading = ["bus", "supply at", "volts", "asked", "rated at least", "fuse", "because"];
    text.push_str(&print::table(width, &heading, &rows.collect::<Vec<_>>()));
    text.push('\n');
}

fn readings(text: &mut String, width: usize, answer: &PowerAnswer) {
    let rows = answer.readings.iter().map(|reading| {
        vec![
            reading.step.to_string(),
            reading.bus.clone(),
            reading.at.clone(),
            reading.meter.to_owned(),
            format!("{:.2} V", reading.expect),
            format!("{:.2}–{:.2} V", reading.low, reading.high),
            reading.r#do.clone(),
        ]
    });
    let heading = ["step", "bus", "at", "meter", "expect", "good", "with"];
    text.push_str(&print::table(width, &heading, &rows.collect::<Vec<_>>()));
}
