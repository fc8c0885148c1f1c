//! The way each named line takes through the network.
//!
//! A line runs from an end or track to another, over the tracks it names on the way, and over no track twice. Of several
//! such ways it takes the straightest: fewest diverging legs, then fewest joints, then the first in the order of the
//! tracks' names. Found by Dijkstra's method over (track, end it is left by, tracks of `via` passed), in
//! O(n log n) for n tracks times the length of `via`.

use super::known::Known;
use crate::model::{Line, MoveShape, Network, Pass, Port, TrackId};
use description::{Description, Line as Described};
use notice::{Diagnostic, code};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// Where the search stands: the end by which the last track is left, and how many of `via` have been passed.
type State = (Port, usize);

/// Diverging legs and joints so far.
type Cost = (u32, u32);

/// The most places that all searches together may look at, so that no file keeps the tool busy for ever.
const LOOKS_MAX: usize = 400_000;

/// Fills `network.lines`.
pub(super) fn find_paths(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let known = Known::new(network);
    let mut lines = Vec::new();
    let mut looks_left = LOOKS_MAX;
    for described in &description.lines {
        let Some((starts, goal)) = ends_of(&known, description, described, notes) else { continue };
        let via: Option<Vec<TrackId>> = described
            .via
            .iter()
            .map(|name| known.via_of(description, name, code::LINE_END_UNKNOWN, notes))
            .collect();
        let Some(via) = via else { continue };
        match straightest(network, &starts, &via, goal, &mut looks_left) {
            Some((tracks, passes)) => {
                lines.push(Line {
                    name: described.id.value.clone(),
                    span: described.id.span,
                    tracks,
                    passes,
                });
            }
            None if looks_left == 0 => {
                notes.push(too_many(described));
                break;
            }
            None => {
                // A broken table may be the missing piece; then that is the mistake to mend.
                if description.unread.ends == 0 && !description.unread.text {
                    notes.push(no_path(described));
                }
            }
        }
    }
    network.lines = lines;
}

fn too_many(described: &Described) -> Diagnostic {
    let message = format!(
        "line `{}` and those after it are not followed: there are too many lines, or they are too long",
        described.id.value
    );
    Diagnostic::error(code::LINE_NO_PATH, described.id.span, message)
        .help("describe only the runs that stand on the panel")
}

fn no_path(described: &Described) -> Diagnostic {
    let over = if described.via.is_empty() { "" } else { " over the tracks of `via`, in their order" };
    let message = format!(
        "no train can run line `{}`, from `{}` to `{}`{over}, without turning back",
        described.id.value, described.from.value, described.to.value
    );
    Diagnostic::error(code::LINE_NO_PATH, described.to.span, message)
        .help("check `from`, `to` and `via`, and the legs of the turnouts in between")
        .related(described.from.span, "it starts here")
}

/// The ends by which the first track can be left, and the track where the line stops.
fn ends_of(
    known: &Known<'_>,
    description: &Description,
    described: &Described,
    notes: &mut Vec<Diagnostic>,
) -> Option<(Vec<Port>, TrackId)> {
    let from = known.track_of(description, &described.from, code::LINE_END_UNKNOWN, notes);
    let to = known.track_of(description, &described.to, code::LINE_END_UNKNOWN, notes);
    let starts = match known.end_of(&described.from) {
        Some(end) => vec![known.network.across(end)],
        None => known.network.track(from?).ends.to_vec(),
    };
    from.and(Some((starts, to?)))
}

fn straightest(
    network: &Network,
    starts: &[Port],
    via: &[TrackId],
    goal: TrackId,
    looks_left: &mut usize,
) -> Option<(Vec<TrackId>, Vec<Pass>)> {
    let track_at = |port: Port| network.joint(port.joint).tracks[port.port as usize];
    let mut best: BTreeMap<State, Cost> = BTreeMap::new();
    let mut came: BTreeMap<State, (State, Pass)> = BTreeMap::new();
    let mut heap: BinaryHeap<Reverse<(Cost, State)>> = BinaryHeap::new();
    for &start in starts {
        let passed = usize::from(via.first() == Some(&track_at(start)));
        best.insert((start, passed), (0, 0));
        heap.push(Reverse(((0, 0), (start, passed))));
    }
    while let Some(Reverse((cost, state))) = heap.pop() {
        let (leave, passed) = state;
        *looks_left = looks_left.checked_sub(1)?;
        if best.get(&state).is_some_and(|&least| least < cost) {
            continue;
        }
        if passed == via.len() && track_at(leave) == goal {
            return walk_back(network, &came, state);
        }
        for (move_index, way) in network.joint(leave.joint).moves.iter().enumerate() {
            let Some(out) = way.from(leave.port) else { continue };
            let entered = Port { joint: leave.joint, port: out };
            let passed = passed + usize::from(via.get(passed) == Some(&track_at(entered)));
            let next = (network.across(entered), passed);
            let cost = (cost.0 + u32::from(way.shape == MoveShape::Diverging), cost.1 + 1);
            if best.get(&next).is_none_or(|&least| cost < least) {
                best.insert(next, cost);
                let move_index = u16::try_from(move_index).unwrap_or(u16::MAX);
                let pass = Pass { joint: leave.joint, enter: leave.port, leave: out, move_index };
                came.insert(next, (state, pass));
                heap.push(Reverse((cost, next)));
            }
        }
    }
    None
}

/// The path that led to `last`; none when it runs over a track twice.
fn walk_back(
    network: &Network,
    came: &BTreeMap<State, (State, Pass)>,
    last: State,
) -> Option<(Vec<TrackId>, Vec<Pass>)> {
    let track_of = |state: State| network.joint(state.0.joint).tracks[state.0.port as usize];
    let mut tracks = vec![track_of(last)];
    let mut passes = Vec::new();
    let mut state = last;
    while let Some(&(before, pass)) = came.get(&state) {
        tracks.push(track_of(before));
        passes.push(pass);
        state = before;
    }
    tracks.reverse();
    passes.reverse();
    let mut seen = tracks.clone();
    seen.sort_unstable();
    seen.dedup();
    (seen.len() == tracks.len()).then_some((tracks, passes))
}
