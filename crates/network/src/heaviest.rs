//! The heaviest load that routes set at once can bring, with a proof or a bound.
//!
//! Every route throws some things (levers), each with a weight that the caller gives and with units of which only so many
//! fit into one burst (coils). Sought are routes of which no two conflict, and of what they throw a choice that fits, so that it
//! weighs most. A thing that two routes throw counts once.
//!
//! Routes that another can stand for are left out: whatever conflicts with the other conflicts with it, too, and the other
//! throws all that it throws. What is left falls into parts that share neither conflicts nor things. Each part is searched by
//! branch and bound for every number of units that it may have, and parts are put together by the least of sums. The bound is
//! a cover by groups in which all conflict: each group adds at most what its heaviest route adds to what is thrown already, since
//! together routes never add more than singly. The search is exponential at worst and stops after [`STEPS_MAX`] branches in a
//! part, with the best choice found and the least bound proven.
//!
//! # Source
//! Bounds by covers of groups: Tomita and Seki (2003), as in `largest`, here with weights. That a union gains less the more
//! there is: Nemhauser, Wolsey and Fisher, *An analysis of approximations for maximizing submodular set functions* (1978).

use crate::bits::Bits;
use crate::locking::Locking;
use std::collections::BTreeSet;

/// The most branches that the search takes in one part.
const STEPS_MAX: u32 = 20_000;

/// Up to so many units are shared out exactly between parts.
const SHARED_UNITS_MAX: usize = 64;

/// What counts as no more than before.
const HAIR: f64 = 1e-12;

/// The heaviest choice of things that can be thrown at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Heaviest {
    /// The things, by index, in order.
    pub things: Vec<usize>,
    /// What they weigh together.
    pub weight: f64,
    /// No choice weighs more than this.
    pub bound: f64,
}

impl Heaviest {
    /// Whether no heavier choice exists, for certain.
    pub fn proven(&self) -> bool {
        self.bound <= self.weight * (1.0 + 1e-9)
    }
}

/// Routes made ready to be asked for the heaviest choice, under whatever weights.
#[derive(Clone, Debug)]
pub struct Throws {
    /// By route that is left: those that it conflicts with.
    apart: Vec<Bits>,
    /// By route that is left: the things that it throws.
    thrown_by: Vec<Vec<usize>>,
    /// By thing: its units.
    units: Vec<usize>,
    /// The units of one burst.
    room: usize,
    parts: Vec<Bits>,
}

impl Throws {
    /// Prepares routes: `throws` holds the things of each, `units` the units of each thing, of which `room` fit at once. A thing with
    /// more units than fit fills a burst of its own.
    pub fn new(locking: &Locking, throws: &[Vec<usize>], units: &[usize], room: usize) -> Self {
        let conflicts = |a: usize, b: usize| a != b && locking.conflict(a, b);
        Self::of(locking.route_count().min(throws.len()), conflicts, throws, units, room)
    }

    fn of(
        count: usize,
        conflicts: impl Fn(usize, usize) -> bool,
        throws: &[Vec<usize>],
        units: &[usize],
        room: usize,
    ) -> Self {
        let busy: Vec<usize> = (0..count).filter(|&route| !throws[route].is_empty()).collect();
        let mut apart = vec![Bits::new(busy.len()); busy.len()];
        for (at, &route) in busy.iter().enumerate() {
            for (other_at, &other) in busy.iter().enumerate() {
                if conflicts(route, other) {
                    apart[at].insert(other_at);
                }
            }
        }
        let sorted = |&route: &usize| {
            let set: BTreeSet<usize> = throws[route].iter().copied().collect();
            set.into_iter().collect()
        };
        let throws: Vec<Vec<usize>> = busy.iter().map(sorted).collect();
        let units = units.iter().map(|&units| units.min(room)).collect();
        let left = without_dominated(&apart, &throws);
        let parts = parts(&apart, &throws, &left);
        Self { apart, thrown_by: throws, units, room, parts }
    }

    /// The heaviest choice under these weights, one for each thing, none below zero.
    pub fn heaviest(&self, weights: &[f64]) -> Heaviest {
        let thrown = |part: &Bits| -> BTreeSet<usize> {
            part.iter().flat_map(|route| self.thrown_by[route].iter().copied()).collect()
        };
        let things: Vec<BTreeSet<usize>> = self.parts.iter().map(thrown).collect();
        let units_of =
            |things: &BTreeSet<usize>| things.iter().map(|&thing| self.units[thing]).sum::<usize>();
        let all: usize = things.iter().map(units_of).sum();
        if all <= self.room || self.room > SHARED_UNITS_MAX {
            return self.unshared(weights, all <= self.room);
        }
        // By units: the best weight, what it is of, and the bound.
        let none = Found { weight: 0.0, things: Vec::new(), bound: 0.0 };
        let mut best: Vec<Found> = vec![none; self.room + 1];
        for (part, things) in self.parts.iter().zip(&things) {
            let most = units_of(things).min(self.room);
            let own: Vec<Found> = (0..=most).map(|room| self.search(part, weights, room)).collect();
            best = (0..=self.room).map(|room| share_out(&best, &own, room)).collect();
        }
        best.pop().map_or_else(|| self.unshared(weights, false), Found::told)
    }

    /// Where units set no limit, or are too many to be shared out: then what does not fit is left out, the lightest first.
    fn unshared(&self, weights: &[f64], all_fit: bool) -> Heaviest {
        let mut sum = Found { weight: 0.0, things: Vec::new(), bound: 0.0 };
        for part in &self.parts {
            let found = self.search(part, weights, usize::MAX);
            sum.bound += found.bound;
            sum.things.extend(found.things);
        }
        if !all_fit {
            sum.things = fitting(&sum.things, &self.units, weights, self.room).1;
        }
        sum.weight = sum.things.iter().map(|&thing| weights[thing]).sum();
        sum.told()
    }

    fn search(&self, part: &Bits, weights: &[f64], room: usize) -> Found {
        let mut search =
            Search { throws: self, weights, room, best: (0.0, Vec::new()), steps_left: STEPS_MAX };
        let mut covered = Bits::new(weights.len());
        let root = search.bound_of(part, &covered);
        search.branch(part, &mut covered);
        let (weight, things) = search.best;
        let bound = if search.steps_left > 0 { weight } else { root.max(weight) };
        Found { weight, things, bound }
    }
}

/// What a part comes to.
#[derive(Clone, Debug)]
struct Found {
    weight: f64,
    things: Vec<usize>,
    bound: f64,
}

impl Found {
    fn told(mut self) -> Heaviest {
        self.things.sort_unstable();
        Heaviest { things: self.things, weight: self.weight, bound: self.bound }
    }
}

/// The best of all ways to share units out between what is found already and one part more.
fn share_out(before: &[Found], own: &[Found], room: usize) -> Found {
    let mut best = before[room].clone();
    for (units, own) in own.iter().enumerate().take(room + 1) {
        let rest = &before[room - units];
        if rest.weight + own.weight > best.weight {
            best.weight = rest.weight + own.weight;
            best.things = rest.things.iter().chain(&own.things).copied().collect();
        }
        best.bound = best.bound.max(rest.bound + own.bound);
    }
    best
}

/// The heaviest of these things that fit: exactly, by the table of all numbers of units.
fn fitting(things: &[usize], units: &[usize], weights: &[f64], room: usize) -> (f64, Vec<usize>) {
    let all: usize = things.iter().map(|&thing| units[thing]).sum();
    if all <= room {
        return (things.iter().map(|&thing| weights[thing]).sum(), things.to_vec());
    }
    let mut best: Vec<(f64, Vec<usize>)> = vec![(0.0, Vec::new()); room + 1];
    for &thing in things {
        for room in (units[thing]..=room).rev() {
            let weight = best[room - units[thing]].0 + weights[thing];
            if weight > best[room].0 {
                let mut with = best[room - units[thing]].1.clone();
                with.push(thing);
                best[room] = (weight, with);
            }
        }
    }
    best.pop().unwrap_or_default()
}

/// The routes that no other can stand for.
fn without_dominated(apart: &[Bits], throws: &[Vec<usize>]) -> Bits {
    let mut left = Bits::new(apart.len());
    (0..apart.len()).for_each(|route| left.insert(route));
    let within = |few: &[usize], many: &[usize]| few.iter().all(|thing| many.binary_search(thing).is_ok());
    let mut throwing: Vec<Vec<usize>> =
        vec![Vec::new(); 1 + throws.iter().flatten().max().map_or(0, |&most| most)];
    for (route, things) in throws.iter().enumerate() {
        for &thing in things {
            throwing[thing].push(route);
        }
    }
    for route in 0..apart.len() {
        let Some(&first) = throws[route].first() else { continue };
        let stands_in = |other: usize| {
            let mut others = apart[other].clone();
            others.remove(route);
            other != route
                && left.contains(other)
                && within(&throws[route], &throws[other])
                && others.is_within(&left, &apart[route])
        };
        if throwing[first].iter().any(|&other| stands_in(other)) {
            left.remove(route);
        }
    }
    left
}

/// The routes that are left, by parts that share neither conflicts nor things.
fn parts(apart: &[Bits], throws: &[Vec<usize>], left: &Bits) -> Vec<Bits> {
    let mut rest = left.clone();
    let mut parts = Vec::new();
    while let Some(first) = rest.first() {
        let mut part = Bits::new(apart.len());
        let mut queue = vec![first];
        part.insert(first);
        rest.remove(first);
        while let Some(route) = queue.pop() {
            let shares = |other: usize| throws[other].iter().any(|thing| throws[route].contains(thing));
            let next: Vec<usize> =
                rest.iter().filter(|&other| apart[route].contains(other) || shares(other)).collect();
            for other in next {
                part.insert(other);
                rest.remove(other);
                queue.push(other);
            }
        }
        parts.push(part);
    }
    parts
}

struct Search<'a> {
    throws: &'a Throws,
    weights: &'a [f64],
    room: usize,
    best: (f64, Vec<usize>),
    steps_left: u32,
}

impl Search<'_> {
    /// What a route throws that is not thrown yet.
    fn gain(&self, route: usize, covered: &Bits) -> f64 {
        let things = self.throws.thrown_by[route].iter();
        things.filter(|&&thing| !covered.contains(thing)).map(|&thing| self.weights[thing]).sum()
    }

    /// Routes that add something, by groups in which all conflict, each with the most that can be added up to and with it.
    fn cover(&self, left: &Bits, covered: &Bits) -> Vec<(usize, f64)> {
        let mut rest = left.clone();
        let (mut order, mut sum) = (Vec::new(), 0.0);
        while let Some(first) = rest.first() {
            let mut group: Vec<(f64, usize)> = Vec::new();
            let mut candidates = rest.clone();
            let mut next = Some(first);
            while let Some(route) = next {
                group.push((self.gain(route, covered), route));
                rest.remove(route);
                candidates.keep(&self.throws.apart[route]);
                next = candidates.first();
            }
            group.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
            let adds = group.iter().filter(|(gain, _)| *gain > 0.0);
            order.extend(adds.map(|&(gain, route)| (route, sum + gain)));
            sum += group.last().map_or(0.0, |&(gain, _)| gain);
        }
        order
    }

    fn weight_of(&self, covered: &Bits) -> (f64, Vec<usize>) {
        let things: Vec<usize> = covered.iter().collect();
        fitting(&things, &self.throws.units, self.weights, self.room)
    }

    /// No choice beyond this weighs more: by groups, and by the best units of all that can be reached.
    fn bound_of(&self, left: &Bits, covered: &Bits) -> f64 {
        let thrown: f64 = covered.iter().map(|thing| self.weights[thing]).sum();
        let by_groups = thrown + self.cover(left, covered).last().map_or(0.0, |&(_, sum)| sum);
        by_groups.min(self.reachable(left, covered))
    }

    fn reachable(&self, left: &Bits, covered: &Bits) -> f64 {
        let mut things: BTreeSet<usize> = covered.iter().collect();
        things.extend(left.iter().flat_map(|route| self.throws.thrown_by[route].iter().copied()));
        let things: Vec<usize> = things.into_iter().collect();
        fitting(&things, &self.throws.units, self.weights, self.room).0
    }

    fn branch(&mut self, left: &Bits, covered: &mut Bits) {
        if self.steps_left == 0 {
            return;
        }
        self.steps_left -= 1;
        let (weight, things) = self.weight_of(covered);
        if weight > self.best.0 {
            self.best = (weight, things);
        }
        let thrown: f64 = covered.iter().map(|thing| self.weights[thing]).sum();
        let order = self.cover(left, covered);
        if self.reachable(left, covered) <= self.best.0 * (1.0 + HAIR) {
            return;
        }
        let mut left = left.clone();
        for &(route, most) in order.iter().rev() {
            if thrown + most <= self.best.0 * (1.0 + HAIR) {
                return;
            }
            let mut next = left.clone();
            next.remove(route);
            next.take_away(&self.throws.apart[route]);
            let before = covered.clone();
            self.throws.thrown_by[route].iter().for_each(|&thing| covered.insert(thing));
            self.branch(&next, covered);
            *covered = before;
            left.remove(route);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers that look drawn by lot, from a seed.
    fn draw(seed: &mut u64) -> usize {
        *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(*seed >> 40).unwrap()
    }

    /// Every set of routes, and of what it throws every choice that fits.
    fn by_trying_all(
        conflict: &dyn Fn(usize, usize) -> bool,
        throws: &[Vec<usize>],
        units: &[usize],
        weights: &[f64],
        room: usize,
    ) -> f64 {
        let mut best = 0.0_f64;
        for routes in 0..1_u32 << throws.len() {
            let set: Vec<usize> = (0..throws.len()).filter(|route| routes >> route & 1 == 1).collect();
            if set.iter().any(|&a| set.iter().any(|&b| conflict(a, b))) {
                continue;
            }
            let thrown: BTreeSet<usize> = set.iter().flat_map(|&route| throws[route].clone()).collect();
            let thrown: Vec<usize> = thrown.into_iter().collect();
            for chosen in 0..1_u32 << thrown.len() {
                let chosen = (0..thrown.len()).filter(|thing| chosen >> thing & 1 == 1).map(|at| thrown[at]);
                let chosen: Vec<usize> = chosen.collect();
                if chosen.iter().map(|&thing| units[thing].min(room)).sum::<usize>() <= room {
                    best = best.max(chosen.iter().map(|&thing| weights[thing]).sum());
                }
            }
        }
        best
    }

    #[test]
    fn nothing_that_can_be_tried_weighs_more() {
        let mut seed = 7;
        for case in 0..300 {
            let (count, things) = (1 + draw(&mut seed) % 7, 1 + draw(&mut seed) % 6);
            let density = draw(&mut seed) % 10;
            let pairs = (0..count).flat_map(|a| (0..a).map(move |b| (a, b)));
            let apart: BTreeSet<(usize, usize)> = pairs.filter(|_| draw(&mut seed) % 10 < density).collect();
            let conflict = |a: usize, b: usize| apart.contains(&(a.max(b), a.min(b)));
            let throws: Vec<Vec<usize>> = (0..count)
                .map(|_| (0..draw(&mut seed) % 4).map(|_| draw(&mut seed) % things).collect())
                .collect();
            let units: Vec<usize> = (0..things).map(|_| draw(&mut seed) % 4).collect();
            let weights: Vec<f64> =
                (0..things).map(|_| f64::from(u32::try_from(draw(&mut seed) % 9).unwrap())).collect();
            let room = draw(&mut seed) % 8;
            let ready = Throws::of(count, conflict, &throws, &units, room);
            let ours = ready.heaviest(&weights);
            let theirs = by_trying_all(&conflict, &throws, &units, &weights, room);
            assert!((ours.weight - theirs).abs() < 1e-9, "case {case}: {ours:?} beside {theirs}");
            assert!(ours.proven(), "case {case}: {ours:?}");
            assert!(
                ours.things.iter().map(|&thing| units[thing].min(room)).sum::<usize>() <= room,
                "case {case}: {ours:?}"
            );
        }
    }

    #[test]
    fn a_search_that_is_cut_short_tells_a_bound_and_no_proof() {
        // Rings of five routes, in each of which two can be set; groups of two see three. A thing that all throw keeps them in one
        // part.
        let rings = 24;
        let conflicts = |a: usize, b: usize| a / 5 == b / 5 && matches!((a + 5 - b) % 5, 1 | 4);
        let throws: Vec<Vec<usize>> = (0..5 * rings).map(|route| vec![0, route + 1]).collect();
        let (units, weights) = (vec![0; 5 * rings + 1], vec![1.0; 5 * rings + 1]);
        let ready = Throws::of(5 * rings, conflicts, &throws, &units, 1);
        let found = ready.heaviest(&weights);
        assert!(found.weight > 40.0, "{}", found.weight);
        assert!(found.bound >= found.weight && found.bound <= 121.0, "{}", found.bound);
        assert!(!found.proven());
    }
}
