//! What the entries of each panel's `controls` name.

use crate::model::{Control, Controlled, LeverId, LineId, Network, Panel};
use description::{Description, Name};
use notice::{Confidence, Diagnostic, code, nearest};

/// Fills `network.panels`.
pub(super) fn resolve_controls(
    description: &Description,
    network: &mut Network,
    notes: &mut Vec<Diagnostic>,
) {
    let mut panels = Vec::new();
    for (described, panel) in description.panels.iter().enumerate() {
        let controls = panel.controls.as_ref().map(|names| {
            let mut controls = Vec::new();
            for name in names {
                match controlled(network, &name.value) {
                    Some(what) => controls.push(Control { what, span: name.span }),
                    None if description.unread.ids.contains(&name.value) => {}
                    None if description.lines.iter().any(|line| line.id.value == name.value) => {}
                    None => notes.push(unknown(network, name)),
                }
            }
            controls
        });
        panels.push(Panel { described, controls });
    }
    network.panels = panels;
}

/// A line, a lever, or the lever of a joint or machine, in that order of preference.
fn controlled(network: &Network, name: &str) -> Option<Controlled> {
    if let Some(line) = network.lines.iter().position(|line| line.name == name) {
        return Some(Controlled::Line(LineId::at(line)));
    }
    if let Some(lever) = network.levers.iter().position(|lever| lever.id == name) {
        return Some(Controlled::Lever(LeverId::at(lever)));
    }
    let of_joint =
        network.joints.iter().find(|joint| joint.id == name).and_then(|joint| joint.machines.first());
    let machine = of_joint
        .map(|machine| network.machine(*machine))
        .or_else(|| network.machines.iter().find(|machine| machine.name == name))?;
    Some(Controlled::Lever(machine.lever))
}

fn unknown(network: &Network, name: &Name) -> Diagnostic {
    let message = format!("there is no line or lever `{}` to control", name.value);
    let note = Diagnostic::error(code::CONTROL_UNKNOWN, name.span, message);
    let lines = network.lines.iter().map(|line| line.name.as_str());
    let known = lines.chain(network.levers.iter().map(|lever| lever.id.as_str()));
    match nearest(&name.value, known) {
        Some(near) => {
            note.help(format!("did you mean `{near}`?")).replace(format!("\"{near}\""), Confidence::Ask)
        }
        None => note.help("name a [line.*], a [lever.*] or the id of a turnout"),
    }
}
