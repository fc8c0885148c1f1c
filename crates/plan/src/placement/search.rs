//! Branch and bound: what is least certain is decided both ways, the half with the lowest bound first.

use super::improve::{Improver, State};
use super::relax::{Node, Relaxed, as_f64, relax};
use super::{Case, slack};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Price steps at the root, and at each later node.
const ROOT_STEPS: usize = 2_000;
const NODE_STEPS: usize = 60;

/// Steps without a better bound after which they are made half as long.
const PATIENCE: usize = 25;

/// The part of the work left that bettering one plan may take is one in so many.
const BETTERING: u64 = 6;

/// How much slower rents move than prices of levers: a rent is answered by whole decoders, so that what is wrong with it is counted in
/// dozens where each lever's price is wrong by one.
const RENTS: f64 = 0.02;

/// Every so many steps a plan is made from what is chosen.
const MEND_EVERY: usize = 200;

pub(super) struct Search<'a> {
    case: &'a Case,
    limits: &'a [Vec<usize>],
    work: u64,
    work_max: u64,
    best: Option<(State, f64)>,
    /// What every plan costs at most: a bound past it means that there is none.
    ceiling: f64,
    /// What every plan costs at least, as far as that is known otherwise.
    floor: f64,
}

/// A node in the heap: the lowest bound comes first, then the oldest.
struct Open {
    bound: f64,
    age: usize,
    node: Node,
}

/// What a node is split on.
#[derive(Clone, Copy)]
enum Question {
    /// Whether there are more than so many fresh decoders of a class and kind at a place.
    Fresh(usize, usize, usize, usize),
    /// Whether a tile of a class is used at a place.
    Tile(usize, usize, usize),
}

impl<'a> Search<'a> {
    pub(super) fn new(case: &'a Case, limits: &'a [Vec<usize>], work_max: u64) -> Self {
        let dearest = |costs: &Vec<f64>| costs.iter().copied().fold(0.0, f64::max);
        let of = |class: &super::Class| class.fixed.iter().chain(&class.free).map(dearest).sum::<f64>();
        Self {
            case,
            limits,
            work: 0,
            work_max,
            best: None,
            ceiling: case.classes.iter().map(of).sum(),
            floor: f64::NEG_INFINITY,
        }
    }

    /// Begins with a plan (as good as it is, should it break a limit) and a bound for all plans.
    pub(super) fn beginning_with(mut self, known: Option<(State, f64)>) -> Self {
        let Some((state, floor)) = known else { return self };
        self.floor = floor;
        let mut improver =
            Improver { case: self.case, limits: self.limits, work: &mut self.work, work_max: 0 };
        let cost = improver.cost(&state);
        if cost <= self.ceiling * (1.0 + 1e-6) + 1e-6 {
            self.best = Some((state, cost));
        }
        self
    }

    /// The best plan, its metres and the bound; none when no plan was found.
    pub(super) fn run(mut self) -> Option<(State, f64, f64)> {
        if self.is_beaten(self.floor) {
            let (state, cost) = self.best?;
            return Some((state, cost, self.floor.min(cost)));
        }
        self.begin();
        let mut open = BinaryHeap::from([Open {
            bound: f64::NEG_INFINITY,
            age: 0,
            node: Node::root(self.case, self.limits),
        }]);
        let mut age = 1;
        let mut lower = f64::INFINITY;
        while let Some(Open { bound, mut node, .. }) = open.pop() {
            if self.is_beaten(bound) {
                break;
            }
            if self.work > self.work_max && bound.is_finite() {
                // The heap gives the lowest bound first.
                lower = lower.min(bound);
                break;
            }
            let Some(question) = self.explore(&mut node, age == 1) else { continue };
            for half in self.halves(&node, question) {
                open.push(Open { bound: half.bound, age, node: half });
                age += 1;
            }
        }
        let (state, cost) = self.best?;
        Some((state, cost, lower.max(self.floor).min(cost)))
    }

    fn is_beaten(&self, bound: f64) -> bool {
        match &self.best {
            Some((_, cost)) => bound >= cost - slack(*cost),
            None => bound > self.ceiling * (1.0 + 1e-6) + 1e-6,
        }
    }

    /// A first plan: few decoders, whatever the cable.
    fn begin(&mut self) {
        let mut node = Node::root(self.case, self.limits);
        for (class, kinds) in node.kind.iter_mut().enumerate() {
            let bought = self.case.classes[class].bought;
            for (kind, rent) in kinds.iter_mut().enumerate() {
                *rent = if kind == bought { 1e9 } else { 1e8 };
            }
            node.lever[class].iter_mut().for_each(|price| *price += 1e5);
        }
        self.make(&relax(self.case, self.limits, &node), &node);
    }

    /// Makes a plan of what was chosen and keeps the better one.
    fn make(&mut self, relaxed: &Relaxed, node: &Node) {
        let fitting;
        let relaxed = if self.has_too_many_tiles(relaxed) {
            let Some(found) = self.with_fewer_tiles(node) else { return };
            fitting = found;
            &fitting
        } else {
            relaxed
        };
        // Bettering plans may not eat up what the bound needs: each time a part of what is left, and none for the first plan.
        let left = self.work_max.saturating_sub(self.work);
        let work_max = self.work + if self.best.is_none() { 0 } else { left / BETTERING };
        let mut improver = Improver { case: self.case, limits: self.limits, work: &mut self.work, work_max };
        let Some((state, cost)) = improver.mend(relaxed) else { return };
        let near = self.best.as_ref().is_none_or(|(_, best)| cost < best * 1.05 + slack(*best));
        let (state, cost) = if near { improver.better(state, cost) } else { (state, cost) };
        if self.best.as_ref().is_none_or(|(_, best)| cost < best - slack(*best)) {
            self.best = Some((state, cost));
        }
    }

    /// Whether the tiles alone take more of some kind than there may be.
    fn has_too_many_tiles(&self, relaxed: &Relaxed) -> bool {
        self.too_many_tiles(relaxed).iter().flatten().any(|over| *over)
    }

    fn too_many_tiles(&self, relaxed: &Relaxed) -> Vec<Vec<bool>> {
        let over = |class: usize, kind: usize| {
            let tiles = relaxed.tiles[class].iter();
            let count = tiles.filter(|(tile, _)| self.case.classes[class].tiles[*tile].kind == kind).count();
            count > self.limits[class][kind]
        };
        (0..self.limits.len())
            .map(|class| (0..self.limits[class].len()).map(|kind| over(class, kind)).collect())
            .collect()
    }

    /// The choices at prices like those of `node`, with rents so much higher that the tiles keep within the limits.
    fn with_fewer_tiles(&mut self, node: &Node) -> Option<Relaxed> {
        let mut dearer = node.clone();
        let mut more = 1e-4 * self.ceiling.max(1.0);
        while more < 1e3 * self.ceiling.max(1.0) {
            let relaxed = relax(self.case, self.limits, &dearer);
            self.work += self.work_of_relaxing();
            let over = self.too_many_tiles(&relaxed);
            if !over.iter().flatten().any(|over| *over) {
                return Some(relaxed);
            }
            for (rent, _) in
                dearer.kind.iter_mut().flatten().zip(over.iter().flatten()).filter(|(_, over)| **over)
            {
                *rent += more;
            }
            more *= 2.0;
        }
        None
    }

    /// Raises the bound of a node; what to ask next, or none when nothing better is in it.
    fn explore(&mut self, node: &mut Node, is_root: bool) -> Option<Question> {
        let steps = if is_root { ROOT_STEPS } else { NODE_STEPS };
        let (mut scale, mut idle) = (if is_root { 2.0 } else { 0.5 }, 0);
        let mut prices = node.clone();
        let mut usual = Usual::new(self.case);
        let mut last = Relaxed::default();
        for step in 0..steps {
            let relaxed = relax(self.case, self.limits, &prices);
            self.work += self.work_of_relaxing();
            if relaxed.bound > node.bound + slack(node.bound) {
                node.bound = relaxed.bound;
                node.lever.clone_from(&prices.lever);
                node.kind.clone_from(&prices.kind);
                node.place.clone_from(&prices.place);
                idle = 0;
            } else {
                idle += 1;
            }
            if relaxed.bound == f64::INFINITY || self.is_beaten(node.bound) {
                return None;
            }
            usual.take(&relaxed);
            if step % MEND_EVERY == MEND_EVERY / 2 && is_root || step + 1 == steps {
                self.make(&relaxed, &prices);
                if self.is_beaten(node.bound) {
                    return None;
                }
            }
            if idle == PATIENCE {
                (scale, idle) = (scale / 2.0, 0);
            }
            let moved = self.step(&mut prices, &relaxed, scale);
            last = relaxed;
            if !moved || scale < 1e-4 || self.work > self.work_max {
                break;
            }
        }
        self.make(&last, &prices);
        if self.is_beaten(node.bound) {
            return None;
        }
        self.least_certain(node, &usual).or_else(|| self.any_open(node, &last))
    }

    fn work_of_relaxing(&self) -> u64 {
        let of =
            |class: &super::Class| (class.free.len() * 8 + class.tiles.len() * 2 + 8) * self.case.rooms.len();
        self.case.classes.iter().map(of).sum::<usize>() as u64
    }

    /// One subgradient step; false when every price is right.
    fn step(&self, node: &mut Node, relaxed: &Relaxed, scale: f64) -> bool {
        let mut wrong = 0.0;
        let levers: Vec<Vec<f64>> = relaxed
            .served
            .iter()
            .map(|served| served.iter().map(|times| 1.0 - f64::from(*times)).collect())
            .collect();
        wrong += levers.iter().flatten().map(|by| by * by).sum::<f64>();
        let (used, at) = self.counts(relaxed);
        let over = |count: usize, limit: usize, rent: f64| {
            let by = as_f64(count) - as_f64(limit);
            if rent > 0.0 || by > 0.0 { by } else { 0.0 }
        };
        let kinds: Vec<Vec<f64>> = used
            .iter()
            .enumerate()
            .map(|(class, used)| {
                let limits = self.limits[class].iter().zip(&node.kind[class]);
                used.iter().zip(limits).map(|(used, (limit, rent))| over(*used, *limit, *rent)).collect()
            })
            .collect();
        wrong += RENTS * kinds.iter().flatten().map(|by| by * by).sum::<f64>();
        let places: Vec<f64> = at
            .iter()
            .enumerate()
            .map(|(place, count)| over(*count, self.case.rooms[place], node.place[place]))
            .collect();
        wrong += RENTS * places.iter().map(|by| by * by).sum::<f64>();
        if wrong == 0.0 {
            return false;
        }
        let goal = self.best.as_ref().map_or(relaxed.bound.abs() * 1.2 + 1.0, |(_, cost)| *cost);
        let length = scale * (goal - relaxed.bound).max(slack(goal) * 1e3) / wrong;
        for (prices, by) in node.lever.iter_mut().flatten().zip(levers.iter().flatten()) {
            *prices += length * by;
        }
        for (rent, by) in node.kind.iter_mut().flatten().zip(kinds.iter().flatten()) {
            *rent = (*rent + length * RENTS * by).max(0.0);
        }
        for (rent, by) in node.place.iter_mut().zip(&places) {
            *rent = (*rent + length * RENTS * by).max(0.0);
        }
        true
    }

    /// How many decoders of each class and kind were chosen, and how many at each place.
    fn counts(&self, relaxed: &Relaxed) -> (Vec<Vec<usize>>, Vec<usize>) {
        let mut used: Vec<Vec<usize>> = relaxed
            .fresh
            .iter()
            .map(|kinds| kinds.iter().map(|counts| counts.iter().sum()).collect())
            .collect();
        let mut at = vec![0; self.case.rooms.len()];
        for counts in relaxed.fresh.iter().flatten() {
            counts.iter().enumerate().for_each(|(place, count)| at[place] += count);
        }
        for (class, tiles) in relaxed.tiles.iter().enumerate() {
            for &(tile, place) in tiles {
                used[class][self.case.classes[class].tiles[tile].kind] += 1;
                at[place] += 1;
            }
        }
        (used, at)
    }

    /// What the choices along the way agreed on least.
    fn least_certain(&self, node: &Node, usual: &Usual) -> Option<Question> {
        let mut best: Option<(f64, Question)> = None;
        let mut keep = |doubt: f64, question| {
            if doubt > 0.02 && best.as_ref().is_none_or(|(most, _)| doubt > *most) {
                best = Some((doubt, question));
            }
        };
        for (class, kinds) in usual.fresh.iter().enumerate() {
            for (kind, counts) in kinds.iter().enumerate() {
                for (place, count) in counts.iter().enumerate() {
                    let (low, high) = node.fresh[class][kind][place];
                    let below = (low..high).take_while(|below| as_f64(below + 1) <= *count).count() + low;
                    if below < high {
                        let part = count - as_f64(below);
                        keep(part.min(1.0 - part), Question::Fresh(class, kind, place, below));
                    }
                }
            }
        }
        for (class, tiles) in usual.tiles.iter().enumerate() {
            for (tile, places) in tiles.iter().enumerate() {
                for (place, part) in places.iter().enumerate() {
                    if node.allowed[class][tile][place] && self.has_other(node, class, tile, place) {
                        keep(part.min(1.0 - part), Question::Tile(class, tile, place));
                    }
                }
            }
        }
        best.map(|(_, question)| question)
    }

    /// Whether anything but this tile at this place may cover what it covers.
    fn has_other(&self, node: &Node, class: usize, tile: usize, place: usize) -> bool {
        let tiles = &self.case.classes[class].tiles;
        let first = tiles[tile].covers.start;
        tiles.iter().enumerate().filter(|(_, other)| other.covers.contains(&first)).any(|(other, _)| {
            node.allowed[class][other]
                .iter()
                .enumerate()
                .any(|(at, allowed)| *allowed && (other, at) != (tile, place))
        })
    }

    /// Anything that is not decided yet, as it was chosen last.
    fn any_open(&self, node: &Node, last: &Relaxed) -> Option<Question> {
        for (class, tiles) in last.tiles.iter().enumerate() {
            for &(tile, place) in tiles {
                if self.has_other(node, class, tile, place) {
                    return Some(Question::Tile(class, tile, place));
                }
            }
        }
        for (class, kinds) in node.fresh.iter().enumerate() {
            for (kind, ranges) in kinds.iter().enumerate() {
                for (place, (low, high)) in ranges.iter().enumerate() {
                    if low < high {
                        let count = last.fresh[class][kind][place].clamp(*low, high - 1);
                        return Some(Question::Fresh(class, kind, place, count));
                    }
                }
            }
        }
        None
    }

    fn halves(&self, node: &Node, question: Question) -> [Node; 2] {
        let (mut less, mut more) = (node.clone(), node.clone());
        match question {
            Question::Fresh(class, kind, place, count) => {
                less.fresh[class][kind][place].1 = count;
                more.fresh[class][kind][place].0 = count + 1;
            }
            Question::Tile(class, tile, place) => {
                less.allowed[class][tile][place] = false;
                more.force(self.case, class, tile, place);
            }
        }
        [more, less]
    }
}

/// What was chosen on the whole along the way, the later steps counting more.
struct Usual {
    fresh: Vec<Vec<Vec<f64>>>,
    tiles: Vec<Vec<Vec<f64>>>,
}

impl Usual {
    fn new(case: &Case) -> Self {
        let places = case.rooms.len();
        Self {
            fresh: case.classes.iter().map(|class| vec![vec![0.0; places]; class.kinds.len()]).collect(),
            tiles: case.classes.iter().map(|class| vec![vec![0.0; places]; class.tiles.len()]).collect(),
        }
    }

    fn take(&mut self, relaxed: &Relaxed) {
        const NEW: f64 = 0.1;
        for (counts, chosen) in self.fresh.iter_mut().flatten().zip(relaxed.fresh.iter().flatten()) {
            for (count, chosen) in counts.iter_mut().zip(chosen) {
                *count += NEW * (as_f64(*chosen) - *count);
            }
        }
        for (class, tiles) in self.tiles.iter_mut().enumerate() {
            tiles.iter_mut().flatten().for_each(|part| *part *= 1.0 - NEW);
            for &(tile, place) in &relaxed.tiles[class] {
                tiles[tile][place] += NEW;
            }
        }
    }
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Open {}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        other.bound.total_cmp(&self.bound).then(other.age.cmp(&self.age))
    }
}
