//! The bound: prices on levers, decoders and places let every tiling and every place choose for itself.
//!
//! Each free lever has a price that is paid to whoever serves it, each kind of decoder a rent that keeps their number within the
//! limit, each place a rent that keeps its decoders within its room. With prices fixed, the best tiling of each class
//! follows from a dynamic program over its tiles, and each place opens the fresh decoders that earn most. For any prices the sum is a
//! lower bound on the metres.

use super::{Case, Class};

/// A part of the problem: what has been decided already, and the prices that serve it.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// For each class, the price of each free lever.
    pub(super) lever: Vec<Vec<f64>>,
    /// For each class, the rent of each kind.
    pub(super) kind: Vec<Vec<f64>>,
    /// The rent of each place.
    pub(super) place: Vec<f64>,
    /// For each class and kind, the fewest and most fresh decoders at each place.
    pub(super) fresh: Vec<Vec<Vec<(usize, usize)>>>,
    /// For each class and tile, the places it may go to.
    pub(super) allowed: Vec<Vec<Vec<bool>>>,
    /// The best bound known.
    pub(super) bound: f64,
}

/// What everything chooses at some prices.
#[derive(Clone, Debug, Default)]
pub(super) struct Relaxed {
    /// A lower bound; infinite when something fixed cannot be covered.
    pub(super) bound: f64,
    /// For each class, the tiles and their places.
    pub(super) tiles: Vec<Vec<(usize, usize)>>,
    /// For each class, kind and place, the fresh decoders.
    pub(super) fresh: Vec<Vec<Vec<usize>>>,
    /// For each class, how often each free lever is served.
    pub(super) served: Vec<Vec<u32>>,
}

impl Node {
    /// Nothing decided: each lever is worth what its nearest place costs.
    pub(super) fn root(case: &Case, limits: &[Vec<usize>]) -> Self {
        let nearest = |costs: &Vec<f64>| costs.iter().copied().fold(f64::INFINITY, f64::min);
        let places = case.rooms.len();
        Self {
            lever: case.classes.iter().map(|class| class.free.iter().map(nearest).collect()).collect(),
            kind: case.classes.iter().map(|class| vec![0.0; class.kinds.len()]).collect(),
            place: vec![0.0; places],
            fresh: limits
                .iter()
                .zip(&case.classes)
                .map(|(limits, class)| {
                    let needed = |kind: usize| class.free.len().div_ceil(class.kinds[kind].outputs.max(1));
                    let most = |kind: usize, room: &usize| limits[kind].min(*room).min(needed(kind));
                    (0..limits.len())
                        .map(|kind| case.rooms.iter().map(|room| (0, most(kind, room))).collect())
                        .collect()
                })
                .collect(),
            allowed: case.classes.iter().map(|class| vec![vec![true; places]; class.tiles.len()]).collect(),
            bound: f64::NEG_INFINITY,
        }
    }

    /// Lets a tile be only there: no other tile covers what it covers.
    pub(super) fn force(&mut self, case: &Case, class: usize, tile: usize, place: usize) {
        let forced = &case.classes[class].tiles[tile];
        for (other, allowed) in self.allowed[class].iter_mut().enumerate() {
            let beside = &case.classes[class].tiles[other];
            if other == tile {
                for (at, allowed) in allowed.iter_mut().enumerate() {
                    *allowed &= at == place;
                }
            } else if beside.first <= forced.last && forced.first <= beside.last {
                allowed.fill(false);
            }
        }
    }
}

/// The best that everything chooses for itself, and the bound that follows.
///
/// Takes O(levers · places · log levers + tiles · places) for each class.
pub(super) fn relax(case: &Case, limits: &[Vec<usize>], node: &Node) -> Relaxed {
    let mut relaxed = Relaxed::default();
    for (place, room) in case.rooms.iter().enumerate() {
        if node.place[place] > 0.0 {
            relaxed.bound -= node.place[place] * as_f64(*room);
        }
    }
    for (index, class) in case.classes.iter().enumerate() {
        relaxed.bound += node.lever[index].iter().sum::<f64>();
        for (rent, limit) in node.kind[index].iter().zip(&limits[index]) {
            relaxed.bound -= rent * as_f64(*limit);
        }
        let earned: Vec<Earned> =
            (0..case.rooms.len()).map(|place| Earned::at(class, &node.lever[index], place)).collect();
        let mut served = vec![0; class.free.len()];
        let (tiles, cost) = tiling(class, index, node, &earned);
        relaxed.bound += cost;
        for &(tile, place) in &tiles {
            earned[place].serve(class.tiles[tile].spare, &mut served);
        }
        relaxed.tiles.push(tiles);
        let mut fresh = vec![vec![0; case.rooms.len()]; class.kinds.len()];
        for (place, earned) in earned.iter().enumerate() {
            let mut choice =
                Choice { class, node, index, place, earned, best: None, now: vec![0; class.kinds.len()] };
            let here = class.standing.iter().filter(|standing| standing.place == place);
            let standing: usize = here.map(|standing| standing.spare).sum();
            choice.from(0, case.rooms[place], standing, 0.0);
            let Some((cost, counts)) = choice.best else {
                relaxed.bound = f64::INFINITY;
                continue;
            };
            relaxed.bound += cost;
            let outputs: usize =
                counts.iter().zip(&class.kinds).map(|(count, kind)| count * kind.outputs).sum();
            earned.serve(standing + outputs, &mut served);
            for (kind, count) in counts.into_iter().enumerate() {
                fresh[kind][place] = count;
            }
        }
        relaxed.fresh.push(fresh);
        relaxed.served.push(served);
    }
    relaxed
}

/// What a place earns by serving the levers that are worth it, the best first.
struct Earned {
    levers: Vec<usize>,
    /// The sum of the first so many; the less the better.
    sums: Vec<f64>,
}

impl Earned {
    fn at(class: &Class, prices: &[f64], place: usize) -> Self {
        let mut worth: Vec<(f64, usize)> = class
            .free
            .iter()
            .zip(prices)
            .enumerate()
            .map(|(lever, (costs, price))| (costs[place] - price, lever))
            .filter(|(cost, _)| *cost < 0.0)
            .collect();
        worth.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut sums = vec![0.0];
        let mut sum = 0.0;
        for (cost, _) in &worth {
            sum += cost;
            sums.push(sum);
        }
        Self { levers: worth.into_iter().map(|(_, lever)| lever).collect(), sums }
    }

    fn sum(&self, outputs: usize) -> f64 {
        self.sums[outputs.min(self.levers.len())]
    }

    fn serve(&self, outputs: usize, served: &mut [u32]) -> f64 {
        for &lever in &self.levers[..outputs.min(self.levers.len())] {
            served[lever] += 1;
        }
        self.sum(outputs)
    }
}

/// The tiles that cover what is fixed at the least cost, each at its best place, from the last address back.
fn tiling(class: &Class, index: usize, node: &Node, earned: &[Earned]) -> (Vec<(usize, usize)>, f64) {
    // For each tile: the least cost from it on, its place, and the tile after it.
    let mut from: Vec<(f64, usize, Option<usize>)> = vec![(f64::INFINITY, 0, None); class.tiles.len()];
    let next = |from: &[(f64, usize, Option<usize>)], end: u16, covered: usize| {
        let covering = class
            .tiles
            .iter()
            .enumerate()
            .filter(|(_, tile)| tile.first > end && tile.covers.contains(&covered));
        // Of tiles that cost the same the last to start: its own board begins with what it serves.
        covering.map(|(tile, _)| (from[tile].0, tile)).min_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
    };
    for (tile, covers) in class.tiles.iter().enumerate().rev() {
        let rest = if covers.covers.end == class.fixed.len() {
            Some((0.0, None))
        } else {
            // Tiles are in the order of their first addresses, so those after this one are known.
            let after = next(&from, covers.last, covers.covers.end);
            after.map(|(cost, tile)| (cost, Some(tile)))
        };
        let Some((rest, after)) = rest else { continue };
        let places = (0..earned.len()).filter(|place| node.allowed[index][tile][*place]);
        let costs = places.map(|place| {
            let cables: f64 = class.fixed[covers.covers.clone()].iter().map(|costs| costs[place]).sum();
            (cables + earned[place].sum(covers.spare) + node.place[place], place)
        });
        if let Some((cost, place)) = costs.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))) {
            from[tile] = (rest + cost + node.kind[index][covers.kind], place, after);
        }
    }
    if class.fixed.is_empty() {
        return (Vec::new(), 0.0);
    }
    let Some((cost, first)) = next(&from, 0, 0).filter(|(cost, _)| cost.is_finite()) else {
        return (Vec::new(), f64::INFINITY);
    };
    let mut tiles = Vec::new();
    let mut at = Some(first);
    while let Some(tile) = at {
        tiles.push((tile, from[tile].1));
        at = from[tile].2;
    }
    (tiles, cost)
}

/// How many fresh decoders of each kind a place opens.
struct Choice<'a> {
    class: &'a Class,
    node: &'a Node,
    index: usize,
    place: usize,
    earned: &'a Earned,
    best: Option<(f64, Vec<usize>)>,
    now: Vec<usize>,
}

impl Choice<'_> {
    fn from(&mut self, kind: usize, room: usize, outputs: usize, rent: f64) {
        if kind == self.class.kinds.len() {
            let cost = rent + self.earned.sum(outputs);
            if self.best.as_ref().is_none_or(|(best, _)| cost < *best) {
                self.best = Some((cost, self.now.clone()));
            }
            return;
        }
        let (low, high) = self.node.fresh[self.index][kind][self.place];
        let each = self.node.kind[self.index][kind] + self.node.place[self.place];
        for count in low..=high.min(room) {
            self.now[kind] = count;
            let outputs = outputs + count * self.class.kinds[kind].outputs;
            self.from(kind + 1, room - count, outputs, rent + each * as_f64(count));
            if outputs >= self.earned.levers.len() {
                break;
            }
        }
    }
}

/// A count among metres.
pub(super) fn as_f64(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::from(u32::MAX), f64::from)
}
