//! Circuits of 10,000 points: all volts, the short at every point, a run cut; and ngspice on the same netlist.
//!
//! `cargo bench -p electric` prints ours. With `NETLIST=FILE` the mesh is also written as a netlist, for `peers.py` beside this
//! file, which times ngspice and scipy on it.
#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a bench writes a file and stops on a fault"
)]

use divan::{Bencher, black_box};
use electric::{Circuit, Cuts, Draw, Load, NodeId, Run, Supply, System};

fn main() {
    if let Ok(file) = std::env::var("NETLIST") {
        std::fs::write(file, mesh(100).spice("mesh of 100 by 100")).unwrap();
    }
    divan::main();
}

/// A square mesh, fed at one corner; a load at every tenth point. Resistances vary from run to run.
fn mesh(side: usize) -> Circuit {
    let mut circuit = Circuit {
        nodes: (0..side * side).map(|at| at.to_string()).collect(),
        supplies: vec![Supply {
            id: "S".into(),
            node: NodeId(0),
            back: None,
            volts: 15.0,
            source_ohms: 0.05,
            trip_amps: Some(5.0),
        }],
        ..Circuit::default()
    };
    let mut add = |from: usize, to: usize| {
        let ohms = 0.01 + 0.001 * f64::from(u32::try_from((from * 7 + to) % 13).unwrap_or(0));
        let id = format!("{from}-{to}");
        circuit.runs.push(Run { id, from: NodeId(from), to: NodeId(to), ohms, open: false });
    };
    for at in 0..side * side {
        if at % side + 1 < side {
            add(at, at + 1);
        }
        if at + side < side * side {
            add(at, at + side);
        }
    }
    circuit.loads = (0..side * side)
        .step_by(10)
        .map(|at| Load { id: format!("l{at}"), node: NodeId(at), back: None, draw: Draw::Amps(0.001) })
        .collect();
    circuit
}

#[divan::bench]
fn volts_of_10_000_points(bencher: Bencher<'_, '_>) {
    let circuit = mesh(100);
    bencher.bench(|| System::new(black_box(&circuit), &[]).unwrap().steady().unwrap());
}

#[divan::bench]
fn shorts_at_10_000_points(bencher: Bencher<'_, '_>) {
    let circuit = mesh(100);
    let pairs: Vec<_> = (0..circuit.nodes.len()).map(|at| (NodeId(at), None)).collect();
    bencher.bench(|| System::new(black_box(&circuit), &[]).unwrap().shorts(&pairs, true));
}

#[divan::bench]
fn one_of_19_800_runs_cut(bencher: Bencher<'_, '_>) {
    let circuit = mesh(100);
    let system = System::new(&circuit, &[]).unwrap();
    let cuts = Cuts::new(&system).unwrap();
    bencher.bench(|| cuts.cut(black_box(9_000)));
}

#[divan::bench]
fn one_of_30_runs_of_a_ring_cut(bencher: Bencher<'_, '_>) {
    let mut circuit = mesh(4);
    circuit.loads.truncate(2);
    let system = System::new(&circuit, &[]).unwrap();
    let cuts = Cuts::new(&system).unwrap();
    bencher.bench(|| cuts.cut(black_box(9)));
}
