//! What if a run is cut: answered from the factorisation at hand, without eliminating again.
//!
//! Taking one conductance out of a network changes the inverse by a matrix of rank one, so one solution for a current round the
//! run gives all voltages of the cut network. A run whose cutting leaves points unfed has no such answer; those are told apart by
//! walking the network once for all its bridges, not by a difference that comes close to nought.
//!
//! # Source
//! J. Sherman, W. J. Morrison, Ann. Math. Stat. 21 (1950) 124–127. Bridges: R. E. Tarjan, Inf. Proc. Letters 2 (1974) 160–161.

use crate::circuit::{Circuit, Draw, Fault, OHMS_MIN};
use crate::factor::Factor;
use crate::steady::{Answer, Fed, State};
use crate::system::{System, inject};

/// A circuit solved once, of which any run may then be cut.
#[derive(Debug)]
pub struct Cuts<'s> {
    system: &'s System<'s>,
    loads: Vec<Fed>,
    factor: Factor<'s>,
    closed: Vec<f64>,
    /// By run: whether points lose their supply when it is cut.
    bridge: Vec<bool>,
}

impl<'s> Cuts<'s> {
    /// Prepares cuts. None if there are loads of constant power, or no steady state to begin with: then cut runs are solved
    /// one by one ([`cut_anew`]).
    pub fn new(system: &'s System<'s>) -> Option<Self> {
        let loads = system.fed_loads();
        if loads.iter().any(|load| matches!(load.draw, Draw::Watts(_))) {
            return None;
        }
        let mut equations = system.equations(true);
        for load in &loads {
            if let Draw::Amps(amps) = load.draw {
                inject(&mut equations, load.b, load.a, amps);
            }
        }
        let factor = system.pattern.factor(&equations.conductance, &equations.excess).ok()?;
        let closed = factor.solve(&equations.injected);
        Some(Self { system, loads, factor, closed, bridge: bridges(system) })
    }

    /// The state with this run cut; none if its cutting leaves points unfed or loads past their limit, or if it has no resistance.
    pub fn cut(&self, run: usize) -> Option<State> {
        let part = self.system.circuit.runs.get(run)?;
        if part.open || self.bridge[run] || part.ohms < OHMS_MIN {
            return None;
        }
        let (a, b) = self.system.taps(part.from.0, part.to.0)?;
        let mut round = vec![0.0; self.closed.len()];
        a.unknown.into_iter().for_each(|at| round[at] += 1.0);
        b.unknown.into_iter().for_each(|at| round[at] -= 1.0);
        let column = self.factor.solve(&round);
        let across = |volts: &[f64], known: f64| {
            a.unknown.map_or(0.0, |at| volts[at]) - b.unknown.map_or(0.0, |at| volts[at]) + known
        };
        let siemens = 1.0 / part.ohms;
        let left = 1.0 - siemens * across(&column, 0.0);
        if left <= 0.0 {
            return None;
        }
        let amps = siemens * across(&self.closed, a.volts - b.volts);
        let volts: Vec<f64> =
            self.closed.iter().zip(&column).map(|(closed, column)| closed + column * amps / left).collect();
        if self.loads.iter().any(|load| load.is_starved(&volts, 1.0, self.system.most_volts())) {
            return None;
        }
        let mut state = self.system.state(&volts, &self.loads, 1.0);
        state.run_amps[run] = 0.0;
        Some(state)
    }
}

/// The circuit with this run cut, solved from the beginning.
///
/// # Errors
/// Those of [`System::new`] and [`System::steady`].
pub fn cut_anew(circuit: &Circuit, run: usize) -> Result<Answer, Vec<Fault>> {
    let mut cut = circuit.clone();
    if let Some(run) = cut.runs.get_mut(run) {
        run.open = true;
    }
    System::new(&cut, &[])?.steady()
}

/// Which runs part the network: walked without recursion, so that a long chain is no deep call.
fn bridges(system: &System<'_>) -> Vec<bool> {
    let groups = &system.joined.group;
    let runs = system.carrying_runs().map(|(index, a, b, _)| (Some(index), groups[a], groups[b]));
    let supplies = system.soft_supplies().map(|(_, a, b)| (None, groups[a], groups[b]));
    let edges: Vec<(Option<usize>, usize, usize)> = runs.chain(supplies).collect();
    let mut next: Vec<Vec<(usize, usize)>> = vec![Vec::new(); system.joined.group_count];
    for (edge, &(_, a, b)) in edges.iter().enumerate() {
        next[a].push((b, edge));
        next[b].push((a, edge));
    }
    let mut bridge = vec![false; system.circuit.runs.len()];
    let (mut entered, mut low) = (vec![0_usize; next.len()], vec![0_usize; next.len()]);
    let mut clock = 0;
    for root in 0..next.len() {
        if entered[root] != 0 {
            continue;
        }
        clock += 1;
        (entered[root], low[root]) = (clock, clock);
        // Each step: the group, the edge it was entered by, and how many of its links are done.
        let mut walk = vec![(root, usize::MAX, 0)];
        while let Some(top) = walk.last_mut() {
            let (here, by, done) = *top;
            if let Some(&(other, edge)) = next[here].get(done) {
                top.2 += 1;
                if edge == by {
                    continue;
                }
                if entered[other] == 0 {
                    clock += 1;
                    (entered[other], low[other]) = (clock, clock);
                    walk.push((other, edge, 0));
                } else {
                    low[here] = low[here].min(entered[other]);
                }
                continue;
            }
            walk.pop();
            if let Some(&(above, ..)) = walk.last() {
                low[above] = low[above].min(low[here]);
                if low[here] > entered[above]
                    && let Some(run) = edges[by].0
                {
                    bridge[run] = true;
                }
            }
        }
    }
    bridge
}
