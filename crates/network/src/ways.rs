//! The network as flat arrays, for walks that take millions of steps.
//!
//! Every port of every joint has a number. From a port that a train arrives at, the ways through the joint are a
//! stretch of one list; each names the port of departure and the machines it needs as a stretch of another. The end of
//! the track behind a port of departure is one look-up away. Building it is linear in the number of ports and moves.

use crate::model::{JointId, Network, Pass, Port, TrackId};

/// A way through a joint, from a known port of arrival.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way {
    /// The port at the far end of the track that is entered: where the next joint is reached.
    pub(crate) arrive: u32,
    /// The track that is entered.
    pub(crate) track: u32,
    /// Its machines, as a stretch of [`Ways::machines`].
    needs: (u32, u32),
}

/// The flat arrays.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ways {
    /// The number of the first port of each joint.
    first_port: Vec<u32>,
    /// For each port, where its ways begin in `ways`; one more at the end.
    first_way: Vec<u32>,
    list: Vec<Way>,
    /// For each way, the joint, ports and move, for telling about it.
    passes: Vec<Pass>,
    machines: Vec<u32>,
    /// Whether each track is a stop.
    pub(crate) stop: Vec<bool>,
}

impl Ways {
    pub(crate) fn new(network: &Network) -> Self {
        let mut first_port = Vec::with_capacity(network.joints.len());
        let mut port_count = 0u32;
        for joint in &network.joints {
            first_port.push(port_count);
            port_count += small(joint.tracks.len());
        }
        let mut ways = Self {
            first_port,
            first_way: Vec::with_capacity(port_count as usize + 1),
            list: Vec::new(),
            passes: Vec::new(),
            machines: Vec::new(),
            stop: network.tracks.iter().map(|track| track.stop).collect(),
        };
        for (index, joint) in network.joints.iter().enumerate() {
            for port in 0..joint.tracks.len() {
                ways.first_way.push(small(ways.list.len()));
                ways.add_ways(network, JointId::at(index), u8::try_from(port).unwrap_or(u8::MAX));
            }
        }
        ways.first_way.push(small(ways.list.len()));
        ways
    }

    fn add_ways(&mut self, network: &Network, joint: JointId, enter: u8) {
        let described = network.joint(joint);
        for (move_index, way) in described.moves.iter().enumerate() {
            let Some(leave) = way.from(enter) else { continue };
            let needs_start = small(self.machines.len());
            self.machines.extend(way.needs.iter().map(|(machine, _)| small(machine.index())));
            let move_index = u16::try_from(move_index).unwrap_or(u16::MAX);
            self.list.push(Way {
                arrive: self.port(network.across(Port { joint, port: leave })),
                track: small(described.tracks[leave as usize].index()),
                needs: (needs_start, small(self.machines.len())),
            });
            self.passes.push(Pass { joint, enter, leave, move_index });
        }
    }

    /// The number of a port.
    pub(crate) fn port(&self, port: Port) -> u32 {
        self.first_port[port.joint.index()] + u32::from(port.port)
    }

    /// The ways on from a port of arrival, as a stretch of way numbers.
    pub(crate) fn ways_from(&self, port: u32) -> (u32, u32) {
        (self.first_way[port as usize], self.first_way[port as usize + 1])
    }

    /// One way.
    pub(crate) fn way(&self, number: u32) -> &Way {
        &self.list[number as usize]
    }

    /// The joint, ports and move of a way.
    pub(crate) fn pass(&self, number: u32) -> Pass {
        self.passes[number as usize]
    }

    /// The machines that a way needs.
    pub(crate) fn needs(&self, way: &Way) -> &[u32] {
        &self.machines[way.needs.0 as usize..way.needs.1 as usize]
    }

    /// How many ways there are.
    pub(crate) fn len(&self) -> usize {
        self.list.len()
    }

    /// How many ports there are.
    pub(crate) fn port_count(&self) -> usize {
        self.first_way.len() - 1
    }
}

/// Lists here stay far below four thousand million; a longer one cannot come from a text of `TEXT_MAX` bytes.
fn small(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// A track number as an id.
pub(crate) fn track_id(track: u32) -> TrackId {
    TrackId::at(track as usize)
}
