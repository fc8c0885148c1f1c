//! One-push routes in wire: which diodes lead from each route's button to the lines of the levers that it throws.
//!
//! A lever has two lines, one that throws it normal and one that throws it reverse. A diode leads from one wire to
//! another and lets current pass that way only. Wired plainly there is one diode for each lever of each route. Fewer do
//! when wires that feed the same lines share a group wire: m wires that feed the same k lines need m + k diodes
//! instead of m·k. Groups are taken greedily, the one that saves most first, and a group may feed a group; that is not
//! always the fewest, so a bound is given: wires that hang together need at least one diode fewer than there are of
//! them. The finished matrix is tried out, button by button: exactly the wanted lines may come alive.
//!
//! Every diode in a row costs about 0.7 V (silicon, common practice, no source), so deep groups suit stall motors and
//! relays better than coils.

use crate::model::{LeverNumber, Plan};
use network::Position;
use std::collections::{BTreeMap, BTreeSet};

/// Past this many routes the matrix is wired plainly: looking for groups compares every two wires.
pub const GROUPED_ROUTES_MAX: usize = 200;

/// A wire of the matrix.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wire {
    /// From a route's button; the route's index in [`Plan::routes`].
    Route(usize),
    /// A wire that several wires share, counted from 0.
    Group(usize),
    /// To a lever: throws it to this position.
    Line(LeverNumber, Position),
}

impl Wire {
    /// What it is called on sheets: a route's number, counted from 1; `G1`; `3R`.
    pub fn label(self) -> String {
        match self {
            Self::Route(route) => (route + 1).to_string(),
            Self::Group(group) => format!("G{}", group + 1),
            Self::Line(number, Position::Normal) => format!("{number}N"),
            Self::Line(number, Position::Reverse) => format!("{number}R"),
        }
    }
}

/// A diode matrix.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DiodeMatrix {
    /// Every diode: from which wire to which.
    pub diodes: BTreeSet<(Wire, Wire)>,
    /// How many diodes the plain matrix has.
    pub plain_count: usize,
    /// No matrix has fewer.
    pub bound: usize,
}

impl DiodeMatrix {
    /// The most diodes that current passes one after another on its way from a button to a lever.
    pub fn deepest(&self) -> usize {
        let mut depths: BTreeMap<Wire, usize> = BTreeMap::new();
        let mut deepest = 0;
        // Groups feed later or earlier groups but never themselves, so that so many rounds settle every depth.
        for _ in 0..=self.diodes.len() {
            let mut changed = false;
            for &(from, to) in &self.diodes {
                let depth = depths.get(&from).copied().unwrap_or(0) + 1;
                let known = depths.entry(to).or_insert(0);
                if *known < depth {
                    *known = depth;
                    changed = true;
                }
                deepest = deepest.max(depth);
            }
            if !changed {
                break;
            }
        }
        deepest
    }

    /// The lines that come alive when a route's button is pressed: found by following the diodes.
    pub fn alive(&self, route: usize) -> BTreeSet<(LeverNumber, Position)> {
        let mut seen = BTreeSet::from([Wire::Route(route)]);
        let mut queue = vec![Wire::Route(route)];
        while let Some(wire) = queue.pop() {
            let onward = self.diodes.range((wire, Wire::Route(0))..).take_while(|diode| diode.0 == wire);
            for &(_, next) in onward {
                if seen.insert(next) {
                    queue.push(next);
                }
            }
        }
        seen.into_iter()
            .filter_map(|wire| match wire {
                Wire::Line(number, position) => Some((number, position)),
                Wire::Route(_) | Wire::Group(_) => None,
            })
            .collect()
    }
}

/// The lines that each route has to throw; none for a route that needs one lever in both positions.
pub fn wanted_lines(plan: &Plan) -> Vec<Option<BTreeSet<(LeverNumber, Position)>>> {
    let numbers = plan.numbers();
    plan.routes
        .iter()
        .map(|route| {
            let mut lines = BTreeSet::new();
            for (machine, position) in &route.needs {
                let number = numbers.get(&plan.network.machine(*machine).lever)?;
                if lines.contains(&(*number, position.other())) {
                    return None;
                }
                lines.insert((*number, *position));
            }
            Some(lines)
        })
        .collect()
}

/// Wires the one-push routes of a plan.
pub fn wire_diodes(plan: &Plan) -> DiodeMatrix {
    let wanted = wanted_lines(plan);
    let mut feeds: BTreeMap<Wire, BTreeSet<Wire>> = BTreeMap::new();
    for (route, lines) in wanted.iter().enumerate() {
        if let Some(lines) = lines.as_ref().filter(|lines| !lines.is_empty()) {
            let lines = lines.iter().map(|&(number, position)| Wire::Line(number, position));
            feeds.insert(Wire::Route(route), lines.collect());
        }
    }
    let plain_count = feeds.values().map(BTreeSet::len).sum();
    let bound = bound(&feeds);
    if feeds.len() <= GROUPED_ROUTES_MAX {
        share_groups(&mut feeds);
    }
    let diodes = feeds.iter().flat_map(|(&from, tos)| tos.iter().map(move |&to| (from, to))).collect();
    let matrix = DiodeMatrix { diodes, plain_count, bound };
    debug_assert!(wanted.iter().enumerate().all(|(route, lines)| match lines {
        Some(lines) => matrix.alive(route) == *lines,
        None => matrix.alive(route).is_empty(),
    }));
    matrix
}

/// Wires that hang together, counted, less one for each bunch: a tree has no fewer edges.
fn bound(feeds: &BTreeMap<Wire, BTreeSet<Wire>>) -> usize {
    let mut bunch_of: BTreeMap<Wire, Wire> = BTreeMap::new();
    let root = |bunch_of: &BTreeMap<Wire, Wire>, mut wire: Wire| {
        while let Some(&up) = bunch_of.get(&wire).filter(|&&up| up != wire) {
            wire = up;
        }
        wire
    };
    let mut joined = 0;
    for (&from, tos) in feeds {
        bunch_of.entry(from).or_insert(from);
        for &to in tos {
            bunch_of.entry(to).or_insert(to);
            let (a, b) = (root(&bunch_of, from), root(&bunch_of, to));
            if a != b {
                bunch_of.insert(b, a);
                joined += 1;
            }
        }
    }
    joined
}

/// Puts in the group wire that saves most, until none saves any.
fn share_groups(feeds: &mut BTreeMap<Wire, BTreeSet<Wire>>) {
    let mut group_count = 0;
    loop {
        let wires: Vec<Wire> = feeds.keys().copied().collect();
        let mut tried: BTreeSet<Vec<Wire>> = BTreeSet::new();
        let mut best: Option<(usize, Vec<Wire>)> = None;
        for (index, a) in wires.iter().enumerate() {
            for b in &wires[index + 1..] {
                let shared: Vec<Wire> = feeds[a].intersection(&feeds[b]).copied().collect();
                if shared.len() < 2 || !tried.insert(shared.clone()) {
                    continue;
                }
                let users = feeds.values().filter(|tos| shared.iter().all(|wire| tos.contains(wire))).count();
                let saved = (users * shared.len()).saturating_sub(users + shared.len());
                if saved > 0 && best.as_ref().is_none_or(|(most, _)| saved > *most) {
                    best = Some((saved, shared));
                }
            }
        }
        let Some((_, shared)) = best else { return };
        let group = Wire::Group(group_count);
        group_count += 1;
        for tos in feeds.values_mut().filter(|tos| shared.iter().all(|wire| tos.contains(wire))) {
            tos.retain(|wire| !shared.contains(wire));
            tos.insert(group);
        }
        feeds.insert(group, shared.into_iter().collect());
    }
}
