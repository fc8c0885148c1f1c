//! Good conductors for a bus with rings: every current hangs on every size, so there is no adding up along ways.
//!
//! Begun with the heaviest size everywhere, then made lighter where that saves most, one run after another, as long as the
//! circuit solved anew keeps its limits; then one run heavier if that lets others become lighter still. Good, not proven:
//! `ring_proof` goes on from there.

use crate::circuit::{Circuit, NodeId};
use crate::gauge::{Gauged, Size};
use crate::steady::Answer;
use crate::system::{Pair, System};
use std::cell::Cell;

/// Times that all runs are gone through, so that it ends.
const ROUNDS_MAX: usize = 40;

/// The most choices that are tried; past them nothing is made lighter any more.
const TRIED_MAX: u32 = 6_000;

/// A bus of any shape to be given its conductors: a circuit whose runs' ohms are replaced.
#[derive(Clone, Debug)]
pub struct RingBus<'c> {
    /// Points, runs, supplies and loads.
    pub circuit: &'c Circuit,
    /// By run: one way.
    pub length_m: Vec<f64>,
    /// By run: of its joints.
    pub joint_ohms: Vec<f64>,
    /// What can be had.
    pub sizes: Vec<Size>,
    /// By run: a size that stays.
    pub pinned: Vec<Option<usize>>,
    /// What each run has to bear whatever it carries: the trip current of the breaker before it.
    pub bears_amps: f64,
    /// The points at which volts and shorts are held to their limits.
    pub points: Vec<Pair>,
    /// What may be drawn at any one of them beside the loads: a train that moves.
    pub moving_amps: f64,
    /// The least volts at any of the points.
    pub volts_min: f64,
    /// The least amperes of a short at any of the points.
    pub short_amps_min: f64,
}

impl RingBus<'_> {
    pub(crate) fn with(&self, sizes: &[usize]) -> Circuit {
        let mut circuit = self.circuit.clone();
        for (at, run) in circuit.runs.iter_mut().enumerate() {
            run.ohms = self.length_m[at] * self.sizes[sizes[at]].loop_ohm_per_m + self.joint_ohms[at];
        }
        circuit
    }

    pub(crate) fn price(&self, sizes: &[usize]) -> f64 {
        sizes.iter().zip(&self.length_m).map(|(&size, length)| length * self.sizes[size].price_per_m).sum()
    }

    /// The lowest volts and the smallest short at any of the points, if these sizes keep all limits.
    pub fn keeps(&self, sizes: &[usize]) -> Option<(f64, f64)> {
        let circuit = self.with(sizes);
        let system = System::new(&circuit, &self.points).ok()?;
        let Ok(Answer::Steady(state)) = system.steady() else { return None };
        let carries = state.run_amps.iter().zip(sizes).all(|(amps, &size)| {
            amps.abs().max(self.bears_amps) <= self.sizes[size].amps_max * (1.0 + 1e-12)
        });
        let (shorts, _) = system.shorts(&self.points, false);
        let amps = least(shorts.iter().map(|short| short.amps))?;
        let level = |at: NodeId| state.node_volts[at.0];
        let volts = least(self.points.iter().zip(&shorts).map(|(&(node, back), short)| {
            let across = level(node)? - back.map_or(Some(0.0), level)?;
            Some(across - self.moving_amps * short.loop_ohms?)
        }))?;
        (carries && volts >= self.volts_min && amps >= self.short_amps_min).then_some((volts, amps))
    }

    /// Good sizes; none if the heaviest do not keep the limits.
    pub fn good(&self) -> Option<Gauged> {
        let heaviest = (0..self.sizes.len())
            .min_by(|&a, &b| self.sizes[a].loop_ohm_per_m.total_cmp(&self.sizes[b].loop_ohm_per_m))?;
        let mut sizes: Vec<usize> = self.pinned.iter().map(|pin| pin.unwrap_or(heaviest)).collect();
        self.keeps(&sizes)?;
        // Large circuits are tried less often, so that the whole takes seconds at most.
        let size = u32::try_from(self.circuit.runs.len()).unwrap_or(u32::MAX);
        let left = Cell::new((TRIED_MAX / (1 + size / 20)).max(50));
        self.lighten(&mut sizes, &left);
        for _ in 0..ROUNDS_MAX {
            let Some(better) = self.exchanged(&sizes, &left) else { break };
            sizes = better;
        }
        let (volts, amps) = self.keeps(&sizes)?;
        Some(self.told(sizes, volts, amps, false))
    }

    /// Sizes with what they come to.
    pub(crate) fn told(&self, sizes: Vec<usize>, volts: f64, amps: f64, proven: bool) -> Gauged {
        let open = self.circuit.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts));
        let price = self.price(&sizes);
        let price_min = if proven { price } else { 0.0 };
        Gauged { sizes, price, price_min, drop_volts: open - volts, loop_ohms: open / amps, proven }
    }

    /// Makes runs lighter, each time the one change that saves most, until none can be.
    fn lighten(&self, sizes: &mut [usize], left: &Cell<u32>) {
        while left.get() > 0 {
            let mut changes: Vec<(f64, usize, usize)> = Vec::new();
            for run in (0..sizes.len()).filter(|&run| self.pinned[run].is_none()) {
                let now = self.sizes[sizes[run]].price_per_m;
                for (size, other) in
                    self.sizes.iter().enumerate().filter(|(_, other)| other.price_per_m < now)
                {
                    changes.push(((now - other.price_per_m) * self.length_m[run], run, size));
                }
            }
            changes.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
            let fits = changes.into_iter().find(|&(_, run, size)| {
                if left.get() == 0 {
                    return false;
                }
                left.set(left.get() - 1);
                let before = std::mem::replace(&mut sizes[run], size);
                let keeps = self.keeps(sizes).is_some();
                sizes[run] = before;
                keeps
            });
            let Some((_, run, size)) = fits else { return };
            sizes[run] = size;
        }
    }

    /// One run heavier, all others lightened after it, if that is cheaper in the end.
    fn exchanged(&self, sizes: &[usize], left: &Cell<u32>) -> Option<Vec<usize>> {
        let price = self.price(sizes);
        for run in (0..sizes.len()).filter(|&run| self.pinned[run].is_none()) {
            let now = self.sizes[sizes[run]].loop_ohm_per_m;
            for (size, _) in self.sizes.iter().enumerate().filter(|(_, other)| other.loop_ohm_per_m < now) {
                if left.get() == 0 {
                    return None;
                }
                left.set(left.get() - 1);
                let mut tried = sizes.to_vec();
                tried[run] = size;
                if self.keeps(&tried).is_some() {
                    self.lighten(&mut tried, left);
                    if self.price(&tried) < price - 1e-9 * price {
                        return Some(tried);
                    }
                }
            }
        }
        None
    }
}

/// The least of figures; none if one is missing.
fn least(mut figures: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    figures.try_fold(f64::INFINITY, |least, figure| figure.map(|figure| least.min(figure)))
}
