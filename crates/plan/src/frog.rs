//! How each frog gets its polarity.
//!
//! A frog lies where a rail of one leg crosses a rail of another; its metal has to carry the polarity of the leg in use.
//! Which machine tells the leg follows from the moves: one that every move over the one leg needs one way and every move
//! over the other leg needs the other way. Of a double slip that is the machine of the far end; of a single slip none is,
//! since its straight moves leave a machine free. A contact that moves with that machine's points feeds the frog, as long
//! as the motor carries one; otherwise a polarity unit does, which turns the frog over when it meets the wrong polarity.
//! What the user writes as `frog_feed` is kept.
//!
//! # Source
//! A live metal frog changes polarity with the points and is fed over a contact that moves with them; a diamond's frogs
//! need a unit, since nothing moves there: common practice, no source.

use crate::model::{Feed, Frog};
use crate::reason::{
    CONTACT_ELSEWHERE, CONTACT_MOVES_WITH, CONTACT_OF_MOTOR, CONTACT_TO_ADD, CONTACTS_TAKEN,
    NO_MACHINE_TELLS, NOTHING_MOVES, PINNED,
};
use description::FrogFeed;
use network::{Joint, JointId, JointKind, MachineId, Move, Network, Position};
use notice::{Because, Decided};
use std::collections::BTreeMap;

/// A frog: its name at its joint, and the moves over the two legs it lies between, by their ports.
type Spot = (&'static str, &'static [[u8; 2]], &'static [[u8; 2]]);

/// Decides the feed of every frog, joint by joint.
pub(crate) fn feed_frogs(network: &Network) -> Vec<Frog> {
    let mut taken: BTreeMap<MachineId, u16> = BTreeMap::new();
    let mut frogs = Vec::new();
    for (index, joint) in network.joints.iter().enumerate() {
        for &(name, one, other) in spots(joint.kind) {
            let machine = telling(joint, one, other);
            let feed = feed(network, joint, machine, &mut taken);
            frogs.push(Frog { joint: JointId::at(index), name, feed });
        }
    }
    frogs
}

/// The frogs of a joint.
fn spots(kind: JointKind) -> &'static [Spot] {
    match kind {
        JointKind::End { .. } | JointKind::Turntable { .. } => &[],
        JointKind::Turnout { .. } | JointKind::Wye => &[("frog", &[[0, 1]], &[[0, 2]])],
        JointKind::Threeway => &[
            ("left frog", &[[0, 1]], &[[0, 2]]),
            ("right frog", &[[0, 1]], &[[0, 3]]),
            ("middle frog", &[[0, 2]], &[[0, 3]]),
        ],
        JointKind::Crossover { .. } => {
            &[("frog of A", &[[0, 1]], &[[0, 3]]), ("frog of B", &[[2, 3]], &[[0, 3]])]
        }
        JointKind::Scissors => &[
            ("frog of A", &[[0, 1]], &[[0, 3]]),
            ("frog of B", &[[2, 3]], &[[0, 3]]),
            ("frog of C", &[[2, 3]], &[[2, 1]]),
            ("frog of D", &[[0, 1]], &[[2, 1]]),
            ("first frog of the diamond", &[[0, 3]], &[[2, 1]]),
            ("second frog of the diamond", &[[0, 3]], &[[2, 1]]),
        ],
        JointKind::Slip { .. } => &[
            ("frog between a and c", &[[0, 1], [0, 3]], &[[2, 3], [2, 1]]),
            ("frog between b and d", &[[0, 1], [2, 1]], &[[2, 3], [0, 3]]),
        ],
        JointKind::Crossing => {
            &[("frog between a and c", &[[0, 1]], &[[2, 3]]), ("frog between b and d", &[[0, 1]], &[[2, 3]])]
        }
    }
}

/// The first machine that stands one way for every move over one leg and the other way for every move over the other.
fn telling(joint: &Joint, one: &[[u8; 2]], other: &[[u8; 2]]) -> Option<MachineId> {
    let moves = |ports: &[[u8; 2]]| -> Vec<&Move> {
        joint.moves.iter().filter(|way| ports.contains(&way.ports)).collect()
    };
    let (one, other) = (moves(one), moves(other));
    let all = |moves: &[&Move], machine: MachineId, position: Position| {
        !moves.is_empty() && moves.iter().all(|way| way.needs.contains(&(machine, position)))
    };
    joint.machines.iter().copied().find(|&machine| {
        [Position::Normal, Position::Reverse]
            .into_iter()
            .any(|position| all(&one, machine, position) && all(&other, machine, position.other()))
    })
}

fn feed(
    network: &Network,
    joint: &Joint,
    machine: Option<MachineId>,
    taken: &mut BTreeMap<MachineId, u16>,
) -> Decided<Feed> {
    let pinned = |feed| Decided::new(feed, Because::new(&PINNED, ["frog_feed".into()]));
    match (joint.frog_feed, machine) {
        (Some(FrogFeed::Dead), _) => pinned(Feed::Dead),
        (Some(FrogFeed::PolarityUnit), _) => pinned(Feed::PolarityUnit),
        (Some(FrogFeed::Switched), None) => {
            pinned(Feed::Contact(None)).and(Because::new(&CONTACT_ELSEWHERE, [joint.id.as_str().into()]))
        }
        (Some(FrogFeed::Switched), Some(machine)) => match contact(network, machine, taken) {
            Ok(why) => pinned(Feed::Contact(Some(machine))).and(why),
            Err(_) => {
                let motor = network.machine(machine).motor.as_str();
                let why = Because::new(
                    &CONTACT_TO_ADD,
                    [motor.into(), network.machine(machine).name.as_str().into()],
                );
                pinned(Feed::Contact(Some(machine))).and(why)
            }
        },
        (None, Some(machine)) => match contact(network, machine, taken) {
            Ok(why) => {
                let tells =
                    Because::new(&CONTACT_MOVES_WITH, [network.machine(machine).name.as_str().into()]);
                Decided::new(Feed::Contact(Some(machine)), tells).and(why)
            }
            Err(why) => Decided::new(Feed::PolarityUnit, why),
        },
        (None, None) if joint.machines.is_empty() => {
            Decided::new(Feed::PolarityUnit, Because::new(&NOTHING_MOVES, []))
        }
        (None, None) => {
            Decided::new(Feed::PolarityUnit, Because::new(&NO_MACHINE_TELLS, [joint.id.as_str().into()]))
        }
    }
}

/// Takes a contact of a machine's motor; an error says that it has none left.
fn contact(
    network: &Network,
    machine: MachineId,
    taken: &mut BTreeMap<MachineId, u16>,
) -> Result<Because, Because> {
    let motor = network.machine(machine).motor.as_str();
    let contacts = network.described.parts.get(motor).and_then(|part| part.contacts).unwrap_or(0);
    let used = taken.entry(machine).or_default();
    if *used < contacts {
        *used += 1;
        Ok(Because::new(&CONTACT_OF_MOTOR, [(*used).into(), contacts.into(), motor.into()]))
    } else {
        Err(Because::new(&CONTACTS_TAKEN, [motor.into(), contacts.into(), (*used).into()]))
    }
}
