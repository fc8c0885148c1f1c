//! A circuit made ready to be reckoned: which points are fed, which voltages are known, and the pattern of the rest.
//!
//! A point is fed if runs and supplies join it to a supply; a load joins nothing. Each fed piece has one group of known
//! voltage: that of the reference, or, for a piece that stands by itself, the return of its first supply.

use crate::circuit::{Circuit, Draw, Fault, FaultKind, NodeId, OHMS_MIN};
use crate::factor::Pattern;
use crate::joined::{Joined, join};

/// Two terminals between which something can be measured or shorted; the second is left out where points are pairs.
pub type Pair = (NodeId, Option<NodeId>);

/// A circuit, checked and taken apart.
#[derive(Debug)]
pub struct System<'c> {
    pub(crate) circuit: &'c Circuit,
    pub(crate) joined: Joined,
    /// For each group.
    places: Vec<Place>,
    /// The piece that each group belongs to.
    piece: Vec<usize>,
    pub(crate) unknown_count: usize,
    pub(crate) links: Vec<(usize, usize)>,
    pub(crate) pattern: Pattern,
    /// Things worth knowing that do not hang on the loads.
    pub(crate) notes: Vec<Fault>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    Unfed,
    /// Volts of the group's level, and whether they are told against the reference.
    Known(f64, bool),
    /// Which unknown, and whether it is told against the reference.
    Unknown(usize, bool),
}

/// A terminal as the equations see it: an unknown, or none, plus known volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tap {
    pub(crate) unknown: Option<usize>,
    pub(crate) volts: f64,
}

impl Tap {
    pub(crate) fn level(self, unknowns: &[f64]) -> f64 {
        self.unknown.map_or(0.0, |at| unknowns[at]) + self.volts
    }
}

/// Conductances and currents of one set of equations.
#[derive(Clone, Debug)]
pub(crate) struct Equations {
    pub(crate) conductance: Vec<f64>,
    pub(crate) excess: Vec<f64>,
    pub(crate) injected: Vec<f64>,
}

impl<'c> System<'c> {
    /// Makes a circuit ready. `pairs` are the terminals at which short currents will be asked for.
    ///
    /// # Errors
    /// Every value that is no number, negative or absurd, points that are not there, no supply at all, and supplies that are
    /// shorted or joined at different voltages without resistance.
    pub fn new(circuit: &'c Circuit, pairs: &[Pair]) -> Result<Self, Vec<Fault>> {
        let faults = circuit.faults();
        if !faults.is_empty() {
            return Err(faults);
        }
        let joined = join(circuit)?;
        let shorted = shorted_loads(circuit, &joined);
        if !shorted.is_empty() {
            return Err(shorted);
        }
        let mut system = Self {
            circuit,
            places: vec![Place::Unfed; joined.group_count],
            piece: Vec::new(),
            unknown_count: 0,
            links: Vec::new(),
            pattern: Pattern::new(0, &[]),
            notes: joined.notes.clone(),
            joined,
        };
        system.find_pieces();
        system.place_groups();
        system.link(pairs);
        system.note_unfed();
        Ok(system)
    }

    pub(crate) fn common(&self) -> usize {
        self.circuit.nodes.len()
    }

    /// The other terminal of a part.
    pub(crate) fn back(&self, back: Option<NodeId>) -> usize {
        back.map_or(self.common(), |back| back.0)
    }

    /// Runs that carry current through a resistance, with their ends.
    pub(crate) fn carrying_runs(&self) -> impl Iterator<Item = (usize, usize, usize, f64)> + '_ {
        let runs = self.circuit.runs.iter().enumerate();
        let carry = runs.filter(|(_, run)| !run.open && run.ohms >= OHMS_MIN && run.from != run.to);
        carry.map(|(index, run)| (index, run.from.0, run.to.0, run.ohms))
    }

    /// Supplies with a resistance inside, with their terminals.
    pub(crate) fn soft_supplies(&self) -> impl Iterator<Item = (usize, usize, usize)> + '_ {
        let supplies = self.circuit.supplies.iter().enumerate();
        let soft = supplies.filter(|(_, supply)| supply.source_ohms >= OHMS_MIN);
        soft.map(|(index, supply)| (index, supply.node.0, self.back(supply.back)))
    }

    /// Pieces: groups that runs and supplies join.
    fn find_pieces(&mut self) {
        let mut next: Vec<Vec<usize>> = vec![Vec::new(); self.joined.group_count];
        let ends = self.carrying_runs().map(|(_, a, b, _)| (a, b));
        let ends: Vec<(usize, usize)> = ends.chain(self.soft_supplies().map(|(_, a, b)| (a, b))).collect();
        for (a, b) in ends {
            let (a, b) = (self.joined.group[a], self.joined.group[b]);
            next[a].push(b);
            next[b].push(a);
        }
        self.piece = vec![usize::MAX; next.len()];
        for first in 0..next.len() {
            if self.piece[first] != usize::MAX {
                continue;
            }
            self.piece[first] = first;
            let mut open = vec![first];
            while let Some(group) = open.pop() {
                for &other in &next[group] {
                    if self.piece[other] == usize::MAX {
                        self.piece[other] = first;
                        open.push(other);
                    }
                }
            }
        }
    }

    fn place_groups(&mut self) {
        let (group, step) = (&self.joined.group, &self.joined.step);
        let grounded = self.piece[group[self.common()]];
        let mut ground: Vec<Option<(usize, f64)>> = vec![None; self.joined.group_count];
        for supply in &self.circuit.supplies {
            let back = self.back(supply.back);
            let piece = self.piece[group[back]];
            let held = if piece == grounded { self.common() } else { back };
            ground[piece].get_or_insert((group[held], -step[held]));
        }
        for at in 0..self.places.len() {
            let told = self.piece[at] == grounded;
            self.places[at] = match ground[self.piece[at]] {
                None => Place::Unfed,
                Some((held, volts)) if held == at => Place::Known(volts, told),
                Some(_) => {
                    self.unknown_count += 1;
                    Place::Unknown(self.unknown_count - 1, told)
                }
            };
        }
    }

    /// A point as the equations see it; none if no supply feeds it.
    pub(crate) fn tap(&self, node: usize) -> Option<Tap> {
        let step = self.joined.step[node];
        match self.places[self.joined.group[node]] {
            Place::Unfed => None,
            Place::Known(volts, _) => Some(Tap { unknown: None, volts: volts + step }),
            Place::Unknown(at, _) => Some(Tap { unknown: Some(at), volts: step }),
        }
    }

    /// Two terminals, if a supply feeds both and they belong to one piece.
    pub(crate) fn taps(&self, a: usize, b: usize) -> Option<(Tap, Tap)> {
        let piece = |node: usize| self.piece[self.joined.group[node]];
        if piece(a) != piece(b) {
            return None;
        }
        Some((self.tap(a)?, self.tap(b)?))
    }

    /// Whether a point's voltage can be told against the reference.
    pub(crate) fn is_told(&self, node: usize) -> bool {
        match self.places[self.joined.group[node]] {
            Place::Unfed => false,
            Place::Known(_, told) | Place::Unknown(_, told) => told,
        }
    }

    fn link(&mut self, pairs: &[Pair]) {
        let ends = self.carrying_runs().map(|(_, a, b, _)| (a, b));
        let ends = ends.chain(self.soft_supplies().map(|(_, a, b)| (a, b)));
        let loads = self.circuit.loads.iter().map(|load| (load.node.0, self.back(load.back)));
        let pairs = pairs.iter().map(|&(node, back)| (node.0, self.back(back)));
        let mut links: Vec<(usize, usize)> = ends
            .chain(loads)
            .chain(pairs)
            .filter_map(|(a, b)| {
                let (a, b) = self.taps(a, b)?;
                let (a, b) = (a.unknown?, b.unknown?);
                (a != b).then_some((a.min(b), a.max(b)))
            })
            .collect();
        links.sort_unstable();
        links.dedup();
        self.pattern = Pattern::new(self.unknown_count, &links);
        self.links = links;
    }

    fn note_unfed(&mut self) {
        let mut notes = Vec::new();
        for (node, name) in self.circuit.nodes.iter().enumerate() {
            if self.tap(node).is_none() {
                let help = "join it to a point that is fed, or add a supply";
                notes.push(Fault::new(
                    FaultKind::PointUnfed,
                    name,
                    format!("no supply feeds `{name}`"),
                    help,
                ));
            } else if !self.is_told(node) {
                let message = format!("no conductor joins `{name}` to the reference");
                let help =
                    "its voltage against the reference has no meaning: name a reference in its own circuit";
                notes.push(Fault::new(FaultKind::Floating, name, message, help));
            }
        }
        for load in &self.circuit.loads {
            if self.taps(load.node.0, self.back(load.back)).is_none() {
                let help = "join both its terminals to the same supply";
                let message = format!("no supply feeds `{}`", load.id);
                notes.push(Fault::new(FaultKind::LoadUnfed, &load.id, message, help));
            }
        }
        self.notes.extend(notes);
    }

    /// Runs and supplies alone, and lamps if asked for.
    pub(crate) fn equations(&self, with_resistances: bool) -> Equations {
        let mut equations = Equations {
            conductance: vec![0.0; self.links.len()],
            excess: vec![0.0; self.unknown_count],
            injected: vec![0.0; self.unknown_count],
        };
        for (_, a, b, ohms) in self.carrying_runs() {
            if let Some((a, b)) = self.taps(a, b) {
                self.conduct(&mut equations, a, b, 1.0 / ohms);
            }
        }
        for (index, a, b) in self.soft_supplies() {
            if let Some((a, b)) = self.taps(a, b) {
                let supply = &self.circuit.supplies[index];
                self.conduct(&mut equations, a, b, 1.0 / supply.source_ohms);
                inject(&mut equations, a, b, supply.volts / supply.source_ohms);
            }
        }
        if with_resistances {
            for load in &self.circuit.loads {
                if let (Draw::Ohms(ohms), Some((a, b))) =
                    (load.draw, self.taps(load.node.0, self.back(load.back)))
                {
                    self.conduct(&mut equations, a, b, 1.0 / ohms);
                }
            }
        }
        equations
    }

    /// Adds a conductance between two terminals.
    pub(crate) fn conduct(&self, equations: &mut Equations, a: Tap, b: Tap, siemens: f64) {
        let apart = siemens * (a.volts - b.volts);
        match (a.unknown, b.unknown) {
            (Some(i), Some(j)) if i == j => {}
            (Some(i), Some(j)) => {
                if let Ok(link) = self.links.binary_search(&(i.min(j), i.max(j))) {
                    equations.conductance[link] += siemens;
                    equations.injected[i] -= apart;
                    equations.injected[j] += apart;
                }
            }
            (Some(i), None) => {
                equations.excess[i] += siemens;
                equations.injected[i] -= apart;
            }
            (None, Some(j)) => {
                equations.excess[j] += siemens;
                equations.injected[j] += apart;
            }
            (None, None) => {}
        }
    }
}

/// Loads both of whose terminals are one point.
fn shorted_loads(circuit: &Circuit, joined: &Joined) -> Vec<Fault> {
    let shorted = circuit.loads.iter().filter(|load| {
        let (node, back) = (load.node.0, load.back.map_or(circuit.nodes.len(), |back| back.0));
        joined.group[node] == joined.group[back] && (joined.step[node] - joined.step[back]).abs() <= 0.0
    });
    let faults = shorted.map(|load| {
        let message =
            format!("both terminals of `{}` are one point, without resistance between them", load.id);
        Fault::new(FaultKind::LoadShorted, &load.id, message, "name the point that its other terminal is at")
    });
    faults.collect()
}

/// Lets a current flow in at `a` and out at `b`.
pub(crate) fn inject(equations: &mut Equations, a: Tap, b: Tap, amps: f64) {
    if let Some(at) = a.unknown {
        equations.injected[at] += amps;
    }
    if let Some(at) = b.unknown {
        equations.injected[at] -= amps;
    }
}
