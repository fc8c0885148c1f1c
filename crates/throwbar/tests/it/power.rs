//! `show power`: its JSON, its words, and its netlist in a circuit simulator.
//!
//! # Source
//! The product's own contract for `power`; ngspice, from the Debian package that `cargo xtask setup` installs.

use crate::{Folder, root, run};
use serde_json::Value;
use std::process::Command;

fn members(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

fn demo() -> Value {
    let ran = run(&root(), &["show", "power", "demo/tern-harbor", "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    ran.json()
}

#[test]
fn power_answers_with_buses_supplies_and_readings() {
    let answer = demo();
    assert_eq!(members(&answer), ["schema", "buses", "supplies", "readings", "resistors"]);
    let track = &answer["buses"][0];
    for member in ["bus", "worst_drop", "at", "short_amps", "nodes"] {
        assert!(track.get(member).is_some(), "{member}");
    }
    assert_eq!((track["bus"].as_str(), track["at"].as_str()), (Some("track"), Some("bay 4")));
    assert!(track["worst_drop"].as_f64().unwrap() < track["drop_limit"].as_f64().unwrap());
    for (short, node) in
        track["short_amps"].as_array().unwrap().iter().zip(track["nodes"].as_array().unwrap())
    {
        assert!(short["amps"].is_number() && short["trips"] == true && short["at"] == node["at"], "{short}");
        assert!(node["volts"].as_f64().unwrap() < node["held_volts"].as_f64().unwrap(), "{node}");
    }
    for (index, reading) in answer["readings"].as_array().unwrap().iter().enumerate() {
        assert_eq!(reading["step"], index + 1);
        for member in ["at", "meter", "expect", "low", "high"] {
            assert!(!reading[member].is_null(), "{member}");
        }
    }
    let reasoned = ["buses", "supplies"].iter().flat_map(|list| answer[list].as_array().unwrap());
    assert!(reasoned.into_iter().all(|row| !row["because"].as_array().unwrap().is_empty()));
}

#[test]
fn the_netlist_of_the_demo_simulates_to_the_same_volts() {
    let folder = Folder::new("spice");
    let netlist = run(&root(), &["show", "power", "demo/tern-harbor", "--spice"]);
    assert_eq!(netlist.status, 0);
    folder.write("buses.cir", &netlist.out);
    let ran = Command::new("ngspice").arg("-b").arg("buses.cir").current_dir(folder.path()).output();
    let ran = ran.expect("ngspice is installed by `cargo xtask setup`");
    let printed = String::from_utf8_lossy(&ran.stdout).into_owned();
    let volts: Vec<f64> = printed
        .lines()
        .filter(|row| row.starts_with("v("))
        .map(|row| row.split('=').nth(1).unwrap().trim().parse().unwrap())
        .collect();
    // The points of a bus, then the ends of its feeders: those are where the answer's volts are told, if it has any.
    let answer = demo();
    let ours = |bus: usize| -> Vec<f64> {
        let nodes = answer["buses"][bus]["nodes"].as_array().unwrap();
        nodes.iter().map(|node| node["held_volts"].as_f64().unwrap()).collect()
    };
    let (track, motors) = (ours(0), ours(1));
    assert_eq!(volts.len(), 2 * track.len() + motors.len());
    let theirs = [&volts[track.len()..2 * track.len()], &volts[2 * track.len()..]].concat();
    for (ours, theirs) in track.iter().chain(&motors).zip(theirs) {
        assert!((ours - theirs).abs() < 1e-6 * theirs, "{ours} is not {theirs} in\n{}", netlist.out);
    }
}

#[test]
fn words_say_what_is_lost_and_what_trips() {
    let ran = run(&root(), &["show", "power", "demo/tern-harbor"]);
    assert_eq!(ran.status, 0);
    for words in
        ["bus track (track): loses", "opens the breaker", "conductor-cheapest", "rated at least", "volts DC"]
    {
        assert!(ran.out.contains(words), "{words} is not in\n{}", ran.out);
    }
    let none = run(&root(), &["show", "power", "demo/first-module"]);
    assert!(none.status == 0 && none.out.contains("no bus is described"), "{}", none.out);
    let elsewhere = run(&root(), &["show", "levers", "demo/tern-harbor", "--spice"]);
    assert_eq!(elsewhere.status, 2);
    assert!(elsewhere.err.contains("--spice"), "{}", elsewhere.err);
}

#[test]
fn a_length_that_cannot_be_read_is_the_only_thing_told() {
    let folder = Folder::new("unit");
    let demo = std::fs::read_to_string(root().join("docs/tutorial.md")).unwrap();
    let blocks = demo.split("module/layout.toml -->\n```toml\n").skip(1);
    let module: String = blocks.map(|block| block.split("```").next().unwrap()).collect();
    assert!(module.contains("length = \"4 ft\""));
    folder.write("layout.toml", module.replace("length = \"4 ft\"", "length = \"4 feets\""));
    let ran = run(folder.path(), &["check", "."]);
    let told = format!("{}{}", ran.out, ran.err);
    assert_eq!(ran.status, 1);
    assert!(told.contains("error[unit-unknown]") && told.contains("1 error, 0 warnings"), "{told}");
}
