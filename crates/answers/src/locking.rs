//! `show locking`.

use crate::{LeverPosition, SCHEMA};
use network::{LOCKED_ROUTES_MAX, Locking, Position, TrackId, Why, flanks, reasons};
use plan::diode::{Wire, wanted_lines, wire_diodes};
use plan::model::Plan;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

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
    /// Which levers each route throws: one entry for each diode of a plain diode matrix. A route that needs one lever in
    /// both positions can never be set and has none.
    pub diodes: Vec<Diode>,
    /// For each lever, the routes that need it either way.
    pub levers: Vec<LeverLocks>,
    /// For each route that something could run into: what keeps it out, and what nothing keeps out.
    pub flank: Vec<FlankRow>,
    /// The same routes wired with shared groups, which takes fewer diodes.
    pub matrix: MatrixRow,
}

/// The routes that need one lever: while one of them is set, the lever is locked.
#[derive(Debug, Serialize)]
pub struct LeverLocks {
    /// The lever's number.
    pub number: u16,
    /// Routes that need it normal.
    pub normal: Vec<String>,
    /// Routes that need it reverse.
    pub reverse: Vec<String>,
}

/// One side of a route from which something could run into it.
#[derive(Debug, Serialize)]
pub struct FlankRow {
    /// The route.
    pub route: String,
    /// The joint where it would be met.
    pub at: String,
    /// The track that it would be met from.
    pub track: String,
    /// Levers outside the route that turn it aside.
    pub guards: Vec<LeverPosition>,
    /// Stops from which no lever keeps it.
    pub open_to: Vec<String>,
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

/// Every pair of routes that conflict, one at a time: a large railroad has more of them than anyone would hold at once.
pub fn locked_pairs<'a>(
    plan: &'a Plan,
    locking: &'a Locking,
    ids: &'a [String],
) -> impl Iterator<Item = LockedPair> + 'a {
    locking.pairs().map(move |(a, b, _)| {
        let why = reasons(&plan.network, &plan.routes[a], &plan.routes[b]);
        LockedPair {
            a: ids[a].clone(),
            b: ids[b].clone(),
            why: why.into_iter().map(|why| words(plan, why)).collect(),
        }
    })
}

/// Answers `show locking`.
pub fn locking(plan: &Plan, locking: &Locking) -> LockingAnswer {
    let ids = plan::route_ids(plan);
    let pairs = locked_pairs(plan, locking, &ids).collect();
    let diodes = wanted_lines(plan)
        .into_iter()
        .zip(&ids)
        .take(LOCKED_ROUTES_MAX)
        .flat_map(|(lines, id)| {
            lines.into_iter().flatten().map(move |(number, position)| Diode {
                route: id.clone(),
                line: Wire::Line(number, position).label(),
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
        levers: lever_locks(plan, &ids),
        flank: flank(plan, &ids),
        matrix: matrix(plan, &ids),
    }
}

fn lever_locks(plan: &Plan, ids: &[String]) -> Vec<LeverLocks> {
    let numbers = plan.numbers();
    let mut locks: BTreeMap<u16, LeverLocks> = numbers
        .values()
        .map(|&number| (number, LeverLocks { number, normal: Vec::new(), reverse: Vec::new() }))
        .collect();
    for (route, id) in plan.routes.iter().zip(ids).take(LOCKED_ROUTES_MAX) {
        let needs: BTreeSet<(u16, Position)> = route
            .needs
            .iter()
            .filter_map(|(machine, position)| {
                Some((*numbers.get(&plan.network.machine(*machine).lever)?, *position))
            })
            .collect();
        for (number, position) in needs {
            let Some(locks) = locks.get_mut(&number) else { continue };
            match position {
                Position::Normal => locks.normal.push(id.clone()),
                Position::Reverse => locks.reverse.push(id.clone()),
            }
        }
    }
    locks.into_values().collect()
}

fn flank(plan: &Plan, ids: &[String]) -> Vec<FlankRow> {
    let network = &plan.network;
    let numbers = plan.numbers();
    let name = |track: TrackId| network.track(track).name.clone();
    let routes = plan.routes.iter().zip(ids).take(LOCKED_ROUTES_MAX);
    routes
        .flat_map(|(route, id)| flanks(network, route).into_iter().map(move |flank| (id, flank)))
        .map(|(id, flank)| FlankRow {
            route: id.clone(),
            at: network.joint(flank.joint).id.clone(),
            track: name(flank.track),
            guards: flank
                .guards
                .iter()
                .filter_map(|(lever, position)| {
                    Some(LeverPosition { number: *numbers.get(lever)?, position: position.word() })
                })
                .collect(),
            open_to: flank.open_to.into_iter().map(name).collect(),
        })
        .collect()
}

fn matrix(plan: &Plan, ids: &[String]) -> MatrixRow {
    let matrix = wire_diodes(plan);
    let name = |wire: Wire| match wire {
        Wire::Route(route) => ids[route].clone(),
        Wire::Group(_) | Wire::Line(..) => wire.label(),
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
