//! Where decoders go, against trying every way.

use plan::placement::{Case, Class, Kind, Standing, solve, tiles};
use proptest::prelude::*;
use std::collections::BTreeMap;

const WORK: u64 = 20_000_000;

/// The last address of the little systems tried here.
const LAST: u16 = 12;

/// What one class can come to: how many bought and where its decoders stand; and the least metres for it.
type Ways = BTreeMap<(usize, Vec<usize>), f64>;

/// Every way to serve one class, tried.
fn ways_of(class: &Class, rooms: &[usize]) -> Ways {
    let mut ways = Ways::new();
    let now = Now {
        end: 0,
        covered: 0,
        used: vec![0; class.kinds.len()],
        at: vec![0; rooms.len()],
        spare: vec![0; rooms.len()],
        cost: 0.0,
    };
    let mut now = now;
    for standing in &class.standing {
        now.spare[standing.place] += standing.spare;
    }
    lay_tiles(class, rooms, &now, &mut ways);
    ways
}

#[derive(Clone)]
struct Now {
    end: u16,
    covered: usize,
    used: Vec<usize>,
    at: Vec<usize>,
    spare: Vec<usize>,
    cost: f64,
}

fn lay_tiles(class: &Class, rooms: &[usize], now: &Now, ways: &mut Ways) {
    if now.covered == class.fixed.len() {
        return lay_fresh(class, rooms, now, 0, ways);
    }
    for tile in class.tiles.iter().filter(|tile| tile.first > now.end && tile.covers.contains(&now.covered)) {
        for place in 0..rooms.len() {
            let mut next = now.clone();
            next.end = tile.last;
            next.covered = tile.covers.end;
            next.used[tile.kind] += 1;
            next.at[place] += 1;
            next.spare[place] += tile.spare;
            next.cost += class.fixed[tile.covers.clone()].iter().map(|costs| costs[place]).sum::<f64>();
            if next.at[place] <= rooms[place] {
                lay_tiles(class, rooms, &next, ways);
            }
        }
    }
}

/// Fresh decoders, kinds and places in order, as many as the free levers could fill.
fn lay_fresh(class: &Class, rooms: &[usize], now: &Now, from: usize, ways: &mut Ways) {
    let unbuyable =
        (0..class.kinds.len()).any(|kind| kind != class.bought && now.used[kind] > class.kinds[kind].shelf);
    if unbuyable {
        return;
    }
    let bought = now.used[class.bought].saturating_sub(class.kinds[class.bought].shelf);
    let served = deal(&class.free, &mut now.spare.clone());
    if served.is_finite() {
        let best = ways.entry((bought, now.at.clone())).or_insert(f64::INFINITY);
        *best = best.min(now.cost + served);
    }
    for option in from..class.kinds.len() * rooms.len() {
        let (kind, place) = (option / rooms.len(), option % rooms.len());
        if now.at[place] < rooms[place] && now.used.iter().sum::<usize>() < 6 {
            let mut next = now.clone();
            next.used[kind] += 1;
            next.at[place] += 1;
            next.spare[place] += class.kinds[kind].outputs;
            lay_fresh(class, rooms, &next, option, ways);
        }
    }
}

fn deal(levers: &[Vec<f64>], spare: &mut [usize]) -> f64 {
    let Some((first, rest)) = levers.split_first() else { return 0.0 };
    let mut best = f64::INFINITY;
    for place in 0..spare.len() {
        if spare[place] > 0 {
            spare[place] -= 1;
            best = best.min(first[place] + deal(rest, spare));
            spare[place] += 1;
        }
    }
    best
}

/// The fewest to buy and the least metres of all ways together.
pub(super) fn by_trying(case: &Case) -> Option<(usize, f64)> {
    let mut all = Ways::from([((0, vec![0; case.rooms.len()]), 0.0)]);
    for class in &case.classes {
        let own = ways_of(class, &case.rooms);
        let mut next = Ways::new();
        for ((bought, at), cost) in &all {
            for ((more, there), metres) in &own {
                let at: Vec<usize> = at.iter().zip(there).map(|(a, b)| a + b).collect();
                if at.iter().zip(&case.rooms).all(|(count, room)| count <= room) {
                    let best = next.entry((bought + more, at)).or_insert(f64::INFINITY);
                    *best = best.min(cost + metres);
                }
            }
        }
        all = next;
    }
    let fewest = all.keys().map(|(bought, _)| *bought).min()?;
    let least = all.iter().filter(|((bought, _), _)| *bought == fewest).map(|(_, cost)| *cost);
    Some((fewest, least.fold(f64::INFINITY, f64::min)))
}

/// One class: which kinds, which addresses are fixed or spare, where its levers and a standing decoder are.
fn class() -> impl Strategy<Value = Class> {
    let kinds = prop_oneof![
        (0_usize..2).prop_map(|shelf| vec![Kind { outputs: 4, aligned: 2, shelf }]),
        (0_usize..2, 1_usize..2).prop_map(|(shelf, two)| {
            vec![Kind { outputs: 4, aligned: 2, shelf }, Kind { outputs: 2, aligned: 2, shelf: two }]
        }),
    ];
    let row = || prop::collection::vec(0_u8..12, 3);
    let fixed = prop::collection::btree_map(1_u16..10, row(), 0..3);
    let free = prop::collection::vec(row(), 0..4);
    let standing = prop::option::weighted(0.3, (0_usize..3, 1_usize..3));
    (kinds, fixed, free, standing, prop::collection::btree_set(1_u16..=LAST, 0..6)).prop_map(
        |(kinds, fixed, free, standing, spare)| {
            let metres = |row: &Vec<u8>| row.iter().map(|&metres| f64::from(metres)).collect::<Vec<f64>>();
            let addresses: Vec<u16> = fixed.keys().copied().collect();
            let is_spare = |address: u16| spare.contains(&address) && !addresses.contains(&address);
            Class {
                tiles: tiles(&kinds, &addresses, &[], &is_spare, LAST),
                kinds,
                bought: 0,
                fixed: fixed.values().map(metres).collect(),
                free: free.iter().map(metres).collect(),
                machines: Vec::new(),
                standing: standing.into_iter().map(|(place, spare)| Standing { place, spare }).collect(),
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn with_room_for_all_no_way_is_better(class in class()) {
        let case = Case { rooms: vec![9; 3], classes: vec![class], bench: Vec::new() };
        let best = by_trying(&case);
        let found = solve(&case, WORK);
        prop_assert_eq!(found.as_ref().map(|found| (found.bought, found.cost)), best);
        prop_assert!(found.is_none_or(|found| found.proven()));
    }

    #[test]
    fn with_little_room_what_is_proven_is_best_and_no_bound_is_passed(
        first in class(),
        second in class(),
        rooms in prop::collection::vec(0_usize..4, 3),
    ) {
        let case = Case { rooms, classes: vec![first, second], bench: Vec::new() };
        let best = by_trying(&case);
        match (solve(&case, WORK), best) {
            (Some(found), Some((bought, cost))) => {
                prop_assert!(found.bought_least <= bought && bought <= found.bought);
                if found.proven() {
                    prop_assert_eq!((found.bought, found.cost), (bought, cost));
                }
                if found.bought == bought {
                    prop_assert!(found.lower_bound <= cost + 1e-6);
                }
            }
            (found, best) => prop_assert!(found.is_none(), "{found:?} but by trying {best:?}"),
        }
    }
}
