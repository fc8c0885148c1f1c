//! Routes between two stops: all of them, or the best one, over some tracks and not over others.
//!
//! The best route is searched for depth first, the most promising way first, and a way is dropped when even the cheapest
//! rest of the way could not beat the best route found. What the rest costs at least is worked out beforehand by Dijkstra's
//! method from the end, as if nothing were forbidden twice. So on a railroad where trains do not come back to things the
//! first descent finds the best route; in a tangle the search may take exponential time, and [`BEST_STEPS_MAX`] ends
//! it: then the best route found is given, marked as not proven.

use crate::model::{MoveShape, Network, TrackId};
use crate::route::{ROUTE_TRACKS_MAX, Route, RouteList, route_of};
use crate::steps::{Avoid, small};
use crate::ways::{NOWHERE, Way, Ways};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// The most steps that the search for the best route takes.
pub const BEST_STEPS_MAX: u64 = 2_000_000;

/// What a track counts whose length is not given.
///
/// # Units
/// Millimetres: about one turnout in HO.
pub const UNKNOWN_LENGTH_MM: u64 = 250;

/// What a route between two stops is to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// One stop.
    pub from: TrackId,
    /// The other.
    pub to: TrackId,
    /// Tracks that it runs over, in any order.
    pub via: Vec<TrackId>,
    /// What it does not run over.
    pub avoid: Avoid,
}

impl Wish {
    /// A route from one stop to another, whatever way it takes.
    pub fn new(from: TrackId, to: TrackId) -> Self {
        Self { from, to, via: Vec::new(), avoid: Avoid::default() }
    }

    /// Whether a route is as wished.
    pub fn is_met_by(&self, route: &Route) -> bool {
        let ends = [route.from(), route.to()];
        (ends == [self.from, self.to] || ends == [self.to, self.from])
            && self.via.iter().all(|track| route.tracks.contains(track))
            && !route.tracks.iter().any(|track| self.avoid.tracks.contains(track))
            && !route.passes.iter().any(|pass| self.avoid.joints.contains(&pass.joint))
    }
}

/// Which of two routes is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Prefer {
    /// The shorter one; a track without a length counts [`UNKNOWN_LENGTH_MM`]. Then the one with fewer machines reversed.
    Shortest,
    /// The one with fewer machines reversed; then the one with fewer diverging legs, then the shorter one.
    FewestReverse,
}

/// What a route costs: compared from the first number on. [`Prefer`] says what they are.
pub type Cost = [u64; 3];

/// The best route.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Best {
    /// None when there is no route as wished.
    pub route: Option<Route>,
    /// Whether there is no better one, for certain; or no route at all.
    pub proven: bool,
}

/// Every route as wished, up to `most`, in the order of [`crate::find_routes`].
pub fn routes_between(network: &Network, wish: &Wish, most: usize) -> RouteList {
    let ways = Ways::avoiding(network, &wish.avoid);
    let (first, last) = (wish.from.min(wish.to), wish.from.max(wish.to));
    let mut routes = ways.routes().only_between(first, last);
    let mut list = RouteList::default();
    let mut tracks_left = ROUTE_TRACKS_MAX;
    while let Some(path) = routes.advance() {
        if !wish.via.iter().all(|track| path.tracks().contains(track)) {
            continue;
        }
        let Some(left) = tracks_left.checked_sub(path.tracks().len()) else { return list };
        if list.routes.len() == most {
            return list;
        }
        tracks_left = left;
        list.routes.push(path.to_route());
    }
    list.complete = !routes.gave_up();
    list
}

/// The best route as wished.
pub fn best_route(network: &Network, wish: &Wish, prefer: Prefer) -> Best {
    let ways = Ways::avoiding(network, &wish.avoid);
    let mut search = Search::new(&ways, wish, prefer);
    search.run();
    Best {
        route: search.best.map(|(_, numbers)| {
            let of = |number: &u32| ways.way(*number);
            let tracks = numbers.iter().flat_map(|number| ways.tracks(of(number))).copied();
            let tracks = std::iter::once(search.first).chain(tracks).collect();
            route_of(
                network,
                tracks,
                numbers.iter().flat_map(|number| ways.passes(of(number))).copied().collect(),
            )
        }),
        proven: search.steps_left > 0,
    }
}

/// What a route costs.
pub fn cost_of(network: &Network, route: &Route, prefer: Prefer) -> Cost {
    let tracks = route.tracks.iter().skip(1).copied();
    cost(network, tracks.zip(route.passes.iter().copied()), prefer)
}

/// What it costs to run through joints, each onto the track behind it.
fn cost(
    network: &Network,
    steps: impl Iterator<Item = (TrackId, crate::model::Pass)>,
    prefer: Prefer,
) -> Cost {
    let (mut length, mut reversed, mut diverging) = (0, 0, 0);
    for (track, pass) in steps {
        let way = &network.joint(pass.joint).moves[pass.move_index as usize];
        length += network.track(track).length.map_or(UNKNOWN_LENGTH_MM, crate::polarity::whole_mm);
        reversed += way.needs.iter().filter(|need| need.1 == crate::Position::Reverse).count() as u64;
        diverging += u64::from(way.shape == MoveShape::Diverging);
    }
    match prefer {
        Prefer::Shortest => [length, reversed, diverging],
        Prefer::FewestReverse => [reversed, diverging, length],
    }
}

fn sum(a: Cost, b: Cost) -> Cost {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// A node reached: the ways from it still to try, the most promising last, and the cost so far.
struct Open {
    /// Least cost in all, number of the way.
    left: Vec<(Cost, u32)>,
    cost: Cost,
}

struct Search<'a> {
    ways: &'a Ways<'a>,
    first: TrackId,
    last: TrackId,
    via: &'a [TrackId],
    costs: Vec<Cost>,
    /// For each node, the least cost from there to the last stop; none where it cannot be reached.
    rest: Vec<Option<Cost>>,
    open: Vec<Open>,
    taken: Vec<u32>,
    used: Vec<bool>,
    best: Option<(Cost, Vec<u32>)>,
    steps_left: u64,
}

impl<'a> Search<'a> {
    fn new(ways: &'a Ways<'a>, wish: &'a Wish, prefer: Prefer) -> Self {
        let (first, last) = (wish.from.min(wish.to), wish.from.max(wish.to));
        let costs: Vec<Cost> = (0..small(ways.len()))
            .map(|number| {
                let way = ways.way(number);
                let steps = ways.tracks(way).iter().copied().zip(ways.passes(way).iter().copied());
                cost(ways.network, steps, prefer)
            })
            .collect();
        let rest = rest_costs(ways, &costs, last);
        Self {
            ways,
            first,
            last,
            via: &wish.via,
            costs,
            rest,
            open: Vec::new(),
            taken: Vec::new(),
            used: vec![false; ways.key_count()],
            best: None,
            steps_left: BEST_STEPS_MAX,
        }
    }

    fn run(&mut self) {
        if self.first == self.last {
            return;
        }
        let starts = self.ways.starts().iter().filter(|start| start.0 == self.first);
        for node in starts.map(|start| start.1).collect::<Vec<_>>() {
            self.push(node, Cost::default());
            while let Some(open) = self.open.last_mut() {
                let Some((least, number)) = open.left.pop() else {
                    self.back();
                    continue;
                };
                let so_far = sum(open.cost, self.costs[number as usize]);
                if self.steps_left == 0 {
                    return;
                }
                self.steps_left -= 1;
                if self.best.as_ref().is_none_or(|(best, _)| least < *best) {
                    self.take(number, so_far);
                }
            }
        }
    }

    fn take(&mut self, number: u32, cost: Cost) {
        let way = self.ways.way(number);
        let keys = self.ways.keys(way);
        if keys.iter().any(|&key| self.used[key as usize]) {
            return;
        }
        self.taken.push(number);
        if way.node == NOWHERE {
            if self.runs_over_via() {
                self.best = Some((cost, self.taken.clone()));
            }
            self.taken.pop();
            return;
        }
        for &key in keys {
            self.used[key as usize] = true;
        }
        self.push(way.node, cost);
    }

    fn runs_over_via(&self) -> bool {
        let runs_over = |track: &TrackId| {
            *track == self.first
                || self.taken.iter().any(|&number| self.ways.tracks(self.ways.way(number)).contains(track))
        };
        self.via.iter().all(runs_over)
    }

    /// Opens a node: the ways that can lead to the last stop, the dearest first.
    fn push(&mut self, node: u32, cost: Cost) {
        let (from, to) = self.ways.ways_from(node);
        let mut left: Vec<(Cost, u32)> = (from..to)
            .filter_map(|number| {
                let rest = rest_after(self.ways, &self.rest, self.ways.way(number), self.last)?;
                Some((sum(sum(cost, self.costs[number as usize]), rest), number))
            })
            .collect();
        left.sort_unstable_by(|a, b| b.cmp(a));
        self.open.push(Open { left, cost });
    }

    fn back(&mut self) {
        self.open.pop();
        if let Some(number) = self.taken.pop() {
            for &key in self.ways.keys(self.ways.way(number)) {
                self.used[key as usize] = false;
            }
        }
    }
}

/// The least cost after a way; none where it does not lead to the last stop.
fn rest_after(ways: &Ways<'_>, rest: &[Option<Cost>], way: &Way, last: TrackId) -> Option<Cost> {
    if way.node == NOWHERE {
        (ways.tracks(way).last() == Some(&last)).then_some(Cost::default())
    } else {
        rest[way.node as usize]
    }
}

/// For each node, the least cost from there to the last stop: Dijkstra's method, backwards, O(n log n).
fn rest_costs(ways: &Ways<'_>, costs: &[Cost], last: TrackId) -> Vec<Option<Cost>> {
    let mut leads_here: Vec<Vec<(u32, u32)>> = vec![Vec::new(); ways.node_count()];
    let mut heap: BinaryHeap<Reverse<(Cost, u32)>> = BinaryHeap::new();
    for node in 0..small(ways.node_count()) {
        let (from, to) = ways.ways_from(node);
        for number in from..to {
            let way = ways.way(number);
            if way.node != NOWHERE {
                leads_here[way.node as usize].push((node, number));
            } else if ways.tracks(way).last() == Some(&last) {
                heap.push(Reverse((costs[number as usize], node)));
            }
        }
    }
    let mut rest: Vec<Option<Cost>> = vec![None; ways.node_count()];
    while let Some(Reverse((cost, node))) = heap.pop() {
        if rest[node as usize].is_some() {
            continue;
        }
        rest[node as usize] = Some(cost);
        for &(before, number) in &leads_here[node as usize] {
            if rest[before as usize].is_none() {
                heap.push(Reverse((sum(cost, costs[number as usize]), before)));
            }
        }
    }
    rest
}
