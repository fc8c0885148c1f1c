//! Which machines each link moves.

use crate::model::{MachineId, MachineLink, Network};
use description::{Description, Name};
use notice::{Confidence, Diagnostic, Span, code, quoted, suggest};
use std::collections::BTreeMap;

/// Fills `network.links`.
pub(super) fn resolve_links(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let known = known(network);
    let mut owner: BTreeMap<MachineId, (&str, Span)> = BTreeMap::new();
    let mut links: Vec<MachineLink> = Vec::new();
    for (described, link) in description.links.iter().enumerate() {
        let mut machines = Vec::new();
        for name in link.moves.iter().flatten() {
            let Some(named) = known.get(&name.value) else {
                let is_unread = description.unread.ids.contains(&name.value);
                if !is_unread && !description.lines.iter().any(|line| line.id.value == name.value) {
                    notes.push(unknown(&known, name, notes.len()));
                }
                continue;
            };
            for &machine in named {
                match owner.get(&machine) {
                    Some((other, span)) if *other != link.id.value => {
                        let says = format!(
                            "machine {} is moved by link `{}` and by link `{other}`",
                            network.machine(machine).name,
                            link.id.value
                        );
                        let note = Diagnostic::error(code::LINK_MACHINE_TWICE, name.span, says)
                            .help("name it under one of them: two that command one machine fight over it");
                        notes.push(note.related(*span, "here as well"));
                    }
                    Some(_) => {}
                    None => {
                        owner.insert(machine, (&link.id.value, name.span));
                        machines.push(machine);
                    }
                }
            }
        }
        links.push(MachineLink { described, machines });
    }
    // What no link names goes to the first one that names nothing.
    if let Some(rest) = links.iter_mut().find(|link| description.links[link.described].moves.is_none()) {
        let all = (0..network.machines.len()).map(MachineId::at);
        rest.machines = all.filter(|machine| !owner.contains_key(machine)).collect();
    }
    network.links = links;
}

/// The machines that a name means: of a line, a lever, a joint, or its own.
fn known(network: &Network) -> BTreeMap<String, Vec<MachineId>> {
    let mut known: BTreeMap<String, Vec<MachineId>> = BTreeMap::new();
    let mut add = |name: &str, machines: Vec<MachineId>| {
        known.entry(name.to_owned()).or_insert(machines);
    };
    for line in &network.lines {
        let joints = line.passes.iter().map(|pass| network.joint(pass.joint));
        add(&line.name, joints.flat_map(|joint| joint.machines.iter().copied()).collect());
    }
    for lever in &network.levers {
        add(&lever.id, lever.machines.clone());
    }
    for joint in &network.joints {
        add(&joint.id, joint.machines.clone());
    }
    for (index, machine) in network.machines.iter().enumerate() {
        add(&machine.name, vec![MachineId::at(index)]);
    }
    known
}

fn unknown(known: &BTreeMap<String, Vec<MachineId>>, name: &Name, found: usize) -> Diagnostic {
    let message = format!("there is no line, lever or machine `{}` to move", name.value);
    let note = Diagnostic::error(code::CONTROL_UNKNOWN, name.span, message);
    match suggest(found, &name.value, known.keys().map(String::as_str)) {
        Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
        None => note.help("name a [line.*], a [lever.*], the id of a turnout, or a machine such as \"4A\""),
    }
}
