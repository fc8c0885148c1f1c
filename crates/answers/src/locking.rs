//! `show locking`.

use crate::{SCHEMA, route_ids};
use network::{LOCKED_ROUTES_MAX, Locking, Position, Why, reasons};
use plan::diode::{Wire, wire_diodes};
use plan::model::Plan;
use serde::Serialize;

/// `show locking`: which routes exclude one another.
#[derive(Debug, Serialize)]
pub struct LockingAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// How many routes were locked.
    pub routes: usize,
    /// Pairs that need one machine in different positions.
    pub incompatible_pairs: usize,
    /// Pairs that are incompatible or share a track, a machine or a crossing.
    pub conflicting_pairs: usize,
    /// The most routes that can be set at once.
    pub largest_compatible_set: usize,
    /// Whether no larger set exists, for certain.
    pub proven: bool,
    /// No set is larger than this.
    pub largest_bound: usize,
    /// One largest set.
    pub largest: Vec<String>,
    /// Every pair that conflicts, and why.
    pub pairs: Vec<LockedPair>,
    /// Which levers each route throws: one entry for each diode of a plain diode matrix.
    pub diodes: Vec<Diode>,
    /// The same routes wired with shared groups, which takes fewer diodes.
    pub matrix: MatrixRow,
}

/// A diode matrix with groups.
#[derive(Debug, Serialize)]
pub struct MatrixRow {
    /// How many diodes the plain matrix has.
    pub plain: usize,
    /// How many this one has.
    pub diodes: usize,
    /// No matrix has fewer.
    pub bound: usize,
    /// Every diode, from wire to wire: a route's id, a group such as `G1`, a line such as `3R`.
    pub wires: Vec<[String; 2]>,
}

/// Two routes that exclude one another.
#[derive(Debug, Serialize)]
pub struct LockedPair {
    /// One route.
    pub a: String,
    /// The other.
    pub b: String,
    /// Everything that both use or dispute.
    pub why: Vec<String>,
}

/// A diode from a route's button to a lever's line.
#[derive(Debug, Serialize)]
pub struct Diode {
    /// The route.
    pub route: String,
    /// The lever's number and N or R.
    pub line: String,
}

/// Answers `show locking`.
pub fn locking(plan: &Plan, locking: &Locking) -> LockingAnswer {
    let ids = route_ids(plan);
    let network = &plan.network;
    let pairs = locking
        .pairs()
        .map(|(a, b, _)| {
            let why = reasons(network, &plan.routes[a], &plan.routes[b]);
            LockedPair {
                a: ids[a].clone(),
                b: ids[b].clone(),
                why: why.into_iter().map(|why| words(plan, why)).collect(),
            }
        })
        .collect();
    let diodes = crate::routes(plan)
        .routes
        .into_iter()
        .take(LOCKED_ROUTES_MAX)
        .flat_map(|row| {
            let id = row.id;
            row.levers.into_iter().map(move |lever| {
                let letter = if lever.position == "normal" { 'N' } else { 'R' };
                Diode { route: id.clone(), line: format!("{}{letter}", lever.number) }
            })
        })
        .collect();
    LockingAnswer {
        schema: SCHEMA,
        routes: locking.route_count(),
        incompatible_pairs: locking.incompatible_count(),
        conflicting_pairs: locking.conflicting_count(),
        largest_compatible_set: locking.largest.routes.len(),
        proven: locking.largest.proven(),
        largest_bound: locking.largest.bound,
        largest: locking.largest.routes.iter().map(|&route| ids[route].clone()).collect(),
        pairs,
        diodes,
        matrix: matrix(plan, &ids),
    }
}

fn matrix(plan: &Plan, ids: &[String]) -> MatrixRow {
    let matrix = wire_diodes(plan);
    let name = |wire: Wire| match wire {
        Wire::Route(route) => ids[route].clone(),
        Wire::Group(group) => format!("G{}", group + 1),
        Wire::Line(number, Position::Normal) => format!("{number}N"),
        Wire::Line(number, Position::Reverse) => format!("{number}R"),
    };
    MatrixRow {
        plain: matrix.plain_count,
        diodes: matrix.diodes.len(),
        bound: matrix.bound,
        wires: matrix.diodes.iter().map(|&(from, to)| [name(from), name(to)]).collect(),
    }
}

fn words(plan: &Plan, why: Why) -> String {
    let network = &plan.network;
    match why {
        Why::Opposed(machine) => format!("machine {}, in different positions", network.machine(machine).name),
        Why::Machine(machine) => format!("machine {}", network.machine(machine).name),
        Why::Track(track) => format!("track {}", network.track(track).name),
        Why::Crossing(joint) => format!("crossing {}", network.joint(joint).id),
    }
}
