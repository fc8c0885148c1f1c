//! Names that must be unique, and names of parts and places that must exist.

use description::{Buttons, Description, Name, PanelKind, Role};
use indexmap::IndexMap;
use notice::{Confidence, Diagnostic, Span, code, natural, quoted, suggest};
use std::collections::BTreeSet;

/// The indices of the joints to keep, in natural order of their ids: every id once.
pub(super) fn unique_joints(description: &Description, notes: &mut Vec<Diagnostic>) -> Vec<usize> {
    let mut in_text_order: Vec<usize> = (0..description.joints.len()).collect();
    in_text_order.sort_by_key(|&index| description.joints[index].id.span);
    let mut first_of: IndexMap<&str, (usize, Span)> = IndexMap::new();
    for index in in_text_order {
        let id = &description.joints[index].id;
        match first_of.get(id.value.as_str()) {
            None => {
                first_of.insert(&id.value, (index, id.span));
            }
            Some((_, first)) => {
                let message = format!("`{}` is the id of two things", id.value);
                notes.push(
                    Diagnostic::error(code::ID_USED_TWICE, id.span, message)
                        .help("give one of them another id, and name it so wherever it is meant")
                        .related(*first, "the first one"),
                );
            }
        }
    }
    let mut kept: Vec<usize> = first_of.values().map(|(index, _)| *index).collect();
    kept.sort_by(|&a, &b| natural(&description.joints[a].id.value, &description.joints[b].id.value));
    kept
}

/// Every place the bench names, when there is a bench.
pub(super) fn check_places(description: &Description, notes: &mut Vec<Diagnostic>) {
    let Some(bench) = &description.bench else { return };
    let mut places: BTreeSet<&str> = BTreeSet::new();
    for run in &bench.runs {
        if run.from.value == run.to.value {
            let message =
                format!("this run goes from `{}` to `{}`, which is nowhere", run.from.value, run.to.value);
            notes.push(
                Diagnostic::error(code::BENCH_RUN_NOWHERE, run.to.span, message)
                    .help("name the place at its other end")
                    .related(run.from.span, "it starts here"),
            );
        }
        places.extend([run.from.value.as_str(), run.to.value.as_str()]);
    }
    let mut named: Vec<&Name> = Vec::new();
    named.extend(description.joints.iter().filter_map(|joint| joint.at.as_ref()));
    named.extend(description.tracks.iter().flat_map(|track| &track.at));
    named.extend(description.panels.iter().filter_map(|panel| panel.at.as_ref()));
    named.extend(description.accessories.iter().filter_map(|accessory| accessory.at.as_ref()));
    named.extend(description.places.iter().map(|place| &place.id));
    for name in named {
        if places.contains(name.value.as_str()) {
            continue;
        }
        let message = format!("no bench run leads to `{}`, so wires to it have no length", name.value);
        let note = Diagnostic::warning(code::PLACE_OFF_BENCH, name.span, message);
        notes.push(match suggest(notes.len(), &name.value, places.iter().copied()) {
            Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
            None => note.help(format!(
                "add to [bench] a run such as {{ from = \"{}\", to = \"{}\", length = \"4 ft\" }}",
                places.iter().next().unwrap_or(&"bay 1"),
                name.value
            )),
        });
    }
}

/// The most names that a help lists.
const NAMES_MAX: usize = 12;

/// Every part that is named exists and is for what it is used for.
pub(super) fn check_parts(description: &Description, notes: &mut Vec<Diagnostic>) {
    let mut check = |name: &Name, role: Role, role_words: &str| match description.parts.get(&name.value) {
        Some(part) if part.role == role => {}
        Some(part) => {
            let message = format!("`{}` is not a {role_words}", name.value);
            let note = Diagnostic::error(code::PART_WRONG_ROLE, name.span, message)
                .help(format!("name a {role_words}: {}", of_role(description, role)));
            notes.push(match part.span {
                Some(span) => note.related(span, "it is described here"),
                None => note,
            });
        }
        None if description.unread.ids.contains(&name.value) => {}
        None => {
            let note = Diagnostic::error(
                code::PART_UNKNOWN,
                name.span,
                format!("there is no part `{}`", name.value),
            );
            let near = suggest(notes.len(), &name.value, description.parts.keys().map(String::as_str));
            notes.push(match near {
                Some(near) => {
                    note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask)
                }
                None => note.help(format!(
                    "name one of {}, or describe it in [part.\"{}\"]",
                    of_role(description, role),
                    name.value
                )),
            });
        }
    };
    for motor in description.joints.iter().filter_map(|joint| joint.motor.as_ref()) {
        check(motor, Role::Motor, "motor");
    }
    check(&description.defaults.motor, Role::Motor, "motor");
    check(&description.defaults.decoder, Role::Decoder, "decoder");
    check(&description.defaults.supply, Role::Supply, "supply");
    for part in description.accessories.iter().filter_map(|accessory| accessory.part.as_ref()) {
        check(part, Role::Lamp, "lamp");
    }
    for panel in &description.panels {
        let (role, noun) = match (panel.kind, panel.fascia.buttons) {
            (PanelKind::Strip, _) => (Role::Strip, "strip"),
            (PanelKind::Fascia, Buttons::Toggle) => (Role::Toggle, "toggle"),
            (PanelKind::Fascia, Buttons::OnePush | Buttons::Pair) => (Role::Button, "button"),
            (PanelKind::Screen, _) => continue,
        };
        if let Some(part) = &panel.part {
            check(part, role, noun);
        }
    }
}

fn of_role(description: &Description, role: Role) -> String {
    let names: Vec<String> = description
        .parts
        .iter()
        .filter(|(_, part)| part.role == role)
        .map(|(name, _)| format!("`{name}`"))
        .take(NAMES_MAX)
        .collect();
    names.join(", ")
}
