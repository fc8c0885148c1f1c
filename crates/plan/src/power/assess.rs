//! A bus's circuit, asked at each point: volts with what is held, volts when what moves is drawn there too, the short.
//!
//! What moves is a constant current at one point at a time. Seen from there the rest is a voltage behind a resistance, so
//! one solution and the resistances of all points answer for every place at once.

use electric::{Answer, Circuit, NodeId, Pair, System};

/// What was found at one point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Figures {
    pub(super) open_volts: f64,
    pub(super) held_volts: f64,
    pub(super) volts: f64,
    pub(super) loop_ohms: f64,
    pub(super) short_amps: Option<f64>,
}

/// What was found of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Assessed {
    pub(super) points: Vec<Figures>,
    pub(super) run_amps: Vec<f64>,
    pub(super) supply_amps: Vec<f64>,
}

/// Asks a circuit.
///
/// # Errors
/// Why there is no steady state, and what would mend it.
pub(super) fn assess(circuit: &Circuit, ends: &[NodeId], moving: f64) -> Result<Assessed, (String, String)> {
    let pairs: Vec<Pair> = ends.iter().map(|&end| (end, None)).collect();
    let first = |faults: Vec<electric::Fault>| {
        let fault = faults.into_iter().next();
        fault.map_or_else(
            || ("it cannot be reckoned".into(), String::new()),
            |fault| (fault.message, fault.help),
        )
    };
    let system = System::new(circuit, &pairs).map_err(first)?;
    let state = match system.steady().map_err(first)? {
        Answer::Steady(state) | Answer::Boundary(state) => state,
        Answer::Overload(overload) => return Err(system.tell_overload(&overload)),
    };
    let (shorts, _) = system.shorts(&pairs, false);
    let mut points = Vec::with_capacity(ends.len());
    for (&end, short) in ends.iter().zip(&shorts) {
        let (Some(held_volts), Some(open_volts)) = (state.node_volts[end.0], short.open_volts) else {
            let name = &circuit.nodes[end.0];
            return Err((format!("no supply feeds `{name}`"), "join it to the bus".into()));
        };
        let loop_ohms = short.loop_ohms.unwrap_or(0.0);
        let volts = held_volts - moving * loop_ohms;
        if volts <= 0.0 {
            let most = held_volts / loop_ohms;
            let name = &circuit.nodes[end.0];
            return Err((
                format!(
                    "{moving:.2} A at {name} cannot be had: even a dead short draws only {most:.2} A there"
                ),
                "lay a heavier conductor or a second feeder, or draw less".into(),
            ));
        }
        points.push(Figures { open_volts, held_volts, volts, loop_ohms, short_amps: short.amps });
    }
    Ok(Assessed { points, run_amps: state.run_amps, supply_amps: state.supply_amps })
}
