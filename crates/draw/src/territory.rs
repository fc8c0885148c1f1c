//! The part of a railroad that a panel is for, as a railroad of its own.
//!
//! It holds the joints that the panel's levers move, the ends and crossings next to them, and the tracks between; a track
//! that goes on into another territory stops at an end of its own, named for the track and open. Which way things lie is
//! taken over from the drawing of the whole, so that the operator's left stays left.

use crate::compose::Wording;
use crate::schematic::geometry::{Geometry, StopKind};
use crate::schematic::{Draft, Operator};
use description::{Description, EndKind, Hand};
use network::{
    Joint, JointId, JointKind, Lever, LeverId, Line, Machine, MachineId, Move, Network, Port, Track, TrackId,
};
use notice::Span;
use std::collections::{BTreeMap, BTreeSet};

/// A part of a railroad, with the way back to the whole.
pub(crate) struct Territory {
    pub(crate) network: Network,
    /// For each machine of the whole that is here, its id here.
    pub(crate) machines: BTreeMap<MachineId, MachineId>,
    /// For each track of the whole that is here, its id here.
    pub(crate) tracks: BTreeMap<TrackId, TrackId>,
    /// For each lever here, which one of the whole it is.
    pub(crate) levers: Vec<LeverId>,
}

/// The joints that these levers move, and those without machines that tracks of theirs lead to.
pub(crate) fn joints_of(network: &Network, levers: &[LeverId]) -> BTreeSet<JointId> {
    let mut joints: BTreeSet<JointId> = levers
        .iter()
        .flat_map(|&lever| &network.lever(lever).machines)
        .map(|&machine| network.machine(machine).joint)
        .collect();
    let mut open: Vec<JointId> = joints.iter().copied().collect();
    while let Some(joint) = open.pop() {
        for &track in &network.joint(joint).tracks {
            for end in network.track(track).ends {
                if network.joint(end.joint).machines.is_empty() && joints.insert(end.joint) {
                    open.push(end.joint);
                }
            }
        }
    }
    joints
}

/// The territory of these levers.
pub(crate) fn territory(wording: &Wording, levers: &[LeverId]) -> Territory {
    let network = wording.network;
    let joints = joints_of(network, levers);
    let sides = Sides::of(&Draft::of(wording, Operator::Front).geometry());
    let inside = |track: &Track| track.ends.iter().any(|end| joints.contains(&end.joint));
    let kept = (0..network.tracks.len()).map(TrackId::at).filter(|&id| inside(network.track(id)));
    let tracks: BTreeMap<TrackId, TrackId> =
        kept.enumerate().map(|(new, id)| (id, TrackId::at(new))).collect();
    let machines: BTreeMap<MachineId, MachineId> = (0..network.machines.len())
        .map(MachineId::at)
        .filter(|&id| joints.contains(&network.machine(id).joint))
        .enumerate()
        .map(|(new, id)| (id, MachineId::at(new)))
        .collect();
    let own: BTreeSet<LeverId> = machines.keys().map(|&machine| network.machine(machine).lever).collect();
    let levers: Vec<LeverId> = own.into_iter().collect();
    let mut made = Territory { network: Network::default(), machines, tracks, levers };
    made.fill(network, &joints, &sides);
    made
}

/// On which side of the whole drawing things lie.
struct Sides {
    ends: BTreeMap<JointId, Hand>,
    /// The side to which a track leads from one of its ports.
    onward: BTreeMap<Port, Hand>,
}

impl Sides {
    fn of(geometry: &Geometry) -> Self {
        let hand = |right: bool| if right { Hand::Right } else { Hand::Left };
        let ends = geometry.stops.iter().filter_map(|stop| match stop.kind {
            StopKind::End(joint, _) => Some((joint, hand(stop.at_right))),
            StopKind::Connector(_) => None,
        });
        let onward = geometry.runs.iter().flat_map(|run| {
            let [left, right] = run.ports;
            [left.map(|port| (port, Hand::Right)), right.map(|port| (port, Hand::Left))]
        });
        Self { ends: ends.collect(), onward: onward.flatten().collect() }
    }
}

impl Territory {
    fn fill(&mut self, whole: &Network, joints: &BTreeSet<JointId>, sides: &Sides) {
        let joint_ids: BTreeMap<JointId, JointId> =
            joints.iter().enumerate().map(|(new, &id)| (id, JointId::at(new))).collect();
        let lever_ids: BTreeMap<LeverId, LeverId> =
            self.levers.iter().enumerate().map(|(new, &id)| (id, LeverId::at(new))).collect();
        let mut made = Network {
            described: Description { layout: whole.described.layout.clone(), ..Description::default() },
            ..Network::default()
        };
        made.joints = joints.iter().map(|&id| self.joint(whole, id, sides)).collect();
        for &id in self.tracks.keys() {
            let mut track = whole.track(id).clone();
            for (side, end) in whole.track(id).ends.into_iter().enumerate() {
                track.ends[side] = match joint_ids.get(&end.joint) {
                    Some(&joint) => Port { joint, ..end },
                    None => {
                        let from = whole.track(id).ends[1 - side];
                        made.joints.push(self.border(id, &track, sides.onward.get(&from).copied()));
                        Port { joint: JointId::at(made.joints.len() - 1), port: 0 }
                    }
                };
            }
            made.tracks.push(track);
        }
        for &id in self.machines.keys() {
            let machine = whole.machine(id);
            made.machines.push(Machine {
                joint: joint_ids.get(&machine.joint).copied().unwrap_or(JointId::at(0)),
                lever: lever_ids.get(&machine.lever).copied().unwrap_or(LeverId::at(0)),
                ..machine.clone()
            });
        }
        made.levers = self.levers.iter().map(|&id| self.lever(whole, id)).collect();
        made.lines = whole.lines.iter().map(|line| self.line(line, &joint_ids)).collect();
        self.network = made;
    }

    fn joint(&self, whole: &Network, id: JointId, sides: &Sides) -> Joint {
        let joint = whole.joint(id);
        let mut kind = joint.kind;
        if let JointKind::End { side, .. } = &mut kind {
            *side = sides.ends.get(&id).copied().or(*side);
        }
        let moves = joint.moves.iter().map(|way| Move {
            needs: way
                .needs
                .iter()
                .filter_map(|&(machine, position)| Some((*self.machines.get(&machine)?, position)))
                .collect(),
            ..way.clone()
        });
        Joint {
            kind,
            tracks: joint.tracks.iter().filter_map(|track| self.tracks.get(track).copied()).collect(),
            moves: moves.collect(),
            machines: joint
                .machines
                .iter()
                .filter_map(|machine| self.machines.get(machine).copied())
                .collect(),
            ..joint.clone()
        }
    }

    /// The end of a track where another territory begins.
    fn border(&self, id: TrackId, track: &Track, side: Option<Hand>) -> Joint {
        Joint {
            id: track.name.clone(),
            name: track.name.clone(),
            span: Span::default(),
            kind: JointKind::End { is: EndKind::Beyond, side },
            tracks: self.tracks.get(&id).copied().into_iter().collect(),
            moves: Vec::new(),
            machines: Vec::new(),
            at: None,
            frog_feed: None,
            pins: description::Pins::default(),
        }
    }

    fn lever(&self, whole: &Network, id: LeverId) -> Lever {
        let lever = whole.lever(id);
        let machines = lever.machines.iter().filter_map(|machine| self.machines.get(machine).copied());
        Lever { machines: machines.collect(), ..lever.clone() }
    }

    /// What of a line lies here; the first stays the first, since it is the main.
    fn line(&self, line: &Line, joints: &BTreeMap<JointId, JointId>) -> Line {
        let passes = line
            .passes
            .iter()
            .filter_map(|pass| Some(network::Pass { joint: *joints.get(&pass.joint)?, ..*pass }));
        Line {
            tracks: line.tracks.iter().filter_map(|track| self.tracks.get(track).copied()).collect(),
            passes: passes.collect(),
            ..line.clone()
        }
    }
}
