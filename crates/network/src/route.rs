//! Routes: every path between two stops, with the position each machine needs.
//!
//! A route runs from one stop to another, passes no other stop, never turns back on itself inside a joint, runs over
//! no track twice and uses no machine twice. So a train that goes round a balloon and leaves over the turnout it came
//! in by has run two routes, and only if the balloon holds a stop: without one there is no route, since the turnout would
//! be used twice. A crossing has no machine and may be met twice, once on each of its lines. A route is one thing
//! whichever way it is driven: it is kept in the direction that starts at the stop whose name comes first in natural
//! order. A path from a stop back to itself is none: it would run over the stop's track twice.
//!
//! The search is depth first over the flat arrays of [`Ways`], without recursion; [`Routes`] delivers one route at a time, so
//! that a million need not be held. Routes with a common beginning share the steps of it. Ways that lead to no stop where
//! a route from here may end are never entered. When a long stretch of steps brings no route, the search looks ahead
//! before each step, so that a maze without exit costs time in proportion to its size, not to the number of paths in it.
//! A route costs the steps in which it differs from the one before; how many routes there are can grow exponentially with
//! the number of joints, so [`find_routes`] takes a limit, and [`STEPS_MAX`] bounds the search.

use crate::model::{MachineId, Network, Pass, Position, TrackId};
use crate::steps::small;
use crate::ways::{NOWHERE, Way, Ways};

/// The most routes that are kept.
pub const ROUTES_MAX: usize = 20_000;

/// The most tracks that the kept routes have together, so that many long routes do not fill the memory.
pub const ROUTE_TRACKS_MAX: usize = 5_000_000;

/// The most steps that the search takes before it gives up.
pub const STEPS_MAX: u64 = 50_000_000;

/// Steps without a route after which the search looks ahead, as a multiple of the number of ways.
const PATIENCE: u64 = 8;

/// A path between two stops.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Route {
    /// Its tracks, the two stops among them.
    pub tracks: Vec<TrackId>,
    /// How it runs through each joint between two of its tracks: one fewer than `tracks`.
    pub passes: Vec<Pass>,
    /// The machines it needs, in natural order, each with its position.
    pub needs: Vec<(MachineId, Position)>,
}

impl Route {
    /// The stop it starts at.
    pub fn from(&self) -> TrackId {
        self.tracks[0]
    }

    /// The stop it ends at.
    pub fn to(&self) -> TrackId {
        self.tracks[self.tracks.len() - 1]
    }
}

/// The routes of a network, and whether all of them are here.
#[derive(Clone, Debug, Default)]
pub struct RouteList {
    /// The routes: by first stop, then in the order of the search.
    pub routes: Vec<Route>,
    /// False when a limit ended the search.
    pub complete: bool,
}

/// Every route of a network, up to `most` of them and up to [`ROUTE_TRACKS_MAX`] tracks in all.
pub fn find_routes(network: &Network, most: usize) -> RouteList {
    let ways = Ways::new(network);
    let mut routes = ways.routes();
    let mut list = RouteList::default();
    let mut tracks_left = ROUTE_TRACKS_MAX;
    while let Some(path) = routes.advance() {
        let route = path.to_route();
        let Some(left) = tracks_left.checked_sub(route.tracks.len()) else { return list };
        if list.routes.len() == most {
            return list;
        }
        tracks_left = left;
        list.routes.push(route);
    }
    list.complete = !routes.gave_up();
    list
}

/// A route where the search stands: valid until the search goes on.
#[derive(Clone, Copy, Debug)]
pub struct Path<'a> {
    ways: &'a Ways<'a>,
    tracks: &'a [TrackId],
    open: &'a [Open],
}

impl Path<'_> {
    /// Its tracks in order, the two stops among them.
    pub fn tracks(&self) -> &[TrackId] {
        self.tracks
    }

    /// How it runs through each joint.
    pub fn passes(&self) -> impl Iterator<Item = Pass> {
        self.open.iter().flat_map(|open| self.ways.passes(self.ways.way(open.taken()))).copied()
    }

    /// The route as a value of its own.
    pub fn to_route(&self) -> Route {
        route_of(self.ways.network, self.tracks.to_vec(), self.passes().collect())
    }
}

/// A route with the positions that its passes need.
pub(crate) fn route_of(network: &Network, tracks: Vec<TrackId>, passes: Vec<Pass>) -> Route {
    let mut needs: Vec<(MachineId, Position)> = passes
        .iter()
        .flat_map(|pass| &network.joint(pass.joint).moves[pass.move_index as usize].needs)
        .copied()
        .collect();
    needs.sort_unstable();
    Route { tracks, passes, needs }
}

/// A node reached: the ways from it that are still to try. The one before `next` is being tried.
#[derive(Clone, Copy, Debug)]
struct Open {
    next: u32,
    end: u32,
    /// How many tracks led here.
    track_count: u32,
}

impl Open {
    fn taken(self) -> u32 {
        self.next - 1
    }
}

/// The search for routes: delivers one at a time.
///
/// # Example
/// ```
/// # let text = "[layout]\nname = \"Tern Harbor\"\n[end.a]\ntrack = \"pier\"\n[end.b]\ntrack = \"wharf\"\n[end.c]\ntrack = \"lead\"\n\
/// # [turnout.1]\npoints = \"lead\"\nthrough = \"pier\"\ndiverging = \"wharf\"\nhand = \"left\"\n";
/// let network = description::read(text).then(network::resolve).value;
/// let ways = network::Ways::new(&network);
/// let lengths: Vec<usize> = ways.routes().map(|route| route.tracks.len()).collect();
/// assert_eq!(lengths, [2, 2]);
/// ```
#[derive(Debug)]
pub struct Routes<'a> {
    ways: &'a Ways<'a>,
    next_start: usize,
    /// Where it begins, when it begins at one stop only.
    only_from: Option<TrackId>,
    /// The one stop that it ends at, when there is only one.
    only_to: Option<TrackId>,
    /// The track number of the stop it began at.
    first: u32,
    /// The nodes reached so far.
    open: Vec<Open>,
    /// The tracks run over so far: the start's, then those of each way being tried.
    tracks: Vec<TrackId>,
    used: Vec<bool>,
    steps_left: u64,
    /// What `steps_left` was when the last route was found.
    steps_left_at_route: u64,
    ahead: LookAhead,
}

impl<'a> Ways<'a> {
    /// A search for all routes, at its beginning.
    pub fn routes(&'a self) -> Routes<'a> {
        Routes {
            ways: self,
            next_start: 0,
            only_from: None,
            only_to: None,
            first: 0,
            open: Vec::new(),
            tracks: Vec::new(),
            used: vec![false; self.key_count()],
            steps_left: STEPS_MAX,
            steps_left_at_route: STEPS_MAX,
            ahead: LookAhead { seen: vec![0; self.node_count()], round: 0, queue: Vec::new() },
        }
    }
}

impl Routes<'_> {
    /// Keeps to the routes between two stops, the first of them first in natural order.
    #[must_use]
    pub(crate) fn only_between(self, first: TrackId, last: TrackId) -> Self {
        Self { only_from: Some(first), only_to: Some(last), ..self }
    }

    /// True when [`STEPS_MAX`] ended the search before all routes were found.
    pub fn gave_up(&self) -> bool {
        self.steps_left == 0
    }

    /// Walks on to the next route; none when all have been found or the search gave up.
    pub fn advance(&mut self) -> Option<Path<'_>> {
        loop {
            let Some(open) = self.open.last_mut() else {
                if self.start() {
                    continue;
                }
                return None;
            };
            if open.next == open.end {
                self.back();
                continue;
            }
            let way = self.ways.way(open.next);
            open.next += 1;
            if self.steps_left == 0 {
                return None;
            }
            self.steps_left -= 1;
            let keys = self.ways.keys(way);
            if way.reach <= self.first || keys.iter().any(|&key| self.used[key as usize]) {
                continue;
            }
            // What a way tried before has left behind is dropped here, where it costs nothing extra.
            self.tracks.truncate(open.track_count as usize);
            self.tracks.extend_from_slice(self.ways.tracks(way));
            if way.node == NOWHERE {
                if self.only_to.is_some() && self.only_to != self.tracks.last().copied() {
                    continue;
                }
                self.steps_left_at_route = self.steps_left;
                return Some(Path { ways: self.ways, tracks: &self.tracks, open: &self.open });
            }
            for &key in keys {
                self.used[key as usize] = true;
            }
            self.push_open(way.node);
            if self.steps_left_at_route - self.steps_left > PATIENCE * self.ways.len() as u64 {
                self.look_ahead(way);
            }
        }
    }

    /// Begins at the next start; false when there is none left.
    fn start(&mut self) -> bool {
        let mut starts = self.ways.starts().iter().enumerate().skip(self.next_start);
        let Some((index, &(stop, node))) =
            starts.find(|(_, start)| self.only_from.is_none_or(|only| only == start.0))
        else {
            return false;
        };
        self.next_start = index + 1;
        self.first = small(stop.index());
        self.tracks.clear();
        self.tracks.push(stop);
        self.push_open(node);
        true
    }

    fn push_open(&mut self, node: u32) {
        let (next, end) = self.ways.ways_from(node);
        self.open.push(Open { next, end, track_count: small(self.tracks.len()) });
    }

    /// Takes a way back at once when no stop is in reach after it.
    fn look_ahead(&mut self, way: &Way) {
        let (in_reach, cost) = self.ahead.spent(self.ways, self.first, way.node, &self.used);
        self.steps_left = self.steps_left.saturating_sub(cost);
        if !in_reach {
            self.back();
        }
    }

    /// Takes back the last node reached, and the way that led to it.
    fn back(&mut self) {
        self.open.pop();
        if let Some(open) = self.open.last() {
            for &key in self.ways.keys(self.ways.way(open.taken())) {
                self.used[key as usize] = false;
            }
        }
    }
}

impl Iterator for Routes<'_> {
    type Item = Route;

    fn next(&mut self) -> Option<Route> {
        self.advance().map(|path| path.to_route())
    }
}

/// Looks whether a stop can still be reached over what is not used yet.
#[derive(Debug)]
struct LookAhead {
    /// The round in which each node was seen last.
    seen: Vec<u32>,
    round: u32,
    queue: Vec<u32>,
}

impl LookAhead {
    /// Whether a later stop is in reach, and how many ways were looked at to find out.
    fn spent(&mut self, ways: &Ways<'_>, first: u32, from: u32, used: &[bool]) -> (bool, u64) {
        self.round = self.round.wrapping_add(1);
        self.queue.clear();
        self.queue.push(from);
        let mut cost = 0;
        while let Some(node) = self.queue.pop() {
            let (start, end) = ways.ways_from(node);
            for way in (start..end).map(|number| ways.way(number)) {
                cost += 1;
                if way.reach <= first || ways.keys(way).iter().any(|&key| used[key as usize]) {
                    continue;
                }
                if way.node == NOWHERE {
                    return (true, cost);
                }
                if std::mem::replace(&mut self.seen[way.node as usize], self.round) != self.round {
                    self.queue.push(way.node);
                }
            }
        }
        (false, cost)
    }
}
