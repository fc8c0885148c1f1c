//! What the model says of a bus, against the circuit of that bus: the readings of the sheet leave their bands just where the
//! model says that they do.

use crate::{fault, harbor};
use commission::diagnose::{Seen, diagnose};
use commission::fault::System;
use electric::{Answer, Circuit};

/// Volts at each point of a circuit; nothing where nothing feeds it.
fn volts(circuit: &Circuit) -> Vec<f64> {
    match electric::System::new(circuit, &[]).unwrap().steady().unwrap() {
        Answer::Steady(state) | Answer::Boundary(state) => {
            state.node_volts.into_iter().map(|volts| volts.unwrap_or(0.0)).collect()
        }
        Answer::Overload(_) => panic!("an overload"),
    }
}

/// Changes each run of the motors' bus in turn and asks of each place whether the reading leaves its band.
fn compare(says: &str, change: impl Fn(&mut electric::Run)) -> usize {
    let plan = harbor();
    let system = System::of(&plan);
    let planned = plan.buses.iter().find(|bus| plan.network.buses[bus.bus].name == "motors").unwrap();
    let places: Vec<&str> = planned.points.iter().map(|point| point.place.as_str()).collect();
    let mut outside = 0;
    for (index, run) in planned.runs.iter().enumerate() {
        let mut circuit = planned.circuit.clone();
        change(&mut circuit.runs[index]);
        let volts = volts(&circuit);
        let (from, to) = (places[run.from], places[run.to]);
        let fault = fault(&system, &format!("the run of bus motors from {from} to {to} {says}"));
        for reading in planned.readings.iter().skip(planned.supplies.len()) {
            let check = system.by_key[&format!("volts of motors at {}", places[reading.point])];
            // With nothing drawn behind a joint its resistance shows in no reading.
            let drawn_behind = planned.runs[index].held_amps.abs() > 1e-6 || says == "is interrupted";
            if !drawn_behind {
                continue;
            }
            let low = volts[reading.point] < reading.low;
            assert_eq!(
                low,
                system.predict(&[fault], check) > 0,
                "{says} {from} – {to}, read at {}",
                places[reading.point]
            );
            outside += usize::from(low);
        }
    }
    outside
}

#[test]
fn an_open_run_takes_the_readings_behind_it_out_of_their_bands() {
    // Runs to bays 2, 3 and 4 leave three, two and one places dark.
    assert_eq!(compare("is interrupted", |run| run.open = true), 6);
}

#[test]
fn a_bad_joint_takes_the_readings_behind_it_out_of_their_bands() {
    // 3 ohms: a joint of a few ohms is what a cold solder joint comes to; common practice, no source.
    assert_eq!(compare("has a bad joint", |run| run.ohms += 3.0), 5);
}

#[test]
fn a_joint_that_is_merely_good_leaves_every_reading_in_its_band() {
    let plan = harbor();
    for planned in &plan.buses {
        let volts = volts(&planned.circuit);
        for reading in planned.readings.iter().skip(planned.supplies.len()) {
            // On the rails the reading is taken with a test load that the circuit at rest has not.
            assert!(volts[reading.point] > reading.low, "{}", planned.points[reading.point].place);
        }
    }
}

#[test]
fn a_fault_in_the_circuit_is_among_the_explanations_of_its_readings() {
    let plan = harbor();
    let system = System::of(&plan);
    let planned = plan.buses.iter().find(|bus| plan.network.buses[bus.bus].name == "motors").unwrap();
    let places: Vec<&str> = planned.points.iter().map(|point| point.place.as_str()).collect();
    // What a sheet calls no volts at all: less than a lamp shows (by hand).
    let answer = |volts: f64, low: f64| if volts < 0.5 { 2 } else { u8::from(volts < low) };
    let mut looked = 0;
    for (index, run) in planned.runs.iter().enumerate() {
        for says in ["is interrupted", "has a bad joint"] {
            let mut circuit = planned.circuit.clone();
            let changed = &mut circuit.runs[index];
            if says == "is interrupted" {
                changed.open = true;
            } else if run.held_amps.abs() > 1e-6 {
                changed.ohms += 3.0;
            } else {
                continue;
            }
            let volts = volts(&circuit);
            let readings = planned.readings.iter().skip(planned.supplies.len());
            let seen: Vec<Seen> = readings
                .map(|reading| Seen {
                    check: system.by_key[&format!("volts of motors at {}", places[reading.point])],
                    answer: answer(volts[reading.point], reading.low),
                })
                .collect();
            let what =
                format!("the run of bus motors from {} to {} {says}", places[run.from], places[run.to]);
            let explanations = diagnose(&system, &seen, None).explanations;
            assert_eq!(explanations[0].faults, [fault(&system, &what)], "{what}");
            looked += 1;
        }
    }
    assert_eq!(looked, 5);
}
