//! Good plans: from what the relaxed problem chooses, mended until it holds, then bettered by moving one decoder at a time.

use super::assign::cheapest;
use super::relax::{Relaxed, as_f64};
use super::{Block, Case, Placed, Seat};

/// What a plan that cannot be built is charged for each decoder too many or output too few: more than cable ever costs.
const BROKEN: f64 = 1e12;

/// How many places a decoder is tried at.
const PLACES_TRIED: usize = 6;

/// The decoders of a plan that is being made.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct State {
    pub(super) blocks: Vec<Block>,
}

/// Makes and betters plans, and counts the work.
pub(super) struct Improver<'a> {
    pub(super) case: &'a Case,
    pub(super) limits: &'a [Vec<usize>],
    pub(super) work: &'a mut u64,
    pub(super) work_max: u64,
}

impl Improver<'_> {
    /// A plan from what was chosen at some prices, with its metres; none when it cannot be mended.
    pub(super) fn mend(&mut self, relaxed: &Relaxed) -> Option<(State, f64)> {
        let mut state = State::of(self.case, relaxed);
        for class in 0..self.case.classes.len() {
            self.drop_excess(&mut state, class);
            self.add_missing(&mut state, class);
        }
        self.leave_full_places(&mut state);
        let cost = self.cost(&state);
        (cost < BROKEN).then_some((state, cost))
    }

    /// Moves one decoder at a time while that saves cable.
    pub(super) fn better(&mut self, mut state: State, mut cost: f64) -> (State, f64) {
        loop {
            let mut saved = false;
            for index in 0..state.blocks.len() {
                if *self.work > self.work_max {
                    return (state, cost);
                }
                let now = state.blocks[index].place;
                let mut best = (cost, now);
                for place in self.places_for(&state, index) {
                    state.blocks[index].place = place;
                    let then = self.cost(&state);
                    if then < best.0 - super::slack(best.0) {
                        best = (then, place);
                    }
                }
                state.blocks[index].place = best.1;
                saved |= best.1 != now;
                cost = best.0;
            }
            if !saved {
                return (state, cost);
            }
        }
    }

    /// Metres of cable, with a charge for whatever cannot be.
    pub(super) fn cost(&mut self, state: &State) -> f64 {
        let mut cost = 0.0;
        for (place, room) in self.case.rooms.iter().enumerate() {
            let count = state.blocks.iter().filter(|block| block.place == place).count();
            cost += BROKEN * as_f64(count.saturating_sub(*room));
        }
        for (index, class) in self.case.classes.iter().enumerate() {
            for (kind, limit) in self.limits[index].iter().enumerate() {
                cost += BROKEN * as_f64(state.count(index, kind).saturating_sub(*limit));
            }
            cost += state.fixed_cost(self.case, index);
            let outputs = state.outputs(self.case, index);
            *self.work +=
                (4 * class.free.len() * (1 + outputs.iter().filter(|count| **count > 0).count())) as u64;
            cost += match cheapest(&class.free, &outputs) {
                Some((_, cost)) => cost,
                None => {
                    BROKEN * as_f64(class.free.len() - outputs.iter().sum::<usize>().min(class.free.len()))
                }
            };
        }
        cost
    }

    /// Takes away fresh decoders past the limit, each time the one that is missed least.
    fn drop_excess(&mut self, state: &mut State, class: usize) {
        for kind in 0..self.limits[class].len() {
            while state.count(class, kind) > self.limits[class][kind] {
                let fresh = (0..state.blocks.len()).filter(|index| {
                    let block = &state.blocks[*index];
                    block.class == class && block.kind == kind && block.tile.is_none()
                });
                let costs = fresh.map(|index| {
                    let mut without = state.clone();
                    without.blocks.remove(index);
                    (self.nearest(&without, class), index)
                });
                let Some((_, index)) = costs.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))) else {
                    break;
                };
                state.blocks.remove(index);
            }
        }
    }

    /// Adds fresh decoders until there are outputs for all, each time where it saves most.
    fn add_missing(&mut self, state: &mut State, class: usize) {
        let waiting = self.case.classes[class].free.len();
        while state.outputs(self.case, class).iter().sum::<usize>() < waiting {
            let kinds = (0..self.limits[class].len())
                .filter(|kind| state.count(class, *kind) < self.limits[class][*kind]);
            let Some(kind) = kinds.max_by_key(|kind| self.case.classes[class].kinds[*kind].outputs) else {
                return;
            };
            let free = &self.case.classes[class].free;
            let now = self.nearest_each(state, class);
            let roomy = (0..self.case.rooms.len()).filter(|place| state.at(*place) < self.case.rooms[*place]);
            let costs = roomy.map(|place| {
                let then = now.iter().zip(free).map(|(now, costs)| now.min(costs[place]));
                (then.sum::<f64>(), place)
            });
            let Some((_, place)) = costs.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))) else {
                return;
            };
            state.blocks.push(Block { class, kind, tile: None, place });
        }
    }

    /// Moves decoders from places with too many to the next best ones.
    fn leave_full_places(&mut self, state: &mut State) {
        for place in 0..self.case.rooms.len() {
            while state.at(place) > self.case.rooms[place] {
                let mut best: Option<(f64, usize, usize)> = None;
                for index in (0..state.blocks.len()).filter(|index| state.blocks[*index].place == place) {
                    for to in (0..self.case.rooms.len()).filter(|to| state.at(*to) < self.case.rooms[*to]) {
                        let mut moved = state.clone();
                        moved.blocks[index].place = to;
                        let class = state.blocks[index].class;
                        let cost = self.nearest(&moved, class) + moved.fixed_cost(self.case, class);
                        if best.is_none_or(|(least, _, _)| cost < least) {
                            best = Some((cost, index, to));
                        }
                    }
                }
                let Some((_, index, to)) = best else { return };
                state.blocks[index].place = to;
            }
        }
    }

    /// About what the free levers of a class cost together.
    fn nearest(&mut self, state: &State, class: usize) -> f64 {
        self.nearest_each(state, class).into_iter().sum()
    }

    /// About what each free lever of a class costs: at the nearest place with outputs.
    fn nearest_each(&mut self, state: &State, class: usize) -> Vec<f64> {
        let outputs = state.outputs(self.case, class);
        let open: Vec<usize> = (0..outputs.len()).filter(|place| outputs[*place] > 0).collect();
        let free = &self.case.classes[class].free;
        *self.work += (free.len() * (1 + open.len())) as u64;
        // Without any, everything costs alike and the first place wins.
        free.iter().map(|costs| open.iter().map(|place| costs[*place]).fold(BROKEN, f64::min)).collect()
    }

    /// The places that look best for a decoder and what it serves, with room for it.
    fn places_for(&mut self, state: &State, index: usize) -> Vec<usize> {
        let block = state.blocks[index];
        let class = &self.case.classes[block.class];
        let served: Vec<&Vec<f64>> = match block.tile {
            Some(tile) => class.fixed[class.tiles[tile].covers.clone()].iter().collect(),
            None => {
                // What it serves is what is nearest to it.
                let mut near: Vec<&Vec<f64>> = class.free.iter().collect();
                near.sort_by(|a, b| a[block.place].total_cmp(&b[block.place]));
                near.truncate(class.kinds[block.kind].outputs);
                near
            }
        };
        *self.work += (class.free.len() + served.len() * self.case.rooms.len()) as u64;
        let roomy = (0..self.case.rooms.len())
            .filter(|place| *place != block.place && state.at(*place) < self.case.rooms[*place]);
        let mut costs: Vec<(f64, usize)> =
            roomy.map(|place| (served.iter().map(|costs| costs[place]).sum(), place)).collect();
        costs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        costs.into_iter().take(PLACES_TRIED).map(|(_, place)| place).collect()
    }
}

impl State {
    fn of(case: &Case, relaxed: &Relaxed) -> Self {
        let mut blocks = Vec::new();
        for (class, tiles) in relaxed.tiles.iter().enumerate() {
            for &(tile, place) in tiles {
                let kind = case.classes[class].tiles[tile].kind;
                blocks.push(Block { class, kind, tile: Some(tile), place });
            }
        }
        for (class, kinds) in relaxed.fresh.iter().enumerate() {
            for (kind, counts) in kinds.iter().enumerate() {
                for (place, count) in counts.iter().enumerate() {
                    blocks.extend((0..*count).map(|_| Block { class, kind, tile: None, place }));
                }
            }
        }
        Self { blocks }
    }

    fn at(&self, place: usize) -> usize {
        self.blocks.iter().filter(|block| block.place == place).count()
    }

    fn count(&self, class: usize, kind: usize) -> usize {
        self.blocks.iter().filter(|block| block.class == class && block.kind == kind).count()
    }

    fn fixed_cost(&self, case: &Case, class: usize) -> f64 {
        let own = self.blocks.iter().filter(|block| block.class == class);
        own.filter_map(|block| {
            let covers = case.classes[class].tiles[block.tile?].covers.clone();
            Some(case.classes[class].fixed[covers].iter().map(|costs| costs[block.place]).sum::<f64>())
        })
        .sum()
    }

    /// The outputs that free levers of a class may take, place by place.
    fn outputs(&self, case: &Case, index: usize) -> Vec<usize> {
        let class = &case.classes[index];
        let mut outputs = vec![0; case.rooms.len()];
        for standing in &class.standing {
            outputs[standing.place] += standing.spare;
        }
        for block in self.blocks.iter().filter(|block| block.class == index) {
            outputs[block.place] += match block.tile {
                Some(tile) => class.tiles[tile].spare,
                None => class.kinds[block.kind].outputs,
            };
        }
        outputs
    }

    /// The decoders in order, and for each class where each free lever is served: by what stands first, then by tiles, then by
    /// fresh decoders, in the order of the levers. A fresh decoder that serves none is left out.
    pub(super) fn seated(&self, case: &Case) -> (Vec<Block>, Vec<Vec<Seat>>) {
        let mut blocks = self.blocks.clone();
        blocks.sort_by_key(|block| (block.class, block.tile.is_none(), block.tile, block.place, block.kind));
        let mut kept: Vec<Block> = Vec::new();
        let mut all = Vec::new();
        for (index, class) in case.classes.iter().enumerate() {
            let Some((places, _)) = cheapest(&class.free, &self.outputs(case, index)) else { continue };
            let mut open: Vec<(usize, usize, Option<Block>, Seat)> = Vec::new();
            for (at, standing) in class.standing.iter().enumerate() {
                open.push((standing.place, standing.spare, None, Seat::Standing(at)));
            }
            for block in blocks.iter().filter(|block| block.class == index) {
                match block.tile {
                    Some(tile) => {
                        kept.push(*block);
                        open.push((block.place, class.tiles[tile].spare, None, Seat::Block(kept.len() - 1)));
                    }
                    None => open.push((
                        block.place,
                        class.kinds[block.kind].outputs,
                        Some(*block),
                        Seat::Block(0),
                    )),
                }
            }
            let mut seats = Vec::with_capacity(places.len());
            for place in places {
                let Some(seat) = open.iter_mut().find(|(at, room, _, _)| *at == place && *room > 0) else {
                    continue;
                };
                seat.1 -= 1;
                if let Some(block) = seat.2.take() {
                    kept.push(block);
                    seat.3 = Seat::Block(kept.len() - 1);
                }
                seats.push(seat.3);
            }
            all.push(seats);
        }
        (kept, all)
    }

    /// The plan that this is.
    pub(super) fn placed(&self, case: &Case, bought_least: usize, cost: f64, lower_bound: f64) -> Placed {
        let (blocks, seats) = self.seated(case);
        let mut bought = 0;
        for (index, class) in case.classes.iter().enumerate() {
            for (kind, facts) in class.kinds.iter().enumerate() {
                let count = blocks.iter().filter(|block| block.class == index && block.kind == kind).count();
                bought += count.saturating_sub(facts.shelf);
            }
        }
        Placed { blocks, seats, bought, bought_least, cost, lower_bound }
    }
}
