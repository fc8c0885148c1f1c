//! The network as flat arrays, one step a move: from the port that a train arrives at, through the joint, to the far end of
//! the track behind it.
//!
//! Every port of every joint has a number, and the steps from it are a stretch of one list. What a walk may not use
//! twice is boiled down to *keys*, so that most steps have exactly one:
//!
//! - machines that stand in the same moves, such as the two of a slip, share one key;
//! - a track needs a key only where its machines do not already say that it is used. A train in the middle of its run
//!   uses a track by passing both its end joints; where all moves at both those ports share a key, the track cannot be
//!   met again without that key.
//!
//! Each step also holds the last stop, in natural order, that it can still lead to: a search that began at that stop or a
//! later one drops the step at one glance. All is built in time linear in the number of ports and moves.

use crate::model::{Joint, JointId, Network, Pass, Port, TrackId};
use std::collections::BTreeSet;

/// Stands in [`Step::arrive`] where the track entered is a stop: a route ends there.
pub(crate) const AT_A_STOP: u32 = u32::MAX;

/// One move through one joint, in the direction it is driven.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    /// The port at the far end of the track that is entered, or [`AT_A_STOP`].
    pub(crate) arrive: u32,
    /// The track that is entered.
    pub(crate) track: u32,
    /// The last stop in natural order that this step can lead to, by the number of its track; 0 when there is none, which
    /// is no loss, since no route ends at the first stop.
    pub(crate) reach: u32,
    /// Its keys, as a stretch of [`Steps::keys`].
    keys: (u32, u32),
}

/// What routes must not run over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Avoid {
    /// Tracks.
    pub tracks: BTreeSet<TrackId>,
    /// Joints, whatever way through them.
    pub joints: BTreeSet<JointId>,
}

/// The flat arrays.
#[derive(Clone, Debug)]
pub(crate) struct Steps<'a> {
    pub(crate) network: &'a Network,
    /// The number of the first port of each joint.
    first_port: Vec<u32>,
    /// For each port, where its steps begin in `list`; one more at the end.
    first_step: Vec<u32>,
    list: Vec<Step>,
    /// For each step, the joint, ports and move, for telling about it.
    passes: Vec<Pass>,
    keys: Vec<u32>,
    key_count: u32,
}

impl<'a> Steps<'a> {
    /// The flat arrays of a network.
    /// Leaves out what runs over one of the tracks or joints to avoid.
    pub(crate) fn new(network: &'a Network, avoid: &Avoid) -> Self {
        let mut first_port = Vec::with_capacity(network.joints.len());
        let mut port_count = 0u32;
        for joint in &network.joints {
            first_port.push(port_count);
            port_count += small(joint.tracks.len());
        }
        let keyed = Keyed::new(network);
        let mut steps = Self {
            network,
            first_port,
            first_step: Vec::with_capacity(port_count as usize + 1),
            list: Vec::new(),
            passes: Vec::new(),
            keys: Vec::new(),
            key_count: keyed.key_count,
        };
        for (index, joint) in network.joints.iter().enumerate() {
            for port in 0..joint.tracks.len() {
                steps.first_step.push(small(steps.list.len()));
                steps.add_steps(&keyed, avoid, JointId::at(index), u8::try_from(port).unwrap_or(u8::MAX));
            }
        }
        steps.first_step.push(small(steps.list.len()));
        steps.find_reach();
        steps
    }

    fn add_steps(&mut self, keyed: &Keyed, avoid: &Avoid, joint: JointId, enter: u8) {
        let network = self.network;
        if avoid.joints.contains(&joint) {
            return;
        }
        let described = network.joint(joint);
        let moves = described.moves.iter().zip(&keyed.of_moves[joint.index()]).enumerate();
        for (move_index, (way, keys)) in moves {
            let Some(leave) = way.from(enter) else { continue };
            let track = described.tracks[leave as usize];
            if avoid.tracks.contains(&track) {
                continue;
            }
            let track_key = keyed.of_tracks[track.index()];
            let keys = keys.iter().copied().chain(track_key);
            let keys_start = small(self.keys.len());
            self.keys.extend(keys);
            let stop = network.track(track).stop;
            self.list.push(Step {
                arrive: if stop { AT_A_STOP } else { self.port(network.across(Port { joint, port: leave })) },
                track: small(track.index()),
                reach: if stop { small(track.index()) } else { 0 },
                keys: (keys_start, small(self.keys.len())),
            });
            let move_index = u16::try_from(move_index).unwrap_or(u16::MAX);
            self.passes.push(Pass { joint, enter, leave, move_index });
        }
    }

    /// Fills [`Step::reach`]: walks back from the stops, the last first, over every port once.
    fn find_reach(&mut self) {
        let leads_to = LeadsTo::new(self);
        let mut reach = vec![0u32; self.port_count()];
        let mut queue: Vec<u32> = Vec::new();
        for &(stop, port) in leads_to.to_stops.iter().rev() {
            queue.push(port);
            while let Some(port) = queue.pop() {
                if reach[port as usize] == 0 && stop > 0 {
                    reach[port as usize] = stop;
                    queue.extend(leads_to.ports(port));
                }
            }
        }
        for step in self.list.iter_mut().filter(|step| step.arrive != AT_A_STOP) {
            step.reach = reach[step.arrive as usize];
        }
    }

    /// The number of a port.
    pub(crate) fn port(&self, port: Port) -> u32 {
        self.first_port[port.joint.index()] + u32::from(port.port)
    }

    /// The steps on from a port of arrival that lead to a stop where a route may end, each with its pass.
    pub(crate) fn from(&self, port: u32) -> impl Iterator<Item = (&Step, Pass)> + Clone {
        let stretch = self.first_step[port as usize] as usize..self.first_step[port as usize + 1] as usize;
        let steps = self.list[stretch.clone()].iter().zip(&self.passes[stretch]);
        steps.filter(|(step, _)| step.reach > 0).map(|(step, &pass)| (step, pass))
    }

    /// The keys of a step.
    pub(crate) fn keys(&self, step: &Step) -> &[u32] {
        &self.keys[step.keys.0 as usize..step.keys.1 as usize]
    }

    /// How many keys there are.
    pub(crate) fn key_count(&self) -> usize {
        self.key_count as usize
    }

    /// How many ports there are.
    pub(crate) fn port_count(&self) -> usize {
        self.first_step.len() - 1
    }
}

/// For each port of arrival, the ports from which one step leads to it.
struct LeadsTo {
    /// Stops by the number of their tracks, each with a port from which one step leads to it, in order.
    to_stops: Vec<(u32, u32)>,
    first: Vec<u32>,
    ports: Vec<u32>,
}

impl LeadsTo {
    fn new(steps: &Steps<'_>) -> Self {
        let mut first = vec![0u32; steps.port_count() + 1];
        for step in steps.list.iter().filter(|step| step.arrive != AT_A_STOP) {
            first[step.arrive as usize + 1] += 1;
        }
        for port in 1..first.len() {
            first[port] += first[port - 1];
        }
        let mut next = first.clone();
        let mut ports = vec![0u32; steps.list.len()];
        let mut to_stops = Vec::new();
        for port in 0..small(steps.port_count()) {
            let stretch =
                steps.first_step[port as usize] as usize..steps.first_step[port as usize + 1] as usize;
            for step in &steps.list[stretch] {
                if step.arrive == AT_A_STOP {
                    to_stops.push((step.track, port));
                    continue;
                }
                let place = &mut next[step.arrive as usize];
                ports[*place as usize] = port;
                *place += 1;
            }
        }
        to_stops.sort_unstable();
        Self { to_stops, first, ports }
    }

    fn ports(&self, port: u32) -> impl Iterator<Item = u32> {
        let stretch = self.first[port as usize] as usize..self.first[port as usize + 1] as usize;
        self.ports[stretch].iter().copied()
    }
}

/// The keys of every move and track.
struct Keyed {
    of_moves: Vec<Vec<Vec<u32>>>,
    of_tracks: Vec<Option<u32>>,
    key_count: u32,
}

impl Keyed {
    fn new(network: &Network) -> Self {
        let mut key_count = 0;
        let of_moves: Vec<_> = network.joints.iter().map(|joint| keys_of(joint, &mut key_count)).collect();
        let of_tracks = network
            .tracks
            .iter()
            .map(|track| {
                let told = |end: Port| {
                    let moves = &network.joint(end.joint).moves;
                    all_share_a_key(moves.iter().map(|way| way.ports), &of_moves[end.joint.index()], end.port)
                };
                (!track.ends.into_iter().all(told)).then(|| {
                    key_count += 1;
                    key_count - 1
                })
            })
            .collect();
        Self { of_moves, of_tracks, key_count }
    }
}

/// One key for each set of machines that stand in the same moves of a joint.
fn keys_of(joint: &Joint, key_count: &mut u32) -> Vec<Vec<u32>> {
    let mut keys = vec![Vec::new(); joint.moves.len()];
    let mut known: Vec<Vec<usize>> = Vec::new();
    for &machine in &joint.machines {
        let stands_in: Vec<usize> = (0..joint.moves.len())
            .filter(|&index| joint.moves[index].needs.iter().any(|need| need.0 == machine))
            .collect();
        if !known.contains(&stands_in) {
            for &index in &stands_in {
                keys[index].push(*key_count);
            }
            *key_count += 1;
            known.push(stands_in);
        }
    }
    keys
}

/// Whether some key stands in every move at a port.
fn all_share_a_key(moves: impl Iterator<Item = [u8; 2]>, keys: &[Vec<u32>], port: u8) -> bool {
    let mut shared: Option<Vec<u32>> = None;
    for (_, keys) in moves.zip(keys).filter(|(ports, _)| ports.contains(&port)) {
        match &mut shared {
            None => shared = Some(keys.clone()),
            Some(shared) => shared.retain(|key| keys.contains(key)),
        }
    }
    // Where no move touches the port, no train in the middle of its run passes it.
    shared.is_none_or(|shared| !shared.is_empty())
}

/// Lists here stay far below four thousand million; a longer one cannot come from a text of `TEXT_MAX` bytes.
pub(crate) fn small(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
