//! The order of commissioning: against what must come before what, and its walk against every order there is.

use crate::{first_module, harbor};
use commission::fault::System;
use commission::order::walk::{Visit, cost, keeps, shortest};
use commission::order::{Order, Phase, lay_out};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn of(plan: &plan::model::Plan) -> (System, Order) {
    let system = System::of(plan);
    let order = lay_out(plan, &system);
    (system, order)
}

/// The rank of the step that does this at a place.
fn rank(order: &Order, phase: Phase, does: &str, at: &str) -> usize {
    let found = |step: &&commission::order::Step| {
        step.phase == phase && step.does.contains(does) && step.at.as_deref() == Some(at)
    };
    order.steps.iter().position(|step| found(&step)).unwrap_or_else(|| panic!("no step `{does}` at {at}"))
}

#[test]
fn the_supply_comes_before_the_bus_the_bus_before_the_decoder_the_decoder_before_the_machine() {
    // Source: common practice, no source.
    let plan = harbor();
    let (_, order) = of(&plan);
    for bus in ["track", "motors"] {
        let supply = rank(&order, Phase::Supply, bus, "bay 1");
        let places = ["bay 1", "bay 2", "bay 3", "bay 4"]
            .map(|at| rank(&order, Phase::Bus, &format!("bus {bus}:"), at));
        assert!(supply < places[0] && places.is_sorted(), "{bus}: {supply}, {places:?}");
        for decoder in &plan.decoders {
            let at = decoder.at.as_ref().unwrap().value.as_str();
            let programmed = rank(&order, Phase::Decoder, &format!("decoder {},", decoder.id), at);
            assert!(rank(&order, Phase::Bus, &format!("bus {bus}:"), at) < programmed);
            for row in
                plan.addresses.iter().filter(|row| plan.decoders[row.decoder.unwrap()].id == decoder.id)
            {
                let thrown = format!("throw address {} ", row.address.number());
                let thrown = order.steps.iter().position(|step| step.does.starts_with(&thrown)).unwrap();
                assert!(programmed < thrown, "{} before {}", decoder.id, row.address.number());
            }
        }
    }
    assert_eq!(order.steps.last().unwrap().phase, Phase::Hour);
}

#[test]
fn every_fault_is_named_by_just_one_step() {
    for plan in [harbor(), first_module()] {
        let (system, order) = of(&plan);
        let unseen: Vec<&str> =
            order.unseen.iter().map(|&fault| system.faults[fault].what.as_str()).collect();
        assert!(unseen.is_empty(), "{unseen:?}");
        let mut named: Vec<usize> = order.steps.iter().flat_map(|step| step.faults.iter().copied()).collect();
        named.sort_unstable();
        assert_eq!(named, (0..system.faults.len()).collect::<Vec<_>>());
        assert!(order.steps.iter().all(|step| !step.expect.is_empty()));
    }
}

#[test]
fn a_fault_stops_commissioning_at_the_step_that_names_it_and_at_none_before() {
    let (system, order) = of(&harbor());
    for (rank, step) in order.steps.iter().enumerate() {
        for &fault in &step.faults {
            let what = &system.faults[fault].what;
            assert!(step.checks.iter().any(|&check| system.predict(&[fault], check) > 0), "{what}");
            for earlier in order.steps[..rank].iter().filter(|earlier| earlier.phase != Phase::Bus) {
                assert!(
                    earlier.checks.iter().all(|&check| system.predict(&[fault], check) == 0),
                    "{what}: {}",
                    earlier.does
                );
            }
        }
    }
}

#[test]
fn the_demo_takes_few_crawls() {
    // By hand: out along the four bays with buses and decoders, which stand in bays 2 and 3. Once they are in, bay 3 and then bay 4 can be
    // read under load in the same crawls; bays 2 and 1 have to be come back to.
    let (_, order) = of(&harbor());
    assert_eq!((order.crawls, order.proven), (6, true));
}

#[test]
fn buses_that_run_against_one_another_are_visited_one_by_one() {
    let text = include_str!("../../../../demo/tern-harbor/layout.toml");
    let turned = text.replace(
        "source = { at = \"bay 1\", part = \"accessory supply\"",
        "source = { at = \"bay 4\", part = \"accessory supply\"",
    );
    assert_ne!(text, turned);
    let plan = testkit::plan_of(&turned);
    let (_, order) = of(&plan);
    let motors = ["bay 4", "bay 3", "bay 2", "bay 1"].map(|at| rank(&order, Phase::Bus, "bus motors:", at));
    let track = ["bay 1", "bay 2", "bay 3", "bay 4"].map(|at| rank(&order, Phase::Bus, "bus track:", at));
    assert!(motors.is_sorted() && track.is_sorted(), "{motors:?} {track:?}");
    let decoders = order.steps.iter().filter(|step| step.phase == Phase::Decoder).count();
    assert_eq!((decoders, order.unseen.len()), (plan.decoders.len(), 0));
}

/// Every order that keeps what comes before what.
fn all_orders(
    visits: &[Visit],
    order: &mut Vec<usize>,
    best: &mut Option<(usize, f64)>,
    metres: &dyn Fn(&str, &str) -> f64,
) {
    if order.len() == visits.len() {
        let this = cost(visits, order, metres);
        if best.is_none_or(|best| this.0 < best.0 || (this.0 == best.0 && this.1 < best.1)) {
            *best = Some(this);
        }
        return;
    }
    for next in 0..visits.len() {
        let done: BTreeSet<usize> = order.iter().copied().collect();
        if !done.contains(&next) && visits[next].after.is_subset(&done) {
            order.push(next);
            all_orders(visits, order, best, metres);
            order.pop();
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_order_of_visits_is_cheaper(
        places in prop::collection::vec((0..4_usize, any::<bool>()), 0..7),
        needs in prop::collection::vec((0..7_usize, 0..7_usize), 0..8),
        at in prop::collection::vec(0..20_u32, 4),
    ) {
        let mut visits: Vec<Visit> = places
            .iter()
            .map(|(place, under)| Visit { at: place.to_string(), under: *under, after: BTreeSet::new() })
            .collect();
        for (one, other) in needs {
            if one < other && other < visits.len() {
                visits[other].after.insert(one);
            }
        }
        let metres = |from: &str, to: &str| {
            let [from, to] = [from, to].map(|place| at[place.parse::<usize>().unwrap()]);
            f64::from(from.abs_diff(to))
        };
        let walk = shortest(&visits, &metres);
        prop_assert!(keeps(&visits, &walk.order) && walk.order.len() == visits.len() && walk.proven);
        let mut best = None;
        all_orders(&visits, &mut Vec::new(), &mut best, &metres);
        let best = best.unwrap();
        prop_assert_eq!(walk.crawls, best.0);
        prop_assert!((walk.metres - best.1).abs() < 1e-6);
    }
}
