//! The coin test by reckoning: the current through a dead short, at every place at once.
//!
//! All loads are taken off and nothing but resistance limits the current, which is the figure that a breaker has to be
//! held against. Seen from two terminals a network is a voltage behind a resistance (Thévenin); those resistances are entries
//! of the inverse that the eliminated network gives for all points together, and one solution for each supply tells how much
//! of every short comes from it.

use crate::circuit::{Fault, FaultKind};
use crate::system::{Pair, System};

/// A short between two terminals.
#[derive(Clone, Debug, PartialEq)]
pub struct Short {
    /// Amperes; none where no supply feeds the place, or where nothing limits them.
    pub amps: Option<f64>,
    /// Volts there without load and without short.
    pub open_volts: Option<f64>,
    /// Ohms of the loop, those inside the supplies included.
    pub loop_ohms: Option<f64>,
    /// Amperes out of each supply; none where supplies without resistance leave it open.
    pub supply_amps: Vec<Option<f64>>,
}

/// Supplies past which the shares of each are not told apart.
const SUPPLIES_SHARED_MAX: usize = 64;

impl System<'_> {
    /// The short at each of these pairs of terminals, and notes on those that nothing limits. `shares` says whether to tell what
    /// each supply gives.
    pub fn shorts(&self, pairs: &[Pair], shares: bool) -> (Vec<Short>, Vec<Fault>) {
        let nothing = || Short {
            amps: None,
            open_volts: None,
            loop_ohms: None,
            supply_amps: vec![None; self.circuit.supplies.len()],
        };
        let equations = self.equations(false);
        let Ok(factor) = self.pattern.factor(&equations.conductance, &equations.excess) else {
            return (pairs.iter().map(|_| nothing()).collect(), Vec::new());
        };
        let open = factor.solve(&equations.injected);
        let inverse = factor.inverse();
        let idle = self.state(&open, &[], 0.0);
        // Volts at every unknown for an ampere through each supply that has a resistance.
        let told = shares && self.circuit.supplies.len() <= SUPPLIES_SHARED_MAX;
        let columns: Vec<_> = self
            .soft_supplies()
            .filter(|_| told)
            .filter_map(|(index, a, b)| {
                let (a, b) = self.taps(a, b)?;
                let mut one = vec![0.0; self.unknown_count];
                a.unknown.into_iter().for_each(|at| one[at] += 1.0);
                b.unknown.into_iter().for_each(|at| one[at] -= 1.0);
                Some((index, factor.solve(&one)))
            })
            .collect();
        let mut notes = Vec::new();
        let shorts = pairs.iter().map(|&(node, back)| {
            let mut short = nothing();
            let Some((a, b)) = self.taps(node.0, self.back(back)) else { return short };
            let diagonal = |at: Option<usize>| at.map_or(0.0, |at| inverse.entry(at, at).unwrap_or(0.0));
            let mutual = match (a.unknown, b.unknown) {
                (Some(i), Some(j)) if i == j => diagonal(a.unknown),
                (Some(i), Some(j)) => inverse.entry(i, j).unwrap_or_else(|| {
                    let mut one = vec![0.0; self.unknown_count];
                    one[j] = 1.0;
                    factor.solve(&one)[i]
                }),
                (None, _) | (_, None) => 0.0,
            };
            let ohms = diagonal(a.unknown) + diagonal(b.unknown) - 2.0 * mutual;
            let volts = a.level(&open) - b.level(&open);
            short.open_volts = Some(volts);
            short.loop_ohms = Some(ohms.max(0.0));
            if ohms <= 0.0 {
                let name = &self.circuit.nodes[node.0];
                if volts != 0.0 {
                    let message =
                        format!("nothing limits a short at `{name}`: its supply has no source resistance");
                    let help = "give the supply its source resistance, or its current limit as one";
                    notes.push(Fault::new(FaultKind::ShortUnbounded, name, message, help));
                }
                return short;
            }
            let amps = volts / ohms;
            short.amps = Some(amps);
            let at = |column: &[f64], tap: Option<usize>| tap.map_or(0.0, |tap| column[tap]);
            for (index, column) in &columns {
                let gives = (at(column, a.unknown) - at(column, b.unknown)) * amps;
                let supply = &self.circuit.supplies[*index];
                short.supply_amps[*index] = Some(idle.supply_amps[*index] + gives / supply.source_ohms);
            }
            self.share_of_stiff(&mut short, node.0, told);
            short
        });
        (shorts.collect(), notes)
    }

    /// Where one supply without resistance feeds a place, it gives what the others do not.
    fn share_of_stiff(&self, short: &mut Short, node: usize, told: bool) {
        let Some(amps) = short.amps.filter(|_| told) else { return };
        let feeds = |index: &usize| {
            let supply = &self.circuit.supplies[*index];
            self.taps(supply.node.0, node).is_some()
        };
        let silent: Vec<usize> = (0..short.supply_amps.len())
            .filter(|&index| short.supply_amps[index].is_none())
            .filter(feeds)
            .collect();
        if let [only] = silent.as_slice() {
            let others: f64 = short.supply_amps.iter().flatten().sum();
            short.supply_amps[*only] = Some(amps - others);
        }
    }
}
