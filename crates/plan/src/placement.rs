//! Which decoders stand where, and which levers they serve: fewest bought first, then the least metres of cable, with a proof.
//!
//! A decoder is a block of outputs at consecutive addresses. A lever whose address is *fixed* (a pair of a strip, a pin) can be
//! served only by a block over that address, and blocks of one class (one way of driving motors) do not overlap: the
//! blocks tile the fixed addresses ([`Tile`]). A lever whose address is *free* takes any output: a spare one of such a tile, of a
//! decoder that stands already, or of a *fresh* block elsewhere. Places have room for so many decoders.
//!
//! The fewest decoders to buy follow from a dynamic program over the tilings (`parts`). The metres are then minimised by branch and
//! bound (`search`): the bound puts a price on each free lever, on each decoder and on each place (`relax`), so that tilings and places
//! choose for themselves; where every decoder's place is known, the levers are dealt to them by a minimum-cost flow
//! (`assign`), which is exact. Good plans come from the choices along the way, bettered by moving one decoder at a time (`improve`).
//!
//! Prices bound weakly where levers take any output and few outputs are to spare. Where the bench is a tree and all levers are of
//! that sort, a dynamic program along it (`bench`) finds the least cable itself.
//!
//! The problem is NP-hard. The search ends after an amount of work, not of time, so that the same layout gives the same plan on
//! every machine; what it then has is given with the bound it reached.
//!
//! # Source
//! Lagrangian bounds for location problems: M. L. Fisher, The Lagrangian relaxation method for solving integer programming
//! problems, Management Science 27 (1981), from memory. Cheapest flows by shortest augmenting paths: R. K. Ahuja, T. L. Magnanti,
//! J. B. Orlin, Network Flows (1993), from memory.

mod assign;
mod bench;
mod improve;
mod parts;
mod relax;
mod search;
mod tile;

pub use tile::tiles;

use std::ops::Range;

/// A case of the problem. Costs are metres; places are counted from 0 alike everywhere.
#[derive(Clone, Debug, Default)]
pub struct Case {
    /// How many decoders each place takes.
    pub rooms: Vec<usize>,
    /// What is driven alike, and so may share decoders.
    pub classes: Vec<Class>,
    /// The runs of the bench: the two places of each and the metres of cable between them. Where they join all places without closing a
    /// ring, a cost of a lever is the sum over its machines of the metres along them.
    pub bench: Vec<(usize, usize, f64)>,
}

/// Levers that are driven alike, and what may drive them.
#[derive(Clone, Debug, Default)]
pub struct Class {
    /// The parts that drive them.
    pub kinds: Vec<Kind>,
    /// The kind that is bought when the shelf has no more.
    pub bought: usize,
    /// What a lever at a fixed address costs with its decoder at each place; in the order of the addresses.
    pub fixed: Vec<Vec<f64>>,
    /// What a lever at a free address costs likewise.
    pub free: Vec<Vec<f64>>,
    /// Where the machines of each lever at a free address are, as far as that is known; empty altogether when costs are not by the bench.
    pub machines: Vec<Vec<usize>>,
    /// The blocks that cover fixed addresses, in the order of their first addresses.
    pub tiles: Vec<Tile>,
    /// Decoders that stand already.
    pub standing: Vec<Standing>,
}

/// A part that drives.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Its outputs.
    pub outputs: usize,
    /// Its blocks start on a board of so many.
    pub aligned: usize,
    /// How many are on the shelf.
    pub shelf: usize,
}

/// A block of addresses that covers fixed ones.
#[derive(Clone, Debug)]
pub struct Tile {
    /// The kind it would be.
    pub kind: usize,
    /// Its first address.
    pub first: u16,
    /// Its last address.
    pub last: u16,
    /// Which of [`Class::fixed`] it covers: at least one.
    pub covers: Range<usize>,
    /// How many of its addresses a free lever may take.
    pub spare: usize,
}

/// A decoder that stands already, with outputs to spare.
#[derive(Clone, Copy, Debug)]
pub struct Standing {
    /// Where.
    pub place: usize,
    /// How many of its outputs a free lever may take.
    pub spare: usize,
}

/// A decoder that is to be placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Block {
    /// Its class.
    pub class: usize,
    /// Its kind, of the class.
    pub kind: usize,
    /// Its tile, of the class; none for a fresh block.
    pub tile: Option<usize>,
    /// Where it goes.
    pub place: usize,
}

/// Where a free lever is served.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seat {
    /// By this one of [`Placed::blocks`].
    Block(usize),
    /// By this one of [`Class::standing`].
    Standing(usize),
}

/// Where every decoder goes.
#[derive(Clone, Debug)]
pub struct Placed {
    /// The decoders, class by class, tiles in the order of addresses before fresh ones in the order of places.
    pub blocks: Vec<Block>,
    /// For each class, where each free lever is served.
    pub seats: Vec<Vec<Seat>>,
    /// How many have to be bought.
    pub bought: usize,
    /// No fewer can be bought.
    pub bought_least: usize,
    /// Metres of cable.
    pub cost: f64,
    /// No plan with as few to buy takes fewer metres.
    pub lower_bound: f64,
}

impl Placed {
    /// Whether no plan is better, for certain.
    pub fn proven(&self) -> bool {
        self.bought == self.bought_least && self.lower_bound >= self.cost - slack(self.cost)
    }
}

/// Places the decoders of a case; none where the tiles cannot cover what is fixed, or the places have too little room. Ends after
/// about so many elementary steps.
pub fn solve(case: &Case, work_max: u64) -> Option<Placed> {
    let mut limits = Vec::with_capacity(case.classes.len());
    let (mut bought_least, mut bought) = (0, 0);
    for class in &case.classes {
        let least = parts::fewest_bought(class)?;
        bought_least += least;
        bought += least;
        let limit_of =
            |(index, kind): (usize, &Kind)| kind.shelf + if index == class.bought { least } else { 0 };
        limits.push(class.kinds.iter().enumerate().map(limit_of).collect::<Vec<usize>>());
    }
    // Little room may split what fits together into more decoders: then one more of each class is bought at a time.
    let room: usize = case.rooms.iter().fold(0, |sum, room| sum.saturating_add(*room));
    loop {
        let mut work = 0;
        let along = along_bench(case, &limits, &mut work, work_max);
        let search = search::Search::new(case, &limits, work_max.saturating_sub(work));
        if let Some((state, cost, lower_bound)) = search.beginning_with(along).run() {
            return Some(state.placed(case, bought_least, cost, lower_bound));
        }
        if bought > room.min(bought_least + 64) || case.classes.is_empty() {
            return None;
        }
        for (class, limit) in case.classes.iter().zip(&mut limits) {
            limit[class.bought] += 1;
            bought += 1;
        }
    }
}

/// What the bench alone decides, class by class: a plan, if the classes leave each other room, and a bound. None when a class needs
/// the search.
fn along_bench(
    case: &Case,
    limits: &[Vec<usize>],
    work: &mut u64,
    work_max: u64,
) -> Option<(improve::State, f64)> {
    let (mut blocks, mut bound) = (Vec::new(), 0.0);
    for (index, class) in case.classes.iter().enumerate() {
        let along = bench::place_along(case, class, *limits[index].first()?, work, work_max / 2)?;
        bound += along.bound;
        for (place, count) in along.counts.into_iter().enumerate() {
            blocks.extend(vec![Block { class: index, kind: 0, tile: None, place }; count]);
        }
    }
    Some((improve::State { blocks }, bound))
}

/// What counts as nothing beside a cost.
pub(crate) fn slack(cost: f64) -> f64 {
    if cost.is_finite() { 1e-9 * cost.abs().max(1.0) } else { 0.0 }
}
