//! The network as a plane graph in the making: nodes with arms to the left and right, edges between them.
//!
//! Every joint becomes a node (a crossover becomes two, with a link between them). An arm of a node, here called a
//! *dart*, lies on one of its two sides and has a rank from top to bottom there; both follow from the kind of joint and
//! its hand:
//!
//! ```text
//!                  ╱ diverging, rank -1            c, rank -1 ╲   ╱ …
//! points ─────────●──────── through, rank 0        a, rank 0 ───●─── b, rank 0
//!   left side            right side                              ╲ d, rank +1
//! ```
//!
//! A node may be *turned* by half a turn, which swaps sides and ranks together and so keeps every hand true. Where the
//! description leaves the ranks open (a crossing does not say which track lies above), the node has a *choice* that
//! reverses them. Two opposite arms are *level* with one another, the others leave slanted.

use description::Hand;
use network::{JointId, JointKind, Network, TrackId};

/// One side of a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Side {
    Left,
    Right,
}

impl Side {
    pub(crate) fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// Which piece of its joint a node is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Whole,
    /// The turnout of a crossover on line `one`.
    A,
    /// The one on line `other`.
    B,
}

/// What a node stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum What {
    Joint(JointId, Part),
    /// One of the two places where a track is cut; both carry the same number.
    Connector(usize),
    /// Where a track turns back: both its darts lie on one side.
    Bow,
}

#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) what: What,
    pub(crate) darts: Vec<usize>,
    /// Arms that are level with one another: the one on the unturned left and the one on the unturned right.
    pub(crate) levels: Vec<[Option<usize>; 2]>,
    pub(crate) turned: bool,
    pub(crate) choice: Option<usize>,
}

#[derive(Clone, Debug)]
pub(crate) struct Dart {
    pub(crate) node: usize,
    pub(crate) edge: usize,
    pub(crate) port: Option<u8>,
    side: Side,
    rank: i32,
}

/// What an edge stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EdgeKind {
    Track(TrackId),
    /// The piece between the two turnouts of a crossover.
    Link(JointId),
}

#[derive(Clone, Debug)]
pub(crate) struct Edge {
    pub(crate) kind: EdgeKind,
    pub(crate) darts: [usize; 2],
}

/// Nodes, darts and edges, each known by its place in its list.
#[derive(Clone, Debug, Default)]
pub(crate) struct Graph {
    pub(crate) nodes: Vec<Node>,
    pub(crate) darts: Vec<Dart>,
    pub(crate) edges: Vec<Edge>,
    /// For each choice, whether the ranks are reversed.
    pub(crate) choices: Vec<bool>,
}

/// An arm to be: the port it stands for, its side and its rank.
type Arm = (Option<u8>, Side, i32);

impl Graph {
    /// The graph of a network, nothing turned, nothing chosen, nothing cut.
    pub(crate) fn of(network: &Network) -> Self {
        let mut graph = Self::default();
        let mut links = Vec::new();
        let mut darts_of: Vec<Vec<Option<usize>>> = Vec::with_capacity(network.joints.len());
        for index in 0..network.joints.len() {
            let joint = JointId::at(index);
            let before = graph.darts.len();
            graph.add_joint(network, joint, &mut links);
            let mut of_ports = vec![None; network.joint(joint).tracks.len()];
            for dart in before..graph.darts.len() {
                if let Some(slot) = graph.darts[dart].port.and_then(|port| of_ports.get_mut(port as usize)) {
                    *slot = Some(dart);
                }
            }
            darts_of.push(of_ports);
        }
        for (joint, darts) in links {
            graph.add_edge(EdgeKind::Link(joint), darts);
        }
        for (index, track) in network.tracks.iter().enumerate() {
            let dart = |end: network::Port| {
                darts_of
                    .get(end.joint.index())
                    .and_then(|ports| ports.get(end.port as usize).copied().flatten())
            };
            if let (Some(first), Some(second)) = (dart(track.ends[0]), dart(track.ends[1])) {
                graph.add_edge(EdgeKind::Track(TrackId::at(index)), [first, second]);
            }
        }
        graph
    }

    fn add_joint(&mut self, network: &Network, joint: JointId, links: &mut Vec<(JointId, [usize; 2])>) {
        use Side::{Left, Right};
        let whole = What::Joint(joint, Part::Whole);
        let port_count = u8::try_from(network.joint(joint).tracks.len()).unwrap_or(u8::MAX);
        match network.joint(joint).kind {
            JointKind::End { .. } => {
                self.add_node(whole, &[(Some(0), Right, 0)], &[[None, Some(0)]], None);
            }
            JointKind::Turnout { hand } => {
                let arms = [(Some(0), Left, 0), (Some(1), Right, 0), (Some(2), Right, rank_of(hand))];
                self.add_node(whole, &arms, &[[Some(0), Some(1)]], None);
            }
            JointKind::Wye => {
                let straight = if line_takes(network, joint, [0, 2]) < line_takes(network, joint, [0, 1]) {
                    2
                } else {
                    1
                };
                let arms = [(Some(0), Left, 0), (Some(1), Right, -1), (Some(2), Right, 1)];
                self.add_node(whole, &arms, &[[Some(0), Some(straight)]], None);
            }
            JointKind::Threeway => {
                let arms =
                    [(Some(0), Left, 0), (Some(1), Right, 0), (Some(2), Right, -1), (Some(3), Right, 1)];
                self.add_node(whole, &arms, &[[Some(0), Some(1)]], None);
            }
            JointKind::Crossover { hand } => {
                let choice = hand.is_none().then(|| self.add_choice());
                let rank = rank_of(hand.unwrap_or(Hand::Left));
                let turnout = |points, through| {
                    [(Some(points), Left, 0), (Some(through), Right, 0), (None, Right, rank)]
                };
                let level = [[Some(0), Some(1)]];
                let a = self.add_node(What::Joint(joint, Part::A), &turnout(0, 1), &level, choice);
                let b = self.add_node(What::Joint(joint, Part::B), &turnout(3, 2), &level, choice);
                links.push((joint, [self.nodes[a].darts[2], self.nodes[b].darts[2]]));
            }
            JointKind::Scissors => {
                let choice = Some(self.add_choice());
                let arms = [(Some(0), Left, 0), (Some(1), Right, 0), (Some(2), Left, 1), (Some(3), Right, 1)];
                self.add_node(whole, &arms, &[[Some(0), Some(1)], [Some(2), Some(3)]], choice);
            }
            JointKind::Slip { .. } | JointKind::Crossing => {
                let choice = Some(self.add_choice());
                let arms =
                    [(Some(0), Left, 0), (Some(1), Right, 0), (Some(2), Left, -1), (Some(3), Right, 1)];
                let cd_first = line_takes(network, joint, [2, 3]) < line_takes(network, joint, [0, 1]);
                let level = if cd_first { [Some(2), Some(3)] } else { [Some(0), Some(1)] };
                self.add_node(whole, &arms, &[level], choice);
            }
            JointKind::Turntable { approach_count } => {
                let approaches = approach_count.min(port_count);
                let stalls = port_count - approaches;
                let rank = |index: u8, of: u8| i32::from(index) - i32::from(of / 2);
                let mut arms: Vec<Arm> = Vec::new();
                arms.extend((0..approaches).map(|i| (Some(i), Left, rank(i, approaches))));
                arms.extend((0..stalls).map(|i| (Some(approaches + i), Right, rank(i, stalls))));
                let middle = |of: u8, first: u8| (of > 0).then(|| usize::from(first + of / 2));
                let level = [middle(approaches, 0), middle(stalls, approaches)];
                let choice = (port_count > 2).then(|| self.add_choice());
                if port_count > 0 {
                    self.add_node(whole, &arms, &[level], choice);
                }
            }
        }
    }

    fn add_choice(&mut self) -> usize {
        self.choices.push(false);
        self.choices.len() - 1
    }

    fn add_node(
        &mut self,
        what: What,
        arms: &[Arm],
        levels: &[[Option<usize>; 2]],
        choice: Option<usize>,
    ) -> usize {
        let node = self.nodes.len();
        let first = self.darts.len();
        for &(port, side, rank) in arms {
            self.darts.push(Dart { node, edge: usize::MAX, port, side, rank });
        }
        let level = |arm: Option<usize>| arm.map(|arm| first + arm);
        self.nodes.push(Node {
            what,
            darts: (first..self.darts.len()).collect(),
            levels: levels.iter().map(|&[left, right]| [level(left), level(right)]).collect(),
            turned: false,
            choice,
        });
        node
    }

    fn add_edge(&mut self, kind: EdgeKind, darts: [usize; 2]) {
        let edge = self.edges.len();
        for dart in darts {
            self.darts[dart].edge = edge;
        }
        self.edges.push(Edge { kind, darts });
    }

    /// Cuts an edge: each of its darts gets a stub of its own that ends at a connector of this number.
    pub(crate) fn cut(&mut self, edge: usize, number: usize) {
        let [first, second] = self.edges[edge].darts;
        let kind = self.edges[edge].kind;
        let tips = [first, second].map(|dart| {
            let tip =
                self.add_node(What::Connector(number), &[(None, Side::Right, 0)], &[[None, Some(0)]], None);
            self.nodes[tip].turned = self.side(dart) == Side::Right;
            self.nodes[tip].darts[0]
        });
        self.edges[edge].darts = [first, tips[0]];
        self.darts[tips[0]].edge = edge;
        self.add_edge(kind, [second, tips[1]]);
    }

    /// Bends an edge back at so many places; by which hand the sign says. Negative: whoever follows the edge from its second
    /// dart to its first turns left each time, where level is straight on.
    pub(crate) fn bow(&mut self, edge: usize, turns: i64) {
        let [first, second] = self.edges[edge].darts;
        let kind = self.edges[edge].kind;
        let count = turns.unsigned_abs();
        let mut from = first;
        for index in 1..=count {
            let side = self.side(from).other();
            // Followed from the first dart the other hand counts.
            let comes_above = (turns < 0) == (side == Side::Left);
            let turned = side == Side::Left;
            let comes = if comes_above == turned { 1 } else { -1 };
            let comes_level =
                self.level_run(from).is_some() || index < count || self.level_run(second).is_none();
            let arms = [(None, Side::Right, comes), (None, Side::Right, -comes)];
            let node = self.add_node(What::Bow, &arms, &[[None, Some(usize::from(!comes_level))]], None);
            self.nodes[node].turned = turned;
            let [comes, goes] = [self.nodes[node].darts[0], self.nodes[node].darts[1]];
            if index == 1 {
                self.edges[edge].darts = [first, comes];
                self.darts[comes].edge = edge;
            } else {
                self.add_edge(kind, [from, comes]);
            }
            from = goes;
        }
        if count > 0 {
            self.add_edge(kind, [from, second]);
        }
    }

    /// Whether a dart is at a place where its track turns back.
    pub(crate) fn at_bow(&self, dart: usize) -> bool {
        matches!(self.nodes[self.darts[dart].node].what, What::Bow)
    }

    /// The edges of one track that hang together over places where it turns back, from end to end, each with whether it is
    /// run from right to left. Most often the edge alone.
    pub(crate) fn strand(&self, edge: usize) -> Vec<(usize, bool)> {
        let onward = |dart: usize| {
            let far = self.far(dart);
            self.at_bow(far).then(|| {
                let darts = &self.nodes[self.darts[far].node].darts;
                if darts[0] == far { darts[1] } else { darts[0] }
            })
        };
        // Back to one end, then forward to the other. A strand has no more edges than there are.
        let mut start = self.ends(edge)[1];
        for _ in 0..self.edges.len() {
            match onward(start) {
                Some(next) => start = next,
                None => break,
            }
        }
        let mut strand = Vec::new();
        let mut at = self.far(start);
        for _ in 0..self.edges.len() {
            strand.push((self.darts[at].edge, self.side(at) == Side::Left));
            match onward(at) {
                Some(next) => at = next,
                None => break,
            }
        }
        strand
    }

    /// The dart at the other end of a dart's edge.
    fn far(&self, dart: usize) -> usize {
        let [first, second] = self.edges[self.darts[dart].edge].darts;
        if first == dart { second } else { first }
    }

    /// Makes the second leg of a turnout or wye level with its points.
    pub(crate) fn make_straight(&mut self, node: usize) {
        if let [points, _, second] = self.nodes[node].darts[..] {
            self.nodes[node].levels = vec![[Some(points), Some(second)]];
        }
    }

    /// The side of its node on which a dart is drawn.
    pub(crate) fn side(&self, dart: usize) -> Side {
        let dart = &self.darts[dart];
        if self.nodes[dart.node].turned { dart.side.other() } else { dart.side }
    }

    /// The side on which it would be drawn were its node not turned.
    pub(crate) fn own_side(&self, dart: usize) -> Side {
        self.darts[dart].side
    }

    /// The rank of a dart from top to bottom, as drawn.
    pub(crate) fn rank(&self, dart: usize) -> i32 {
        let Dart { node, rank, .. } = self.darts[dart];
        let node = &self.nodes[node];
        let reversed = node.choice.is_some_and(|choice| self.choices[choice]);
        if node.turned == reversed { rank } else { -rank }
    }

    /// The darts on one side of a node, from top to bottom, as drawn.
    pub(crate) fn darts_on(&self, node: usize, side: Side) -> Vec<usize> {
        let mut darts: Vec<usize> =
            self.nodes[node].darts.iter().copied().filter(|&dart| self.side(dart) == side).collect();
        darts.sort_by_key(|&dart| self.rank(dart));
        darts
    }

    /// Which level run of its node a dart belongs to, if it does not leave slanted.
    pub(crate) fn level_run(&self, dart: usize) -> Option<usize> {
        self.nodes[self.darts[dart].node].levels.iter().position(|run| run.contains(&Some(dart)))
    }

    /// The dart that goes on level on the other side.
    pub(crate) fn opposite(&self, dart: usize) -> Option<usize> {
        let node = &self.nodes[self.darts[dart].node];
        let [left, right] = *node.levels.get(self.level_run(dart)?)?;
        if left == Some(dart) { right } else { left }
    }

    /// How many places above (negative) or below the level arm of its side a slanted dart leaves.
    pub(crate) fn fall(&self, dart: usize) -> i32 {
        let node = self.darts[dart].node;
        let level = self
            .darts_on(node, self.side(dart))
            .into_iter()
            .find(|&other| other != dart && self.level_run(other).is_some());
        let fall = self.rank(dart) - level.map_or(0, |level| self.rank(level));
        if fall == 0 { 1 } else { fall }
    }

    /// The node at the other end of a dart's edge.
    pub(crate) fn across(&self, dart: usize) -> usize {
        self.far(dart)
    }

    /// The darts of an edge with the one of its left end first.
    pub(crate) fn ends(&self, edge: usize) -> [usize; 2] {
        let [first, second] = self.edges[edge].darts;
        if self.side(first) == Side::Right { [first, second] } else { [second, first] }
    }

    /// The track of an edge.
    pub(crate) fn track(&self, edge: usize) -> Option<TrackId> {
        match self.edges[edge].kind {
            EdgeKind::Track(track) => Some(track),
            EdgeKind::Link(_) => None,
        }
    }
}

/// The rank of a leg that leaves to this hand, seen from points on the left: left is up.
fn rank_of(hand: Hand) -> i32 {
    match hand {
        Hand::Left => -1,
        Hand::Right => 1,
    }
}

/// The place, in the order of the file, of the first line that runs through a joint between two ports.
fn line_takes(network: &Network, joint: JointId, ports: [u8; 2]) -> usize {
    let [a, b] = ports;
    let takes = |pass: &network::Pass| {
        pass.joint == joint && ((pass.enter, pass.leave) == (a, b) || (pass.enter, pass.leave) == (b, a))
    };
    network.lines.iter().position(|line| line.passes.iter().any(takes)).unwrap_or(usize::MAX)
}
