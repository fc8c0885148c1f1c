//! Tracks, from the things that name their ends.

use crate::model::{Joint, JointId, JointKind, Network, Port, Track, TrackId};
use description::{Description, EndKind, Joint as Described, JointKind as DescribedKind, Name, Pins};
use indexmap::IndexMap;
use notice::{Confidence, Diagnostic, Span, code, natural, quoted, suggest};
use std::collections::{BTreeMap, BTreeSet};

/// The most places that a diagnostic points to beside its own.
const RELATED_MAX: usize = 12;

/// One naming of one end of a track.
struct Naming<'a> {
    name: &'a Name,
    port: Port,
}

/// Fills `network.joints` (moves come later) and `network.tracks`; returns how many tracks had to be patched.
pub(super) fn gather(
    description: &Description,
    kept: &[usize],
    network: &mut Network,
    notes: &mut Vec<Diagnostic>,
) -> usize {
    let mut namings: Vec<Naming<'_>> = Vec::new();
    for &index in kept {
        let described = &description.joints[index];
        let joint = JointId::at(network.joints.len());
        for (port, name) in described.tracks.iter().enumerate() {
            namings.push(Naming { name, port: Port { joint, port: port_number(port) } });
        }
        network.joints.push(blank_joint(described));
    }
    for end in in_natural_order(&description.ends) {
        let joint = JointId::at(network.joints.len());
        namings.push(Naming { name: &end.track, port: Port { joint, port: 0 } });
        network.joints.push(Joint {
            id: end.id.value.clone(),
            name: end.id.value.clone(),
            span: end.id.span,
            kind: JointKind::End { is: end.is, side: end.side },
            ..blank()
        });
    }
    let mut by_track: IndexMap<&str, Vec<Naming<'_>>> = IndexMap::new();
    for naming in namings {
        by_track.entry(&naming.name.value).or_default().push(naming);
    }
    by_track.sort_by(|a, _, b, _| natural(a, b));
    for namings in by_track.values_mut() {
        namings.sort_by_key(|naming| naming.name.span);
    }
    report_ends(description, kept, &by_track, network, notes);
    let patched_count = by_track.values().filter(|namings| namings.len() != 2).count();
    build(by_track, network);
    add_facts(description, network, notes);
    patched_count
}

/// More than this many tracks at one joint is no joint; it only matters to keep port numbers in a byte.
fn port_number(port: usize) -> u8 {
    u8::try_from(port).unwrap_or(u8::MAX)
}

fn in_natural_order(ends: &[description::End]) -> Vec<&description::End> {
    let mut ends: Vec<_> = ends.iter().collect();
    ends.sort_by(|a, b| natural(&a.id.value, &b.id.value));
    ends
}

fn blank() -> Joint {
    Joint {
        id: String::new(),
        name: String::new(),
        span: Span::default(),
        kind: JointKind::Crossing,
        tracks: Vec::new(),
        moves: Vec::new(),
        machines: Vec::new(),
        at: None,
        frog_feed: None,
        pins: Pins::default(),
    }
}

fn blank_joint(described: &Described) -> Joint {
    let kind = match described.kind {
        DescribedKind::Turnout { hand } => {
            JointKind::Turnout { hand: hand.unwrap_or(description::Hand::Right) }
        }
        DescribedKind::Wye => JointKind::Wye,
        DescribedKind::Threeway => JointKind::Threeway,
        DescribedKind::Crossover { hand } => JointKind::Crossover { hand },
        DescribedKind::Scissors => JointKind::Scissors,
        DescribedKind::Slip { double, .. } => JointKind::Slip { double },
        DescribedKind::Crossing => JointKind::Crossing,
        DescribedKind::Turntable { approach_count } => {
            JointKind::Turntable { approach_count: port_number(approach_count) }
        }
    };
    Joint {
        id: described.id.value.clone(),
        name: described.name.as_ref().map_or_else(|| described.id.value.clone(), |name| name.value.clone()),
        span: described.id.span,
        kind,
        at: described.at.as_ref().map(|at| at.value.clone()),
        frog_feed: described.frog_feed,
        pins: described.pins.clone(),
        ..blank()
    }
}

/// Tracks that do not have exactly two ends.
fn report_ends(
    description: &Description,
    kept: &[usize],
    by_track: &IndexMap<&str, Vec<Naming<'_>>>,
    network: &Network,
    notes: &mut Vec<Diagnostic>,
) {
    let all_legs_one = report_legs(description, kept, notes);
    let unread = &description.unread;
    if unread.ends == 0 && !unread.text {
        let is_one_ended = |namings: &[Naming<'_>]| namings.len() == 1;
        let lone = by_track.iter().filter(|(_, namings)| is_one_ended(namings));
        let lone = lone.filter(|(track, _)| !unread.tracks.contains(**track));
        let lone: BTreeMap<&str, &Naming<'_>> =
            lone.flat_map(|(track, namings)| namings.iter().map(|naming| (*track, naming))).collect();
        report_one_ended(&lone, network, notes);
    }
    for (track, namings) in by_track {
        if let [first, second, third, rest @ ..] = namings.as_slice()
            && !all_legs_one.contains(track)
        {
            let message = format!("`{track}` is named at {} ends, a track has two", 3 + rest.len());
            let mut note = Diagnostic::error(code::TRACK_MANY_ENDS, third.name.span, message).help(
                "give the tracks on the two sides of a joint different names, such as `main 1` and `main 2`",
            );
            for other in [first, second].into_iter().chain(rest).take(RELATED_MAX) {
                note = note.related(other.name.span, format!("named here, by {}", says(network, other.port)));
            }
            notes.push(note);
        }
    }
}

/// Joints whose legs are all one track; returns these tracks.
fn report_legs<'a>(
    description: &'a Description,
    kept: &[usize],
    notes: &mut Vec<Diagnostic>,
) -> BTreeSet<&'a str> {
    let mut all_legs_one = BTreeSet::new();
    for &index in kept {
        let joint = &description.joints[index];
        let [first, others @ ..] = joint.tracks.as_slice() else { continue };
        if others.len() >= 2 && others.iter().all(|other| other.value == first.value) {
            let message = format!("all legs of `{}` are the same track `{}`", joint.id.value, first.value);
            let mut note = Diagnostic::error(code::LEGS_SAME_TRACK, first.span, message)
                .help("name for each leg the track that it leads to");
            for other in others.iter().take(RELATED_MAX) {
                note = note.related(other.span, "the same track");
            }
            notes.push(note);
            all_legs_one.insert(first.value.as_str());
        }
    }
    all_legs_one
}

/// Tracks that are named once. Two whose names are nearly the same are most likely one track, and one mistake: it is
/// reported where the second one stands.
fn report_one_ended(lone: &BTreeMap<&str, &Naming<'_>>, network: &Network, notes: &mut Vec<Diagnostic>) {
    let mut near: BTreeMap<&str, &str> = BTreeMap::new();
    for (found, track) in lone.keys().enumerate() {
        let others = lone.keys().copied().filter(|other| !differ_by_number(track, other));
        near.extend(suggest(notes.len() + found, track, others).map(|other| (*track, other)));
    }
    for (track, only) in lone {
        let message =
            format!("`{track}` has one end named, by {}; a track has two", says(network, only.port));
        let note = Diagnostic::error(code::TRACK_ONE_END, only.name.span, message);
        let twin = near.get(track).and_then(|other| lone.get_key_value(other));
        notes.push(match twin {
            Some((other, twin)) => {
                let mutual = near.get(other) == Some(track);
                if mutual && only.name.span < twin.name.span {
                    continue;
                }
                note.help(format!("did you mean `{other}`, which also has one end?"))
                    .replace(quoted(other), Confidence::Ask)
                    .related(
                        twin.name.span,
                        format!("`{other}` is named here, by {}", says(network, twin.port)),
                    )
            }
            None => note.help(format!(
                "name what is at its other end, such as\n[end.{0}]\ntrack = {0}",
                quoted(track)
            )),
        });
    }
}

/// Whether two names are the same but for their digits: `yard 1` and `yard 2` are two tracks, not one misspelt.
fn differ_by_number(a: &str, b: &str) -> bool {
    a.chars().filter(|c| !c.is_ascii_digit()).eq(b.chars().filter(|c| !c.is_ascii_digit()))
}

/// What names a port, in words: "the diverging leg of `3`".
fn says(network: &Network, port: Port) -> String {
    let joint = network.joint(port.joint);
    let legs: &[&str] = match joint.kind {
        JointKind::End { .. } => return format!("the end `{}`", joint.id),
        JointKind::Turnout { .. } => &["points", "through leg", "diverging leg"],
        JointKind::Wye => &["points", "left leg", "right leg"],
        JointKind::Threeway => &["points", "through leg", "left leg", "right leg"],
        JointKind::Crossover { .. } | JointKind::Scissors | JointKind::Slip { .. } | JointKind::Crossing => {
            &[
                "first track of `one`",
                "second track of `one`",
                "first track of `other`",
                "second track of `other`",
            ]
        }
        JointKind::Turntable { approach_count } => {
            return if port.port < approach_count {
                format!("an approach of `{}`", joint.id)
            } else {
                format!("a stall of `{}`", joint.id)
            };
        }
    };
    format!("the {} of `{}`", legs.get(port.port as usize).unwrap_or(&"leg"), joint.id)
}

/// Makes the tracks; patches those with too few or too many ends.
fn build(by_track: IndexMap<&str, Vec<Naming<'_>>>, network: &mut Network) {
    let mut tracks_at: Vec<Vec<(u8, TrackId)>> = vec![Vec::new(); network.joints.len()];
    let mut add = |network: &mut Network, name: &str, span: Span, ends: Vec<Port>| {
        let id = TrackId::at(network.tracks.len());
        let mut ends = ends;
        while ends.len() < 2 {
            let joint = JointId::at(network.joints.len());
            ends.push(Port { joint, port: 0 });
            network.joints.push(Joint {
                id: format!("{name} (open)"),
                name: format!("{name} (open)"),
                span,
                kind: JointKind::End { is: EndKind::Bumper, side: None },
                ..blank()
            });
            tracks_at.push(Vec::new());
        }
        for port in &ends {
            tracks_at[port.joint.index()].push((port.port, id));
        }
        let stop = ends.iter().any(|port| matches!(network.joint(port.joint).kind, JointKind::End { .. }));
        network.tracks.push(Track {
            name: name.to_owned(),
            span,
            ends: [ends[0], ends[1]],
            stop,
            length: None,
            district: None,
        });
    };
    for (name, namings) in by_track {
        for (index, two) in namings.chunks(2).enumerate() {
            let ends = two.iter().map(|naming| naming.port).collect();
            let name = if index == 0 { name.to_owned() } else { format!("{name} ({})", index + 1) };
            add(network, &name, two[0].name.span, ends);
        }
    }
    for (joint, mut tracks) in network.joints.iter_mut().zip(tracks_at) {
        tracks.sort_unstable();
        joint.tracks = tracks.into_iter().map(|(_, track)| track).collect();
    }
}

/// `[track.*]`.
fn add_facts(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let mut by_name: BTreeMap<String, usize> = BTreeMap::new();
    for (index, track) in network.tracks.iter().enumerate() {
        by_name.entry(track.name.clone()).or_insert(index);
    }
    for facts in &description.tracks {
        let Some(&index) = by_name.get(&facts.id.value) else {
            let known_elsewhere = description.unread.tracks.contains(&facts.id.value);
            if known_elsewhere || description.unread.ends > 0 || description.unread.text {
                continue;
            }
            let message = format!("no joint names a track `{}`", facts.id.value);
            let note = Diagnostic::error(code::TRACK_UNKNOWN, facts.id.span, message);
            notes.push(
                match suggest(
                    notes.len(),
                    &facts.id.value,
                    network.tracks.iter().map(|track| track.name.as_str()),
                ) {
                    Some(near) => {
                        note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask)
                    }
                    None => note.help("a track exists where a turnout, an end or another joint names it"),
                },
            );
            continue;
        };
        let track = &mut network.tracks[index];
        track.length = facts.length.map(|length| length.value);
        track.stop = facts.stop.unwrap_or(track.stop);
        track.district = facts.district.as_ref().map(|district| district.value.clone());
    }
    if !network.tracks.is_empty() && network.stops().next().is_none() {
        let span = network.tracks[0].span;
        notes.push(
            Diagnostic::warning(code::STOP_MISSING, span, "no track is a stop, so there is no route").help(
                format!(
                    "say where trains stop, such as\n[track.\"{}\"]\nstop = true",
                    network.tracks[0].name
                ),
            ),
        );
    }
}
