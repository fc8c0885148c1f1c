//! Levers: those the user groups, and one for each machine, crossover or scissors arm that is left over.

use crate::model::{JointId, JointKind, Lever, LeverId, MachineId, Network};
use description::{Description, Pins};
use notice::{Confidence, Diagnostic, Span, code, natural, quoted, suggest};
use std::collections::BTreeMap;

/// Fills `network.levers` and every machine's lever.
pub(super) fn gather(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let mut owner: BTreeMap<MachineId, Span> = BTreeMap::new();
    let mut levers: Vec<Lever> = Vec::new();
    let called = machines_by_name(network);
    for described in &description.levers {
        let mut machines = Vec::new();
        for name in &described.moves {
            let Some(found) = called.get(name.value.as_str()) else {
                if !description.unread.ids.contains(&name.value) && !description.unread.text {
                    notes.push(unknown_machine(network, name, notes.len()));
                }
                continue;
            };
            for &machine in found {
                if let Some(first) = owner.get(&machine) {
                    notes.push(moved_twice(network, name, machine, *first, machines.contains(&machine)));
                } else {
                    owner.insert(machine, name.span);
                    machines.push(machine);
                }
            }
        }
        if !machines.is_empty() {
            machines.sort_unstable();
            levers.push(Lever {
                id: described.id.value.clone(),
                name: described.id.value.clone(),
                span: described.id.span,
                machines,
                pins: described.pins.clone(),
            });
        }
    }
    for index in 0..network.joints.len() {
        let joint = JointId::at(index);
        for (id, machines) in own_levers(network, joint) {
            let free: Vec<MachineId> =
                machines.iter().copied().filter(|machine| !owner.contains_key(machine)).collect();
            if free.is_empty() {
                continue;
            }
            let described = network.joint(joint);
            // Half of a pair is left: it is called by its machine, and the plan's rules complain of it.
            let id = if free.len() < machines.len() { network.machine(free[0]).name.clone() } else { id };
            let name = if described.name == described.id { id.clone() } else { described.name.clone() };
            levers.push(Lever { id, name, span: described.span, machines: free, pins: Pins::default() });
        }
    }
    levers.sort_by(|a, b| natural(&a.id, &b.id).then(a.span.cmp(&b.span)));
    report_same_ids(&levers, notes);
    for (index, lever) in levers.iter().enumerate() {
        for machine in &lever.machines {
            network.machines[machine.index()].lever = LeverId::at(index);
        }
    }
    network.levers = levers;
}

/// The machines that each name means: all of a joint, or one by its own name.
fn machines_by_name(network: &Network) -> BTreeMap<&str, Vec<MachineId>> {
    let mut by_name: BTreeMap<&str, Vec<MachineId>> = BTreeMap::new();
    for joint in network.joints.iter().filter(|joint| !joint.machines.is_empty()) {
        by_name.entry(&joint.id).or_insert_with(|| joint.machines.clone());
    }
    for (index, machine) in network.machines.iter().enumerate() {
        by_name.entry(&machine.name).or_insert_with(|| vec![MachineId::at(index)]);
    }
    by_name
}

fn moved_twice(
    network: &Network,
    name: &description::Name,
    machine: MachineId,
    first: Span,
    same_lever: bool,
) -> Diagnostic {
    let machine = &network.machine(machine).name;
    if same_lever {
        return Diagnostic::error(
            code::MACHINE_TWO_LEVERS,
            name.span,
            format!("`{machine}` stands twice in `moves`"),
        )
        .help("delete one of the two")
        .related(first, "it stands here already");
    }
    Diagnostic::error(code::MACHINE_TWO_LEVERS, name.span, format!("`{machine}` is moved by two levers"))
        .help("let one lever move it, and take it from the other")
        .related(first, "this lever moves it already")
}

fn unknown_machine(network: &Network, name: &description::Name, found: usize) -> Diagnostic {
    let message = format!("there is no turnout or other machine `{}` to move", name.value);
    let note = Diagnostic::error(code::MACHINE_UNKNOWN, name.span, message);
    let joints =
        network.joints.iter().filter(|joint| !joint.machines.is_empty()).map(|joint| joint.id.as_str());
    match suggest(found, &name.value, joints) {
        Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
        None => note.help("name the id of a turnout, wye, crossover or slip"),
    }
}

/// The levers that a joint has of its own, when no `[lever.*]` takes its machines: their ids and machines.
fn own_levers(network: &Network, joint: JointId) -> Vec<(String, Vec<MachineId>)> {
    let joint = network.joint(joint);
    let alone = |machine: &MachineId| (network.machine(*machine).name.clone(), vec![*machine]);
    match (joint.kind, joint.machines.as_slice()) {
        (JointKind::Crossover { .. }, machines) => vec![(joint.id.clone(), machines.to_vec())],
        (JointKind::Scissors, [a, b, c, d]) => {
            vec![(format!("{}AB", joint.id), vec![*a, *b]), (format!("{}CD", joint.id), vec![*c, *d])]
        }
        (_, machines) => machines.iter().map(alone).collect(),
    }
}

fn report_same_ids(levers: &[Lever], notes: &mut Vec<Diagnostic>) {
    for pair in levers.windows(2) {
        if let [first, second] = pair
            && first.id == second.id
            && first.span != second.span
        {
            let (first, second) = if first.span < second.span { (first, second) } else { (second, first) };
            let message = format!("`{}` is the id of two levers", second.id);
            notes.push(
                Diagnostic::error(code::ID_USED_TWICE, second.span, message)
                    .help("give one of the two another id")
                    .related(first.span, "the other one"),
            );
        }
    }
}
