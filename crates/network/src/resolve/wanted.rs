//! The routes that the user names: which stops, tracks and joints are meant.

use super::known::{Known, may_be_missed};
use crate::between::{Prefer, Wish};
use crate::model::{Network, TrackId, Wanted};
use description::{Description, Name, Preference, Route as Described};
use notice::{Confidence, Diagnostic, code, quoted, suggest};

/// Fills `network.wanted`.
pub(super) fn resolve_routes(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let known = Known::new(network);
    let wanted = description
        .routes
        .iter()
        .filter_map(|described| {
            Some(Wanted {
                name: described.id.value.clone(),
                span: described.id.span,
                wish: wish_of(&known, description, described, notes)?,
                prefer: match described.prefer {
                    Preference::FewestReverse => Prefer::FewestReverse,
                    Preference::Shortest => Prefer::Shortest,
                },
            })
        })
        .collect();
    network.wanted = wanted;
}

/// Every part that cannot be resolved is noted, not only the first.
fn wish_of(
    known: &Known<'_>,
    description: &Description,
    described: &Described,
    notes: &mut Vec<Diagnostic>,
) -> Option<Wish> {
    let from = stop_of(known, description, &described.from, notes);
    let to = stop_of(known, description, &described.to, notes);
    let mut complete = true;
    let mut wish = Wish::new(from.unwrap_or(TrackId::at(0)), to.unwrap_or(TrackId::at(0)));
    for name in &described.via {
        match known.via_of(description, name, code::ROUTE_NAME_UNKNOWN, notes) {
            Some(track) => wish.via.push(track),
            None => complete = false,
        }
    }
    for name in &described.avoid {
        complete &= add_avoided(known, description, name, &mut wish, notes);
    }
    if from.is_some() && from == to {
        let message = format!("route `{}` begins and ends at the same track", described.id.value);
        notes.push(
            Diagnostic::error(code::ROUTE_END_NO_STOP, described.to.span, message).help(
                "a route runs between two different stops; give the track in between a stop of its own",
            ),
        );
        return None;
    }
    (complete && from.is_some() && to.is_some()).then_some(wish)
}

fn stop_of(
    known: &Known<'_>,
    description: &Description,
    name: &Name,
    notes: &mut Vec<Diagnostic>,
) -> Option<TrackId> {
    let track = known.track_of(description, name, code::ROUTE_NAME_UNKNOWN, notes)?;
    let described = known.network.track(track);
    if !described.stop {
        let message = format!("no train stops on `{}`, so no route begins or ends there", described.name);
        notes.push(
            Diagnostic::error(code::ROUTE_END_NO_STOP, name.span, message).help(format!(
                "name a stop, or write `stop = true` under [track.{}]",
                quoted(&described.name)
            )),
        );
        return None;
    }
    Some(track)
}

/// Adds a track or joint that is not to be run over; false, with a note, when there is none of that name.
fn add_avoided(
    known: &Known<'_>,
    description: &Description,
    name: &Name,
    wish: &mut Wish,
    notes: &mut Vec<Diagnostic>,
) -> bool {
    // A track and a joint may have the same name; then both are avoided.
    let (joint, track) = (known.joint_of(name), known.track_named(name));
    wish.avoid.joints.extend(joint);
    wish.avoid.tracks.extend(track);
    let found = joint.is_some() || track.is_some();
    if !found && may_be_missed(description, name) {
        let note = Diagnostic::error(
            code::ROUTE_NAME_UNKNOWN,
            name.span,
            format!("there is no track or turnout `{}` to avoid", name.value),
        );
        notes.push(match suggest(notes.len(), &name.value, known.tracks_and_joints()) {
            Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
            None => note.help("name a track, or what joins tracks, by its id"),
        });
    }
    found
}
