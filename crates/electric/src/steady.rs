//! The steady state: volts at points, amperes in runs and supplies, or an honest word that there is none.
//!
//! Constant currents and resistances are linear. Constant power has two solutions or none; the one of the higher voltage is the
//! one that a network comes to from no load. Newton's method starts at no load: the balance at each point is a convex function of
//! its voltage, so where points are pairs the steps go down monotonically and stop at the highest solution, or leave
//! the region where the equations are positive definite, which proves that there is none. Where terminals are single the same
//! holds for the region: it is convex and the balance is the gradient of a function convex in it, so a solution found inside it
//! is the only one there; it is approached along growing loads.
//!
//! # Source
//! J. M. Ortega, W. C. Rheinboldt, "Iterative Solution of Nonlinear Equations in Several Variables" (1970), 13.3: monotone
//! Newton iteration on convex functions.

use crate::circuit::{Draw, Fault, FaultKind};
use crate::joined::{Stiff, inside};
use crate::overload::{FINE_UNKNOWNS_MAX, Overload};
use crate::system::{Equations, System, Tap, inject};

/// Newton steps after which a point is taken for no solution; a double root takes about 45.
const STEPS_MAX: usize = 80;

/// Within this share of the limit the answer is `Boundary`.
pub(crate) const BOUNDARY_SHARE: f64 = 1e-9;

/// What a circuit comes to.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// A steady state.
    Steady(State),
    /// A steady state within a billionth of the limit past which there is none.
    Boundary(State),
    /// No steady state: the loads ask for more than the conductors can bring.
    Overload(Overload),
}

/// A steady state.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Volts at each point against the reference; none where nothing feeds it or the reference is not in its circuit.
    pub node_volts: Vec<Option<f64>>,
    /// Amperes in each run, positive from `from` to `to`.
    pub run_amps: Vec<f64>,
    /// Amperes out of each supply.
    pub supply_amps: Vec<f64>,
    /// Volts across each load; none where it is not fed.
    pub load_volts: Vec<Option<f64>>,
    /// Amperes through each load; none where it is not fed.
    pub load_amps: Vec<Option<f64>>,
    /// Things worth knowing.
    pub notes: Vec<Fault>,
}

/// A load that is fed: its terminals and what it takes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fed {
    pub(crate) index: usize,
    pub(crate) a: Tap,
    pub(crate) b: Tap,
    pub(crate) draw: Draw,
}

/// Volts within this share of the highest supply's are nought.
const ROUNDING: f64 = 1e-12;

impl Fed {
    pub(crate) fn volts(&self, unknowns: &[f64]) -> f64 {
        self.a.level(unknowns) - self.b.level(unknowns)
    }

    /// Whether it cannot be what it is: something that draws by itself needs volts, and nothing passive has them backwards.
    pub(crate) fn is_starved(&self, unknowns: &[f64], share: f64, most_volts: f64) -> bool {
        let nought = ROUNDING * most_volts;
        match self.draw {
            Draw::Amps(much) | Draw::Watts(much) if much * share > 0.0 => self.volts(unknowns) <= nought,
            Draw::Amps(_) | Draw::Watts(_) | Draw::Ohms(_) => self.volts(unknowns) < -nought,
        }
    }
}

/// Whether steps went well, and whether the limit may be near.
struct Reached {
    unknowns: Vec<f64>,
    slow: bool,
}

impl System<'_> {
    /// The volts of the highest supply.
    pub(crate) fn most_volts(&self) -> f64 {
        self.circuit.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts))
    }

    pub(crate) fn fed_loads(&self) -> Vec<Fed> {
        let loads = self.circuit.loads.iter().enumerate();
        let fed = loads.filter_map(|(index, load)| {
            let (a, b) = self.taps(load.node.0, self.back(load.back))?;
            Some(Fed { index, a, b, draw: load.draw })
        });
        fed.collect()
    }

    /// Solves the circuit with all its loads.
    ///
    /// # Errors
    /// A load whose terminals are the wrong way round.
    pub fn steady(&self) -> Result<Answer, Vec<Fault>> {
        let loads = self.fed_loads();
        // Where points are pairs nothing can stand the wrong way round.
        let reversed =
            if self.circuit.reference.is_some() { self.reversed_loads(&loads) } else { Vec::new() };
        if !reversed.is_empty() {
            return Err(reversed);
        }
        let reached = self.reach(&loads, 1.0);
        let near = |share: f64| self.reach(&loads, share).is_some();
        Ok(match reached {
            Some(reached) => {
                let state = self.state(&reached.unknowns, &loads, 1.0);
                let watts = loads.iter().any(|load| matches!(load.draw, Draw::Watts(watts) if watts > 0.0));
                if watts && reached.slow && !near(1.0 + BOUNDARY_SHARE) {
                    Answer::Boundary(state)
                } else {
                    Answer::Steady(state)
                }
            }
            None => match self.reach(&loads, 1.0 - BOUNDARY_SHARE) {
                Some(reached) => {
                    Answer::Boundary(self.state(&reached.unknowns, &loads, 1.0 - BOUNDARY_SHARE))
                }
                None => Answer::Overload(self.overload(&loads)),
            },
        })
    }

    /// Loads that would be fed backwards when nothing draws.
    fn reversed_loads(&self, loads: &[Fed]) -> Vec<Fault> {
        let rest = self.linear(&mut self.equations(true), &[], 0.0).unwrap_or_default();
        let backwards = loads.iter().filter(|load| load.volts(&rest) < -ROUNDING * self.most_volts());
        backwards.map(|load| self.reversed(load.index)).collect()
    }

    fn reversed(&self, index: usize) -> Fault {
        let id = &self.circuit.loads[index].id;
        let message =
            format!("`{id}` has its terminals the wrong way round: its return stands higher than its feed");
        Fault::new(FaultKind::LoadReversed, id, message, "swap its two terminals")
    }

    /// The linear part, with constant currents at this share of the loads.
    fn linear(&self, equations: &mut Equations, loads: &[Fed], share: f64) -> Option<Vec<f64>> {
        for load in loads {
            if let Draw::Amps(amps) = load.draw {
                inject(equations, load.b, load.a, amps * share);
            }
        }
        let factor = self.pattern.factor(&equations.conductance, &equations.excess).ok()?;
        Some(factor.solve(&equations.injected))
    }

    /// The unknown volts when all constant currents and powers stand at this share of theirs, if such a state exists.
    pub(crate) fn volts_at(&self, loads: &[Fed], share: f64) -> Option<Vec<f64>> {
        self.reach(loads, share).map(|reached| reached.unknowns)
    }

    fn reach(&self, loads: &[Fed], share: f64) -> Option<Reached> {
        let mut equations = self.equations(true);
        let start = self.linear(&mut equations, loads, share)?;
        if loads.iter().any(|load| load.is_starved(&start, share, self.most_volts())) {
            return None;
        }
        if !loads.iter().any(|load| matches!(load.draw, Draw::Watts(watts) if watts * share > 0.0)) {
            return Some(Reached { unknowns: start, slow: false });
        }
        let straight = self.newton(&equations, loads, share, start.clone());
        if straight.is_some() || self.circuit.reference.is_none() {
            return straight;
        }
        self.growing(&equations, loads, share, start)
    }

    /// Newton's method from `unknowns`, the constant powers at this share of theirs.
    fn newton(&self, base: &Equations, loads: &[Fed], share: f64, mut unknowns: Vec<f64>) -> Option<Reached> {
        let converters = || {
            loads.iter().filter_map(|load| match load.draw {
                Draw::Watts(watts) => Some((load.a, load.b, watts * share)),
                Draw::Amps(_) | Draw::Ohms(_) => None,
            })
        };
        let scale = unknowns.iter().fold(0.0_f64, |most, volts| most.max(volts.abs()));
        let mut last_step = f64::INFINITY;
        for step in 0..STEPS_MAX {
            // Each converter as its tangent: a negative conductance and a current.
            let mut tangent = base.clone();
            for (a, b, watts) in converters() {
                let volts = a.level(&unknowns) - b.level(&unknowns);
                if volts.is_nan() || volts <= 0.0 {
                    return None;
                }
                self.conduct(&mut tangent, a, b, -watts / (volts * volts));
                inject(&mut tangent, b, a, 2.0 * watts / volts);
            }
            let factor = self.pattern.factor(&tangent.conductance, &tangent.excess).ok()?;
            let next = factor.solve(&tangent.injected);
            let moved = next.iter().zip(&unknowns).fold(0.0_f64, |most, (a, b)| most.max((a - b).abs()));
            unknowns = next;
            let settled = moved <= 1e-13 * scale || (moved <= 1e-9 * scale && moved >= last_step);
            if settled {
                let starved = loads.iter().any(|load| load.is_starved(&unknowns, share, self.most_volts()));
                return (!starved).then_some(Reached { unknowns, slow: step > 12 });
            }
            last_step = moved;
        }
        None
    }

    /// Newton's method along growing powers, for single terminals.
    fn growing(&self, base: &Equations, loads: &[Fed], share: f64, start: Vec<f64>) -> Option<Reached> {
        // Large networks are followed less far up to their limit, so that an overload is told soon.
        let fine = self.unknown_count <= FINE_UNKNOWNS_MAX;
        let least_stride = if fine { BOUNDARY_SHARE / 4.0 } else { 1.0 / 32.0 };
        let (mut done, mut stride, mut here) = (0.0, 0.5, start);
        while done < 1.0 {
            let to = f64::min(1.0, done + stride);
            match self.newton(base, loads, share * to, here.clone()) {
                Some(reached) => {
                    (done, here) = (to, reached.unknowns);
                    stride *= 2.0;
                }
                None if stride < least_stride => return None,
                None => stride /= 2.0,
            }
        }
        Some(Reached { unknowns: here, slow: true })
    }

    /// Everything that follows from the unknown volts.
    pub(crate) fn state(&self, unknowns: &[f64], loads: &[Fed], share: f64) -> State {
        let circuit = self.circuit;
        let across = |a: usize, b: usize| self.taps(a, b).map(|(a, b)| a.level(unknowns) - b.level(unknowns));
        let mut drawn = vec![0.0; self.common() + 1];
        let mut flow = |from: usize, to: usize, amps: f64| {
            drawn[from] += amps;
            drawn[to] -= amps;
        };
        let mut run_amps = vec![0.0; circuit.runs.len()];
        for (index, a, b, ohms) in self.carrying_runs() {
            run_amps[index] = across(a, b).map_or(0.0, |volts| volts / ohms);
            flow(a, b, run_amps[index]);
        }
        let mut supply_amps = vec![0.0; circuit.supplies.len()];
        for (index, a, b) in self.soft_supplies() {
            let supply = &circuit.supplies[index];
            supply_amps[index] =
                across(a, b).map_or(0.0, |volts| (supply.volts - volts) / supply.source_ohms);
            flow(b, a, supply_amps[index]);
        }
        let (mut load_volts, mut load_amps) =
            (vec![None; circuit.loads.len()], vec![None; circuit.loads.len()]);
        for load in loads {
            let volts = load.volts(unknowns);
            let amps = match load.draw {
                Draw::Amps(amps) => amps * share,
                Draw::Ohms(ohms) => volts / ohms,
                Draw::Watts(watts) if watts > 0.0 => watts * share / volts,
                Draw::Watts(_) => 0.0,
            };
            load_volts[load.index] = Some(volts);
            load_amps[load.index] = Some(amps);
            let load = &circuit.loads[load.index];
            flow(load.node.0, self.back(load.back), amps);
        }
        let inner = inside(&self.joined, &drawn);
        for (&(part, ..), amps) in self.joined.stiff.iter().zip(inner) {
            match part {
                Stiff::Run(index) => run_amps[index] = amps,
                // Current from its terminal to its return inside it is current into it.
                Stiff::Supply(index) => supply_amps[index] = -amps,
            }
        }
        let node_volts = (0..circuit.nodes.len())
            .map(|node| self.tap(node).filter(|_| self.is_told(node)).map(|tap| tap.level(unknowns)))
            .collect();
        let mut notes = self.notes.clone();
        notes.extend(self.backwards(&supply_amps));
        State { node_volts, run_amps, supply_amps, load_volts, load_amps, notes }
    }

    fn backwards(&self, supply_amps: &[f64]) -> Vec<Fault> {
        let most = supply_amps.iter().fold(0.0_f64, |most, amps| most.max(amps.abs()));
        let backwards =
            self.circuit.supplies.iter().zip(supply_amps).filter(|&(_, &amps)| amps < -1e-9 * most);
        let notes = backwards.map(|(supply, amps)| {
            let message = format!("{:.3} A are pushed into `{}`", -amps, supply.id);
            let help = "part the buses of supplies of different voltage, or put a diode in each";
            Fault::new(FaultKind::DrivenBackwards, &supply.id, message, help)
        });
        notes.collect()
    }
}
