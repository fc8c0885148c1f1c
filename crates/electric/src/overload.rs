//! No steady state: how much of the loads can be carried, where it breaks, and what would mend it.

use crate::circuit::Draw;
use crate::steady::Fed;
use crate::system::System;

/// Points past which the limit is told to fewer digits, so that it stays quick.
pub(crate) const FINE_UNKNOWNS_MAX: usize = 1_000;

/// The loads ask for more than the conductors can bring.
#[derive(Clone, Debug, PartialEq)]
pub struct Overload {
    /// The greatest share of all constant currents and powers for which there is a steady state, below 1.
    pub share: f64,
    /// The load whose voltage has sunk lowest there: its place in the circuit's list.
    pub load: Option<usize>,
    /// Its volts there.
    pub volts: f64,
    /// The run that loses the most volts there: its place in the circuit's list.
    pub run: Option<usize>,
    /// The volts that it loses.
    pub lost_volts: f64,
    /// What the loads ask for in all, in watts, counting constant currents at their supply's voltage without load.
    pub asked_watts: f64,
}

impl System<'_> {
    pub(crate) fn overload(&self, loads: &[Fed]) -> Overload {
        let halvings = if self.unknown_count <= FINE_UNKNOWNS_MAX { 36 } else { 12 };
        let (mut share, mut broken) = (0.0, 1.0);
        let idle = self.volts_at(loads, 0.0).unwrap_or_else(|| vec![0.0; self.unknown_count]);
        let mut unknowns = idle.clone();
        for _ in 0..halvings {
            let middle = f64::midpoint(share, broken);
            match self.volts_at(loads, middle) {
                Some(found) => (share, unknowns) = (middle, found),
                None => broken = middle,
            }
        }
        let draws = |load: &&Fed| !matches!(load.draw, Draw::Ohms(_));
        let lowest = loads
            .iter()
            .filter(draws)
            .map(|load| (load.index, load.volts(&unknowns)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let asked_watts = loads.iter().map(|load| match load.draw {
            Draw::Watts(watts) => watts,
            Draw::Amps(amps) => amps * load.volts(&idle),
            Draw::Ohms(_) => 0.0,
        });
        let asked_watts = asked_watts.sum();
        let state = self.state(&unknowns, loads, share);
        let lossy = self
            .carrying_runs()
            .map(|(index, _, _, ohms)| (index, (state.run_amps[index] * ohms).abs()))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        Overload {
            share,
            load: lowest.map(|(index, _)| index),
            volts: lowest.map_or(0.0, |(_, volts)| volts),
            run: lossy.map(|(index, _)| index),
            lost_volts: lossy.map_or(0.0, |(_, volts)| volts),
            asked_watts,
        }
    }

    /// The overload as a builder would be told it: where, by how much, and what would mend it.
    pub fn tell_overload(&self, overload: &Overload) -> (String, String) {
        let percent = overload.share * 100.0;
        let at =
            overload.load.map_or("the loads".to_owned(), |at| format!("`{}`", self.circuit.loads[at].id));
        let message = format!(
            "no steady state: only {percent:.1} % of the {:.3} W asked for can be carried; at that, {at} is down to {:.2} V",
            overload.asked_watts, overload.volts
        );
        let shed = overload.asked_watts * (1.0 - overload.share);
        let help = match overload.run {
            Some(at) => format!(
                "take off at least {shed:.3} W, or lay a heavier or second conductor along `{}`, which loses {:.2} V there",
                self.circuit.runs[at].id, overload.lost_volts
            ),
            None => format!("take off at least {shed:.3} W, or feed it from a stiffer supply"),
        };
        (message, help)
    }
}
