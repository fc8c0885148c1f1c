//! Where the rails are cut, so that polarity clashes nowhere: reversing sections with a gap at each of their two ends, and
//! gaps where power districts meet.
//!
//! Which tracks become reversing sections is a matter of the network alone ([`network::follow_rails`]): as few as can be,
//! and of these the longest. A gap is two cuts, one in each rail, at an end of a track, in front of a joint.

use crate::model::{Gap, ReversingSection};
use crate::reason::{DISTRICTS_MEET, FEWEST_PROVEN, FEWEST_WITHIN, RAILS_MEET_CROSSED};
use network::{JointId, JointKind, Network, Piece, Polarity, Port, TrackId};
use notice::{Because, Decided};

/// The reversing sections of a network and every gap it needs.
pub(crate) fn place_gaps(network: &Network, polarity: &Polarity) -> (Vec<ReversingSection>, Vec<Gap>) {
    let mut sections = Vec::new();
    let mut gaps = Vec::new();
    for &piece in &polarity.reversing {
        let how_sure = if polarity.proven() {
            Because::new(&FEWEST_PROVEN, [polarity.reversing.len().into()])
        } else {
            Because::new(&FEWEST_WITHIN, [polarity.reversing.len().into(), polarity.fewest_bound.into()])
        };
        match piece {
            Piece::Track(track) => {
                let described = network.track(track);
                let why = Because::new(&RAILS_MEET_CROSSED, [described.name.as_str().into()]);
                sections.push(ReversingSection {
                    name: described.name.clone(),
                    track: Some(track),
                    length: described.length,
                });
                for port in described.ends {
                    gaps.push(gap(network, track, port, Decided::new((), why.clone()).and(how_sure.clone())));
                }
            }
            Piece::Link(joint, _) => {
                let id = &network.joint(joint).id;
                let name = format!("the link of {id}");
                let why = Because::new(&RAILS_MEET_CROSSED, [name.as_str().into()]);
                sections.push(ReversingSection { name: name.clone(), track: None, length: None });
                gaps.push(Gap {
                    track: name,
                    end: "both ends".to_owned(),
                    at: None,
                    why: Decided::new((), why).and(how_sure.clone()),
                });
            }
        }
    }
    gaps.extend(district_borders(network));
    (sections, gaps)
}

fn gap(network: &Network, track: TrackId, port: Port, why: Decided<()>) -> Gap {
    Gap {
        track: network.track(track).name.clone(),
        end: end_words(network, port),
        at: Some((track, port)),
        why,
    }
}

/// Which end of a track, in words: "at the points of yard".
fn end_words(network: &Network, port: Port) -> String {
    let joint = network.joint(port.joint);
    let leg = match (joint.kind, port.port) {
        (JointKind::Turnout { .. } | JointKind::Wye | JointKind::Threeway, 0) => "the points of ",
        (JointKind::Turnout { .. } | JointKind::Threeway, 1) => "the through leg of ",
        (JointKind::Turnout { .. }, 2) => "the diverging leg of ",
        (JointKind::Wye, 1) | (JointKind::Threeway, 2) => "the left leg of ",
        (JointKind::Wye, 2) | (JointKind::Threeway, 3) => "the right leg of ",
        _ => "",
    };
    format!("at {leg}{}", joint.id)
}

/// A gap wherever tracks of different districts meet at a joint: in the track whose district comes later.
fn district_borders(network: &Network) -> Vec<Gap> {
    let mut gaps = Vec::new();
    for (index, joint) in network.joints.iter().enumerate() {
        let district_of = |track: &TrackId| network.track(*track).district.as_deref();
        let Some(first) = joint.tracks.iter().filter_map(district_of).min() else { continue };
        for (port, track) in joint.tracks.iter().enumerate() {
            let Some(district) = district_of(track).filter(|district| *district != first) else { continue };
            let port = Port { joint: JointId::at(index), port: u8::try_from(port).unwrap_or(u8::MAX) };
            let why = Because::new(&DISTRICTS_MEET, [first.into(), district.into()]);
            gaps.push(gap(network, *track, port, Decided::new((), why)));
        }
    }
    gaps
}
