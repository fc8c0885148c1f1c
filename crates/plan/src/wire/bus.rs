//! The conductors of buses: their runs, the leads from what feeds them, and what hangs on an accessory bus.
//!
//! A run is as thick and as long as the bus was reckoned with, so that what is laid is what was proven. Its conductors are
//! joined to the next run at the place itself; they pass from module to module on a plug of their own, because the pins of
//! a signal connector bear no bus.
//!
//! # Source
//! A two-pole plug for each bus at each joint, rated for the trip current: common practice, no source.

use super::end::{Known, Wanted};
use crate::model::power::{BusLength, PlannedBus};
use crate::model::{ModuleJoint, Plan, Strand, Wire, WireEnd, WireKind};
use crate::power::accessory_bus_at;
use crate::reason::{
    BUS_FEEDER_LENGTH, BUS_FEEDER_SIZE, BUS_FEEDS_DECODER, BUS_LEAD, BUS_LEAD_SIZE, BUS_OWN_PLUG, BUS_RUN,
    BUS_RUN_LENGTH, BUS_THERE,
};
use description::{BusKind, Job, WireUse};
use measure::Conductor;
use notice::{Because, Decided, Span};

/// Both conductors of an accessory bus.
const SUPPLY: [Job; 2] = [Job::SupplyPlus, Job::SupplyMinus];
/// Both conductors of a track bus.
const RAILS: [Job; 2] = [Job::RailA, Job::RailB];

/// What a bus is called at the end of a wire.
pub(super) fn bus_words(plan: &Plan, bus: usize) -> String {
    format!("bus {}", plan.network.buses[bus].name)
}

/// What each conductor of a bus does: a signal for decoders goes over the conductors of rails.
fn jobs(plan: &Plan, bus: usize) -> &'static [Job; 2] {
    let bus = &plan.network.buses[bus];
    let plain = bus.kind == BusKind::Accessory && !bus.carries_signal(&plan.network.described);
    if plain { &SUPPLY } else { &RAILS }
}

/// The runs of every bus, and the leads from its supplies to it.
pub(super) fn bus_wires(plan: &Plan) -> Vec<Wanted> {
    plan.buses.iter().flat_map(|planned| runs(plan, planned).chain(leads(plan, planned))).collect()
}

fn end(what: String, at: &str, span: Span) -> WireEnd {
    WireEnd { what, at: Some(at.to_owned()), span }
}

fn runs<'a>(plan: &'a Plan, planned: &'a PlannedBus) -> impl Iterator<Item = Wanted> + 'a {
    let bus = &plan.network.buses[planned.bus];
    let existing = plan.network.described.buses[bus.described].existing;
    let units = plan.network.described.layout.units;
    planned.runs.iter().map(move |run| {
        let [from, to] = [run.from, run.to].map(|at| bus.places[at].as_str());
        let ends = [from, to].map(|place| end(bus_words(plan, planned.bus), place, bus.span));
        let key = format!("bus {} {from} to {to}", bus.name);
        let why = Because::new(&BUS_RUN, [bus.name.as_str().into()]);
        let wanted = Wanted::new(key, (WireKind::Bus, WireUse::Supply), ends, jobs(plan, planned.bus), why);
        let why = if existing {
            wanted.why.and(Because::new(&BUS_THERE, [bus.name.as_str().into()]))
        } else {
            wanted.why
        };
        let long = Because::new(&BUS_RUN_LENGTH, [run.length.print(units).into()]);
        let known = Known { size: Some(size(run)), length: Some(Decided::new(Some(run.length), long)) };
        Wanted { existing, why, known, ..wanted }
    })
}

/// The size of a run as a strand, with its own reasons.
fn size(run: &BusLength) -> Decided<Strand> {
    run.conductor.clone().map(|conductor| Strand::Size(conductor, WireUse::Supply))
}

/// From each supply to its bus, as thick as the thickest run that begins there.
fn leads<'a>(plan: &'a Plan, planned: &'a PlannedBus) -> impl Iterator<Item = Wanted> + 'a {
    let bus = &plan.network.buses[planned.bus];
    let existing = plan.network.described.buses[bus.described].existing;
    planned.supplies.iter().enumerate().map(move |(index, supply)| {
        let place = bus.places[supply.at].as_str();
        let part = supply.part.as_deref().unwrap_or("supply");
        let words = if planned.supplies.len() == 1 {
            format!("{part} of bus {}", bus.name)
        } else {
            format!("{part} {} of bus {}", index + 1, bus.name)
        };
        let why = Because::new(&BUS_LEAD, [words.as_str().into(), bus.name.as_str().into()]);
        let ends = [end(words, place, bus.span), end(bus_words(plan, planned.bus), place, bus.span)];
        let key = format!("bus {} lead {}", bus.name, index + 1);
        let wanted = Wanted::new(key, (WireKind::Bus, WireUse::Supply), ends, jobs(plan, planned.bus), why);
        let there = planned.runs.iter().filter(|run| run.from == supply.at || run.to == supply.at);
        let thickest = there
            .map(|run| run.conductor.value)
            .max_by(|a, b| electric::area_mm2(*a).total_cmp(&electric::area_mm2(*b)));
        let lead = |size: Conductor| {
            let why = Because::new(&BUS_LEAD_SIZE, [size.to_string().into(), place.into()]);
            Decided::new(Strand::Size(size, WireUse::Supply), why)
        };
        let known = Known { size: thickest.map(lead), length: None };
        Wanted { existing, known, ..wanted }
    })
}

/// What a decoder takes from an accessory bus at its place that carries no signal; none where there is none.
pub(super) fn decoder_supply(plan: &Plan, decoder: &WireEnd) -> Option<Wanted> {
    let place = decoder.at.as_deref()?;
    let (bus, carries_signal) = accessory_bus_at(plan, place)?;
    if carries_signal {
        return None;
    }
    let words = bus_words(plan, bus);
    let why = Because::new(&BUS_FEEDS_DECODER, [words.as_str().into(), decoder.what.as_str().into()]);
    let from = WireEnd { what: words, ..decoder.clone() };
    let key = format!("decoder {} supply", decoder.what);
    let kind = (WireKind::Decoder, WireUse::Feeder);
    Some(fed_from(plan, Wanted::new(key, kind, [from, decoder.clone()], &SUPPLY, why), bus))
}

/// A wire from a bus to what hangs on it at the same place: as thick and long as the bus's own `feeder`, where that is written.
pub(super) fn fed_from(plan: &Plan, wanted: Wanted, bus: usize) -> Wanted {
    let described = &plan.network.described.buses[plan.network.buses[bus].described];
    let name = plan.network.buses[bus].name.as_str();
    let units = plan.network.described.layout.units;
    let size = described.feeder.map(|feeder| {
        let why = Because::new(&BUS_FEEDER_SIZE, [name.into(), feeder.value.to_string().into()]);
        Decided::new(Strand::Size(feeder.value, WireUse::Feeder), why)
    });
    let length = described.feeder_length.map(|length| {
        let why = Because::new(&BUS_FEEDER_LENGTH, [name.into(), length.value.print(units).into()]);
        Decided::new(Some(length.value), why)
    });
    Wanted { known: Known { size, length }, ..wanted }
}

/// How many plugs of their own buses have between modules; those that are there already are left out. Says so of each wire.
pub(super) fn own_plugs(wires: &mut [Wire], joints: &[ModuleJoint]) {
    for wire in wires.iter_mut().filter(|wire| wire.kind == WireKind::Bus) {
        let passed: Vec<String> = joints_of(wire, joints).map(ModuleJoint::words).collect();
        for joint in passed {
            let why = wire.why.clone().and(Because::new(&BUS_OWN_PLUG, [joint.into()]));
            wire.why = why;
        }
    }
}

/// The joints between modules that a wire passes.
pub(crate) fn joints_of<'j>(wire: &Wire, joints: &'j [ModuleJoint]) -> impl Iterator<Item = &'j ModuleJoint> {
    let steps: Vec<[String; 2]> =
        wire.way.windows(2).map(|step| [step[0].clone(), step[1].clone()]).collect();
    joints.iter().filter(move |joint| {
        let [one, other] = &joint.places;
        steps.iter().any(|[from, to]| (from == one && to == other) || (from == other && to == one))
    })
}
