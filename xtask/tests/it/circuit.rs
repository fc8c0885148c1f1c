//! Networks in the neutral shape: every reference network, and what must never be solved in silence.
//!
//! # Source
//! `reference/electrical/networks.json`: closed forms, or ngspice 39 on netlists in which out and return are resistors of their
//! own. Compared to 1e-6 of the figure, or 1e-6 V or A where the figure is smaller than one.
#![allow(clippy::unwrap_used, reason = "helpers of tests are tests")]

use serde_json::{Value, json};
use xtask::circuit::answer;

const NETWORKS: &str = include_str!("../../../reference/electrical/networks.json");

fn near(what: &str, ours: &Value, theirs: &Value, tolerance: f64) {
    match (ours.as_f64(), theirs.as_f64()) {
        (Some(ours), Some(theirs)) => {
            let apart = (ours - theirs).abs();
            assert!(apart <= tolerance * theirs.abs().max(1.0), "{what}: {ours} is not {theirs}");
        }
        (ours_number, _) => assert!(
            ours_number.is_none() && theirs.is_null() && ours.is_null(),
            "{what}: {ours} is not {theirs}"
        ),
    }
}

fn near_all(what: &str, ours: &Value, theirs: &Value, tolerance: f64) -> usize {
    let theirs = theirs.as_object().unwrap();
    for (name, value) in theirs {
        near(&format!("{what} {name}"), &ours[name], value, tolerance);
    }
    theirs.len()
}

#[test]
fn every_reference_network_comes_out_as_printed() {
    let list: Value = serde_json::from_str(NETWORKS).unwrap();
    let answers = answer(NETWORKS);
    let networks = list["networks"].as_array().unwrap();
    assert_eq!(networks.len(), answers["networks"].as_array().unwrap().len());
    let mut compared = 0;
    for (network, solved) in networks.iter().zip(answers["networks"].as_array().unwrap()) {
        let (id, expected) = (network["id"].as_str().unwrap(), &network["expected"]);
        assert_eq!(solved["id"], network["id"]);
        assert_eq!(solved["status"], expected["status"], "{id}");
        let tolerance = expected["tolerance"].as_f64().unwrap();
        if expected["status"] == "overload" {
            assert!(solved["node_volts"].as_object().unwrap().values().all(Value::is_null), "{id}");
            assert!(solved["share_carried"].as_f64().unwrap() < 1.0, "{id}");
        } else {
            for what in ["node_volts", "run_amps", "supply_amps", "load_volts", "load_amps"] {
                if expected[what].is_object() {
                    compared += near_all(&format!("{id} {what}"), &solved[what], &expected[what], tolerance);
                }
            }
        }
        let Some(coins) = expected["coin_test"].as_object() else { continue };
        for (node, coin) in coins {
            let what = format!("{id} coin at {node}");
            near(&what, &solved["short_amps"][node], &coin["short_amps"], 1e-6);
            let ours = &solved["coin_test"][node];
            near(&what, &ours["loop_ohms"], &coin["loop_ohms"], 1e-6);
            near(&what, &ours["open_circuit_volts"], &coin["open_circuit_volts"], 1e-6);
            compared += 3 + near_all(&what, &ours["supply_amps"], &coin["supply_amps"], 1e-6);
            for (supply, breaker) in coin["breakers"].as_object().into_iter().flatten() {
                assert_eq!(ours["trips"][supply], breaker["trips"], "{what}");
            }
        }
    }
    assert!(compared > 900, "{compared} figures compared");
}

#[test]
fn an_overload_says_how_much_can_be_carried() {
    // Closed form: 12 V behind 1.2 Ω gives at most 12² / (4 · 1.2) = 30 W of the 30.3 W asked for (n13).
    let answers = answer(NETWORKS);
    let solved =
        answers["networks"].as_array().unwrap().iter().find(|each| each["id"] == "n13_cp_overload").unwrap();
    near("share", &solved["share_carried"], &json!(30.0 / 30.3), 1e-6);
    let words = solved["diagnostics"][0]["message"].as_str().unwrap();
    assert!(words.contains("99.0 % of the 30.300 W") && words.contains("`conv`"), "{words}");
}

/// A supply of 12 V and 0.2 Ω at `A`, a run of 1 Ω to `B`, 1 A there; changed by a JSON merge.
fn changed(change: &Value) -> Value {
    let mut network = json!({
        "id": "small", "model": "pair", "temperature_c": 20,
        "supplies": [{"id": "S", "node": "A", "volts": 12.0, "source_resistance": 0.2, "trip_amps": 3}],
        "runs": [{"id": "r", "from": "A", "to": "B", "length_m": null, "conductor": 1.0, "wires": 2}],
        "loads": [{"id": "l", "node": "B", "kind": "constant_current", "value": 1.0}],
    });
    for (key, value) in change.as_object().unwrap() {
        network[key] = value.clone();
    }
    answer(&network.to_string())
}

fn codes(solved: &Value) -> Vec<&str> {
    solved["diagnostics"].as_array().unwrap().iter().map(|each| each["code"].as_str().unwrap()).collect()
}

#[test]
fn the_small_network_is_fine_to_begin_with() {
    let solved = changed(&json!({}));
    assert_eq!(solved["status"], "ok");
    near("volts", &solved["node_volts"]["B"], &json!(10.8), 1e-12);
    near("short", &solved["short_amps"]["B"], &json!(10.0), 1e-12);
    assert_eq!(codes(&solved), Vec::<&str>::new());
}

#[test]
fn what_cannot_be_reckoned_is_refused_by_name() {
    let run = |ohms: Value, length: Value| json!({"runs": [{"id": "r", "from": "A", "to": "B", "length_m": length, "conductor": ohms, "wires": 2}]});
    let supply = |volts: Value, ohms: Value| json!({"supplies": [{"id": "S", "node": "A", "volts": volts, "source_resistance": ohms}]});
    let load =
        |kind: &str, value: Value| json!({"loads": [{"id": "l", "node": "B", "kind": kind, "value": value}]});
    let cases = [
        (run(json!(-1.0), json!(null)), "below-zero"),
        (run(json!("AWG 14"), json!(-3.0)), "below-zero"),
        (run(json!("AWG 14"), json!(null)), "value-missing"),
        (run(json!("AWG 99"), json!(1.0)), "conductor-unknown"),
        (run(json!("string"), json!(1.0)), "conductor-unknown"),
        (run(json!("AWG 14"), json!("NaN")), "not-a-number"),
        (run(json!(1e300), json!(null)), "too-large"),
        (supply(json!(-12.0), json!(0.2)), "below-zero"),
        (supply(json!("much"), json!(0.2)), "not-a-number"),
        (supply(json!(12.0), json!(null)), "value-missing"),
        (supply(json!(1e12), json!(0.2)), "too-large"),
        (load("constant_current", json!(-1.0)), "below-zero"),
        (load("constant_resistance", json!(0.0)), "load-shorted"),
        (load("constant_hum", json!(1.0)), "kind-unknown"),
        (json!({"loads": 3}), "shape-unknown"),
        (json!({"supplies": []}), "no-supply"),
        (json!({"model": "triple"}), "model-unknown"),
        (json!({"model": "explicit"}), "reference-unknown"),
        (json!({"temperature_c": -273}), "temperature-absurd"),
        (json!({"temperature_c": "warm"}), "temperature-absurd"),
        (json!({"runs": [{"id": "r", "from": "A"}]}), "point-missing"),
    ];
    for (change, code) in cases {
        let solved = changed(&change);
        assert_eq!(solved["status"], "invalid", "{change}");
        assert!(codes(&solved).contains(&code), "{change}: {:?}", codes(&solved));
    }
    for text in ["", "{", "[3]", "{}", "NaN", "[[[", "\"\\", "{\"networks\": [null]}"] {
        let solved = answer(text);
        let first = solved["networks"].get(0).unwrap_or(&solved).clone();
        assert_eq!(first["status"], "invalid", "{text}");
        assert!(!codes(&first).is_empty(), "{text}");
    }
    let bare = answer(
        r#"{"model":"pair","supplies":[{"id":"S","node":"A","volts":NaN,"source_resistance":-Infinity}]}"#,
    );
    assert_eq!(codes(&bare), ["not-a-number", "not-a-number"]);
}

#[test]
fn what_is_odd_is_solved_and_noted() {
    // A zero-length run joins its ends; the current in it follows from the balance.
    let solved = changed(&json!({"runs": [
        {"id": "r", "from": "A", "to": "B", "conductor": 1.0, "wires": 2},
        {"id": "none", "from": "B", "to": "C", "length_m": 0, "conductor": "AWG 14", "wires": 2},
        {"id": "round", "from": "C", "to": "C", "length_m": 1, "conductor": "AWG 14", "wires": 2}],
        "loads": [{"id": "l", "node": "C", "kind": "constant_current", "value": 1.0}]}));
    assert_eq!(solved["status"], "ok");
    assert_eq!(codes(&solved), ["run-no-resistance", "run-to-itself"]);
    near("joined", &solved["run_amps"]["none"], &json!(1.0), 1e-12);
    near("joined", &solved["node_volts"]["C"], &json!(10.8), 1e-12);

    // An island: its points and loads have no figure.
    let solved =
        changed(&json!({"loads": [{"id": "l", "node": "Z", "kind": "constant_power", "value": 1.0}]}));
    assert_eq!(solved["status"], "ok");
    assert_eq!(codes(&solved), ["point-unfed", "load-unfed"]);
    assert!(solved["node_volts"]["Z"].is_null() && solved["load_amps"]["l"].is_null());

    // A stiff supply: a short at its own terminals has no limit.
    let solved =
        changed(&json!({"supplies": [{"id": "S", "node": "A", "volts": 12, "source_resistance": 0}]}));
    assert_eq!(codes(&solved), ["short-unbounded"]);
    near("stiff", &solved["supply_amps"]["S"], &json!(1.0), 1e-12);
    near("stiff", &solved["short_amps"]["B"], &json!(12.0), 1e-12);
    assert!(solved["short_amps"]["A"].is_null());
}

#[test]
fn stiff_supplies_side_by_side_clash_or_share() {
    let two = |volts: f64, ohms: f64| {
        json!({"supplies": [
        {"id": "S", "node": "A", "volts": 12.0, "source_resistance": ohms},
        {"id": "T", "node": "A", "volts": volts, "source_resistance": ohms}]})
    };
    let solved = changed(&two(12.6, 0.0));
    assert_eq!(solved["status"], "invalid");
    assert_eq!(codes(&solved), ["supplies-clash"]);
    assert!(solved["diagnostics"][0]["message"].as_str().unwrap().contains("`T`"));

    let solved = changed(&two(12.0, 0.0));
    assert_eq!(solved["status"], "ok");
    assert_eq!(codes(&solved), ["split-unknown", "short-unbounded"]);
    near("half", &solved["supply_amps"]["T"], &json!(0.5), 1e-12);

    // With a little resistance it is a matter of current: 0.6 V over 2 mΩ, and half of the load each.
    let solved = changed(&two(12.6, 0.001));
    assert_eq!(codes(&solved), ["supply-driven-backwards"]);
    near("pushed", &solved["supply_amps"]["S"], &json!(0.5 - 300.0), 1e-9);

    let shorted = changed(&json!({"model": "explicit", "reference": "G",
        "supplies": [{"id": "S", "node": "A", "return": "G", "volts": 12, "source_resistance": 0}],
        "runs": [{"id": "r", "from": "A", "to": "G", "conductor": 0.0, "wires": 1}], "loads": []}));
    assert_eq!(codes(&shorted), ["supply-shorted"]);
}

#[test]
fn ten_thousand_points_are_solved_in_any_shape() {
    // A chain, a star, a ladder closed to a ring, and a mesh of 100 × 100; constant power on a tenth of the points.
    type Before = fn(usize) -> Vec<usize>;
    let shapes: [(&str, Before); 4] = [
        ("chain", |at| vec![at - 1]),
        ("star", |_| vec![0]),
        ("two hubs", |at| if at == 1 { vec![0] } else { vec![0, 1] }),
        ("mesh", |at| [(at % 100 != 0).then(|| at - 1), at.checked_sub(100)].into_iter().flatten().collect()),
    ];
    for (name, before) in shapes {
        let runs: Vec<Value> = (1..10_000)
            .flat_map(|at| before(at).into_iter().map(move |from| {
                json!({"id": format!("{from}-{at}"), "from": format!("p{from}"), "to": format!("p{at}"), "conductor": 0.001, "wires": 2})
            }))
            .collect();
        let loads: Vec<Value> = (0..10_000)
            .step_by(10)
            .map(|at| json!({"id": format!("l{at}"), "node": format!("p{at}"), "kind": "constant_power", "value": 0.001}))
            .collect();
        let network = json!({"model": "pair", "runs": runs, "loads": loads,
            "supplies": [{"id": "S", "node": "p0", "volts": 15.0, "source_resistance": 0.05}]});
        let solved = answer(&network.to_string());
        assert_eq!(solved["status"], "ok", "{name}");
        // What the supply gives is what the loads take, and each short is held by the resistance on the way.
        let taken: f64 =
            solved["load_amps"].as_object().unwrap().values().map(|amps| amps.as_f64().unwrap()).sum();
        near(name, &solved["supply_amps"]["S"], &json!(taken), 1e-9);
        near(name, &solved["short_amps"]["p0"], &json!(300.0), 1e-9);
        let shorts = solved["short_amps"].as_object().unwrap();
        assert!(
            shorts.len() == 10_000 && shorts.values().all(|amps| amps.as_f64().unwrap() <= 300.000_001),
            "{name}"
        );
    }
}

/// Numbers that look random and are the same each time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        // Knuth's multiplier for 64 bits (MMIX).
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % sides
    }
}

#[test]
fn no_network_however_odd_is_answered_with_a_figure_that_is_none() {
    let odd = [0.0, -0.0, 1.0, 12.0, -1.0, 1e-300, 1e-12, 1e-8, 1e-3, 1e3, 1e9, 1e10, 1e300, 5e-324];
    let (mut dice, mut solved_count) = (Dice(1), 0);
    for round in 0..4_000 {
        // Most values are plain, so that a good part of the networks is solved.
        let mut value = |plain: f64| if dice.roll(8) == 0 { odd[dice.roll(odd.len())] } else { plain };
        let values: Vec<f64> =
            [12.0, 0.1, 1.0, 0.5, 0.2, 0.3, 0.4, 2.0, 12.6, 0.0].into_iter().map(&mut value).collect();
        let mut at = || format!("p{}", dice.roll(5));
        let explicit = round % 2 == 1;
        let kinds = ["constant_current", "constant_resistance", "constant_power"];
        let loads: Vec<Value> = (kinds.iter().enumerate())
            .map(|(load, kind)| {
                json!({"id": format!("l{load}"), "node": at(), "return": at(), "kind": kind, "value": values[5 + load]})
            })
            .collect();
        let network = json!({
            "model": if explicit { "explicit" } else { "pair" }, "reference": "p0",
            "supplies": [
                {"id": "S", "node": at(), "return": at(), "volts": values[0], "source_resistance": values[1]},
                {"id": "T", "node": at(), "return": at(), "volts": values[8], "source_resistance": values[9]}],
            "runs": (0..7).map(|run| json!({
                "id": format!("r{run}"), "from": at(), "to": at(), "conductor": values[2 + run % 5],
            })).collect::<Vec<_>>(),
            "loads": loads,
        });
        let solved = answer(&network.to_string());
        let status = solved["status"].as_str().unwrap();
        assert!(["ok", "boundary", "overload", "invalid"].contains(&status), "{network}");
        if status == "invalid" || status == "overload" {
            assert!(!codes(&solved).is_empty(), "{network}");
            continue;
        }
        solved_count += 1;
        // A figure that is none would be printed as null: only what is named as not fed may be.
        let named: Vec<&str> = solved["diagnostics"]
            .as_array()
            .unwrap()
            .iter()
            .map(|each| each["at"].as_str().unwrap())
            .collect();
        for what in ["node_volts", "run_amps", "supply_amps", "load_volts", "load_amps"] {
            for (name, figure) in solved[what].as_object().unwrap() {
                assert!(
                    figure.is_number() || named.contains(&name.as_str()),
                    "{what} {name} of {network}: {solved}"
                );
            }
        }
        balances(&network, &solved, explicit);
    }
    assert!(solved_count > 400, "{solved_count} of the networks were solved");
}

/// What flows into each point flows out of it, to a millionth of the largest current.
fn balances(network: &Value, solved: &Value, explicit: bool) {
    let mut balance = std::collections::BTreeMap::<String, f64>::new();
    let mut most = 0.0_f64;
    let mut flow = |from: &Value, to: &Value, amps: &Value| {
        let amps = amps.as_f64().unwrap_or(0.0);
        most = most.max(amps.abs());
        *balance.entry(from.to_string()).or_default() -= amps;
        *balance.entry(to.to_string()).or_default() += amps;
    };
    let common = json!("(common)");
    let parts = |list: &str| network[list].as_array().unwrap().clone();
    let (runs, supplies, loads) = (parts("runs"), parts("supplies"), parts("loads"));
    for run in &runs {
        flow(&run["from"], &run["to"], &solved["run_amps"][run["id"].as_str().unwrap()]);
    }
    for supply in &supplies {
        let back = if explicit { &supply["return"] } else { &common };
        flow(back, &supply["node"], &solved["supply_amps"][supply["id"].as_str().unwrap()]);
    }
    for load in &loads {
        let back = if explicit { &load["return"] } else { &common };
        flow(&load["node"], back, &solved["load_amps"][load["id"].as_str().unwrap()]);
    }
    assert!(
        balance.values().all(|amps| amps.abs() <= 1e-6 * most.max(1.0)),
        "{balance:?} in {network}: {solved}"
    );
}
