//! Advice: the cheapest sizes against every choice there is, on 200 random trees and on rings; fuses, supplies, feeders.

use electric::{
    Circuit, Draw, Fuse, FuseChoice, Gauged, Load, NodeId, RingBus, Run, Size, Supply, TreeBus, TreeRun,
    Ungauged, best_feeder, feeder_spacing_m, fuse_for, supply_amps,
};
use measure::Current;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use serde_json::Value;

fn sizes() -> impl Strategy<Value = Vec<Size>> {
    prop::collection::vec((0.005_f64..0.2, 1.0_f64..12.0, 0.1_f64..3.0), 2..5).prop_map(|sizes| {
        let size = |(loop_ohm_per_m, amps_max, price_per_m)| Size { loop_ohm_per_m, amps_max, price_per_m };
        sizes.into_iter().map(size).collect()
    })
}

fn trees() -> impl Strategy<Value = TreeBus> {
    let run = (any::<prop::sample::Index>(), 0.3_f64..4.0, 0.05_f64..1.5);
    (sizes(), prop::collection::vec(run, 1..7), 0.05_f64..2.0, 0.1_f64..2.0).prop_map(
        |(sizes, runs, drop_volts_max, loop_ohms_max)| {
            // A load at the end of each run; a run carries those of all runs behind it.
            let after: Vec<Option<usize>> =
                runs.iter().enumerate().map(|(at, (index, ..))| index.index(at + 1).checked_sub(1)).collect();
            let mut amps: Vec<f64> = runs.iter().map(|(.., amps)| *amps).collect();
            for at in (0..runs.len()).rev() {
                if let Some(before) = after[at] {
                    amps[before] += amps[at];
                }
            }
            let runs = runs.iter().enumerate().map(|(at, (_, length_m, _))| TreeRun {
                after: after[at],
                length_m: *length_m,
                joint_ohms: 0.002,
                amps: amps[at],
                bears_amps: amps[at],
                pinned: None,
            });
            TreeBus { runs: runs.collect(), sizes, drop_volts_max, loop_ohms_max }
        },
    )
}

/// Worst drop and worst ohms of a choice, if each run bears what it has to.
fn figures(bus: &TreeBus, sizes: &[usize]) -> Option<(f64, f64)> {
    let mut to: Vec<(f64, f64)> = Vec::new();
    for (run, &size) in bus.runs.iter().zip(sizes) {
        let size = &bus.sizes[size];
        if size.amps_max < run.bears_amps {
            return None;
        }
        let before = run.after.map_or((0.0, 0.0), |after| to[after]);
        let ohms = run.length_m * size.loop_ohm_per_m + run.joint_ohms;
        to.push((before.0 + ohms * run.amps, before.1 + ohms));
    }
    Some(to.into_iter().fold((0.0, 0.0), |worst, (drop, ohms)| (worst.0.max(drop), worst.1.max(ohms))))
}

/// Every choice there is, as digits of a number.
fn all(runs: usize, sizes: usize) -> impl Iterator<Item = Vec<usize>> {
    let count = sizes.pow(u32::try_from(runs).unwrap());
    (0..count).map(move |mut number| {
        let digits = (0..runs).map(|_| {
            let digit = number % sizes;
            number /= sizes;
            digit
        });
        digits.collect()
    })
}

#[test]
fn the_cheapest_sizes_of_200_random_trees_are_the_cheapest_of_all() {
    let mut runner = TestRunner::deterministic();
    let (mut feasible, mut between) = (0, 0);
    for _ in 0..200 {
        let bus = trees().new_tree(&mut runner).unwrap().current();
        let price = |choice: &[usize]| -> f64 {
            choice.iter().zip(&bus.runs).map(|(&size, run)| run.length_m * bus.sizes[size].price_per_m).sum()
        };
        let brute = all(bus.runs.len(), bus.sizes.len())
            .filter(|choice| {
                figures(&bus, choice)
                    .is_some_and(|(drop, ohms)| drop <= bus.drop_volts_max && ohms <= bus.loop_ohms_max)
            })
            .map(|choice| price(&choice))
            .min_by(f64::total_cmp);
        match (bus.cheapest(), brute) {
            (Ok(Gauged { sizes, price: ours, price_min: _, drop_volts, loop_ohms, proven }), Some(least)) => {
                assert!(proven && (ours - least).abs() < 1e-9, "{ours} is not {least} for {bus:?}");
                assert!((price(&sizes) - ours).abs() < 1e-9);
                let (drop, ohms) = figures(&bus, &sizes).unwrap();
                assert!((drop - drop_volts).abs() < 1e-9 && (ohms - loop_ohms).abs() < 1e-9);
                feasible += 1;
                between += usize::from(sizes.windows(2).any(|pair| pair[0] != pair[1]));
            }
            (Err(_), None) => {}
            (ours, least) => panic!("{ours:?} but {least:?} for {bus:?}"),
        }
    }
    assert!(feasible > 40 && between > 10, "{feasible} can be served, {between} with mixed sizes");
}

#[test]
fn what_no_size_serves_is_told_by_its_run() {
    let run = |after, amps| TreeRun {
        after,
        length_m: 10.0,
        joint_ohms: 0.0,
        amps,
        bears_amps: amps,
        pinned: None,
    };
    let size = Size { loop_ohm_per_m: 0.0625, amps_max: 5.0, price_per_m: 1.0 };
    let bus = |runs, drop_volts_max, loop_ohms_max| TreeBus {
        runs,
        sizes: vec![size],
        drop_volts_max,
        loop_ohms_max,
    };
    assert_eq!(bus(vec![run(None, 6.0)], 9.0, 9.0).cheapest(), Err(Ungauged::CarriesTooMuch { run: 0 }));
    let two = vec![run(None, 2.0), run(Some(0), 1.0)];
    assert_eq!(bus(two.clone(), 1.5, 9.0).cheapest(), Err(Ungauged::DropsTooMuch { run: 1, volts: 1.875 }));
    assert_eq!(bus(two, 9.0, 1.0).cheapest(), Err(Ungauged::TripsTooLate { run: 1, ohms: 1.25 }));
    assert_eq!(bus(vec![run(Some(3), 1.0)], 9.0, 9.0).cheapest(), Err(Ungauged::NotATree { run: 0 }));
}

#[test]
fn a_long_bus_with_many_sizes_is_proven() {
    // 40 runs in a row with taps, five sizes: 5^80 choices.
    let runs = (0..80).map(|at| TreeRun {
        after: if at < 2 { (at == 1).then_some(0) } else { Some(if at % 2 == 0 { at - 2 } else { at - 1 }) },
        length_m: 1.0 + 0.01 * f64::from(u32::try_from(at).unwrap()),
        joint_ohms: 0.0,
        amps: if at % 2 == 1 { 0.1 } else { 0.1 * f64::from(u32::try_from((80 - at) / 2).unwrap()) },
        bears_amps: 0.0,
        pinned: None,
    });
    let sizes = [(0.0104, 4.0), (0.0166, 2.5), (0.0264, 1.6), (0.042, 1.0), (0.0668, 0.7)];
    let sizes =
        sizes.map(|(loop_ohm_per_m, price_per_m)| Size { loop_ohm_per_m, amps_max: 10.0, price_per_m });
    let bus =
        TreeBus { runs: runs.collect(), sizes: sizes.to_vec(), drop_volts_max: 2.0, loop_ohms_max: 5.0 };
    let gauged = bus.cheapest().unwrap();
    assert!(gauged.drop_volts <= 2.0 && gauged.sizes.len() == 80);
    // Near the supply nothing is thinner than the tap at the far end.
    assert!(gauged.sizes[0] < gauged.sizes[79]);
}

/// A ring of as many runs as points, fed at the first and drawn from at the others.
fn ring(count: usize, loads: &[f64]) -> Circuit {
    Circuit {
        nodes: (0..count).map(|at| at.to_string()).collect(),
        reference: None,
        runs: (0..count)
            .map(|at| Run {
                id: at.to_string(),
                from: NodeId(at),
                to: NodeId((at + 1) % count),
                ohms: 1.0,
                open: false,
            })
            .collect(),
        supplies: vec![Supply {
            id: "S".into(),
            node: NodeId(0),
            back: None,
            volts: 14.0,
            source_ohms: 0.05,
            trip_amps: Some(5.0),
        }],
        loads: loads
            .iter()
            .enumerate()
            .map(|(at, &amps)| Load {
                id: at.to_string(),
                node: NodeId(at + 1),
                back: None,
                draw: Draw::Amps(amps),
            })
            .collect(),
    }
}

#[test]
fn sizes_of_rings_are_the_cheapest_of_all() {
    let mut runner = TestRunner::deterministic();
    let (mut tried, mut exact, mut worst) = (0, 0, 1.0_f64);
    while tried < 40 {
        let plan =
            (prop::collection::vec(1.0_f64..5.0, 5), prop::collection::vec(0.2_f64..1.2, 4), 12.0_f64..13.8);
        let (lengths, loads, volts_min) = plan.new_tree(&mut runner).unwrap().current();
        let circuit = ring(lengths.len(), &loads);
        let size = |loop_ohm_per_m, amps_max, price_per_m| Size { loop_ohm_per_m, amps_max, price_per_m };
        let bus = RingBus {
            circuit: &circuit,
            length_m: lengths.clone(),
            joint_ohms: vec![0.0; 5],
            sizes: vec![size(0.0166, 15.0, 1.6), size(0.042, 7.0, 0.8), size(0.106, 5.0, 0.45)],
            pinned: vec![None; 5],
            bears_amps: 5.0,
            points: circuit.loads.iter().map(|load| (load.node, load.back)).collect(),
            moving_amps: 0.0,
            volts_min,
            short_amps_min: 10.0,
        };
        let price = |choice: &[usize]| -> f64 {
            choice.iter().zip(&lengths).map(|(&size, length)| length * bus.sizes[size].price_per_m).sum()
        };
        let brute = all(5, 3).filter(|choice| bus.keeps(choice).is_some()).map(|choice| price(&choice));
        let Some(least) = brute.min_by(f64::total_cmp) else {
            assert_eq!((bus.good(), bus.cheapest()), (None, None));
            continue;
        };
        let good = bus.good().unwrap();
        assert!((price(&good.sizes) - good.price).abs() < 1e-9 && good.price >= least - 1e-9);
        tried += 1;
        exact += usize::from(good.price <= least + 1e-9);
        worst = worst.max(good.price / least);
        let cheapest = bus.cheapest().unwrap();
        assert!(cheapest.proven && (cheapest.price - least).abs() < 1e-9, "{cheapest:?} beside {least}");
        assert!((cheapest.price_min - least).abs() < 1e-9 && bus.keeps(&cheapest.sizes).is_some());
    }
    assert!(exact >= 34 && worst < 1.1, "{exact} of {tried} exact, worst {worst}");
}

#[test]
fn fuses_and_supplies_are_those_worked_by_hand() {
    let amps = Current::new;
    assert_eq!(fuse_for(amps(1.5), amps(6.0), Fuse::Link), FuseChoice::Fits(amps(2.0)));
    assert_eq!(
        fuse_for(amps(3.0), amps(3.0), Fuse::Blade),
        FuseChoice::ConductorTooThin { needed: amps(4.0), bears: amps(3.0) }
    );
    assert_eq!(fuse_for(amps(25.0), amps(99.0), Fuse::Blade), FuseChoice::TooLarge);
    let worked: Value =
        serde_json::from_str(include_str!("../../../../reference/electrical/worked.json")).unwrap();
    for row in worked["supply_sizing"].as_array().unwrap() {
        let items = row["items"].as_array().unwrap();
        let sum: f64 = items.iter().map(|item| item[0].as_f64().unwrap() * item[1].as_f64().unwrap()).sum();
        let rated = supply_amps(sum, row["headroom_factor"].as_f64().unwrap());
        assert!((rated - row["rated_at_least_amps"].as_f64().unwrap()).abs() < 1e-9, "{row}");
    }
}

#[test]
fn one_more_feeder_goes_where_the_volts_are_lowest() {
    // A chain of four runs of 0.5 Ω with 0.5 A at each point: lowest at its end. Feeders of 0.5 Ω from the supply.
    let run = |from, to| Run {
        id: format!("{from}-{to}"),
        from: NodeId(from),
        to: NodeId(to),
        ohms: 0.5,
        open: false,
    };
    let circuit = Circuit {
        nodes: (0..5).map(|at: usize| at.to_string()).collect(),
        reference: None,
        runs: (0..4).map(|at| run(at, at + 1)).collect(),
        supplies: vec![Supply {
            id: "S".into(),
            node: NodeId(0),
            back: None,
            volts: 12.0,
            source_ohms: 0.0,
            trip_amps: None,
        }],
        loads: (1..5)
            .map(|at| Load { id: at.to_string(), node: NodeId(at), back: None, draw: Draw::Amps(0.5) })
            .collect(),
    };
    let candidates: Vec<Run> = (1..5).map(|at| run(0, at)).collect();
    let gain = best_feeder(&circuit, &candidates).unwrap();
    // By hand: without, 12 − 0.5·(2 + 1.5 + 1 + 0.5) = 9.5 V at the end.
    assert!((gain.volts_min_before - 9.5).abs() < 1e-9);
    let lowest = |at: usize| {
        let mut fed = circuit.clone();
        fed.runs.push(candidates[at].clone());
        let state = crate::laws::steady(&fed).unwrap();
        state.load_volts.iter().flatten().copied().min_by(f64::total_cmp).unwrap()
    };
    let best = (0..4).max_by(|&a, &b| lowest(a).total_cmp(&lowest(b))).unwrap();
    assert_eq!(gain.candidate, best);
    // A quarter of the loop between two feeders carries the current midway: 4 · 0.3 V / (1 A · 0.2 Ω/m).
    assert!((feeder_spacing_m(0.3, 1.0, 0.2) - 6.0).abs() < 1e-12);
}
