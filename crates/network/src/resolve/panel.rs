//! What the entries of each panel's `controls` name.

use crate::model::{AccessoryId, Control, Controlled, LeverId, LineId, Network, Panel};
use description::{Description, Name, PanelKind};
use notice::{Confidence, Diagnostic, code, quoted, suggest};
use std::collections::BTreeMap;

/// Fills `network.panels`.
pub(super) fn resolve_controls(
    description: &Description,
    network: &mut Network,
    notes: &mut Vec<Diagnostic>,
) {
    let known = Known::new(network);
    let mut panels = Vec::new();
    for (described, panel) in description.panels.iter().enumerate() {
        let controls = panel.controls.as_ref().map(|names| {
            let mut controls = Vec::new();
            for name in names {
                match known.controlled(&name.value) {
                    Some(Controlled::Accessory(_)) if panel.kind == PanelKind::Fascia => {
                        notes.push(not_on_fascia(name));
                    }
                    Some(what) => controls.push(Control { what, span: name.span }),
                    None if description.unread.ids.contains(&name.value) => {}
                    None if description.lines.iter().any(|line| line.id.value == name.value) => {}
                    None => notes.push(unknown(network, name, notes.len())),
                }
            }
            controls
        });
        panels.push(Panel { described, controls });
    }
    network.panels = panels;
}

/// What a name in `controls` can mean.
struct Known {
    by_name: BTreeMap<String, Controlled>,
}

impl Known {
    fn new(network: &Network) -> Self {
        let mut by_name = BTreeMap::new();
        let mut add = |name: &str, what| {
            by_name.entry(name.to_owned()).or_insert(what);
        };
        // A line, a lever, or the lever of a joint or machine, in that order of preference.
        for (index, line) in network.lines.iter().enumerate() {
            add(&line.name, Controlled::Line(LineId::at(index)));
        }
        for (index, lever) in network.levers.iter().enumerate() {
            add(&lever.id, Controlled::Lever(LeverId::at(index)));
        }
        for joint in &network.joints {
            if let Some(&machine) = joint.machines.first() {
                add(&joint.id, Controlled::Lever(network.machine(machine).lever));
            }
        }
        for machine in &network.machines {
            add(&machine.name, Controlled::Lever(machine.lever));
        }
        // Behind those a signal or light by its id, or by its kind and id where something else is called the same.
        for (index, accessory) in network.accessories.iter().enumerate() {
            add(&accessory.id, Controlled::Accessory(AccessoryId::at(index)));
            add(&accessory.key(), Controlled::Accessory(AccessoryId::at(index)));
        }
        Self { by_name }
    }

    fn controlled(&self, name: &str) -> Option<Controlled> {
        self.by_name.get(name).copied()
    }
}

fn not_on_fascia(name: &Name) -> Diagnostic {
    let message = format!(
        "`{}` is a signal or light, and this version of throwbar puts those on strips, not on fascias",
        name.value
    );
    Diagnostic::warning(code::TABLE_NOT_USED, name.span, message)
        .help("name it in the `controls` of a strip, or leave it out; it keeps its number and address")
}

fn unknown(network: &Network, name: &Name, found: usize) -> Diagnostic {
    let message = format!("there is no line, lever or accessory `{}` to control", name.value);
    let note = Diagnostic::error(code::CONTROL_UNKNOWN, name.span, message);
    let lines = network.lines.iter().map(|line| line.name.as_str());
    let known = lines.chain(network.levers.iter().map(|lever| lever.id.as_str()));
    let known = known.chain(network.accessories.iter().map(|accessory| accessory.id.as_str()));
    match suggest(found, &name.value, known) {
        Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
        None => note.help("name a [line.*], a [lever.*], the id of a turnout, or a [signal.*] or [light.*]"),
    }
}
