//! Routes: every path between two stops, with the position each machine needs.
//!
//! A route runs from one stop to another, passes no other stop, never turns back on itself inside a joint, runs over
//! no track twice and uses no machine twice. So a train that goes round a balloon and leaves over the turnout it came
//! in by has run two routes, and only if the balloon holds a stop. A crossing has no machine and may be met twice, once
//! on each of its lines. A route is one thing whichever way it is driven: it is kept in the direction that starts at
//! the stop whose name comes first in natural order.
//!
//! The search is depth first over (track, direction), with the stack held in a vector. Its time is proportional to the
//! number of partial paths, which can grow exponentially with the number of joints; [`ROUTES_MAX`] and [`STEPS_MAX`]
//! bound what is kept and what is tried.

use crate::model::{MachineId, Network, Pass, Port, Position, TrackId};

/// The most routes that are kept.
pub const ROUTES_MAX: usize = 100_000;

/// The most steps that the search takes before it gives up.
pub const STEPS_MAX: usize = 20_000_000;

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

/// Every route of a network, up to `most` of them.
pub fn find_routes(network: &Network, most: usize) -> RouteList {
    let mut search = Search::new(network);
    let mut list = RouteList { routes: Vec::new(), complete: true };
    for stop in network.stops() {
        for end in network.track(stop).ends {
            search.start(stop, end);
            while let Some(route) = search.next_route() {
                if list.routes.len() == most {
                    list.complete = false;
                    return list;
                }
                list.routes.push(route);
            }
        }
    }
    list.complete = search.steps_left > 0;
    list
}

/// One track of the path under way: where it is left, and which move is tried next there.
struct Step {
    leave: Port,
    next_move: u8,
    pass: Option<Pass>,
}

struct Search<'a> {
    network: &'a Network,
    stack: Vec<Step>,
    track_used: Vec<bool>,
    machine_used: Vec<bool>,
    first: TrackId,
    steps_left: usize,
}

impl<'a> Search<'a> {
    fn new(network: &'a Network) -> Self {
        Self {
            network,
            stack: Vec::new(),
            track_used: vec![false; network.tracks.len()],
            machine_used: vec![false; network.machines.len()],
            first: TrackId::at(0),
            steps_left: STEPS_MAX,
        }
    }

    /// Begins at `stop`, leaving it by `end`.
    fn start(&mut self, stop: TrackId, end: Port) {
        self.first = stop;
        self.track_used[stop.index()] = true;
        self.stack.push(Step { leave: end, next_move: 0, pass: None });
    }

    /// Walks on until the next route is complete; none when all from this start have been found.
    fn next_route(&mut self) -> Option<Route> {
        while let Some(step) = self.stack.last_mut() {
            let joint = self.network.joint(step.leave.joint);
            let Some(candidate) = joint.moves.get(step.next_move as usize) else {
                self.back();
                continue;
            };
            let move_index = step.next_move;
            step.next_move += 1;
            let enter = step.leave.port;
            let leave = match candidate.ports {
                [a, b] if a == enter => b,
                [a, b] if b == enter => a,
                _ => continue,
            };
            if self.steps_left == 0 {
                self.stack.clear();
                return None;
            }
            self.steps_left -= 1;
            let pass = Pass { joint: step.leave.joint, enter, leave, move_index };
            if let Some(route) = self.take(pass) {
                return Some(route);
            }
        }
        None
    }

    /// Goes on over `pass` if nothing is used twice; returns the route if that completes one.
    fn take(&mut self, pass: Pass) -> Option<Route> {
        let network = self.network;
        let joint = network.joint(pass.joint);
        let track = joint.tracks[pass.leave as usize];
        let needs = &joint.moves[pass.move_index as usize].needs;
        if self.track_used[track.index()]
            || needs.iter().any(|(machine, _)| self.machine_used[machine.index()])
        {
            return None;
        }
        if network.track(track).stop {
            return (self.first < track).then(|| self.finish(pass, track));
        }
        self.track_used[track.index()] = true;
        for (machine, _) in needs {
            self.machine_used[machine.index()] = true;
        }
        let leave = network.across(Port { joint: pass.joint, port: pass.leave });
        self.stack.push(Step { leave, next_move: 0, pass: Some(pass) });
        None
    }

    fn back(&mut self) {
        let Some(step) = self.stack.pop() else { return };
        let joint = match step.pass {
            None => {
                self.track_used[self.first.index()] = false;
                return;
            }
            Some(pass) => self.network.joint(pass.joint),
        };
        if let Some(pass) = step.pass {
            self.track_used[joint.tracks[pass.leave as usize].index()] = false;
            for (machine, _) in &joint.moves[pass.move_index as usize].needs {
                self.machine_used[machine.index()] = false;
            }
        }
    }

    fn finish(&self, last: Pass, to: TrackId) -> Route {
        let passes: Vec<Pass> =
            self.stack.iter().filter_map(|step| step.pass).chain(std::iter::once(last)).collect();
        let track_after = |pass: &Pass| self.network.joint(pass.joint).tracks[pass.leave as usize];
        let mut tracks = vec![self.first];
        tracks.extend(passes.iter().map(track_after));
        debug_assert_eq!(tracks.last(), Some(&to));
        let mut needs: Vec<(MachineId, Position)> = passes
            .iter()
            .flat_map(|pass| {
                self.network.joint(pass.joint).moves[pass.move_index as usize].needs.iter().copied()
            })
            .collect();
        needs.sort_unstable();
        Route { tracks, passes, needs }
    }
}
