//! The power sheets: for each bus its plan, its drop chart, its runs and the coin test; then supplies with their fuses, and
//! what a meter reads. Figures are rounded here, once, for paper.

use notice::Decided;
use plan::model::power::{BusPoint, PlannedBus, Trip};
use plan::model::{LampResistor, Plan};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::drawings::drawing;
use crate::ledger::Ledger;

/// `(buses, supplies, readings, lamps)`.
pub(crate) fn power(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    let buses = plan.buses.iter().map(|planned| bus(ledger, planned).into_value());
    let supplies = plan.buses.iter().flat_map(|planned| supplies(ledger, planned));
    let readings = (1usize..).zip(plan.buses.iter().flat_map(|planned| readings(ledger, planned)));
    let readings = readings.map(|(step, mut reading)| {
        reading.insert("step".into(), step.into_value());
        reading.into_value()
    });
    dict! {
        "buses" => buses.collect::<Array>(),
        "supplies" => supplies.collect::<Array>(),
        "readings" => readings.collect::<Array>(),
        "lamps" => plan::lamp_resistors(plan).iter().map(|lamps| lamp(ledger, lamps)).collect::<Array>(),
    }
}

fn name<'a>(plan: &'a Plan, planned: &PlannedBus) -> &'a str {
    &plan.network.buses[planned.bus].name
}

fn volts(volts: f64) -> String {
    format!("{volts:.2} V")
}

fn amps(amps: f64) -> String {
    if amps < 0.9995 { format!("{:.0} mA", amps * 1000.0) } else { format!("{amps:.2} A") }
}

fn ohms(ohms: f64) -> String {
    if ohms < 0.9995 { format!("{:.0} mΩ", ohms * 1000.0) } else { format!("{ohms:.2} Ω") }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

fn or_none(text: Option<String>) -> Value {
    text.map_or(Value::None, IntoValue::into_value)
}

/// The reasons of several decisions, each sentence once.
fn said<T>(ledger: &Ledger<'_>, decided: &Decided<T>) -> Value {
    ledger.reasons(decided.because()).into_value()
}

fn bus(ledger: &Ledger<'_>, planned: &PlannedBus) -> Dict {
    let plan = ledger.plan;
    let name = name(plan, planned);
    let place = |point: usize| ledger.words(&planned.points[point].place);
    let worst = planned.worst.as_ref();
    let chart = draw::drop_chart(plan, planned).map(|scene| {
        let alt = format!(
            "Drop chart of bus {name}: volts against length; the same figures stand in the coin test table"
        );
        drawing(ledger, scene, &alt)
    });
    let alt = format!("Plan of bus {name}: its places and runs; the same stand in the table of runs");
    let thrown = planned.thrown.as_ref().map(|thrown| {
        dict! {
            "volts" => or_none(thrown.value.volts.map(volts)),
            "at" => place(thrown.value.point),
            "reasons" => said(ledger, thrown),
        }
    });
    let feeder = planned.feeder.as_ref().map(|feeder| {
        dict! { "at" => place(feeder.value.point), "reasons" => said(ledger, feeder) }
    });
    let damper = planned.damper.map(|damper| {
        // Twice the heat, and no less than a quarter of a watt, is what is sold.
        let rating =
            [0.25, 0.5, 1.0, 2.0, 5.0, 10.0].into_iter().find(|rating| *rating >= 2.0 * damper.watts);
        dict! {
            "ohms" => format!("{:.0} Ω", damper.ohms),
            "farads" => format!("{:.2} µF", damper.farads * 1e6),
            "watts" => format!("{:.2} W", damper.watts),
            "rating" => or_none(rating.map(|rating| format!("{rating} W"))),
        }
    });
    dict! {
        "name" => ledger.words(name),
        "track" => planned.kind == description::BusKind::Track,
        "overload" => or_none(planned.overload.as_ref().map(|(message, help)| format!("{message}; {help}"))),
        "plan" => drawing(ledger, draw::bus_plan(plan, planned), &alt),
        "chart" => chart,
        "drop" => or_none(worst.map(|worst| percent(worst.value.drop))),
        "at" => worst.map(|worst| place(worst.value.point)),
        "within" => worst.is_some_and(|worst| worst.value.drop <= planned.drop_limit.value * (1.0 + 1e-9)),
        "limit" => percent(planned.drop_limit.value),
        "why" => worst.map(|worst| said(ledger, worst)),
        "limit_why" => said(ledger, &planned.drop_limit),
        "runs" => runs(ledger, planned),
        "points" => planned.points.iter().map(|point| one_point(ledger, point).into_value()).collect::<Array>(),
        "has_breaker" => planned.supplies.iter().any(|supply| supply.trip_amps.is_some()),
        "opened" => opened(ledger, planned),
        "thrown" => thrown,
        "throws_in_short" => planned.throws_in_short,
        "feeder" => feeder,
        "damper" => damper,
        "discharge" => discharge(ledger, planned),
    }
}

fn lamp(ledger: &Ledger<'_>, lamps: &LampResistor) -> Value {
    let resistor = lamps.resistor.value;
    dict! {
        "panel" => ledger.words(&lamps.panel),
        "part" => ledger.words(&lamps.part),
        "count" => lamps.lamps.to_string(),
        "volts" => format!("{:.1} V", lamps.supply_volts),
        "ohms" => or_none(resistor.map(|resistor| plan::print_resistor(resistor.ohms))),
        "amps" => or_none(resistor.map(|resistor| format!("{:.1} mA", resistor.amps * 1000.0))),
        "watts" => or_none(resistor.map(|resistor| format!("{:.0} mW", resistor.watts * 1000.0))),
        "rated" => or_none(resistor.map(|resistor| format!("{} W", resistor.rated_watts))),
        "reasons" => said(ledger, &lamps.resistor),
    }
    .into_value()
}

fn discharge(ledger: &Ledger<'_>, planned: &PlannedBus) -> Value {
    let Some(decided) = &planned.discharge else { return Value::None };
    let unit = &decided.value;
    dict! {
        "farads" => format!("{:.0} µF", unit.farads * 1e6),
        "volts" => format!("{:.1} V", unit.volts),
        "stored" => format!("{:.2} J", unit.stored_joules),
        "at" => ledger.words(&planned.points[unit.point].place),
        "coil" => format!("{:.2} J", unit.coil_joules),
        "peak" => amps(unit.peak_amps),
        "coils" => unit.coils_per_burst.to_string(),
        "charge" => plan::print_resistor(unit.charge_ohms),
        "wait" => format!("{:.1} s", unit.wait_s),
        "heat" => format!("{:.1} W", unit.charge_watts),
        "reasons" => said(ledger, decided),
    }
    .into_value()
}

fn runs(ledger: &Ledger<'_>, planned: &PlannedBus) -> Array {
    let units = ledger.plan.network.described.layout.units;
    let place = |point: usize| ledger.words(&planned.points[point].place);
    let rows = planned.runs.iter().map(|run| {
        let would_do = run.would_do.map(|size| size.to_string());
        dict! {
            "from" => place(run.from),
            "to" => place(run.to),
            "length" => run.length.print(units),
            "conductor" => run.conductor.value.to_string(),
            "would_do" => or_none(would_do),
            "ohms" => ohms(run.loop_ohms),
            "held" => amps(run.held_amps.abs()),
            "bears" => amps(run.bears_amps),
            "source" => run.bears_source,
            "reasons" => said(ledger, &run.conductor),
        }
        .into_value()
    });
    rows.collect()
}

fn one_point(ledger: &Ledger<'_>, point: &BusPoint) -> Dict {
    dict! {
        "place" => ledger.words(&point.place),
        "held" => amps(point.held_amps),
        "held_volts" => or_none(point.held_volts.map(volts)),
        "volts" => or_none(point.volts.map(volts)),
        "drop" => or_none(point.drop.map(percent)),
        "loop" => or_none(point.loop_ohms.map(ohms)),
        "short" => or_none(point.short_amps.map(|amps| format!("{amps:.1} A"))),
        "times" => or_none(point.times_trip.map(|times| format!("{times:.1}"))),
        "trip" => match point.trip {
            Trip::Surely => "yes",
            Trip::Late => "late",
            Trip::Never => "no",
            Trip::NoBreaker => "none",
        },
    }
}

fn opened(ledger: &Ledger<'_>, planned: &PlannedBus) -> Array {
    let place = |point: usize| ledger.words(&planned.points[point].place);
    let limit = planned.drop_limit.value * (1.0 + 1e-9);
    let rows = planned.opened.iter().map(|opened| {
        dict! {
            "from" => place(planned.runs[opened.run].from),
            "to" => place(planned.runs[opened.run].to),
            "at" => place(opened.point),
            "drop" => or_none(opened.drop.map(percent)),
            "within" => opened.drop.is_some_and(|drop| drop <= limit),
            "trips" => opened.trips,
        }
        .into_value()
    });
    rows.collect()
}

fn supplies(ledger: &Ledger<'_>, planned: &PlannedBus) -> Vec<Value> {
    let bus = name(ledger.plan, planned);
    let rows = planned.supplies.iter().map(|supply| {
        dict! {
            "bus" => ledger.words(bus),
            "at" => ledger.words(&planned.points[supply.at].place),
            "part" => ledger.words_if(supply.part.as_deref()),
            "volts" => format!("{:.1} V", supply.volts),
            "trip" => or_none(supply.trip_amps.map(amps)),
            "asked" => amps(supply.amps),
            "rated" => amps(supply.rated_amps.value),
            "gives" => or_none(supply.gives_amps.map(amps)),
            "fuse" => or_none(supply.fuse_amps.value.map(amps)),
            // The rule of thumb beside the reckoned figure.
            "thumb" => or_none(supply.trip_amps.map(|trip| ohms(0.5 * supply.volts / trip))),
            "loop" => or_none(planned.points.iter().filter_map(|point| point.loop_ohms).reduce(f64::max).map(ohms)),
            "rated_why" => said(ledger, &supply.rated_amps),
            "fuse_why" => said(ledger, &supply.fuse_amps),
            "inner_why" => said(ledger, &supply.inner_ohms),
        }
        .into_value()
    });
    rows.collect()
}

fn readings(ledger: &Ledger<'_>, planned: &PlannedBus) -> Vec<Dict> {
    let bus = name(ledger.plan, planned);
    let rows = planned.readings.iter().map(|reading| {
        dict! {
            "bus" => ledger.words(bus),
            "at" => ledger.words(&planned.points[reading.point].place),
            "with" => reading.with.as_str(),
            "meter" => reading.meter,
            "expect" => volts(reading.expect),
            "low" => format!("{:.2}", reading.low),
            "high" => volts(reading.high),
            "outside" => reading.outside.as_str(),
        }
    });
    rows.collect()
}
