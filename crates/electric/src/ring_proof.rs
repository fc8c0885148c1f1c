//! The cheapest conductors of a bus with rings, proven where the search can be ended, or else with a bound on what is cheaper.
//!
//! Choices are tried in the order of the least they can still cost, run by run, so that the first whole choice that keeps all limits
//! is the cheapest, and what has not been tried when the search is cut short costs no less than what was tried last. A
//! part of a choice is given up where no sizes of its other runs can help: with all of them at their heaviest no loop is longer
//! than it has to be (resistance between two points never falls when a conductor's rises), and what is drawn at a place
//! costs at least its own share of volts there.
//!
//! What is drawn elsewhere is left out of that, on purpose: a thicker conductor can bring a far load nearer and so lower the volts
//! at a place, which is why limits on volts are asked of whole choices alone.
//!
//! # Source
//! Best-first branch and bound: Land and Doig, *An automatic method of solving discrete programming problems*, Econometrica 28
//! (1960). That resistance is monotone: Rayleigh's law, in Doyle and Snell, *Random walks and electric networks* (1984), section 2.

use crate::circuit::Draw;
use crate::gauge::Gauged;
use crate::ring::RingBus;
use crate::system::System;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// The most choices, whole or in part, for which the circuit is solved; fewer where it is large.
const SOLVED_MAX: usize = 4_000;

/// The most parts of choices that are kept to be gone on with.
const OPEN_MAX: usize = 200_000;

/// Less than this share is no difference of prices.
const HAIR: f64 = 1e-9;

/// A part of a choice: sizes of the first runs in the order of the search.
struct Part {
    price_min: f64,
    sizes: Vec<usize>,
}

impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Part {}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Part {
    /// The cheapest is the greatest; of as cheap ones that which is nearest to being whole.
    fn cmp(&self, other: &Self) -> Ordering {
        let cheaper = other.price_min.total_cmp(&self.price_min);
        cheaper.then(self.sizes.len().cmp(&other.sizes.len())).then_with(|| other.sizes.cmp(&self.sizes))
    }
}

impl RingBus<'_> {
    /// The cheapest sizes; none where no choice keeps the limits, or none was found before the search was cut short.
    pub fn cheapest(&self) -> Option<Gauged> {
        let found = self.good();
        let fitting = self.fitting();
        // The runs whose size costs most to get wrong come first: the longest.
        let mut order: Vec<usize> = (0..self.length_m.len()).filter(|&run| fitting[run].len() > 1).collect();
        order.sort_by(|&a, &b| self.length_m[b].total_cmp(&self.length_m[a]).then(a.cmp(&b)));
        let Some(cheap) = self.per_run(&fitting, |of| of.price_per_m) else { return found };
        let Some(heavy) = self.per_run(&fitting, |of| of.loop_ohm_per_m) else { return found };
        let price_cheap = self.price(&cheap);
        let mut open = BinaryHeap::from([Part { price_min: price_cheap, sizes: Vec::new() }]);
        let limit = found.as_ref().map_or(f64::INFINITY, |found| found.price * (1.0 - HAIR));
        let solved_max = SOLVED_MAX / (1 + self.circuit.runs.len() / 20);
        let mut solved = 0;
        while let Some(part) = open.pop() {
            if part.price_min >= limit {
                break;
            }
            let whole = part.sizes.len() == order.len();
            let with = |rest: &[usize]| {
                let mut sizes = rest.to_vec();
                order.iter().zip(&part.sizes).for_each(|(&run, &size)| sizes[run] = size);
                sizes
            };
            if solved >= solved_max || open.len() >= OPEN_MAX {
                return found.map(|found| Gauged { price_min: part.price_min.min(found.price), ..found });
            }
            solved += 1;
            if whole {
                if let Some((volts, amps)) = self.keeps(&with(&cheap)) {
                    return Some(self.told(with(&cheap), volts, amps, true));
                }
                continue;
            }
            if !self.may_keep(&with(&heavy)) {
                continue;
            }
            let run = order[part.sizes.len()];
            for &size in &fitting[run] {
                let dearer = self.sizes[size].price_per_m - self.sizes[cheap[run]].price_per_m;
                let price_min = part.price_min + dearer * self.length_m[run];
                let sizes = part.sizes.iter().copied().chain([size]).collect();
                open.push(Part { price_min, sizes });
            }
        }
        found.map(|found| Gauged { price_min: found.price, proven: true, ..found })
    }

    /// For each run the sizes that it may have: its own, or all that bear what it has to.
    fn fitting(&self) -> Vec<Vec<usize>> {
        let bears = |size: &usize| self.bears_amps <= self.sizes[*size].amps_max * (1.0 + 1e-12);
        let of = |pin: &Option<usize>| match pin {
            Some(pin) => vec![*pin],
            None => (0..self.sizes.len()).filter(bears).collect(),
        };
        self.pinned.iter().map(of).collect()
    }

    /// For each run the size of those that fit with the least of something.
    fn per_run(&self, fitting: &[Vec<usize>], of: impl Fn(&crate::gauge::Size) -> f64) -> Option<Vec<usize>> {
        let least = |fit: &Vec<usize>| {
            fit.iter().copied().min_by(|&a, &b| of(&self.sizes[a]).total_cmp(&of(&self.sizes[b])))
        };
        fitting.iter().map(least).collect()
    }

    /// Whether limits could be kept with these loops: what no size of a run at its heaviest could mend is refused.
    fn may_keep(&self, sizes: &[usize]) -> bool {
        let circuit = self.with(sizes);
        let Ok(system) = System::new(&circuit, &self.points) else { return true };
        let (shorts, _) = system.shorts(&self.points, false);
        let full = circuit.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts));
        let supplies_plain = circuit.supplies.iter().all(|supply| supply.back.is_none());
        self.points.iter().zip(&shorts).all(|(&(node, back), short)| {
            let Some(ohms) = short.loop_ohms.filter(|_| supplies_plain && back.is_none()) else {
                return true;
            };
            let own = circuit.loads.iter().filter(|load| load.node == node && load.back.is_none());
            let drawn: f64 = own
                .map(|load| match load.draw {
                    Draw::Amps(amps) => amps,
                    Draw::Ohms(_) | Draw::Watts(_) => 0.0,
                })
                .sum();
            let volts = full - (drawn + self.moving_amps) * ohms;
            let keeps_short = full >= self.short_amps_min * ohms * (1.0 - HAIR);
            keeps_short && volts >= self.volts_min - HAIR * full
        })
    }
}
