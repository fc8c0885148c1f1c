//! The track list: where the two ends of every track lie, and whether trains stop on it.

use network::{JointKind, Network, Port, Track, TrackId};
use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;

/// Every track in natural order of the names.
pub(crate) fn tracks(ledger: &Ledger<'_>) -> Array {
    let network = &ledger.plan.network;
    network
        .tracks
        .iter()
        .enumerate()
        .map(|(index, track)| row(ledger, TrackId::at(index), track).into_value())
        .collect()
}

fn row(ledger: &Ledger<'_>, id: TrackId, track: &Track) -> Dict {
    let network = &ledger.plan.network;
    let lines = network.lines.iter().filter(|line| line.tracks.contains(&id));
    dict! {
        "name" => ledger.words(&track.name),
        "ends" => track.ends.iter().map(|&end| end_of_track(ledger, network, end).into_value()).collect::<Array>(),
        "stop" => track.stop,
        "length" => track.length.map(|length| length.print(network.described.layout.units)),
        "lines" => lines.map(|line| ledger.words(&line.name)).collect::<Array>(),
    }
}

/// One end of a track: the joint it lies at and which of its legs it is: `(joint, leg)`.
fn end_of_track(ledger: &Ledger<'_>, network: &Network, end: Port) -> Dict {
    let joint = network.joint(end.joint);
    dict! { "joint" => ledger.words(&joint.name), "leg" => leg(joint.kind, end.port) }
}

/// What a builder calls this port of a joint.
pub(crate) fn leg(kind: JointKind, port: u8) -> String {
    let of = |legs: &[&str]| legs.get(usize::from(port)).map_or_else(String::new, |leg| (*leg).to_owned());
    match kind {
        JointKind::End { is, .. } => match is {
            description::EndKind::Bumper => "bumper",
            description::EndKind::Staging => "staging",
            description::EndKind::Beyond => "goes on",
        }
        .to_owned(),
        JointKind::Turnout { .. } => of(&["points", "through", "diverging"]),
        JointKind::Wye => of(&["points", "left", "right"]),
        JointKind::Threeway => of(&["points", "through", "left", "right"]),
        JointKind::Crossover { .. } | JointKind::Scissors => {
            of(&["one, near", "one, far", "other, near", "other, far"])
        }
        JointKind::Slip { .. } | JointKind::Crossing => of(&["a", "b", "c", "d"]),
        JointKind::Turntable { approach_count } if port < approach_count => format!("approach {}", port + 1),
        JointKind::Turntable { approach_count } => format!("stall {}", port - approach_count + 1),
    }
}
