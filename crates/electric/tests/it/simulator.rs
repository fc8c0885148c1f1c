//! ngspice on netlists that we write, against our own solution of the same circuits: 50 of them at random, with two supplies,
//! meshes, lamps, constant currents and constant powers.
//!
//! # Source
//! ngspice, from the Debian package that `cargo xtask setup` installs. In its netlists out and return are resistors of their own.

use crate::laws::{circuits, steady};
use electric::{Circuit, Draw};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use std::process::Command;

/// The volts that ngspice prints, in the order of the points.
fn simulated(circuit: &Circuit, index: usize) -> Vec<f64> {
    let file = std::env::temp_dir().join(format!("throwbar-{}-{index}.cir", std::process::id()));
    std::fs::write(&file, circuit.spice("at random")).unwrap();
    let ran = Command::new("ngspice").arg("-b").arg(&file).output();
    std::fs::remove_file(&file).unwrap();
    let ran = ran.unwrap_or_else(|error| panic!("ngspice, which `cargo xtask setup` installs: {error}"));
    let text = String::from_utf8_lossy(&ran.stdout).into_owned();
    let printed = text.lines().filter(|row| row.starts_with("v("));
    printed.map(|row| row.split('=').nth(1).unwrap().trim().parse().unwrap()).collect()
}

#[test]
fn fifty_random_circuits_come_out_as_simulated() {
    let mut runner = TestRunner::deterministic();
    let (mut compared, mut tried) = (0, 0);
    while compared < 50 {
        tried += 1;
        assert!(tried < 200, "too many of the circuits are overloaded");
        let mut circuit = circuits(Draw::Amps).new_tree(&mut runner).unwrap().current();
        for (index, load) in circuit.loads.iter_mut().enumerate() {
            if let Draw::Amps(amps) = load.draw {
                load.draw = match index % 3 {
                    0 => Draw::Watts(amps * 6.0),
                    1 => Draw::Ohms(12.0 / amps),
                    _ => Draw::Amps(amps),
                };
            }
        }
        let Some(ours) = steady(&circuit) else { continue };
        // Near collapse the simulator's own operating point may be the lower solution.
        if ours.load_volts.iter().any(|volts| volts.unwrap() < 8.0) {
            continue;
        }
        let theirs = simulated(&circuit, tried);
        assert_eq!(theirs.len(), circuit.nodes.len());
        for (ours, theirs) in ours.node_volts.iter().zip(&theirs) {
            assert!(
                (ours.unwrap() - theirs).abs() < 1e-6 * theirs,
                "{ours:?} {theirs} in\n{}",
                circuit.spice("differs")
            );
        }
        compared += 1;
    }
}
