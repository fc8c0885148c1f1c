//! Where decoders go along a bench that forks and closes no ring, against trying every way, and at the size of a club.

use crate::placement::by_trying;
use plan::placement::{Case, Class, Kind, Standing, solve};
use proptest::prelude::*;

const WORK: u64 = 20_000_000;

/// A bench as each place's run towards the first: to which earlier place, and how long.
type Runs = Vec<(usize, u8)>;

/// Metres between all places, by following the runs.
fn metres(runs: &Runs) -> Vec<Vec<f64>> {
    let mut all: Vec<Vec<f64>> = vec![vec![0.0]];
    for (from, length) in runs {
        let mut row: Vec<f64> = all[*from].iter().map(|metres| metres + f64::from(*length)).collect();
        all.iter_mut().zip(&row).for_each(|(other, metres)| other.push(*metres));
        row.push(0.0);
        all.push(row);
    }
    all
}

/// A case with one class, whose levers have machines at these places.
fn case(
    runs: &Runs,
    machines: &[Vec<usize>],
    kind: Kind,
    standing: &[(usize, usize)],
    rooms: Vec<usize>,
) -> Case {
    let metres = metres(runs);
    let costs = |at: &Vec<usize>| -> Vec<f64> {
        (0..metres.len()).map(|place| at.iter().map(|machine| metres[*machine][place]).sum()).collect()
    };
    let class = Class {
        kinds: vec![kind],
        free: machines.iter().map(costs).collect(),
        machines: machines.to_vec(),
        standing: standing.iter().map(|&(place, spare)| Standing { place, spare }).collect(),
        ..Class::default()
    };
    let bench = runs.iter().enumerate().map(|(index, (to, length))| (index + 1, *to, f64::from(*length)));
    Case { rooms, classes: vec![class], bench: bench.collect() }
}

/// A small tree of places, and levers of no machine to three, wherever they stand.
fn small() -> impl Strategy<Value = Case> {
    (2_usize..5).prop_flat_map(|places| {
        let runs = (1..places).map(|place| (0..place, 0_u8..6)).collect::<Vec<_>>();
        let lever = prop::collection::vec(0..places, 0..4);
        let kind = (2_usize..4, 0_usize..3).prop_map(|(outputs, shelf)| Kind { outputs, aligned: 1, shelf });
        let standing = prop::collection::vec((0..places, 1_usize..3), 0..2);
        let rooms = prop_oneof![Just(vec![9; places]), prop::collection::vec(0_usize..3, places)];
        (runs, prop::collection::vec(lever, 0..7), kind, standing, rooms).prop_map(
            |(runs, machines, kind, standing, rooms)| case(&runs, &machines, kind, &standing, rooms),
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn along_a_bench_no_way_is_better(case in small()) {
        let best = by_trying(&case);
        let found = solve(&case, WORK);
        if let (Some(found), Some((bought, cost))) = (&found, best)
            && found.bought == bought
        {
            prop_assert!(found.lower_bound <= cost + 1e-6, "bound {} past {cost}", found.lower_bound);
            prop_assert!((found.cost - cost).abs() < 1e-6, "{} is not {cost}", found.cost);
            prop_assert!(found.proven());
        } else if let Some(found) = &found {
            // Little room: more had to be bought than would be without.
            prop_assert!(found.bought_least <= found.bought);
            prop_assert!(best.is_none_or(|(bought, _)| bought <= found.bought));
        } else {
            prop_assert_eq!(best, None);
        }
    }
}

/// 420 levers in 40 bays in a row, a third of them of two machines, and outputs for hardly more: what prices bound 40 % too low.
#[test]
fn a_club_that_leaves_every_address_to_us_is_proven() {
    let runs: Runs = (0..39).map(|place| (place, [9, 12, 15, 18][place * 7 % 4])).collect();
    let machines: Vec<Vec<usize>> = (0..420_usize)
        .map(|lever| {
            let place = lever * lever * 31 % 1009 * 40 / 1009;
            if lever % 3 == 0 { vec![place; 2] } else { vec![place] }
        })
        .collect();
    let kind = Kind { outputs: 8, aligned: 4, shelf: 0 };
    let found = solve(&case(&runs, &machines, kind, &[], vec![421; 40]), 400_000_000).expect("a plan");
    assert!(found.proven(), "{} of at least {}", found.cost, found.lower_bound);
    assert_eq!(found.bought, 53, "420 levers fill 52 decoders of eight and half of another");
}
