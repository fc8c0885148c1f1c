//! The network boiled down to its choices.
//!
//! A *node* is a port of arrival where there is more than one way on, or where a search begins. A *way* leads from a node
//! to the next one, or to a stop, over as many tracks as lie between: trailing through a yard ladder is one way, not ten.
//! Ways that use something twice, or that lead to no stop where a route may end, are left out.
//!
//! Only nodes that a search can come to are kept. A way ends after [`TRACKS_MAX`] tracks even without a choice, so that
//! the whole stays linear in the number of moves.

use crate::again::can_be_met_again;
use crate::model::{Network, Pass, TrackId};
use crate::steps::{AT_A_STOP, Avoid, Step, Steps, small};

/// The most tracks that one way runs over.
const TRACKS_MAX: usize = 16;

/// Where a way leads when it ends at a stop.
pub(crate) const NOWHERE: u32 = u32::MAX;

/// From one choice to the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way {
    /// The node it leads to, or [`NOWHERE`] when it ends at a stop.
    pub(crate) node: u32,
    /// The last stop in natural order that it can lead to, by the number of its track.
    pub(crate) reach: u32,
    /// Its tracks and passes, as a stretch of both lists.
    stretch: (u32, u32),
    /// Its keys, as a stretch of [`Ways::keys`].
    keys: (u32, u32),
}

/// The choices of a network, as flat arrays: made once, searched as often as one likes.
#[derive(Clone, Debug)]
pub struct Ways<'a> {
    pub(crate) network: &'a Network,
    /// For each node, where its ways lie in `list`.
    nodes: Vec<(u32, u32)>,
    list: Vec<Way>,
    tracks: Vec<TrackId>,
    passes: Vec<Pass>,
    keys: Vec<u32>,
    key_count: usize,
    /// Where a search may begin: stop and node, in the order of the stops.
    starts: Vec<(TrackId, u32)>,
}

impl<'a> Ways<'a> {
    /// The choices of a network.
    pub fn new(network: &'a Network) -> Self {
        Self::avoiding(network, &Avoid::default())
    }

    /// The choices that are left when some tracks and joints may not be run over.
    pub fn avoiding(network: &'a Network, avoid: &Avoid) -> Self {
        let steps = Steps::new(network, avoid);
        let mut found = Found { node_of: vec![NOWHERE; steps.port_count()], ports: Vec::new() };
        let starts = network
            .stops()
            .filter(|stop| !avoid.tracks.contains(stop))
            .flat_map(|stop| network.track(stop).ends.map(|end| (stop, end)))
            .map(|(stop, end)| (stop, found.node(steps.port(end))))
            .collect();
        let mut ways = Self {
            network,
            nodes: Vec::new(),
            list: Vec::new(),
            tracks: Vec::new(),
            passes: Vec::new(),
            keys: Vec::new(),
            key_count: steps.key_count(),
            starts,
        };
        // The list of nodes grows while it is walked.
        while let Some(&port) = found.ports.get(ways.nodes.len()) {
            let first = small(ways.list.len());
            for (step, pass) in steps.from(port) {
                ways.add_way(&steps, &mut found, step, pass);
            }
            ways.nodes.push((first, small(ways.list.len())));
        }
        ways.forget_keys();
        ways
    }

    /// Drops the keys that no train can meet twice.
    fn forget_keys(&mut self) {
        let this = &*self;
        let ways = self.nodes.iter().zip(0..).flat_map(|(&(from, to), node)| {
            (from..to).map(move |number| (node, this.way(number), this.keys(this.way(number))))
        });
        let again = can_be_met_again(self.nodes.len(), self.key_count, ways);
        let mut kept = Vec::new();
        for way in &mut self.list {
            let start = small(kept.len());
            let keys = &self.keys[way.keys.0 as usize..way.keys.1 as usize];
            kept.extend(keys.iter().filter(|&&key| again[key as usize]));
            way.keys = (start, small(kept.len()));
        }
        self.keys = kept;
    }

    /// Follows a step up to the next choice; what would use a key twice is dropped.
    fn add_way(&mut self, steps: &Steps<'a>, found: &mut Found, first: &Step, pass: Pass) {
        let (from_track, from_key) = (self.tracks.len(), self.keys.len());
        let (mut step, mut pass) = (first, pass);
        loop {
            self.tracks.push(TrackId::at(step.track as usize));
            self.passes.push(pass);
            self.keys.extend(steps.keys(step));
            if step.arrive == AT_A_STOP {
                break;
            }
            let mut onward = steps.from(step.arrive);
            let (Some(only), None) = (onward.next(), onward.next()) else { break };
            if steps.keys(only.0).iter().any(|key| self.keys[from_key..].contains(key)) {
                self.tracks.truncate(from_track);
                self.passes.truncate(from_track);
                self.keys.truncate(from_key);
                return;
            }
            if self.tracks.len() - from_track == TRACKS_MAX {
                break;
            }
            (step, pass) = only;
        }
        self.list.push(Way {
            node: if step.arrive == AT_A_STOP { NOWHERE } else { found.node(step.arrive) },
            reach: first.reach,
            stretch: (small(from_track), small(self.tracks.len())),
            keys: (small(from_key), small(self.keys.len())),
        });
    }

    /// Where a search may begin: stop and node, in the order of the stops.
    pub(crate) fn starts(&self) -> &[(TrackId, u32)] {
        &self.starts
    }

    /// The ways on from a node, as a stretch of way numbers.
    pub(crate) fn ways_from(&self, node: u32) -> (u32, u32) {
        self.nodes[node as usize]
    }

    /// One way.
    pub(crate) fn way(&self, number: u32) -> &Way {
        &self.list[number as usize]
    }

    /// The tracks of a way.
    pub(crate) fn tracks(&self, way: &Way) -> &[TrackId] {
        &self.tracks[way.stretch.0 as usize..way.stretch.1 as usize]
    }

    /// How a way runs through each joint.
    pub(crate) fn passes(&self, way: &Way) -> &[Pass] {
        &self.passes[way.stretch.0 as usize..way.stretch.1 as usize]
    }

    /// What a way uses.
    pub(crate) fn keys(&self, way: &Way) -> &[u32] {
        &self.keys[way.keys.0 as usize..way.keys.1 as usize]
    }

    /// How many keys there are.
    pub(crate) fn key_count(&self) -> usize {
        self.key_count
    }

    /// How many ways there are.
    pub(crate) fn len(&self) -> usize {
        self.list.len()
    }

    /// How many nodes there are.
    pub(crate) fn node_count(&self) -> usize {
        self.nodes.len()
    }
}

/// The nodes found so far: ports of arrival, numbered as they come.
struct Found {
    node_of: Vec<u32>,
    ports: Vec<u32>,
}

impl Found {
    fn node(&mut self, port: u32) -> u32 {
        let known = &mut self.node_of[port as usize];
        if *known == NOWHERE {
            *known = small(self.ports.len());
            self.ports.push(port);
        }
        *known
    }
}
