//! The electrics of buses and controls, as a circuit and not by rule of thumb alone: conductors and their resistance, networks of
//! runs, supplies and loads, short currents, and the small sums of fuses, resistors, terminators and capacitor units.
//!
//! Everything here is numbers from numbers: no names of the layout, no words for a sheet beyond what a fault needs to say.
//! Circuits are solved by a sparse elimination of our own (`docs/why/circuit.md` says why).
//!
//! # Example
//! ```
//! use electric::{Answer, Circuit, Draw, Load, NodeId, Run, Supply, System};
//! // A supply of 12 V with 0.2 Ω inside feeds 1 A through a loop of 1 Ω.
//! let circuit = Circuit {
//!     nodes: vec!["supply".into(), "bay 1".into()],
//!     reference: None,
//!     runs: vec![Run { id: "bus".into(), from: NodeId(0), to: NodeId(1), ohms: 1.0, open: false }],
//!     supplies: vec![Supply {
//!         id: "S".into(), node: NodeId(0), back: None, volts: 12.0, source_ohms: 0.2, trip_amps: None,
//!     }],
//!     loads: vec![Load { id: "lamp".into(), node: NodeId(1), back: None, draw: Draw::Amps(1.0) }],
//! };
//! let system = System::new(&circuit, &[]).unwrap();
//! let Answer::Steady(state) = system.steady().unwrap() else { panic!("it is no overload") };
//! assert!((state.node_volts[1].unwrap() - 10.8).abs() < 1e-12);
//! ```

mod advice;
mod circuit;
mod conductor;
mod discharge;
mod factor;
mod gauge;
mod growth;
mod joined;
mod opened;
mod ordering;
mod overload;
mod preferred;
mod resistor;
mod ring;
mod ring_proof;
mod short;
mod spice;
mod steady;
mod system;
mod terminator;

pub use advice::{
    FUSE_LOADED_MAX, FeederGain, FuseChoice, best_feeder, feeder_spacing_m, fuse_for, supply_amps,
};
pub use circuit::{
    Circuit, Draw, Fault, FaultKind, Load, NODES_MAX, NodeId, OHMS_MIN, PARTS_MAX, Run, Supply, VALUE_MAX,
};
pub use conductor::{Ampacity, COPPER_OHM_M, COPPER_PER_K, Wires, ampacity, area_mm2, ohm_per_m, run_ohms};
pub use discharge::{Discharge, Pulse, Recharge, seconds_at_constant, stored_joules};
pub use gauge::{Gauged, Size, TreeBus, TreeRun, Ungauged};
pub use opened::{Cuts, cut_anew};
pub use overload::Overload;
pub use preferred::{BLADES_A, E24, FUSE_LINKS_MA, Fuse, e24_at_or_above, e24_nearest};
pub use resistor::{LedString, SeriesResistor};
pub use ring::RingBus;
pub use short::Short;
pub use spice::side_by_side;
pub use steady::{Answer, State};
pub use system::{Pair, System};
pub use terminator::{Dissipation, Terminator, short_rise_s};
