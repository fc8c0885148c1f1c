//! What is wrong with a finished plan: one rule a module, each named for its code.
//!
//! The rules see only the model of a plan, never how it was made, so that they catch the planner's mistakes as well as
//! the user's. Each is a plain function from a plan to findings.

mod address_counts_differ;
mod address_out_of_range;
mod address_taken;
mod address_used_twice;
mod bus_conductor_thin;
mod bus_drops_much;
mod bus_misses_decoders;
mod bus_overloaded;
mod bus_supply_small;
mod coils_exceed_supply;
mod colour_reserved;
mod crossover_apart;
mod district_no_feeder;
mod gap_missing;
mod hole_too_large;
mod lever_no_control;
mod lever_on_no_route;
mod machine_no_decoder;
mod machine_one_position;
mod number_used_twice;
mod output_overloaded;
mod part_too_deep;
mod pin_differs;
mod place_full;
mod reversing_sections_touch;
mod reversing_too_short;
mod ring_opened_drops;
mod route_lever_clash;
mod short_never_trips;
mod short_trips_late;
mod stop_on_no_route;
mod stops_no_route;
mod strip_start_misfit;
mod strips_need_supply;
mod threeway_both;
mod track_unreachable;
mod turnouts_on_track_bus;
mod wire_no_path;

use notice::{Diagnostic, Outcome, Span, Spanned};
use packet::UserAddress;
use plan::model::{Plan, PlannedLever, Strip};
use std::collections::BTreeSet;

type Rule = fn(&Plan) -> Vec<Diagnostic>;

const RULES: [Rule; 38] = [
    address_counts_differ::check,
    address_out_of_range::check,
    address_taken::check,
    address_used_twice::check,
    bus_conductor_thin::check,
    bus_drops_much::check,
    bus_misses_decoders::check,
    bus_overloaded::check,
    bus_supply_small::check,
    coils_exceed_supply::check,
    colour_reserved::check,
    crossover_apart::check,
    district_no_feeder::check,
    gap_missing::check,
    hole_too_large::check,
    lever_no_control::check,
    lever_on_no_route::check,
    machine_no_decoder::check,
    machine_one_position::check,
    number_used_twice::check,
    output_overloaded::check,
    part_too_deep::check,
    pin_differs::check,
    place_full::check,
    reversing_sections_touch::check,
    reversing_too_short::check,
    ring_opened_drops::check,
    route_lever_clash::check,
    short_never_trips::check,
    short_trips_late::check,
    stop_on_no_route::check,
    stops_no_route::check,
    strip_start_misfit::check,
    strips_need_supply::check,
    threeway_both::check,
    track_unreachable::check,
    wire_no_path::check,
    turnouts_on_track_bus::check,
];

/// Checks a finished plan against every rule.
pub fn verify(plan: Plan) -> Outcome<Plan> {
    let findings = RULES.iter().flat_map(|rule| rule(&plan)).collect();
    Outcome::new(plan, findings)
}

/// Whether routes may be missing, because some table could not be read or the list was cut.
fn routes_are_partial(plan: &Plan) -> bool {
    plan.network.described.unread.anything() || !plan.routes_complete
}

/// The levers that have an address: one that found none has only the filler that stands beside its error.
fn placed(plan: &Plan) -> impl Iterator<Item = &PlannedLever> {
    let unplaced: BTreeSet<_> = plan.unplaced.iter().copied().collect();
    plan.levers.iter().filter(move |lever| !unplaced.contains(&lever.lever))
}

/// Somebody who answers an accessory address: a lever, a signal or a light.
struct Claim<'a> {
    address: UserAddress,
    /// Where the address comes from.
    span: Span,
    id: &'a str,
    is_lever: bool,
    /// The index of the strip of whose pairs it is; none where it is of no pair.
    strip: Option<usize>,
}

/// All who have an address: the levers, then signals and lights.
fn claims(plan: &Plan) -> Vec<Claim<'_>> {
    let levers = placed(plan).map(|lever| Claim {
        address: lever.address.value,
        span: address_span(plan, lever),
        id: &plan.network.lever(lever.lever).id,
        is_lever: true,
        strip: lever.control.map(|control| control.strip),
    });
    let others = plan.accessories.iter().filter_map(|planned| {
        let accessory = plan.network.accessory(planned.accessory);
        let strip = planned.control.map(|control| plan.strips[control.strip].span);
        let pin = accessory.pins.address.map(|pin| pin.span);
        Some(Claim {
            address: planned.address.as_ref()?.value,
            // A pin that the pair agrees with is where the user wrote the address.
            span: pin.or(strip).unwrap_or(accessory.span),
            id: &accessory.id,
            is_lever: false,
            strip: planned.control.map(|control| control.strip),
        })
    });
    levers.chain(others).collect()
}

/// Where the address of a lever comes from: its pin, its strip, or the lever itself.
fn address_span(plan: &Plan, lever: &PlannedLever) -> Span {
    let strip = lever.control.map(|control| plan.strips[control.strip].span);
    let pin = plan.network.pin(lever.lever, |pins| pins.address).map(|pin| pin.span);
    strip.or(pin).unwrap_or(plan.network.lever(lever.lever).span)
}

/// Every pin of one kind on a lever or its joints.
fn pins_of<T>(
    plan: &Plan,
    lever: &PlannedLever,
    which: impl Fn(&description::Pins) -> Option<Spanned<T>>,
) -> Vec<Spanned<T>> {
    let network = &plan.network;
    let described = network.lever(lever.lever);
    let mut pins: Vec<Spanned<T>> = which(&described.pins).into_iter().collect();
    for machine in &described.machines {
        let pin = which(&network.joint(network.machine(*machine).joint).pins);
        pins.extend(pin.filter(|pin| pins.iter().all(|known| known.span != pin.span)));
    }
    pins
}

/// Adds where `last_address` is written, if it is.
fn beside_last_address(plan: &Plan, note: Diagnostic) -> Diagnostic {
    match plan.network.described.system.last_address_at {
        Some(span) => note.related(span, "the last address is written here"),
        None => note,
    }
}

/// Adds what a strip without a `start` of its own gets its addresses from: the pinned start before it on its chain, or the pinned
/// address of a lever on it.
fn beside_start(plan: &Plan, strip: &Strip, note: Diagnostic) -> Diagnostic {
    let start_of = |strip: &Strip| {
        let panel = plan.network.described.panels.iter().find(|panel| panel.id.value == strip.panel)?;
        panel.start
    };
    if start_of(strip).is_some() {
        return note;
    }
    let chain = plan.chains.iter().find(|chain| chain.number == strip.chain);
    let on_chain = chain.map_or(&[][..], |chain| &chain.strips[..]);
    let is_before = |other: &&Strip| other.panel != strip.panel;
    let before: Vec<&Strip> =
        on_chain.iter().map(|index| &plan.strips[*index]).take_while(is_before).collect();
    if let Some((first, start)) = before.iter().rev().find_map(|first| Some((first, start_of(first)?))) {
        return note
            .related(start.span, format!("strip `{}`, on whose chain it follows, starts here", first.panel));
    }
    // Without any pinned start the chain follows from the first lever on it whose pinned address it keeps.
    let stands_there =
        |lever: &&PlannedLever| lever.control.is_some_and(|control| on_chain.contains(&control.strip));
    let mut on_it: Vec<&PlannedLever> = plan.levers.iter().filter(stands_there).collect();
    on_it.sort_by_key(|lever| lever.control.map(|control| (control.strip, control.pair)));
    let is_from_pin = on_chain.first().is_some_and(|first| {
        plan.strips[*first].first.because().any(|because| because.rule.name == "start-from-pin")
    });
    let pin = on_it.into_iter().filter(|_| is_from_pin).find_map(|lever| {
        let pin = plan.network.pin(lever.lever, |pins| pins.address)?;
        (pin.value == lever.address.value.number()).then_some((lever, pin))
    });
    match pin {
        Some((lever, pin)) => {
            let id = &plan.network.lever(lever.lever).id;
            note.related(pin.span, format!("it starts where `{id}` has this address"))
        }
        None => note,
    }
}
