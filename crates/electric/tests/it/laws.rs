//! Laws that hold in every linear circuit, on circuits made up at random: superposition, reciprocity, balance at each point,
//! energy, maximum power; and that a cut run answered by rank one is the circuit solved anew.

use electric::{Answer, Circuit, Cuts, Draw, Load, NodeId, Pair, Run, State, Supply, System, cut_anew};
use proptest::prelude::*;

/// A connected circuit of pairs: a random tree, some extra runs, one supply or two, some loads.
pub(crate) fn circuits(draw: fn(f64) -> Draw) -> impl Strategy<Value = Circuit> {
    (2_usize..14).prop_flat_map(move |count| {
        let tree = prop::collection::vec((any::<prop::sample::Index>(), 0.01_f64..2.0), count - 1);
        let extra = prop::collection::vec((0..count, 0..count, 0.01_f64..2.0), 0..6);
        let supplies = prop::collection::vec((0..count, 10.0_f64..16.0, 0.01_f64..0.5), 1..3);
        let loads = prop::collection::vec((0..count, 0.01_f64..0.3), 1..8);
        (tree, extra, supplies, loads).prop_map(move |(tree, extra, supplies, loads)| {
            let tree = tree.iter().enumerate().map(|(at, (from, ohms))| (from.index(at + 1), at + 1, *ohms));
            let extra = extra.into_iter().filter(|(from, to, _)| from != to);
            let runs = tree.chain(extra).enumerate().map(|(index, (from, to, ohms))| Run {
                id: format!("r{index}"),
                from: NodeId(from),
                to: NodeId(to),
                ohms,
                open: false,
            });
            let supplies = supplies.iter().enumerate().map(|(index, &(node, volts, source_ohms))| Supply {
                id: format!("s{index}"),
                node: NodeId(node),
                back: None,
                volts,
                source_ohms,
                trip_amps: None,
            });
            let loads = loads.iter().enumerate().map(|(index, &(node, value))| Load {
                id: format!("l{index}"),
                node: NodeId(node),
                back: None,
                draw: draw(value),
            });
            Circuit {
                nodes: (0..count).map(|node| format!("p{node}")).collect(),
                reference: None,
                runs: runs.collect(),
                supplies: supplies.collect(),
                loads: loads.collect(),
            }
        })
    })
}

pub(crate) fn steady(circuit: &Circuit) -> Option<State> {
    match System::new(circuit, &[]).unwrap().steady().unwrap() {
        Answer::Steady(state) => Some(state),
        Answer::Boundary(_) | Answer::Overload(_) => None,
    }
}

fn volts(state: &State) -> Vec<f64> {
    state.node_volts.iter().map(|volts| volts.unwrap()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_loads_add_up(circuit in circuits(Draw::Amps)) {
        let Some(all) = steady(&circuit) else { return Ok(()) };
        let none = Circuit { loads: Vec::new(), ..circuit.clone() };
        let none = volts(&steady(&none).unwrap());
        let mut sum = none.clone();
        for load in &circuit.loads {
            let one = Circuit { loads: vec![load.clone()], ..circuit.clone() };
            for (sum, (with, without)) in sum.iter_mut().zip(volts(&steady(&one).unwrap()).iter().zip(&none)) {
                *sum += with - without;
            }
        }
        for (sum, all) in sum.iter().zip(volts(&all)) {
            prop_assert!((sum - all).abs() < 1e-10, "{sum} {all}");
        }
    }

    #[test]
    fn prop_an_ampere_here_drops_there_what_one_there_drops_here(circuit in circuits(Draw::Amps), a in any::<prop::sample::Index>(), b in any::<prop::sample::Index>()) {
        let (a, b) = (a.index(circuit.nodes.len()), b.index(circuit.nodes.len()));
        let drop = |at: usize, seen: usize| {
            let load = Load { id: "l".into(), node: NodeId(at), back: None, draw: Draw::Amps(0.01) };
            let with = Circuit { loads: vec![load], ..circuit.clone() };
            let without = Circuit { loads: Vec::new(), ..circuit.clone() };
            volts(&steady(&without).unwrap())[seen] - volts(&steady(&with).unwrap())[seen]
        };
        prop_assert!((drop(a, b) - drop(b, a)).abs() < 1e-11);
    }

    #[test]
    fn prop_currents_balance_and_energy_is_kept(circuit in circuits(Draw::Watts)) {
        let Some(state) = steady(&circuit) else { return Ok(()) };
        let levels = volts(&state);
        let mut balance = vec![0.0; circuit.nodes.len()];
        let mut lost = 0.0;
        for (run, amps) in circuit.runs.iter().zip(&state.run_amps) {
            balance[run.from.0] -= amps;
            balance[run.to.0] += amps;
            lost += amps * amps * run.ohms;
        }
        let mut given = 0.0;
        for (supply, amps) in circuit.supplies.iter().zip(&state.supply_amps) {
            balance[supply.node.0] += amps;
            given += supply.volts * amps;
            lost += amps * amps * supply.source_ohms;
        }
        for (load, amps) in circuit.loads.iter().zip(&state.load_amps) {
            balance[load.node.0] -= amps.unwrap();
            lost += amps.unwrap() * levels[load.node.0];
        }
        prop_assert!(balance.iter().all(|amps| amps.abs() < 1e-9), "{balance:?}");
        prop_assert!((given - lost).abs() < 1e-9 * given.max(1.0), "{given} {lost}");
    }

    #[test]
    fn prop_constant_power_fails_exactly_past_maximum_power(circuit in circuits(Draw::Amps), at in any::<prop::sample::Index>(), near in 1e-6_f64..1e-2) {
        // Seen from one point the rest is a voltage behind a resistance, which gives at most V²/4R.
        let at = NodeId(at.index(circuit.nodes.len()));
        let bare = Circuit { loads: Vec::new(), ..circuit.clone() };
        let pairs: [Pair; 1] = [(at, None)];
        let system = System::new(&bare, &pairs).unwrap();
        let (shorts, _) = system.shorts(&pairs, false);
        let (open, ohms) = (shorts[0].open_volts.unwrap(), shorts[0].loop_ohms.unwrap());
        let most = open * open / (4.0 * ohms);
        let with = |watts: f64| {
            let load = Load { id: "l".into(), node: at, back: None, draw: Draw::Watts(watts) };
            let loaded = Circuit { loads: vec![load], ..bare.clone() };
            System::new(&loaded, &[]).unwrap().steady().unwrap()
        };
        let Answer::Steady(state) = with(most * (1.0 - near)) else { panic!("below the limit") };
        let level = state.node_volts[at.0].unwrap();
        prop_assert!((level - open / 2.0 * (1.0 + near.sqrt())).abs() < 1e-6 * open, "the high solution");
        let Answer::Overload(overload) = with(most * (1.0 + near)) else { panic!("above the limit") };
        prop_assert!((overload.share * (1.0 + near) - 1.0).abs() < 1e-7, "{}", overload.share);
    }

    #[test]
    fn prop_a_cut_by_rank_one_is_the_cut_solved_anew(circuit in circuits(Draw::Ohms), lamps in any::<bool>()) {
        let mut circuit = circuit;
        for load in &mut circuit.loads {
            load.draw = if lamps { Draw::Ohms(20.0) } else { Draw::Amps(0.02) };
        }
        let system = System::new(&circuit, &[]).unwrap();
        let Some(cuts) = Cuts::new(&system) else { return Ok(()) };
        for run in 0..circuit.runs.len() {
            let anew = cut_anew(&circuit, run).unwrap();
            match (cuts.cut(run), anew) {
                (Some(quick), Answer::Steady(anew)) => {
                    for (quick, anew) in volts(&quick).iter().zip(volts(&anew)) {
                        prop_assert!((quick - anew).abs() < 1e-9, "{quick} {anew}");
                    }
                    for (quick, anew) in quick.run_amps.iter().zip(&anew.run_amps) {
                        prop_assert!((quick - anew).abs() < 1e-7, "{quick} {anew}");
                    }
                }
                (None, Answer::Steady(anew)) => prop_assert!(anew.node_volts.contains(&None), "only an island has no quick answer"),
                (quick, _) => prop_assert!(quick.is_none()),
            }
        }
    }
}
