//! Tracks that no train standing at a stop can reach, whichever way it sets out.

use network::{Network, Port, TrackId};
use notice::{Diagnostic, code};
use plan::model::Plan;
use std::collections::BTreeSet;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    // Without any stop all tracks are out of reach, and that has been said.
    if network.described.unread.anything() || network.stops().next().is_none() {
        return Vec::new();
    }
    let mut reached = reach(network);
    let mut notes = Vec::new();
    for index in 0..network.tracks.len() {
        if reached[index] {
            continue;
        }
        let group = hanging_together(network, TrackId::at(index), &mut reached);
        let track = &network.tracks[index];
        let others = match group - 1 {
            0 => String::new(),
            1 => " and one more track".to_owned(),
            count => format!(" and {count} more tracks"),
        };
        let message = format!("no train reaches `{}`{others} from any stop", track.name);
        notes
            .push(Diagnostic::warning(code::TRACK_UNREACHABLE, track.span, message).help(
                "check the legs of the joints around it, or make a track there a stop (`stop = true`)",
            ));
    }
    notes
}

/// The tracks that can be run over by a train that sets out from some stop.
pub(crate) fn reach(network: &Network) -> Vec<bool> {
    let mut reached = vec![false; network.tracks.len()];
    let mut seen: BTreeSet<Port> = BTreeSet::new();
    let mut queue: Vec<Port> = Vec::new();
    for stop in network.stops() {
        reached[stop.index()] = true;
        queue.extend(network.track(stop).ends);
    }
    while let Some(port) = queue.pop() {
        if !seen.insert(port) {
            continue;
        }
        let joint = network.joint(port.joint);
        for out in joint.moves.iter().filter_map(|way| way.from(port.port)) {
            reached[joint.tracks[usize::from(out)].index()] = true;
            queue.push(network.across(Port { joint: port.joint, port: out }));
        }
    }
    reached
}

/// Marks every unreached track that meets this one over joints, and counts them.
fn hanging_together(network: &Network, start: TrackId, reached: &mut [bool]) -> usize {
    let mut count = 0;
    let mut queue = vec![start];
    reached[start.index()] = true;
    while let Some(track) = queue.pop() {
        count += 1;
        for end in network.track(track).ends {
            for &other in &network.joint(end.joint).tracks {
                if !std::mem::replace(&mut reached[other.index()], true) {
                    queue.push(other);
                }
            }
        }
    }
    count
}
