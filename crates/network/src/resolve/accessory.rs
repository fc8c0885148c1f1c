//! Signals and lights: where a signal stands, and what it guards.

use super::known::Known;
use crate::model::{Accessory, Guarded, LeverId, MachineId, Network, TrackId};
use description::{Description, Name};
use notice::{Confidence, Diagnostic, code, natural, quoted, suggest};

/// Fills `network.accessories`: signals, then lights, each in natural order of their ids.
pub(super) fn resolve_accessories(
    description: &Description,
    network: &mut Network,
    notes: &mut Vec<Diagnostic>,
) {
    let known = Known::new(network);
    let mut accessories: Vec<Accessory> = description
        .accessories
        .iter()
        .map(|written| {
            let on = written.on.as_ref();
            let on = on.and_then(|name| known.track_of(description, name, code::SIGNAL_NAME_UNKNOWN, notes));
            let guards = written.guards.as_ref();
            let guards = guards.and_then(|name| guarded(&known, description, name, notes));
            Accessory {
                kind: written.kind,
                id: written.id.value.clone(),
                name: written.name.clone().unwrap_or_else(|| written.id.value.clone()),
                span: written.id.span,
                on,
                guards,
                at: written
                    .at
                    .as_ref()
                    .map(|at| at.value.clone())
                    .or_else(|| near(known.network, description, on, guards)),
                part: written.part.as_ref().map_or_else(|| LAMP.to_owned(), |part| part.value.clone()),
                draw: written.draw.map(|draw| draw.value),
                pins: written.pins.clone(),
            }
        })
        .collect();
    accessories.sort_by(|a, b| a.kind.cmp(&b.kind).then_with(|| natural(&a.id, &b.id)));
    network.accessories = accessories;
}

/// The part that lamps are where nothing else is written.
const LAMP: &str = "lamp";

/// Where a signal stands that does not say so: at what it guards, else at its track or the nearer of the track's ends.
fn near(
    network: &Network,
    description: &Description,
    on: Option<TrackId>,
    guards: Option<Guarded>,
) -> Option<String> {
    let of_joint = |joint| network.joint(joint).at.clone();
    let of_machine = |machine: MachineId| of_joint(network.machine(machine).joint);
    let guarded = guards.and_then(|guarded| match guarded {
        Guarded::Joint(joint) => of_joint(joint),
        Guarded::Machine(machine) => of_machine(machine),
        Guarded::Lever(lever) => {
            network.lever(lever).machines.iter().find_map(|machine| of_machine(*machine))
        }
    });
    guarded.or_else(|| {
        let track = network.track(on?);
        let facts = description.tracks.iter().find(|facts| facts.id.value == track.name);
        let written = facts.and_then(|facts| facts.at.first()).map(|at| at.value.clone());
        written.or_else(|| track.ends.iter().find_map(|end| of_joint(end.joint)))
    })
}

/// What a name in `guards` means: a joint, a lever, or one machine, in that order; none, with a note, where it means nothing.
fn guarded(
    known: &Known<'_>,
    description: &Description,
    name: &Name,
    notes: &mut Vec<Diagnostic>,
) -> Option<Guarded> {
    let network = known.network;
    let word = name.value.as_str();
    if let Some(joint) = known.joint_of(name) {
        return Some(Guarded::Joint(joint));
    }
    if let Some(lever) = network.levers.iter().position(|lever| lever.id == word) {
        return Some(Guarded::Lever(LeverId::at(lever)));
    }
    if let Some(machine) = network.machines.iter().position(|machine| machine.name == word) {
        return Some(Guarded::Machine(MachineId::at(machine)));
    }
    if description.unread.text || description.unread.ids.contains(word) {
        return None;
    }
    let message = format!("there is no turnout, lever or machine `{word}` to guard");
    let note = Diagnostic::error(code::SIGNAL_NAME_UNKNOWN, name.span, message);
    let joints = network.joints.iter().filter(|joint| joint.tracks.len() > 1);
    let names = joints.map(|joint| joint.id.as_str());
    let names = names.chain(network.levers.iter().map(|lever| lever.id.as_str()));
    let names = names.chain(network.machines.iter().map(|machine| machine.name.as_str()));
    notes.push(match suggest(notes.len(), word, names) {
        Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
        None => note.help("name the id of a turnout, crossover, slip or crossing, a [lever.*] or a machine"),
    });
    None
}
