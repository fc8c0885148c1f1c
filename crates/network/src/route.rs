//! Routes: every path between two stops, with the position each machine needs.
//!
//! A route runs from one stop to another, passes no other stop, never turns back on itself inside a joint, runs over
//! no track twice and uses no machine twice. So a train that goes round a balloon and leaves over the turnout it came
//! in by has run two routes, and only if the balloon holds a stop: without one there is no route, since the turnout would
//! be used twice. A crossing has no machine and may be met twice, once on each of its lines. A route is one thing
//! whichever way it is driven: it is kept in the direction that starts at the stop whose name comes first in natural
//! order. A path from a stop back to itself is none: it would run over the stop's track twice.
//!
//! The search is depth first over flat arrays, without recursion; [`Routes`] delivers one route at a time, so that a
//! million need not be held. Ways from which no stop can ever be reached are never entered. When a long stretch of
//! steps brings no route, the search looks ahead before each step, so that a maze without exit costs time in proportion
//! to its size, not to the number of paths in it. Each route costs at least its length; how many there are can grow
//! exponentially with the number of joints, so [`find_routes`] takes a limit, and [`STEPS_MAX`] bounds the search.

use crate::model::{MachineId, Network, Pass, Position, TrackId};
use crate::ways::{Ways, track_id};

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
    let mut routes = Routes::new(network);
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
    network: &'a Network,
    ways: &'a Ways,
    tracks: &'a [TrackId],
    taken: &'a [u32],
}

impl Path<'_> {
    /// Its tracks in order, the two stops among them.
    pub fn tracks(&self) -> &[TrackId] {
        self.tracks
    }

    /// How it runs through each joint.
    pub fn passes(&self) -> impl Iterator<Item = Pass> {
        self.taken.iter().map(|&way| self.ways.pass(way))
    }

    /// The route as a value of its own.
    pub fn to_route(&self) -> Route {
        let passes: Vec<Pass> = self.passes().collect();
        let mut needs: Vec<(MachineId, Position)> = passes
            .iter()
            .flat_map(|pass| &self.network.joint(pass.joint).moves[pass.move_index as usize].needs)
            .copied()
            .collect();
        needs.sort_unstable();
        Route { tracks: self.tracks.to_vec(), passes, needs }
    }
}

/// The search for routes: delivers one at a time.
///
/// # Example
/// ```
/// # let text = "[layout]\nname = \"Tern Harbor\"\n[end.a]\ntrack = \"pier\"\n[end.b]\ntrack = \"wharf\"\n[end.c]\ntrack = \"lead\"\n\
/// # [turnout.1]\npoints = \"lead\"\nthrough = \"pier\"\ndiverging = \"wharf\"\nhand = \"left\"\n";
/// let network = description::read(text).then(network::resolve).value;
/// let lengths: Vec<usize> = network::Routes::new(&network).map(|route| route.tracks.len()).collect();
/// assert_eq!(lengths, [2, 2]);
/// ```
#[derive(Debug)]
pub struct Routes<'a> {
    network: &'a Network,
    ways: Ways,
    /// For each port of arrival: whether any stop can be reached from it.
    hopeful: Vec<bool>,
    /// Where the search may begin: stop and port of arrival at its first joint, in the order of the stops.
    starts: Vec<(TrackId, u32)>,
    next_start: usize,
    first: TrackId,
    /// The ways taken so far.
    taken: Vec<u32>,
    /// The tracks run over so far: the start's, then one for each way taken.
    tracks: Vec<TrackId>,
    /// For each joint reached, the ways still to try: from the start's joint on, one more than `taken`.
    open: Vec<(u32, u32)>,
    track_used: Vec<bool>,
    machine_used: Vec<bool>,
    steps_left: u64,
    steps_since_route: u64,
    ahead: LookAhead,
}

impl<'a> Routes<'a> {
    /// A search at its beginning.
    pub fn new(network: &'a Network) -> Self {
        let ways = Ways::new(network);
        let starts = network
            .stops()
            .flat_map(|stop| network.track(stop).ends.map(|end| (stop, end)))
            .map(|(stop, end)| (stop, ways.port(end)))
            .collect();
        let port_count = ways.port_count();
        Self {
            hopeful: hopeful(&ways),
            starts,
            next_start: 0,
            first: TrackId::at(0),
            taken: Vec::new(),
            tracks: Vec::new(),
            open: Vec::new(),
            track_used: vec![false; network.tracks.len()],
            machine_used: vec![false; network.machines.len()],
            steps_left: STEPS_MAX,
            steps_since_route: 0,
            ahead: LookAhead { seen: vec![0; port_count], round: 0, queue: Vec::new() },
            network,
            ways,
        }
    }

    /// True when [`STEPS_MAX`] ended the search before all routes were found.
    pub fn gave_up(&self) -> bool {
        self.steps_left == 0
    }

    /// Walks on to the next route; none when all have been found or the search gave up.
    pub fn advance(&mut self) -> Option<Path<'_>> {
        // The last way of the route delivered before is taken back first.
        if self.open.len() == self.taken.len() && !self.taken.is_empty() {
            self.taken.pop();
            self.tracks.pop();
        }
        loop {
            let Some(open) = self.open.last_mut() else {
                if !self.start() {
                    return None;
                }
                continue;
            };
            if open.0 == open.1 {
                self.back();
                continue;
            }
            let number = open.0;
            open.0 += 1;
            if self.steps_left == 0 {
                return None;
            }
            self.steps_left -= 1;
            self.steps_since_route += 1;
            if self.take(number) {
                self.steps_since_route = 0;
                let Self { network, ways, tracks, taken, .. } = self;
                return Some(Path { network, ways, tracks, taken });
            }
        }
    }

    /// Begins at the next start; false when there is none left.
    fn start(&mut self) -> bool {
        let Some(&(stop, port)) = self.starts.get(self.next_start) else { return false };
        self.next_start += 1;
        self.first = stop;
        self.tracks.push(stop);
        self.track_used[stop.index()] = true;
        self.open.push(self.ways.ways_from(port));
        true
    }

    /// Takes a way if nothing is used twice; true if that completes a route.
    fn take(&mut self, number: u32) -> bool {
        let way = self.ways.way(number);
        let (track, arrive) = (way.track, way.arrive);
        let needs = self.ways.needs(way);
        if self.track_used[track as usize] || needs.iter().any(|&machine| self.machine_used[machine as usize])
        {
            return false;
        }
        if self.ways.stop[track as usize] {
            if self.first < track_id(track) {
                self.taken.push(number);
                self.tracks.push(track_id(track));
                return true;
            }
            return false;
        }
        if !self.hopeful[arrive as usize] {
            return false;
        }
        self.track_used[track as usize] = true;
        for &machine in needs {
            self.machine_used[machine as usize] = true;
        }
        self.taken.push(number);
        self.tracks.push(track_id(track));
        self.open.push(self.ways.ways_from(arrive));
        if self.steps_since_route > PATIENCE * self.ways.len() as u64 {
            let spent =
                self.ahead.spent(&self.ways, self.first, arrive, &self.track_used, &self.machine_used);
            if let Err(cost) = spent {
                self.steps_left = self.steps_left.saturating_sub(cost);
                self.back();
            }
        }
        false
    }

    /// Takes back the last way, or the start when there is none.
    fn back(&mut self) {
        self.open.pop();
        self.tracks.pop();
        match self.taken.pop() {
            Some(number) => {
                let way = self.ways.way(number);
                self.track_used[way.track as usize] = false;
                for &machine in self.ways.needs(way) {
                    self.machine_used[machine as usize] = false;
                }
            }
            None => self.track_used[self.first.index()] = false,
        }
    }
}

impl Iterator for Routes<'_> {
    type Item = Route;

    fn next(&mut self) -> Option<Route> {
        self.advance().map(|path| path.to_route())
    }
}

/// For each port of arrival, whether some stop can be reached: searched backwards from the stops, in linear time.
fn hopeful(ways: &Ways) -> Vec<bool> {
    let port_count = ways.port_count();
    let mut hopeful = vec![false; port_count];
    let mut leads_here: Vec<Vec<u32>> = vec![Vec::new(); port_count];
    let mut queue = Vec::new();
    for port in 0..u32::try_from(port_count).unwrap_or(u32::MAX) {
        let (from, to) = ways.ways_from(port);
        for number in from..to {
            let way = ways.way(number);
            if ways.stop[way.track as usize] {
                if !std::mem::replace(&mut hopeful[port as usize], true) {
                    queue.push(port);
                }
            } else {
                leads_here[way.arrive as usize].push(port);
            }
        }
    }
    while let Some(port) = queue.pop() {
        for before in std::mem::take(&mut leads_here[port as usize]) {
            if !std::mem::replace(&mut hopeful[before as usize], true) {
                queue.push(before);
            }
        }
    }
    hopeful
}

/// Looks whether a stop can still be reached over what is not used yet.
#[derive(Debug)]
struct LookAhead {
    /// The round in which each port was seen last.
    seen: Vec<u32>,
    round: u32,
    queue: Vec<u32>,
}

impl LookAhead {
    /// Ok when a later stop is in reach; otherwise the number of ways that were looked at in vain.
    fn spent(
        &mut self,
        ways: &Ways,
        first: TrackId,
        from: u32,
        track_used: &[bool],
        machine_used: &[bool],
    ) -> Result<(), u64> {
        self.round = self.round.wrapping_add(1);
        self.queue.clear();
        self.queue.push(from);
        let mut cost = 0;
        while let Some(port) = self.queue.pop() {
            let (start, end) = ways.ways_from(port);
            for number in start..end {
                cost += 1;
                let way = ways.way(number);
                let used = track_used[way.track as usize]
                    || ways.needs(way).iter().any(|&machine| machine_used[machine as usize]);
                if used {
                    continue;
                }
                if ways.stop[way.track as usize] {
                    if first < track_id(way.track) {
                        return Ok(());
                    }
                } else if std::mem::replace(&mut self.seen[way.arrive as usize], self.round) != self.round {
                    self.queue.push(way.arrive);
                }
            }
        }
        Err(cost)
    }
}
