//! A finished layout as plain places and paths, free of graphs: what is drawn, at full size, before any word.
//!
//! Everything that draws railroads (the diagram, the fascia map) starts from this; a map is the same with every figure
//! multiplied.

use super::graph::{EdgeKind, Side, What};
use super::layout::Layout;
use super::trace::{Pieces, Trace, When, distance, leg_when, machines, slants, straight_position};
use crate::scene::Xy;
use crate::sheet::{LEG_GAP, SLIP_REACH, Um};
use description::EndKind;
use network::{JointId, JointKind, LeverId, MachineId, Network, Port, TrackId};

/// What a run of track belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Belongs {
    Track(TrackId),
    /// It is inside a crossover or a scissors.
    Joint(JointId),
}

/// A run of track from joint to joint.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    pub(crate) belongs: Belongs,
    pub(crate) main: bool,
    /// Whether the name of its track is written on it, if anywhere.
    pub(crate) named: bool,
    pub(crate) whole: Vec<Xy>,
    pub(crate) middle: Vec<Xy>,
    /// The ports at its left and right end; none at a connector or inside a joint.
    pub(crate) ports: [Option<Port>; 2],
    pub(crate) legs: Vec<Leg>,
}

/// The piece of a run next to a joint, shown or not as machines stand.
#[derive(Clone, Debug)]
pub(crate) struct Leg {
    pub(crate) path: Vec<Xy>,
    pub(crate) when: When,
    pub(crate) joint: JointId,
    pub(crate) port: Option<u8>,
}

/// A machine's mark.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    pub(crate) machine: MachineId,
    pub(crate) lever: LeverId,
    pub(crate) node: usize,
    pub(crate) at: Xy,
    /// Which quarters round it have slanted legs: above and below on the left, above and below on the right.
    pub(crate) slants: [bool; 4],
    /// Whether this is where its lever's number is written for this joint.
    pub(crate) numbered: bool,
}

/// Where a track stops.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stop {
    pub(crate) at: Xy,
    /// Whether the track comes to it from the left.
    pub(crate) at_right: bool,
    pub(crate) kind: StopKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum StopKind {
    End(JointId, EndKind),
    Connector(usize),
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Geometry {
    pub(crate) runs: Vec<Run>,
    pub(crate) spots: Vec<Spot>,
    pub(crate) stops: Vec<Stop>,
    /// Turntables: joint, middle, radius of the pit.
    pub(crate) pits: Vec<(JointId, Xy, Um)>,
    /// The curves of slips: joint, and from where to where.
    pub(crate) slips: Vec<(JointId, [Xy; 2])>,
    /// As [`Layout::least_height`].
    pub(crate) least_height: Option<i64>,
    /// As [`Layout::unheld`].
    pub(crate) unheld: Vec<usize>,
}

impl Geometry {
    pub(crate) fn of(layout: &Layout, network: &Network) -> Self {
        let Layout { graph, chains, levels, across, room, least_height, unheld } = layout;
        let trace = Trace { graph, chains, levels, across, room };
        let mut found = Self { least_height: *least_height, unheld: unheld.clone(), ..Self::default() };
        let mut named = vec![false; network.tracks.len()];
        for edge in 0..graph.edges.len() {
            found.add_run(&trace, network, edge, &mut named);
        }
        for node in 0..graph.nodes.len() {
            found.add_node(&trace, network, node);
        }
        found
    }

    fn add_run(&mut self, trace: &Trace, network: &Network, edge: usize, named: &mut [bool]) {
        let graph = trace.graph;
        let strand = graph.strand(edge);
        if strand.iter().any(|&(other, _)| other < edge) {
            return;
        }
        let ends = match (strand.first(), strand.last()) {
            (Some(&(first, first_back)), Some(&(last, last_back))) => {
                [graph.ends(first)[usize::from(first_back)], graph.ends(last)[usize::from(!last_back)]]
            }
            _ => return,
        };
        let Pieces { whole, middle, legs: [left_leg, right_leg] } = trace.pieces(network, &strand, ends);
        let joint_of = |dart: usize| match graph.nodes[graph.darts[dart].node].what {
            What::Joint(joint, _) => Some(joint),
            What::Connector(_) | What::Bow => None,
        };
        let legs = ends.into_iter().zip([left_leg, right_leg]).filter_map(|(dart, path)| {
            Some(Leg {
                path: path?,
                when: leg_when(graph, network, dart)?,
                joint: joint_of(dart)?,
                port: graph.darts[dart].port,
            })
        });
        let (belongs, main, named) = match graph.edges[edge].kind {
            EdgeKind::Track(track) => {
                let first = !std::mem::replace(&mut named[track.index()], true);
                (Belongs::Track(track), on_main(network, track), first)
            }
            EdgeKind::Link(joint) => (Belongs::Joint(joint), false, false),
        };
        self.runs.push(Run {
            belongs,
            main,
            named,
            whole,
            middle,
            ports: ends.map(|dart| Some(Port { joint: joint_of(dart)?, port: graph.darts[dart].port? })),
            legs: legs.collect(),
        });
    }

    fn add_node(&mut self, trace: &Trace, network: &Network, node: usize) {
        let graph = trace.graph;
        let at = trace.place(node);
        let at_right = graph.nodes[node].darts.first().is_some_and(|&dart| graph.side(dart) == Side::Left);
        match graph.nodes[node].what {
            What::Bow => {}
            What::Connector(number) => {
                self.stops.push(Stop { at, at_right, kind: StopKind::Connector(number) });
            }
            What::Joint(id, _) => {
                match network.joint(id).kind {
                    JointKind::End { is, .. } => {
                        self.stops.push(Stop { at, at_right, kind: StopKind::End(id, is) });
                    }
                    JointKind::Turntable { .. } => self.pits.push((id, at, trace.room.reach[node][1])),
                    JointKind::Scissors => self.add_scissors(trace, network, node, id),
                    JointKind::Slip { double } => self.add_slip(trace, node, id, double),
                    JointKind::Turnout { .. }
                    | JointKind::Wye
                    | JointKind::Threeway
                    | JointKind::Crossover { .. }
                    | JointKind::Crossing => {}
                }
                self.add_spots(trace, network, node);
            }
        }
    }

    /// The curves past the crossing of a slip: from a to d, and in a double slip from c to b.
    fn add_slip(&mut self, trace: &Trace, node: usize, id: JointId, double: bool) {
        let [a, b, c, d] = trace.graph.nodes[node].darts[..] else { return };
        let curves = [[a, d], [c, b]];
        for darts in &curves[..if double { 2 } else { 1 }] {
            if let [Some(from), Some(to)] = darts.map(|dart| trace.along(dart, SLIP_REACH)) {
                self.slips.push((id, [from, to]));
            }
        }
    }

    fn add_spots(&mut self, trace: &Trace, network: &Network, node: usize) {
        let mut levers = Vec::new();
        let slants = slants(trace.graph, trace.chains, node);
        for (machine, at) in machines(trace, network, node) {
            let lever = network.machine(machine).lever;
            let numbered = !levers.contains(&lever);
            levers.push(lever);
            self.spots.push(Spot { machine, lever, node, at, slants, numbered });
        }
    }

    /// The four runs inside a scissors: two level, two that cross.
    fn add_scissors(&mut self, trace: &Trace, network: &Network, node: usize, id: JointId) {
        let joint = network.joint(id);
        let corner = |port: u8| {
            let dart = trace.graph.nodes[node].darts.get(usize::from(port)).copied()?;
            Some((trace.start(dart), trace.graph.side(dart)))
        };
        // Which machine stands at which port: A and B on the move 0–3, C and D on the move 2–1.
        let machine_at = |port: u8| joint.machines.get([0, 3, 2, 1][usize::from(port)]).copied();
        let main = joint.tracks.iter().any(|&track| on_main(network, track));
        for (ports, straight) in [([0, 1], true), ([2, 3], true), ([0, 3], false), ([2, 1], false)] {
            let ([Some(first), Some(second)], [Some(a), Some(b)]) =
                (ports.map(corner), ports.map(machine_at))
            else {
                continue;
            };
            let mut ends = [(first, a), (second, b)];
            if first.1 == Side::Right {
                ends.reverse();
            }
            let [from, to] = [ends[0].0.0, ends[1].0.0];
            let part_way = |a: Xy, b: Xy| {
                let length = distance(a, b).max(1);
                let gap = LEG_GAP.min(length * 2 / 5);
                Xy::new(a.x + (b.x - a.x) * gap / length, a.y + (b.y - a.y) * gap / length)
            };
            let leg = |from: Xy, to: Xy, machine: MachineId| {
                let position = straight_position(joint, machine);
                let position = if straight { position } else { position.other() };
                Leg {
                    path: vec![from, part_way(from, to)],
                    when: vec![vec![(machine, position)]],
                    joint: id,
                    port: None,
                }
            };
            self.runs.push(Run {
                belongs: Belongs::Joint(id),
                main: main && straight && ports == [0, 1],
                named: false,
                whole: vec![from, to],
                middle: vec![part_way(from, to), part_way(to, from)],
                ports: [None, None],
                legs: vec![leg(from, to, ends[0].1), leg(to, from, ends[1].1)],
            });
        }
    }

    /// The same, turned by half a turn: as an operator on the other side of the benchwork sees it, who stands where the
    /// sheet's upper edge is. Every hand stays what it is. Paths still run from left to right.
    #[must_use]
    pub(crate) fn turned(mut self) -> Self {
        let turn = |at: &mut Xy| *at = Xy::new(-at.x, -at.y);
        for run in &mut self.runs {
            let legs = run.legs.iter_mut().flat_map(|leg| &mut leg.path);
            run.whole.iter_mut().chain(&mut run.middle).chain(legs).for_each(turn);
            run.whole.reverse();
            run.middle.reverse();
            run.ports.reverse();
        }
        for spot in &mut self.spots {
            turn(&mut spot.at);
            // Above on the left becomes below on the right.
            spot.slants.reverse();
        }
        for stop in &mut self.stops {
            turn(&mut stop.at);
            stop.at_right = !stop.at_right;
        }
        self.slips.iter_mut().flat_map(|(_, curve)| curve).for_each(turn);
        self.pits.iter_mut().for_each(|(_, at, _)| turn(at));
        self
    }

    /// The same, every figure multiplied by `to / of`.
    #[must_use]
    pub(crate) fn scaled(mut self, to: Um, of: Um) -> Self {
        let scale = |at: &mut Xy| *at = Xy::new(at.x * to / of, at.y * to / of);
        for run in &mut self.runs {
            let legs = run.legs.iter_mut().flat_map(|leg| &mut leg.path);
            run.whole.iter_mut().chain(&mut run.middle).chain(legs).for_each(scale);
        }
        self.spots.iter_mut().for_each(|spot| scale(&mut spot.at));
        self.stops.iter_mut().for_each(|stop| scale(&mut stop.at));
        self.slips.iter_mut().flat_map(|(_, curve)| curve).for_each(scale);
        for (_, at, radius) in &mut self.pits {
            scale(at);
            *radius = *radius * to / of;
        }
        self
    }
}

/// Whether a track lies on the main: the first line of the file.
fn on_main(network: &Network, track: TrackId) -> bool {
    network.lines.first().is_some_and(|line| line.tracks.contains(&track))
}

/// The letters of a connector: A to Z, then AA, AB, …
pub(crate) fn letters(number: usize) -> String {
    let mut rest = number;
    let mut out = Vec::new();
    loop {
        out.push(char::from(b'A' + u8::try_from(rest % 26).unwrap_or(0)));
        if rest < 26 {
            break;
        }
        rest = rest / 26 - 1;
    }
    out.iter().rev().collect()
}
