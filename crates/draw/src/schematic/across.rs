//! How far across the sheet each joint stands.
//!
//! Every wish about distance is a bound of the form "this node stands at least so far right of that one". Neighbours
//! on a chain keep clear of one another; chains on one level follow one another in the order of the sweep; a slanted
//! leg passes the levels it crosses after what ended there and before what begins there. All of these point from earlier to
//! later turns, so longest paths give the least width.
//!
//! A link must also be exactly as long as its slant, which adds a bound the other way. These are added one by one; one
//! that would contradict the others is given back, and its chain gets a level of its own instead. In the same way the
//! joints of a ladder are pulled onto its slant where that is possible:
//!
//! ```text
//!            ╱●──────        not        ╱──●──────
//!          ╱●──────                  ╱──●──────
//!        ●──────                   ●──────
//! ```

use super::chain::{Chains, Tie, is_connector, rises, stops};
use super::graph::{Graph, Side};
use super::pins::OrderPin;
use super::solver::{Bound, Solver};
use super::sweep::Sweep;
use crate::sheet::{
    CONNECTOR_STUB, JOINT_GAP, LANDING_GAP, LEVEL_GAP, LEVEL_PITCH, RUN_MIN, SLANT_RUN, STEEP_RUN,
    STUB_LENGTH, Um,
};

/// What has to find room besides the tracks.
#[derive(Clone, Debug)]
pub(crate) struct Room {
    /// For each edge, the length of level run its name asks for.
    pub(crate) run: Vec<Um>,
    /// For each node where a track stops, the paper its mark and name take beyond it.
    pub(crate) beyond: Vec<Um>,
    /// For each node, what is kept free on both sides of it on top of the usual.
    pub(crate) extra: Vec<Um>,
    /// For each node, how far it reaches to its right (and, for a pit, to its left) of its place.
    pub(crate) reach: Vec<[Um; 2]>,
    /// For each dart, how far above or below its node's level it starts.
    pub(crate) rise: Vec<Um>,
    /// For each node, whether it keeps its way to the right edge of the sheet.
    pub(crate) to_the_edge: Vec<bool>,
    /// For each dart, whether it runs at 60° and not at 30°, if it is slanted.
    pub(crate) steep: Vec<bool>,
    /// Ends that stop together.
    pub(crate) together: Vec<Vec<usize>>,
}

/// The places found, and the links that need a level of their own.
pub(crate) struct Across {
    pub(crate) x: Vec<Um>,
    pub(crate) impossible: Vec<usize>,
    /// The nudges that the places do not hold to.
    pub(crate) unheld: Vec<usize>,
}

/// A place that keeps its distance from a node.
#[derive(Clone, Copy)]
struct Beside {
    node: usize,
    by: Um,
}

/// How far across a slant runs while it climbs this far.
pub(crate) fn run_of(climb: Um, steep: bool) -> Um {
    climb * if steep { STEEP_RUN } else { SLANT_RUN } / LEVEL_PITCH
}

struct Survey<'a> {
    graph: &'a Graph,
    chains: &'a Chains,
    levels: &'a [i64],
    sweep: &'a Sweep,
    room: &'a Room,
    bounds: Vec<Bound>,
    /// Non-link chains of each level, in the order of the sweep.
    on_level: Vec<Vec<usize>>,
}

/// A pair of places that should keep exactly the least distance between them, and what to do if they cannot.
struct Exact {
    back: Bound,
    chain: usize,
    wider: Option<Bound>,
}

/// Places every node.
pub(crate) fn across(
    graph: &Graph,
    chains: &Chains,
    levels: &[i64],
    sweep: &Sweep,
    room: &Room,
    orders: &[OrderPin],
) -> Across {
    let mut survey = Survey { graph, chains, levels, sweep, room, bounds: Vec::new(), on_level: Vec::new() };
    survey.sort_levels();
    let exact = survey.bound_chains();
    survey.bound_levels();
    survey.bound_slants();
    // In the order of the sweep every bound pushes a node that nothing has leant on yet.
    survey.bounds.sort_by_key(|bound| sweep.turn[bound.to]);
    let mut solver = Solver::new(graph.nodes.len(), survey.bounds);
    let mut impossible = Vec::new();
    for Exact { back, chain, wider } in exact {
        if solver.try_add(back) {
            continue;
        }
        match wider {
            Some(wider) => {
                solver.try_add(wider);
            }
            None => impossible.push(chain),
        }
    }
    let mut unheld = Vec::new();
    for pin in orders {
        if !solver.try_add(Bound { from: pin.left, to: pin.right, least: JOINT_GAP }) {
            unheld.push(pin.nudge);
        }
    }
    solver.settle_ends(graph, room);
    Across { x: solver.x, impossible, unheld }
}

impl Survey<'_> {
    fn sort_levels(&mut self) {
        let most = self.levels.iter().max().map_or(0, |most| usize::try_from(*most).unwrap_or(0) + 1);
        self.on_level = vec![Vec::new(); most];
        for (chain, &level) in self.levels.iter().enumerate() {
            if let (false, Ok(level)) = (self.chains.list[chain].link, usize::try_from(level)) {
                self.on_level[level].push(chain);
            }
        }
        let mut on_level = std::mem::take(&mut self.on_level);
        for chains in &mut on_level {
            chains.sort_by_key(|&chain| self.turns(chain));
        }
        self.on_level = on_level;
    }

    /// The turns at which a chain begins and ends.
    fn turns(&self, chain: usize) -> [usize; 2] {
        self.sweep.turns(self.graph, &self.chains.list[chain])
    }

    /// How far a slanted dart climbs to its chain, from where it starts.
    fn climb(&self, dart: usize) -> Um {
        let chain = self.chains.of_edge[self.graph.darts[dart].edge];
        let levels = (self.levels[chain] - self.levels[self.chains.parent(self.graph, dart)]).abs();
        (levels * LEVEL_PITCH - self.room.rise[dart].abs()).max(0)
    }

    fn reach(&self, node: usize, side: Side) -> Um {
        self.room.reach[node][usize::from(side == Side::Right)]
    }

    /// How far a slanted dart has come from its node's place when it has climbed to its chain.
    fn landing(&self, dart: usize) -> Beside {
        if self.graph.at_bow(dart) {
            return self.nose(dart);
        }
        let node = self.graph.darts[dart].node;
        let side = self.graph.side(dart);
        let by = self.reach(node, side) + run_of(self.climb(dart), self.room.steep[dart]);
        Beside { node, by: if side == Side::Right { by } else { -by } }
    }

    /// Where the two levels that meet at a turn leave off, so that it comes to a point at its node's place.
    fn nose(&self, dart: usize) -> Beside {
        let by = run_of(self.climb(dart) / 2, true);
        let by = if self.graph.side(dart) == Side::Right { by } else { -by };
        Beside { node: self.graph.darts[dart].node, by }
    }

    /// Where a chain's own level begins and ends, marks and names beyond its ends counted if asked for.
    fn extent(&self, chain: usize, with_names: bool) -> Option<[Beside; 2]> {
        let chain = &self.chains.list[chain];
        let place = |tie: Tie, node: Option<&usize>, sign: Um| match tie {
            Tie::Slanted(dart) if with_names && self.graph.at_bow(dart) => {
                Some(Beside { node: self.graph.darts[dart].node, by: 0 })
            }
            Tie::Slanted(dart) => Some(self.landing(dart)),
            Tie::Free => node.map(|&node| {
                let side = if sign < 0 { Side::Left } else { Side::Right };
                let beyond = if with_names { self.room.beyond[node] } else { 0 };
                Beside { node, by: sign * (beyond + self.reach(node, side)) }
            }),
        };
        Some([place(chain.ties[0], chain.nodes.first(), -1)?, place(chain.ties[1], chain.nodes.last(), 1)?])
    }

    fn bound(&mut self, from: Beside, to: Beside, gap: Um) {
        if from.node != to.node {
            self.bounds.push(Bound { from: from.node, to: to.node, least: gap + from.by - to.by });
        }
    }

    /// Distances along each chain; returns those that should be exact.
    fn bound_chains(&mut self) -> Vec<Exact> {
        let (mut links, mut hinges) = (Vec::new(), Vec::new());
        for index in 0..self.chains.list.len() {
            let chain = &self.chains.list[index];
            let Some(extent) = self.extent(index, false) else { continue };
            if let (true, [Tie::Slanted(left), Tie::Slanted(right)]) = (chain.link, chain.ties) {
                links.push(self.bound_link(index, left, right));
                continue;
            }
            let place = |node: usize| Beside { node, by: 0 };
            for (pair, &edge) in
                chain.nodes.windows(2).zip(&chain.edges[usize::from(chain.ties[0] != Tie::Free)..])
            {
                let gap = self.gap(pair[0], pair[1], edge);
                self.bound(place(pair[0]), place(pair[1]), gap);
            }
            match (chain.nodes.first(), chain.nodes.last()) {
                (Some(&first), Some(&last)) => {
                    if let Tie::Slanted(dart) = chain.ties[0] {
                        hinges.extend(self.bound_landing(index, dart, extent[0], first, Side::Left));
                    }
                    if let Tie::Slanted(dart) = chain.ties[1] {
                        hinges.extend(self.bound_landing(index, dart, extent[1], last, Side::Right));
                    }
                }
                _ => self.bound(extent[0], extent[1], RUN_MIN.max(self.room.run[chain.edges[0]])),
            }
        }
        links.extend(hinges);
        links
    }

    fn bound_link(&mut self, chain: usize, left: usize, right: usize) -> Exact {
        let (from, to) = (self.graph.darts[left].node, self.graph.darts[right].node);
        let levels = self.levels[self.chains.parent(self.graph, left)]
            - self.levels[self.chains.parent(self.graph, right)];
        let climb = levels.abs() * LEVEL_PITCH - self.room.rise[left].abs() - self.room.rise[right].abs();
        let least = self.reach(from, Side::Right)
            + self.reach(to, Side::Left)
            + run_of(climb.max(0), self.room.steep[left]);
        self.bounds.push(Bound { from, to, least });
        Exact { back: Bound { from: to, to: from, least: -least }, chain, wider: None }
    }

    /// The distance from where a slant lands to the node nearest to it.
    fn bound_landing(
        &mut self,
        chain: usize,
        dart: usize,
        landing: Beside,
        node: usize,
        side: Side,
    ) -> Option<Exact> {
        let edges = &self.chains.list[chain].edges;
        let edge = if side == Side::Left { edges.first() } else { edges.last() };
        let run = edge.map_or(0, |&edge| self.room.run[edge]);
        let own = Beside { node, by: 0 };
        let end = stops(self.graph, node, side) && !is_connector(self.graph, node);
        let usual = if end { STUB_LENGTH } else { LANDING_GAP };
        let wide = usual.max(run) + self.reach(node, side) + self.room.extra[node];
        let (from, to) = if side == Side::Left { (landing, own) } else { (own, landing) };
        if from.node == to.node {
            return None;
        }
        let bound = |gap: Um| Bound { from: from.node, to: to.node, least: gap + from.by - to.by };
        if run > 0 || !self.is_hinge(dart, node, side) {
            self.bounds.push(bound(wide));
            return None;
        }
        let tight = bound(0);
        self.bounds.push(tight);
        let back = Bound { from: to.node, to: from.node, least: -tight.least };
        Some(Exact { back, chain, wider: Some(bound(wide)) })
    }

    /// Whether a slant could run straight on through the node it comes to: a ladder.
    fn is_hinge(&self, dart: usize, node: usize, side: Side) -> bool {
        let onward = self.graph.darts_on(node, side.other());
        let climbs = |next: &usize| {
            self.graph.level_run(*next).is_none() && self.room.steep[*next] == self.room.steep[dart]
        };
        // Leaving to the right upward and arriving from the left downward are the same slant.
        self.graph.nodes[node].levels.len() == 1
            && self.graph.darts_on(node, side).len() == 1
            && self.reach(node, side) == 0
            && onward
                .iter()
                .filter(|dart| climbs(dart))
                .any(|&next| rises(self.graph, next) == rises(self.graph, dart))
    }

    fn gap(&self, left: usize, right: usize, edge: usize) -> Um {
        let (starts, ends) = (stops(self.graph, left, Side::Right), stops(self.graph, right, Side::Left));
        let stub = if is_connector(self.graph, left) || is_connector(self.graph, right) {
            CONNECTOR_STUB
        } else if starts || ends {
            STUB_LENGTH
        } else {
            JOINT_GAP
        };
        stub.max(self.room.run[edge])
            + self.reach(left, Side::Right)
            + self.reach(right, Side::Left)
            + self.room.extra[left]
            + self.room.extra[right]
    }

    fn bound_levels(&mut self) {
        let on_level = std::mem::take(&mut self.on_level);
        for pair in on_level.iter().flat_map(|chains| chains.windows(2)) {
            if let (Some([_, end]), Some([start, _])) =
                (self.extent(pair[0], true), self.extent(pair[1], true))
            {
                self.bound(end, start, LEVEL_GAP);
            }
        }
        self.on_level = on_level;
    }

    fn bound_slants(&mut self) {
        for index in 0..self.chains.list.len() {
            let chain = &self.chains.list[index];
            match (chain.link, chain.ties) {
                (true, [Tie::Slanted(left), Tie::Slanted(right)]) => self.bound_beside_link(left, right),
                (_, ties) => {
                    for tie in ties {
                        if let Tie::Slanted(dart) = tie {
                            self.bound_beside_leg(dart, index);
                        }
                    }
                }
            }
        }
    }

    /// Where a slant that starts at this dart passes a level.
    fn passing(&self, dart: usize, level: i64) -> Beside {
        let node = self.graph.darts[dart].node;
        let levels = (level - self.levels[self.chains.parent(self.graph, dart)]).abs();
        let side = self.graph.side(dart);
        let climb = (levels * LEVEL_PITCH - self.room.rise[dart].abs()).max(0);
        let by = self.reach(node, side) + run_of(climb, self.room.steep[dart]);
        Beside { node, by: if side == Side::Right { by } else { -by } }
    }

    /// What lies on a level before and after a slant passes it keeps away from here.
    fn sides_of_passing(&self, dart: usize, level: i64) -> [Beside; 2] {
        if !self.graph.at_bow(dart) {
            return [self.passing(dart, level); 2];
        }
        // Inside, where the levels leave off; outside, at the point.
        let (inside, outside) = (self.nose(dart), Beside { node: self.graph.darts[dart].node, by: 0 });
        match self.graph.side(dart) {
            Side::Left => [inside, outside],
            Side::Right => [outside, inside],
        }
    }

    fn levels_between(&self, from: usize, to: usize) -> std::ops::Range<i64> {
        let (low, high) = (self.levels[from].min(self.levels[to]), self.levels[from].max(self.levels[to]));
        low + 1..high
    }

    fn bound_beside_leg(&mut self, dart: usize, chain: usize) {
        let turn = self.sweep.turn[self.graph.darts[dart].node];
        for level in self.levels_between(self.chains.parent(self.graph, dart), chain) {
            let Some(others) = usize::try_from(level).ok().and_then(|level| self.on_level.get(level)) else {
                continue;
            };
            let after = others.partition_point(|&other| self.turns(other)[0] < turn);
            let before = after.checked_sub(1).map(|place| others[place]);
            let after = others[after..].iter().copied().find(|&other| self.turns(other)[0] > turn);
            let [before_at, after_at] = self.sides_of_passing(dart, level);
            if let Some(other) = before.filter(|&other| self.turns(other)[1] < turn) {
                self.keep_before(other, before_at);
            }
            if let Some(other) = after {
                self.keep_after(other, after_at);
            }
        }
    }

    fn bound_beside_link(&mut self, left: usize, right: usize) {
        let edge = self.graph.darts[left].edge;
        let up = rises(self.graph, left);
        let turn = |dart: usize| self.sweep.turn[self.graph.darts[dart].node];
        let (starts, ends) = (turn(left), turn(right));
        let beside = |side: usize, chain: usize| {
            self.sweep.beside[edge][side].iter().any(|&other| self.chains.of_edge[other] == chain)
        };
        let parents = [left, right].map(|dart| self.chains.parent(self.graph, dart));
        let mut bounds = Vec::new();
        for level in self.levels_between(parents[0], parents[1]) {
            let Some(others) = usize::try_from(level).ok().and_then(|level| self.on_level.get(level)) else {
                continue;
            };
            for &other in others {
                let [begun, ended] = self.turns(other);
                let (above, below) = (beside(0, other), beside(1, other));
                let before = if above || below { above == up } else { ended <= starts };
                if before || above || below || begun >= ends {
                    bounds.push((other, self.passing(left, level), before));
                }
            }
        }
        for (other, at, before) in bounds {
            if before { self.keep_before(other, at) } else { self.keep_after(other, at) }
        }
    }

    fn keep_before(&mut self, chain: usize, at: Beside) {
        if let Some([_, end]) = self.extent(chain, true) {
            self.bound(end, at, LEVEL_GAP);
        }
    }

    fn keep_after(&mut self, chain: usize, at: Beside) {
        if let Some([start, _]) = self.extent(chain, true) {
            self.bound(at, start, LEVEL_GAP);
        }
    }
}
