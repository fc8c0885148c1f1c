//! Flank protection: levers outside a route that turn aside what might run into it.
//!
//! Wherever another track joins or crosses a route, something standing beyond could run away into its side. Looking out
//! from there, the first points that it would meet facing can be set for their other leg, and it is turned aside; points
//! that it trails it runs through, however they are set, so that each of their legs is looked along in turn. A stop is where
//! things stand: when one is reached before any points that can turn aside, no lever can help there.
//!
//! The nearest points are taken. Points that the route itself needs stay as the route needs them, and where two sides of
//! one route ask the same points for both positions, the side met first has them.
//!
//! # Source
//! Pachl, *Railway Operation and Control*, on flank protection: from memory. That a model may do without it: common
//! practice, no source.

use crate::locking::runs_over_crossing;
use crate::model::{Joint, JointId, JointKind, LeverId, Move, Network, Pass, Port, Position, TrackId};
use crate::route::Route;
use std::collections::{BTreeMap, BTreeSet};

/// One side from which something could run into a route.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flank {
    /// The joint of the route that it would come to.
    pub joint: JointId,
    /// The track that it would come over.
    pub track: TrackId,
    /// The levers outside the route that turn it aside, each in its position.
    pub guards: Vec<(LeverId, Position)>,
    /// The stops from which no lever keeps it.
    pub open_to: Vec<TrackId>,
}

/// Every side from which something could run into a route, in the order in which the route passes them. A side behind
/// which nothing stands is left out, and so is a turntable, whose bridge lies for one track at a time.
pub fn flanks(network: &Network, route: &Route) -> Vec<Flank> {
    let mut guarding = Guarding {
        network,
        on_route: route.tracks.iter().copied().collect(),
        set: BTreeMap::new(),
        seen: BTreeSet::new(),
    };
    for &(machine, position) in &route.needs {
        guarding.set.entry(network.machine(machine).lever).or_insert(position);
    }
    let mut flanks = Vec::new();
    for &pass in &route.passes {
        for port in sides(network, pass) {
            let track = track_at(network, port);
            if guarding.on_route.contains(&track) {
                continue;
            }
            let mut flank = Flank { joint: port.joint, track, guards: Vec::new(), open_to: Vec::new() };
            guarding.seen.clear();
            let joint = network.joint(port.joint);
            if !guarding.turn_aside(joint, port.port, |way| endangers(joint, pass, way), &mut flank) {
                guarding.look_out(port, &mut flank);
            }
            if !flank.guards.is_empty() || !flank.open_to.is_empty() {
                flanks.push(flank);
            }
        }
    }
    flanks
}

fn track_at(network: &Network, port: Port) -> TrackId {
    network.joint(port.joint).tracks[usize::from(port.port)]
}

/// Whether a way through a joint ends on, or crosses, the way that a route takes there.
fn endangers(joint: &Joint, pass: Pass, way: &Move) -> bool {
    let ours = &joint.moves[usize::from(pass.move_index)];
    way.ports.iter().any(|port| ours.ports.contains(port))
        || runs_over_crossing(joint.kind, ours) && runs_over_crossing(joint.kind, way)
}

/// The ports of a joint, off the route's way through it, from which something could run onto that way.
fn sides(network: &Network, pass: Pass) -> impl Iterator<Item = Port> {
    let joint = network.joint(pass.joint);
    let ports = if matches!(joint.kind, JointKind::Turntable { .. }) { 0 } else { joint.tracks.len() };
    (0..u8::try_from(ports).unwrap_or(u8::MAX))
        .filter(move |port| ![pass.enter, pass.leave].contains(port))
        .filter(move |port| {
            joint.moves.iter().any(|way| way.ports.contains(port) && endangers(joint, pass, way))
        })
        .map(move |port| Port { joint: pass.joint, port })
}

struct Guarding<'a> {
    network: &'a Network,
    on_route: BTreeSet<TrackId>,
    /// How levers stand: as the route needs them, and as they have been set to guard it.
    set: BTreeMap<LeverId, Position>,
    /// Ports that have been looked out from.
    seen: BTreeSet<Port>,
}

impl Guarding<'_> {
    /// Looks along the track at a port, away from its joint, for what could come over it.
    fn look_out(&mut self, port: Port, flank: &mut Flank) {
        let network = self.network;
        let mut queue = vec![port];
        while let Some(port) = queue.pop() {
            let track = track_at(network, port);
            if self.on_route.contains(&track) || !self.seen.insert(port) {
                continue;
            }
            if network.track(track).stop {
                if !flank.open_to.contains(&track) {
                    flank.open_to.push(track);
                }
                continue;
            }
            let toward = network.across(port);
            let joint = network.joint(toward.joint);
            if matches!(joint.kind, JointKind::Turntable { .. }) {
                continue;
            }
            for from in joint.moves.iter().filter_map(|way| way.from(toward.port)) {
                if !self.turn_aside(joint, from, |way| way.ports.contains(&toward.port), flank) {
                    queue.push(Port { joint: toward.joint, port: from });
                }
            }
        }
    }

    /// Sets the points that something from one port of a joint meets facing, so that it takes none of the bad ways; false
    /// when there are none that can be set so.
    fn turn_aside(
        &mut self,
        joint: &Joint,
        from: u8,
        is_bad: impl Fn(&Move) -> bool,
        flank: &mut Flank,
    ) -> bool {
        let lever_of = |machine| self.network.machine(machine).lever;
        let aside = joint.moves.iter().find(|way| {
            let leads_off = way
                .from(from)
                .is_some_and(|other| !self.on_route.contains(&joint.tracks[usize::from(other)]));
            let can_stand = |&(machine, position): &(_, Position)| {
                self.set.get(&lever_of(machine)).is_none_or(|standing| *standing == position)
            };
            leads_off && !is_bad(way) && way.needs.iter().all(can_stand)
        });
        let Some(aside) = aside else { return false };
        for &(machine, position) in &aside.needs {
            let lever = self.network.machine(machine).lever;
            if self.set.insert(lever, position).is_none() {
                flank.guards.push((lever, position));
            }
        }
        true
    }
}
