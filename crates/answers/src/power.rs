//! `show power`.

use crate::{SCHEMA, because};
use notice::Decided;
use plan::model::power::{BusPoint, DischargeUnit, PlannedBus, Trip};
use plan::model::{LampResistor, LeverNumber, Plan};
use serde::Serialize;
use std::collections::BTreeMap;

/// `show power`: what buses lose, what shorts draw, what feeds them, and what a meter reads.
#[derive(Debug, Serialize)]
pub struct PowerAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Every bus.
    pub buses: Vec<BusRow>,
    /// Everything that feeds one.
    pub supplies: Vec<SupplyRow>,
    /// What a meter reads, in order.
    pub readings: Vec<ReadingRow>,
    /// What the lamps of fascias are put behind.
    pub resistors: Vec<ResistorRow>,
}

/// The resistors of a fascia's lamps.
#[derive(Debug, Serialize)]
pub struct ResistorRow {
    /// The fascia.
    pub panel: String,
    /// The part that the lamps are.
    pub part: String,
    /// How many, each with a resistor of its own.
    pub lamps: usize,
    /// Volts that they hang on.
    pub volts: f64,
    /// The value to buy; null where none does.
    pub ohms: Option<f64>,
    /// What would be exact.
    pub ideal_ohms: Option<f64>,
    /// The current with it.
    pub amps: Option<f64>,
    /// The heat in it.
    pub watts: Option<f64>,
    /// The rating to buy.
    pub rated_watts: Option<f64>,
    /// Why this one.
    pub because: Vec<String>,
}

/// A capacitor-discharge unit.
#[derive(Debug, Serialize)]
pub struct DischargeRow {
    /// The capacitor.
    pub farads: f64,
    /// What it is charged to.
    pub volts: f64,
    /// What it holds then.
    pub stored_joules: f64,
    /// Where the coil is that gets least of it.
    pub at: String,
    /// That coil.
    pub coil_ohms: f64,
    /// Out and return on the way to it.
    pub wiring_ohms: f64,
    /// What it gets, alone in a burst.
    pub coil_joules: f64,
    /// The greatest current then.
    pub peak_amps: f64,
    /// How many coils one burst may have; 0 where it holds too little for one.
    pub coils_per_burst: u32,
    /// The resistor that it is charged through.
    pub charge_ohms: f64,
    /// Seconds until the next burst may follow.
    pub wait_seconds: f64,
    /// The heat in that resistor when burst follows burst.
    pub charge_watts: f64,
    /// Why these.
    pub because: Vec<String>,
}

/// A bus.
#[derive(Debug, Serialize)]
pub struct BusRow {
    /// The user's name for it.
    pub bus: String,
    /// `"track"` or `"accessory"`.
    pub kind: &'static str,
    /// The share of its voltage that is lost at the worst place; null where there is no steady state.
    pub worst_drop: Option<f64>,
    /// That place.
    pub at: Option<String>,
    /// The share that may be lost.
    pub drop_limit: f64,
    /// Why there is no steady state; null where there is one.
    pub overload: Option<String>,
    /// The short at every place.
    pub short_amps: Vec<ShortRow>,
    /// Volts at every place.
    pub nodes: Vec<NodeRow>,
    /// Its lengths, each with its conductor.
    pub runs: Vec<BusRunRow>,
    /// By what share a choice of conductors may be cheaper than `would_do`: 0 where that is proven to be the cheapest; null where no
    /// choice keeps the limits.
    pub cheapest_gap: Option<f64>,
    /// While the most that can be thrown at once is thrown; null on a track bus.
    pub thrown: Option<ThrownRow>,
    /// Whether its decoders still hear while the rails are shorted; null on a track bus.
    pub throws_in_short: Option<bool>,
    /// A ring cut at each run in turn.
    pub opened: Vec<OpenedRow>,
    /// Where a second cable from the supply helps most; null where none does.
    pub feeder: Option<FeederRow>,
    /// A damper across its end, as an option; null on an accessory bus.
    pub damper: Option<DamperRow>,
    /// A capacitor-discharge unit for its coils; null where it feeds none.
    pub discharge: Option<DischargeRow>,
    /// Why that place is the worst, and the limit what it is.
    pub because: Vec<String>,
}

/// A short.
#[derive(Debug, Serialize)]
pub struct ShortRow {
    /// The place.
    pub at: String,
    /// Its current; null where nothing limits it.
    pub amps: Option<f64>,
    /// Whether it opens the breaker; null where there is none.
    pub trips: Option<bool>,
    /// Its current as times the trip current; null without a breaker. 2 is the aim.
    pub times_trip: Option<f64>,
    /// The resistance of the loop, the supply's own among it.
    pub loop_ohms: Option<f64>,
}

/// Volts at a place.
#[derive(Debug, Serialize)]
pub struct NodeRow {
    /// The place.
    pub at: String,
    /// With what is always drawn, and what moves drawn here.
    pub volts: Option<f64>,
    /// With what is always drawn alone.
    pub held_volts: Option<f64>,
    /// What hangs here all the time.
    pub held_amps: f64,
}

/// A length of a bus.
#[derive(Debug, Serialize)]
pub struct BusRunRow {
    /// From this place.
    pub from: String,
    /// To this one.
    pub to: String,
    /// Slack included.
    pub length_m: f64,
    /// Its size.
    pub conductor: String,
    /// What would be the cheapest here; null where no choice keeps the limits.
    pub would_do: Option<String>,
    /// Out and return.
    pub loop_ohms: f64,
    /// What it carries all the time.
    pub held_amps: f64,
    /// What it may carry for good: guidance.
    pub bears_amps: f64,
    /// Where that figure comes from.
    pub bears_source: &'static str,
    /// Why this size.
    pub because: Vec<String>,
}

/// The most thrown at once.
#[derive(Debug, Serialize)]
pub struct ThrownRow {
    /// The numbers of the levers; none where throwing takes no more than holding.
    pub levers: Vec<LeverNumber>,
    /// What they take beyond holding.
    pub amps: f64,
    /// No levers that can be thrown at once take more.
    pub amps_max: f64,
    /// The place with the lowest voltage then.
    pub at: String,
    /// Volts there.
    pub volts: Option<f64>,
    /// No levers that can be thrown at once bring less; equal to `volts` where that is proven.
    pub volts_min: Option<f64>,
    /// Whether no levers that can be thrown at once are worse, for certain.
    pub proven: bool,
    /// Why these.
    pub because: Vec<String>,
}

/// A ring cut.
#[derive(Debug, Serialize)]
pub struct OpenedRow {
    /// Between this place.
    pub from: String,
    /// And this one.
    pub to: String,
    /// The place that is then worst.
    pub at: String,
    /// The share lost there; null where there is no steady state.
    pub drop: Option<f64>,
    /// Whether a short opens the breaker everywhere even then.
    pub trips: bool,
}

/// A second cable.
#[derive(Debug, Serialize)]
pub struct FeederRow {
    /// To this place.
    pub at: String,
    /// The lowest volts with it.
    pub volts: f64,
    /// Why there.
    pub because: Vec<String>,
}

/// A resistor and a capacitor in series.
#[derive(Debug, Serialize)]
pub struct DamperRow {
    /// The resistor.
    pub ohms: f64,
    /// The capacitor.
    pub farads: f64,
    /// The heat in the resistor.
    pub watts: f64,
}

/// What feeds a bus.
#[derive(Debug, Serialize)]
pub struct SupplyRow {
    /// The bus.
    pub bus: String,
    /// Where it stands.
    pub at: String,
    /// The part, if one is named.
    pub part: Option<String>,
    /// Without load.
    pub volts: f64,
    /// Inside it.
    pub inner_ohms: f64,
    /// Where its breaker opens.
    pub trip_amps: Option<f64>,
    /// The most that is asked of it.
    pub amps: f64,
    /// What it has to be rated at.
    pub rated_amps: f64,
    /// What it gives, if that is written.
    pub gives_amps: Option<f64>,
    /// The fuse behind it; null where the breaker protects the bus, or no fuse can.
    pub fuse_amps: Option<f64>,
    /// Why these.
    pub because: Vec<String>,
}

/// What a meter reads.
#[derive(Debug, Serialize)]
pub struct ReadingRow {
    /// Counted from 1.
    pub step: usize,
    /// The bus.
    pub bus: String,
    /// The place.
    pub at: String,
    /// What to do before reading.
    pub r#do: String,
    /// What the meter is set to.
    pub meter: &'static str,
    /// What it reads.
    pub expect: f64,
    /// The least that is still good.
    pub low: f64,
    /// The most that is still good.
    pub high: f64,
    /// What a reading outside means.
    pub outside: String,
}

/// Answers `show power`.
pub fn power(plan: &Plan) -> PowerAnswer {
    let name = |planned: &PlannedBus| plan.network.buses[planned.bus].name.clone();
    let numbers = plan.numbers();
    let buses = plan.buses.iter().map(|planned| bus(name(planned), planned, &numbers));
    let supplies = plan.buses.iter().flat_map(|planned| supplies(&name(planned), planned));
    let readings = plan.buses.iter().flat_map(|planned| {
        planned.readings.iter().map(|reading| ReadingRow {
            step: 0,
            bus: name(planned),
            at: planned.points[reading.point].place.clone(),
            r#do: reading.with.clone(),
            meter: reading.meter,
            expect: reading.expect,
            low: reading.low,
            high: reading.high,
            outside: reading.outside.clone(),
        })
    });
    let readings = readings.enumerate().map(|(at, row)| ReadingRow { step: at + 1, ..row });
    PowerAnswer {
        schema: SCHEMA,
        buses: buses.collect(),
        supplies: supplies.collect(),
        readings: readings.collect(),
        resistors: plan::lamp_resistors(plan).iter().map(resistor).collect(),
    }
}

fn bus(name: String, planned: &PlannedBus, numbers: &BTreeMap<network::LeverId, LeverNumber>) -> BusRow {
    let place = |point: usize| planned.points[point].place.clone();
    let mut reasons = planned.worst.as_ref().map(because).unwrap_or_default();
    reasons.extend(because(&planned.drop_limit));
    BusRow {
        bus: name,
        kind: match planned.kind {
            description::BusKind::Track => "track",
            description::BusKind::Accessory => "accessory",
        },
        worst_drop: planned.worst.as_ref().map(|worst| worst.value.drop),
        at: planned.worst.as_ref().map(|worst| place(worst.value.point)),
        drop_limit: planned.drop_limit.value,
        overload: planned.overload.as_ref().map(|(message, help)| format!("{message}; {help}")),
        short_amps: planned.points.iter().map(short).collect(),
        nodes: planned.points.iter().map(node).collect(),
        runs: runs(planned),
        cheapest_gap: planned.cheapest_gap,
        thrown: planned.thrown.as_ref().map(|thrown| ThrownRow {
            levers: thrown.value.levers.iter().filter_map(|lever| numbers.get(lever).copied()).collect(),
            amps: thrown.value.amps,
            amps_max: thrown.value.amps_max,
            volts_min: thrown.value.volts_min,
            proven: thrown.value.proven,
            at: place(thrown.value.point),
            volts: thrown.value.volts,
            because: because(thrown),
        }),
        throws_in_short: planned.throws_in_short,
        opened: opened(planned),
        feeder: planned.feeder.as_ref().map(|feeder| FeederRow {
            at: place(feeder.value.point),
            volts: feeder.value.volts,
            because: because(feeder),
        }),
        damper: planned.damper.map(|damper| DamperRow {
            ohms: damper.ohms,
            farads: damper.farads,
            watts: damper.watts,
        }),
        discharge: planned.discharge.as_ref().map(|unit| discharge(unit, place(unit.value.point))),
        because: reasons,
    }
}

fn short(point: &BusPoint) -> ShortRow {
    ShortRow {
        at: point.place.clone(),
        amps: point.short_amps,
        trips: match point.trip {
            Trip::Surely | Trip::Late => Some(true),
            Trip::Never => Some(false),
            Trip::NoBreaker => None,
        },
        times_trip: point.times_trip,
        loop_ohms: point.loop_ohms,
    }
}

fn node(point: &BusPoint) -> NodeRow {
    NodeRow {
        at: point.place.clone(),
        volts: point.volts,
        held_volts: point.held_volts,
        held_amps: point.held_amps,
    }
}

fn resistor(lamps: &LampResistor) -> ResistorRow {
    let resistor = lamps.resistor.value;
    ResistorRow {
        panel: lamps.panel.clone(),
        part: lamps.part.clone(),
        lamps: lamps.lamps,
        volts: lamps.supply_volts,
        ohms: resistor.map(|resistor| resistor.ohms),
        ideal_ohms: resistor.map(|resistor| resistor.ideal_ohms),
        amps: resistor.map(|resistor| resistor.amps),
        watts: resistor.map(|resistor| resistor.watts),
        rated_watts: resistor.map(|resistor| resistor.rated_watts),
        because: because(&lamps.resistor),
    }
}

fn discharge(decided: &Decided<DischargeUnit>, at: String) -> DischargeRow {
    let unit = &decided.value;
    DischargeRow {
        farads: unit.farads,
        volts: unit.volts,
        stored_joules: unit.stored_joules,
        at,
        coil_ohms: unit.coil_ohms,
        wiring_ohms: unit.wiring_ohms,
        coil_joules: unit.coil_joules,
        peak_amps: unit.peak_amps,
        coils_per_burst: unit.coils_per_burst,
        charge_ohms: unit.charge_ohms,
        wait_seconds: unit.wait_s,
        charge_watts: unit.charge_watts,
        because: because(decided),
    }
}

fn runs(planned: &PlannedBus) -> Vec<BusRunRow> {
    let rows = planned.runs.iter().map(|run| BusRunRow {
        from: planned.points[run.from].place.clone(),
        to: planned.points[run.to].place.clone(),
        length_m: run.length.value(),
        conductor: run.conductor.value.to_string(),
        would_do: run.would_do.map(|size| size.to_string()),
        loop_ohms: run.loop_ohms,
        held_amps: run.held_amps,
        bears_amps: run.bears_amps,
        bears_source: run.bears_source,
        because: because(&run.conductor),
    });
    rows.collect()
}

fn opened(planned: &PlannedBus) -> Vec<OpenedRow> {
    let place = |point: usize| planned.points[point].place.clone();
    let rows = planned.opened.iter().map(|opened| OpenedRow {
        from: place(planned.runs[opened.run].from),
        to: place(planned.runs[opened.run].to),
        at: place(opened.point),
        drop: opened.drop,
        trips: opened.trips,
    });
    rows.collect()
}

fn supplies(bus: &str, planned: &PlannedBus) -> Vec<SupplyRow> {
    let rows = planned.supplies.iter().map(|supply| {
        let mut reasons = because(&supply.rated_amps);
        reasons.extend(because(&supply.fuse_amps));
        reasons.extend(because(&supply.inner_ohms));
        SupplyRow {
            bus: bus.to_owned(),
            at: planned.points[supply.at].place.clone(),
            part: supply.part.clone(),
            volts: supply.volts,
            inner_ohms: supply.inner_ohms.value,
            trip_amps: supply.trip_amps,
            amps: supply.amps,
            rated_amps: supply.rated_amps.value,
            gives_amps: supply.gives_amps,
            fuse_amps: supply.fuse_amps.value,
            because: reasons,
        }
    });
    rows.collect()
}
