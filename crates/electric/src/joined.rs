//! Points that no resistance keeps apart: one and the same voltage, or a fixed voltage from each other across a stiff supply.
//!
//! Runs without resistance and supplies without source resistance join their ends into groups, each point a known step above
//! the group's first. What flows inside a group follows from the balance at each of its points; where such parts lie in parallel
//! it is shared as if all had the same small resistance, and a note says that this is not known.

use crate::circuit::{Circuit, Fault, FaultKind, OHMS_MIN};
use crate::factor::Pattern;

/// A part without resistance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stiff {
    Run(usize),
    Supply(usize),
}

/// Groups of points. The points are those of the circuit and, last, the common return of pairs.
#[derive(Debug)]
pub(crate) struct Joined {
    /// The group of each point, counted from 0.
    pub(crate) group: Vec<usize>,
    /// How far each point stands above its group's level, in volts.
    pub(crate) step: Vec<f64>,
    pub(crate) group_count: usize,
    /// The parts inside groups, with their ends.
    pub(crate) stiff: Vec<(Stiff, usize, usize)>,
    /// Notes on parts without resistance.
    pub(crate) notes: Vec<Fault>,
}

/// A forest over the points, each with its step above its parent.
struct Forest {
    parent: Vec<usize>,
    step: Vec<f64>,
}

impl Forest {
    /// The root of a point and the point's step above it; paths are halved on the way.
    fn root(&mut self, mut node: usize) -> (usize, f64) {
        let mut step = 0.0;
        while self.parent[node] != node {
            let above = self.parent[node];
            if self.parent[above] != above {
                self.step[node] += self.step[above];
                self.parent[node] = self.parent[above];
            }
            step += self.step[node];
            node = self.parent[node];
        }
        (node, step)
    }

    /// Joins `a`, which stands `volts` above `b`. Returns how far they already stood apart, if they were joined.
    fn join(&mut self, a: usize, b: usize, volts: f64) -> Option<f64> {
        let ((root_a, step_a), (root_b, step_b)) = (self.root(a), self.root(b));
        if root_a == root_b {
            return Some(step_a - step_b);
        }
        // The lower one leads, so that the outcome does not hang on the order of the parts.
        if root_b < root_a {
            self.parent[root_a] = root_b;
            self.step[root_a] = step_b + volts - step_a;
        } else {
            self.parent[root_b] = root_a;
            self.step[root_b] = step_a - volts - step_b;
        }
        None
    }
}

/// Joins what nothing keeps apart.
pub(crate) fn join(circuit: &Circuit) -> Result<Joined, Vec<Fault>> {
    let common = circuit.nodes.len();
    let mut forest = Forest { parent: (0..=common).collect(), step: vec![0.0; common + 1] };
    let (mut stiff, mut notes, mut faults) = (Vec::new(), Vec::new(), Vec::new());
    if let Some(reference) = circuit.reference {
        forest.join(reference.0, common, 0.0);
    }
    let split = |at: &str| {
        let message = format!("`{at}` lies in parallel with other parts without resistance");
        let help = "how the current parts between them cannot be known: give each its resistance";
        Fault::new(FaultKind::SplitUnknown, at, message, help)
    };
    for (index, run) in circuit.runs.iter().enumerate() {
        if run.from == run.to {
            let message = format!("`{}` runs from a point to itself and carries nothing", run.id);
            notes.push(Fault::new(FaultKind::RunToItself, &run.id, message, "name the point it goes to"));
        } else if !run.open && run.ohms < OHMS_MIN {
            let message = format!("`{}` has no resistance, so its ends count as one point", run.id);
            notes.push(Fault::new(
                FaultKind::NoResistance,
                &run.id,
                message,
                "give its length and conductor",
            ));
            if forest.join(run.from.0, run.to.0, 0.0).is_some() {
                notes.push(split(&run.id));
            }
            stiff.push((Stiff::Run(index), run.from.0, run.to.0));
        }
    }
    for (index, supply) in
        circuit.supplies.iter().enumerate().filter(|(_, supply)| supply.source_ohms < OHMS_MIN)
    {
        let (node, back) = (supply.node.0, supply.back.map_or(common, |back| back.0));
        match forest.join(node, back, supply.volts) {
            Some(volts) if (volts - supply.volts).abs() <= 1e-12 * supply.volts.abs() => {
                notes.push(split(&supply.id));
                stiff.push((Stiff::Supply(index), node, back));
            }
            Some(volts) => faults.push(clash(circuit, &supply.id, supply.volts, volts)),
            None => stiff.push((Stiff::Supply(index), node, back)),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let roots: Vec<(usize, f64)> = (0..=common).map(|node| forest.root(node)).collect();
    let mut number = vec![usize::MAX; common + 1];
    let mut group_count = 0;
    let mut group = Vec::with_capacity(common + 1);
    for &(root, _) in &roots {
        if number[root] == usize::MAX {
            number[root] = group_count;
            group_count += 1;
        }
        group.push(number[root]);
    }
    let step = roots.into_iter().map(|(_, step)| step).collect();
    Ok(Joined { group, step, group_count, stiff, notes })
}

fn clash(circuit: &Circuit, id: &str, volts: f64, held: f64) -> Fault {
    if held == 0.0 {
        let message =
            format!("`{id}` of {volts} V is shorted: nothing with resistance lies between its terminals");
        let help = "give the supply its source resistance, or the runs their lengths";
        return Fault::new(FaultKind::SupplyShorted, id, message, help);
    }
    let other = circuit.supplies.iter().find(|other| other.id != id && other.source_ohms < OHMS_MIN);
    let other = other.map_or("another supply".to_owned(), |other| format!("`{}`", other.id));
    let message = format!(
        "`{id}` of {volts} V is joined without resistance to {other}, which holds the same points {held} V apart"
    );
    let help =
        "never join supplies of different voltage: part the buses, or give each supply its source resistance";
    Fault::new(FaultKind::SuppliesClash, id, message, help)
}

/// The current through each stiff part, from its first end to its second, when `drawn` flows out of each point through everything
/// else.
pub(crate) fn inside(joined: &Joined, drawn: &[f64]) -> Vec<f64> {
    if joined.stiff.is_empty() {
        return Vec::new();
    }
    // Points that stiff parts touch, and of each group one that is held, so that the rest can be reckoned.
    let mut touched: Vec<usize> = joined.stiff.iter().flat_map(|&(_, a, b)| [a, b]).collect();
    touched.sort_unstable();
    touched.dedup();
    let mut held = vec![usize::MAX; joined.group_count];
    let mut unknown = vec![usize::MAX; joined.group.len()];
    let mut count = 0;
    for &node in &touched {
        let group = joined.group[node];
        if held[group] == usize::MAX {
            held[group] = node;
        } else {
            unknown[node] = count;
            count += 1;
        }
    }
    let mut links: Vec<(usize, usize)> = Vec::new();
    let mut excess = vec![0.0; count];
    for &(_, a, b) in &joined.stiff {
        match (unknown[a], unknown[b]) {
            (usize::MAX, usize::MAX) => {}
            (usize::MAX, only) | (only, usize::MAX) => excess[only] += 1.0,
            (a, b) => links.push((a.min(b), a.max(b))),
        }
    }
    let (links, weights) = counted(links);
    let mut injected = vec![0.0; count];
    for &node in &touched {
        if unknown[node] != usize::MAX {
            injected[unknown[node]] = -drawn[node];
        }
    }
    let Ok(volts) =
        Pattern::new(count, &links).factor(&weights, &excess).map(|factor| factor.solve(&injected))
    else {
        return vec![0.0; joined.stiff.len()];
    };
    let level = |node: usize| if unknown[node] == usize::MAX { 0.0 } else { volts[unknown[node]] };
    joined.stiff.iter().map(|&(_, a, b)| level(a) - level(b)).collect()
}

/// Links without repeats, and how often each was there.
fn counted(mut links: Vec<(usize, usize)>) -> (Vec<(usize, usize)>, Vec<f64>) {
    links.sort_unstable();
    let (mut once, mut weights): (Vec<(usize, usize)>, Vec<f64>) = (Vec::new(), Vec::new());
    for link in links {
        match weights.last_mut() {
            Some(weight) if once.last() == Some(&link) => *weight += 1.0,
            _ => {
                once.push(link);
                weights.push(1.0);
            }
        }
    }
    (once, weights)
}
