//! The ways through each joint and the machines that decide which.
//!
//! # Source
//! Slips: each machine moves both pairs of blades of its end; straight a–b with both normal, c–d with both reverse, the
//! slip moves with one of each. Common practice, no source.

use crate::model::{JointId, JointKind, LeverId, Machine, MachineId, Move, MoveShape, Network, Position};
use description::{Description, Joint as Described, JointKind as DescribedKind, NormalLeg};
use notice::{Diagnostic, code, natural};

use MoveShape::{Diverging, Straight};
use Position::{Normal, Reverse};

/// A move by port numbers, its shape, and the machines it needs by their place among the joint's machines.
type Way<'a> = (u8, u8, MoveShape, &'a [(usize, Position)]);

/// Fills moves and machines of every joint. Machines come in natural order of their names.
pub(super) fn add_moves(
    description: &Description,
    kept: &[usize],
    network: &mut Network,
    notes: &mut Vec<Diagnostic>,
) {
    let mut machines: Vec<(String, JointId, &Described)> = Vec::new();
    for (index, &described) in kept.iter().enumerate() {
        let described = &description.joints[described];
        for suffix in machine_suffixes(&described.kind) {
            machines.push((format!("{}{suffix}", described.id.value), JointId::at(index), described));
        }
    }
    machines.sort_by(|a, b| natural(&a.0, &b.0));
    for pair in machines.windows(2) {
        if let [first, second] = pair
            && first.0 == second.0
        {
            let message = format!("two machines would be called `{}`", first.0);
            notes.push(
                Diagnostic::error(code::ID_USED_TWICE, second.2.id.span, message)
                    .help("give one of the two another id")
                    .related(first.2.id.span, "the other one"),
            );
        }
    }
    for (name, joint, described) in machines {
        let id = MachineId::at(network.machines.len());
        let motor = described.motor.as_ref().unwrap_or(&description.defaults.motor).value.clone();
        network.machines.push(Machine { name, joint, motor, lever: LeverId::at(0) });
        network.joints[joint.index()].machines.push(id);
    }
    for (joint, &described) in network.joints.iter_mut().zip(kept) {
        let described = &description.joints[described];
        let machines = &joint.machines;
        let mut add = |(from, to, shape, needs): Way<'_>| {
            joint.moves.push(Move {
                ports: [from, to],
                needs: needs.iter().map(|&(index, position)| (machines[index], position)).collect(),
                shape,
            });
        };
        ways(joint.kind, described, &mut add);
    }
}

fn machine_suffixes(kind: &DescribedKind) -> &'static [&'static str] {
    match kind {
        DescribedKind::Turnout { .. } | DescribedKind::Wye => &[""],
        DescribedKind::Threeway => &["L", "R"],
        DescribedKind::Crossover { .. } => &["A", "B"],
        DescribedKind::Scissors => &["A", "B", "C", "D"],
        DescribedKind::Slip { .. } => &["E", "W"],
        DescribedKind::Crossing | DescribedKind::Turntable { .. } => &[],
    }
}

/// Calls `add` for every way through a joint of this kind, the straight ones first.
fn ways(kind: JointKind, described: &Described, add: &mut dyn FnMut(Way<'_>)) {
    let list: &[Way<'_>] = match kind {
        JointKind::End { .. } => &[],
        JointKind::Turnout { .. } | JointKind::Wye => match described.normal {
            NormalLeg::Usual => &[(0, 1, Straight, &[(0, Normal)]), (0, 2, Diverging, &[(0, Reverse)])],
            NormalLeg::Other => &[(0, 1, Straight, &[(0, Reverse)]), (0, 2, Diverging, &[(0, Normal)])],
        },
        JointKind::Threeway => &[
            (0, 1, Straight, &[(0, Normal), (1, Normal)]),
            (0, 2, Diverging, &[(0, Reverse), (1, Normal)]),
            (0, 3, Diverging, &[(0, Normal), (1, Reverse)]),
        ],
        JointKind::Crossover { .. } => &[
            (0, 1, Straight, &[(0, Normal)]),
            (2, 3, Straight, &[(1, Normal)]),
            (0, 3, Diverging, &[(0, Reverse), (1, Reverse)]),
        ],
        JointKind::Scissors => &[
            (0, 1, Straight, &[(0, Normal), (3, Normal)]),
            (2, 3, Straight, &[(1, Normal), (2, Normal)]),
            (0, 3, Diverging, &[(0, Reverse), (1, Reverse)]),
            (2, 1, Diverging, &[(2, Reverse), (3, Reverse)]),
        ],
        JointKind::Slip { .. } => {
            let DescribedKind::Slip { double, swap_ends } = described.kind else { return };
            slip_ways(double, swap_ends)
        }
        JointKind::Crossing => &[(0, 1, Straight, &[]), (2, 3, Straight, &[])],
        JointKind::Turntable { approach_count } => {
            let port_count = u8::try_from(described.tracks.len()).unwrap_or(u8::MAX);
            for approach in 0..approach_count {
                for stall in approach_count..port_count {
                    add((approach, stall, Straight, &[]));
                }
            }
            return;
        }
    };
    for way in list {
        add(*way);
    }
}

/// Machines in natural order: 0 is E (at b and d), 1 is W (at a and c).
fn slip_ways(double: bool, swap_ends: bool) -> &'static [Way<'static>] {
    match (double, swap_ends) {
        (true, false) => &[
            (0, 1, Straight, &[(0, Normal), (1, Normal)]),
            (2, 3, Straight, &[(0, Reverse), (1, Reverse)]),
            (0, 3, Diverging, &[(0, Normal), (1, Reverse)]),
            (2, 1, Diverging, &[(0, Reverse), (1, Normal)]),
        ],
        (true, true) => &[
            (0, 1, Straight, &[(0, Normal), (1, Normal)]),
            (2, 3, Straight, &[(0, Reverse), (1, Reverse)]),
            (0, 3, Diverging, &[(0, Reverse), (1, Normal)]),
            (2, 1, Diverging, &[(0, Normal), (1, Reverse)]),
        ],
        (false, _) => &[
            (0, 1, Straight, &[(1, Normal)]),
            (2, 3, Straight, &[(0, Normal)]),
            (0, 3, Diverging, &[(0, Reverse), (1, Reverse)]),
        ],
    }
}
