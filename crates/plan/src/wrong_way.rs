//! Points that move the wrong way round: whether to swap two wires, or to let the as-built record say that the machine is inverted.
//!
//! Swapped wires set everything right at once: cabs, buttons, lamps and the screen, and every sheet stays true. So wires are
//! swapped wherever there are two to swap. A servo's wires carry no direction, and a motor with its decoder inside has no wires of
//! its own: of those the record says that they are inverted. The live panel then turns its commands round, and what throws them
//! otherwise, a cab or a pair of buttons, throws them the other way round. Where other machines answer the same packets that would set those
//! wrong, so the two end positions are swapped in the machine or its decoder (common practice, no source).

use crate::model::{Plan, Wire, WireKind};
use crate::reason::{NO_DIRECTION, NO_WIRES_TO_SWAP, SAME_PACKETS, WIRES_TO_SWAP};
use description::Job;
use network::MachineId;
use notice::{Because, Decided};

/// What to do about points that move the wrong way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// Swap two conductors of a wire where it begins.
    SwapWires {
        /// The ids on the labels of the two.
        cores: [String; 2],
        /// What they are fastened to.
        from: String,
        /// The place where that is.
        at: Option<String>,
    },
    /// Write the machine into the record as inverted: the live panel turns its commands round from then on.
    Invert,
    /// Swap the two end positions where the machine or its decoder keeps them: other machines answer the same packets, so no
    /// command could be turned round for this one alone.
    SwapEnds,
}

/// What to do about a machine that moves the wrong way, and why.
///
/// # Example
/// ```
/// use plan::wrong_way::{Remedy, remedy};
/// let text = "[layout]\nname = \"Tern Harbor\"\n[turnout.1]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
///     [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n";
/// let plan = description::read(text).then(network::resolve).then(plan::make).value;
/// let decided = remedy(&plan, network::MachineId::at(0));
/// assert!(matches!(decided.value, Remedy::SwapWires { .. }));
/// ```
pub fn remedy(plan: &Plan, machine: MachineId) -> Decided<Remedy> {
    let name = plan.network.machine(machine).name.as_str();
    let key = format!("machine {name} motor");
    let wire = plan.wires.iter().find(|wire| wire.kind == WireKind::Motor && wire.key == key);
    let Some(wire) = wire else {
        return turned(plan, machine, Because::new(&NO_WIRES_TO_SWAP, [name.into()]));
    };
    let Some(cores) = to_swap(wire) else {
        return turned(plan, machine, Because::new(&NO_DIRECTION, [name.into()]));
    };
    let [from, _] = &wire.ends;
    let why = Because::new(&WIRES_TO_SWAP, [name.into(), from.what.as_str().into()]);
    Decided::new(Remedy::SwapWires { cores, from: from.what.clone(), at: from.at.clone() }, why)
}

/// What to do about a machine without wires to swap: its commands are turned round where nothing else obeys them.
fn turned(plan: &Plan, machine: MachineId, why: Because) -> Decided<Remedy> {
    let moved = plan.network.machine(machine);
    if plan.network.lever(moved.lever).machines.len() == 1 {
        return Decided::new(Remedy::Invert, why);
    }
    let lever = plan.network.lever(moved.lever).id.as_str();
    let shared = Because::new(&SAME_PACKETS, [lever.into(), moved.name.as_str().into()]);
    Decided::new(Remedy::SwapEnds, why).and(shared)
}

/// The two conductors that say which way a motor turns.
fn to_swap(wire: &Wire) -> Option<[String; 2]> {
    let core = |job: Job| wire.cores.iter().find(|core| core.job == job).map(|core| core.id.clone());
    [(Job::MotorOne, Job::MotorTwo), (Job::CoilNormal, Job::CoilReverse)]
        .into_iter()
        .find_map(|(one, other)| Some([core(one)?, core(other)?]))
}
