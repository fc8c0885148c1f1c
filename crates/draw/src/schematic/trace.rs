//! The exact path of every track, and what stands at every joint, once levels and distances are known.
//!
//! A track leaves its left node level or slanted, runs level on its chain's level, and comes to its right node level or
//! slanted. Near a machine the path is split: the *leg* next to the joint is drawn or left out by the machine's
//! position, the rest is always there. When a leg is shown is read off the moves of the joint: it is, when every
//! machine of some move over it stands as that move needs.

use super::across::{Across, Room, run_of};
use super::chain::{Chains, Tie};
use super::graph::{Graph, Part, Side, What};
use crate::scene::Xy;
use crate::sheet::{LEG_GAP, LEG_LAP, LEVEL_PITCH, TWIN_MARK_OFFSET, Um};
use network::{Joint, JointKind, MachineId, Move, Network, Position};

/// Alternatives, each a list of machines with positions that must all hold.
pub(crate) type When = Vec<Vec<(MachineId, Position)>>;

/// Looks up places in a finished layout.
pub(crate) struct Trace<'a> {
    pub(crate) graph: &'a Graph,
    pub(crate) chains: &'a Chains,
    pub(crate) levels: &'a [i64],
    pub(crate) across: &'a Across,
    pub(crate) room: &'a Room,
}

/// A track's path, split at its legs.
pub(crate) struct Pieces {
    /// The whole path, from left to right.
    pub(crate) whole: Vec<Xy>,
    /// What lies between the legs.
    pub(crate) middle: Vec<Xy>,
    /// The legs at its left and right end, each from its joint outward.
    pub(crate) legs: [Option<Vec<Xy>>; 2],
}

impl Trace<'_> {
    fn y_of(&self, chain: usize) -> Um {
        -self.levels[chain] * LEVEL_PITCH
    }

    /// The place of a node: the middle of a pit, else where its tracks meet on its first level.
    pub(crate) fn place(&self, node: usize) -> Xy {
        Xy::new(self.across.x[node], self.chains.of_node[node].first().map_or(0, |&chain| self.y_of(chain)))
    }

    /// Where a dart starts, its slanted part or its level run.
    pub(crate) fn start(&self, dart: usize) -> Xy {
        let node = self.graph.darts[dart].node;
        let side = self.graph.side(dart);
        let reach = self.room.reach[node][usize::from(side == Side::Right)];
        let x = self.across.x[node] + if side == Side::Right { reach } else { -reach };
        match self.graph.level_run(dart) {
            Some(run) => Xy::new(x, self.y_of(self.chains.of_node[node][run])),
            None => Xy::new(x, self.place(node).y + self.room.rise[dart]),
        }
    }

    /// Where a slanted dart comes to its chain's level.
    fn landing(&self, dart: usize, chain: usize) -> Xy {
        let start = self.start(dart);
        let y = self.y_of(chain);
        let run = run_of((y - start.y).abs(), self.room.steep[dart]);
        Xy::new(if self.graph.side(dart) == Side::Right { start.x + run } else { start.x - run }, y)
    }

    /// The path of an edge and of what it hangs together with over turns: from left to right where it never turns.
    pub(crate) fn path(&self, strand: &[(usize, bool)]) -> Vec<Xy> {
        let mut path = Vec::new();
        for &(edge, backward) in strand {
            let mut piece = self.path_of_edge(edge);
            if backward {
                piece.reverse();
            }
            path.append(&mut piece);
        }
        path.dedup();
        simplified(path)
    }

    fn path_of_edge(&self, edge: usize) -> Vec<Xy> {
        let chain = self.chains.of_edge[edge];
        let [left, right] = self.graph.ends(edge);
        let mut path = if self.graph.at_bow(left) {
            self.nose(left, chain).into()
        } else {
            vec![self.rim(left), self.start(left)]
        };
        if !self.chains.list[chain].link {
            for dart in [left, right] {
                if self.graph.level_run(dart).is_none() && !self.graph.at_bow(dart) {
                    path.push(self.landing(dart, chain));
                }
            }
        }
        if self.graph.at_bow(right) {
            path.extend(self.nose(right, chain).into_iter().rev());
        } else {
            path.extend([self.start(right), self.rim(right)]);
        }
        path
    }

    /// The point of a turn, and where the level of a chain that comes to it leaves off.
    fn nose(&self, dart: usize, chain: usize) -> [Xy; 2] {
        let node = self.graph.darts[dart].node;
        let darts = &self.graph.nodes[node].darts;
        let heights =
            [darts[0], darts[1]].map(|dart| self.y_of(self.chains.of_edge[self.graph.darts[dart].edge]));
        let apart = (heights[0] - heights[1]).abs();
        let x = self.across.x[node];
        let run = run_of(apart / 2, true);
        let off = if self.graph.side(dart) == Side::Right { x + run } else { x - run };
        [Xy::new(x, Um::midpoint(heights[0], heights[1])), Xy::new(off, self.y_of(chain))]
    }

    /// Where a dart of a turntable meets the rim of the pit; for others, where it starts.
    fn rim(&self, dart: usize) -> Xy {
        let node = self.graph.darts[dart].node;
        let (start, middle) = (self.start(dart), self.place(node));
        let rise = start.y - middle.y;
        if self.graph.nodes[node].levels.len() != 1 || self.graph.level_run(dart).is_some() || rise == 0 {
            return start;
        }
        let radius = (start.x - middle.x).unsigned_abs();
        let across = (radius * radius).saturating_sub(rise.unsigned_abs().pow(2)).isqrt();
        let across = Um::try_from(across).unwrap_or(0);
        Xy::new(if start.x < middle.x { middle.x - across } else { middle.x + across }, start.y)
    }

    /// The place so far along the track that leaves by a dart; nearer where the track is short.
    pub(crate) fn along(&self, dart: usize, far: Um) -> Option<Xy> {
        let mut path = self.path(&self.graph.strand(self.graph.darts[dart].edge));
        if path.first() != Some(&self.start(dart)) {
            path.reverse();
        }
        let first = distance(*path.first()?, *path.get(1)?);
        split(&path, far.min(first * 2 / 3)).0.last().copied()
    }

    /// The path of a strand between two darts, split where legs of machines begin.
    pub(crate) fn pieces(&self, network: &Network, strand: &[(usize, bool)], ends: [usize; 2]) -> Pieces {
        let whole = self.path(strand);
        let length: Um = whole.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
        let gap = LEG_GAP.min(length * 2 / 5);
        let [left, right] = ends.map(|dart| leg_when(self.graph, network, dart).is_some());
        let mut reversed = whole.clone();
        reversed.reverse();
        let mut middle = if left { split(&whole, gap).1 } else { whole.clone() };
        let left_leg = if left { split(&whole, gap + LEG_LAP).0 } else { Vec::new() };
        let right_leg = if right { split(&reversed, gap + LEG_LAP).0 } else { Vec::new() };
        if right {
            middle.reverse();
            middle = split(&middle, gap).1;
            middle.reverse();
        }
        Pieces { whole, middle, legs: [left.then_some(left_leg), right.then_some(right_leg)] }
    }
}

/// Corners that lie straight between their neighbours left out.
fn simplified(path: Vec<Xy>) -> Vec<Xy> {
    let mut out: Vec<Xy> = Vec::with_capacity(path.len());
    for corner in path {
        if let [.., a, b] = out[..] {
            let turn = (b.x - a.x) * (corner.y - b.y) - (b.y - a.y) * (corner.x - b.x);
            if turn == 0 {
                out.pop();
            }
        }
        out.push(corner);
    }
    out
}

/// The distance of two places, rounded down.
pub(crate) fn distance(a: Xy, b: Xy) -> Um {
    let (dx, dy) = (a.x.abs_diff(b.x), a.y.abs_diff(b.y));
    Um::try_from((dx * dx + dy * dy).isqrt()).unwrap_or(Um::MAX)
}

/// The first stretch of a path of this length, and the rest.
fn split(path: &[Xy], length: Um) -> (Vec<Xy>, Vec<Xy>) {
    let mut first = Vec::new();
    let mut left = length;
    for (index, pair) in path.windows(2).enumerate() {
        let [a, b] = [pair[0], pair[1]];
        first.push(a);
        let piece = distance(a, b);
        if piece > left && piece > 0 {
            let at = Xy::new(a.x + (b.x - a.x) * left / piece, a.y + (b.y - a.y) * left / piece);
            first.push(at);
            let mut rest = vec![at];
            rest.extend_from_slice(&path[index + 1..]);
            return (first, rest);
        }
        left -= piece;
    }
    (path.to_vec(), path.last().map(|&last| vec![last, last]).unwrap_or_default())
}

/// When the leg at a dart is shown; none where nothing depends on a machine.
pub(crate) fn leg_when(graph: &Graph, network: &Network, dart: usize) -> Option<When> {
    let What::Joint(id, part) = graph.nodes[graph.darts[dart].node].what else { return None };
    let joint = network.joint(id);
    let port = graph.darts[dart].port;
    match joint.kind {
        JointKind::Turnout { .. } | JointKind::Wye | JointKind::Threeway => {
            port.filter(|&port| port > 0).map(|port| over(joint, port))
        }
        JointKind::Slip { .. } => port.map(|port| over(joint, port)),
        JointKind::Crossover { .. } => {
            let (machine, points) = if part == Part::B { (1, 3) } else { (0, 0) };
            let machine = *joint.machines.get(machine)?;
            let straight = straight_position(joint, machine);
            match port {
                Some(port) if port == points => None,
                Some(_) => Some(vec![vec![(machine, straight)]]),
                None => Some(vec![vec![(machine, straight.other())]]),
            }
        }
        JointKind::End { .. } | JointKind::Scissors | JointKind::Crossing | JointKind::Turntable { .. } => {
            None
        }
    }
}

/// What every move over a port needs.
fn over(joint: &Joint, port: u8) -> When {
    joint.moves.iter().filter(|over| over.ports.contains(&port)).map(|over| over.needs.clone()).collect()
}

/// The position a machine of a crossover or scissors has in the straight moves.
pub(crate) fn straight_position(joint: &Joint, machine: MachineId) -> Position {
    let straight = |over: &&Move| matches!(over.ports, [0, 1] | [1, 0] | [2, 3] | [3, 2]);
    joint
        .moves
        .iter()
        .filter(straight)
        .flat_map(|over| &over.needs)
        .find(|(of, _)| *of == machine)
        .map_or(Position::Normal, |&(_, position)| position)
}

/// The machines of a node, each with the place of its mark.
pub(crate) fn machines(trace: &Trace, network: &Network, node: usize) -> Vec<(MachineId, Xy)> {
    let What::Joint(id, part) = trace.graph.nodes[node].what else { return Vec::new() };
    let joint = network.joint(id);
    let at = trace.place(node);
    let turned = trace.graph.nodes[node].turned;
    let aside = |by: Um| Xy::new(if turned { at.x - by } else { at.x + by }, at.y);
    let start = |port: u8| {
        let darts = &trace.graph.nodes[node].darts;
        darts
            .iter()
            .find(|&&dart| trace.graph.darts[dart].port == Some(port))
            .map_or(at, |&dart| trace.start(dart))
    };
    let places = match joint.kind {
        JointKind::Crossover { .. } => {
            let index = usize::from(part == Part::B);
            return joint.machines.get(index).map(|&machine| (machine, at)).into_iter().collect();
        }
        JointKind::Threeway => vec![aside(-TWIN_MARK_OFFSET), at],
        // E, at b and d, comes before W, at a and c.
        JointKind::Slip { .. } => vec![aside(TWIN_MARK_OFFSET), aside(-TWIN_MARK_OFFSET)],
        JointKind::Scissors => vec![start(0), start(3), start(2), start(1)],
        JointKind::End { .. }
        | JointKind::Turnout { .. }
        | JointKind::Wye
        | JointKind::Crossing
        | JointKind::Turntable { .. } => vec![at],
    };
    joint.machines.iter().copied().zip(places).collect()
}

/// Where a node's slanted legs leave: `[above on the left, below on the left, above on the right, below …]`.
pub(crate) fn slants(graph: &Graph, chains: &Chains, node: usize) -> [bool; 4] {
    let mut slants = [false; 4];
    for &dart in &graph.nodes[node].darts {
        if graph.level_run(dart).is_none() {
            let below = usize::from(graph.fall(dart) > 0);
            let right = usize::from(graph.side(dart) == Side::Right);
            slants[2 * right + below] = true;
        }
    }
    // On a ladder the points leg itself is slanted.
    for &chain in &chains.of_node[node] {
        for (side, tie) in chains.list[chain].ties.iter().enumerate() {
            let nearest =
                if side == 0 { chains.list[chain].nodes.first() } else { chains.list[chain].nodes.last() };
            if let Tie::Slanted(dart) = *tie
                && nearest == Some(&node)
            {
                // It comes from below where it rises, seen from where it starts.
                slants[2 * side + usize::from(graph.fall(dart) < 0)] = true;
            }
        }
    }
    slants
}
