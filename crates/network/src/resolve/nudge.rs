//! What the user pins of the track diagram: which tracks and joints are meant.

use super::known::{Known, may_be_missed};
use crate::model::{Network, Nudge, Nudged};
use description::{Description, Name};
use notice::{Confidence, Diagnostic, code, quoted, suggest};

/// Fills `network.nudges`.
pub(super) fn resolve_nudges(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let known = Known::new(network);
    let drawing = &description.drawing;
    let mut nudges = Vec::new();
    for name in &drawing.straight {
        let Some(joint) = joint_of(&known, description, name, notes) else { continue };
        if known.network.joint(joint).kind.has_two_legs() {
            nudges.push(Nudge { what: Nudged::Straight(joint), span: name.span });
        } else {
            let message = format!("`{}` has no second leg that could be drawn straight on", name.value);
            notes.push(Diagnostic::error(code::DRAWING_NAME_UNKNOWN, name.span, message).help(
                "name a turnout or a wye; its diverging leg is then drawn straight on from the points",
            ));
        }
    }
    for names in &drawing.order {
        let joints: Vec<_> = names
            .iter()
            .filter_map(|name| Some((joint_of(&known, description, name, notes)?, name.span)))
            .collect();
        nudges.extend(
            joints
                .windows(2)
                .map(|pair| Nudge { what: Nudged::LeftOf(pair[0].0, pair[1].0), span: pair[1].1 }),
        );
    }
    for (name, level) in &drawing.levels {
        if let Some(track) = known.via_of(description, name, code::DRAWING_NAME_UNKNOWN, notes) {
            nudges.push(Nudge { what: Nudged::Level(track, level.value), span: level.span });
        }
    }
    network.nudges = nudges;
}

fn joint_of(
    known: &Known<'_>,
    description: &Description,
    name: &Name,
    notes: &mut Vec<Diagnostic>,
) -> Option<crate::JointId> {
    let joint = known.joint_of(name);
    if joint.is_none() && may_be_missed(description, name) {
        let message = format!("there is no turnout or other joint `{}` to draw", name.value);
        let note = Diagnostic::error(code::DRAWING_NAME_UNKNOWN, name.span, message);
        notes.push(match suggest(notes.len(), &name.value, known.joints()) {
            Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
            None => note.help("name what joins tracks by its id"),
        });
    }
    joint
}
