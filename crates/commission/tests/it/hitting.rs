//! # Source
//! The definition: R. Reiter, *A theory of diagnosis from first principles* (1987): a diagnosis is a minimal set with a member
//! in every conflict. Brute force over all subsets of at most ten parts.

use commission::diagnose::hitting_sets;
use proptest::prelude::*;

const PARTS: usize = 10;

fn hits(conflicts: &[Vec<usize>], set: usize) -> bool {
    conflicts.iter().all(|conflict| conflict.iter().any(|&member| set & (1 << member) != 0))
}

/// Every minimal hitting set, by trying all subsets.
fn by_trying(conflicts: &[Vec<usize>], at_once: usize) -> Vec<Vec<usize>> {
    let minimal = |&set: &usize| {
        let smaller = (0..PARTS)
            .filter(|member| set & (1 << member) != 0)
            .any(|member| hits(conflicts, set & !(1 << member)));
        set.count_ones() as usize <= at_once && hits(conflicts, set) && !smaller
    };
    let members = |set: usize| (0..PARTS).filter(|member| set & (1 << member) != 0).collect();
    let mut sets: Vec<Vec<usize>> = (0..1 << PARTS).filter(minimal).map(members).collect();
    sets.sort();
    sets
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn every_smallest_explanation_is_found_and_nothing_else(
        conflicts in prop::collection::vec(prop::collection::btree_set(0..PARTS, 0..6), 0..6),
        at_once in 0..=4_usize,
    ) {
        let conflicts: Vec<Vec<usize>> = conflicts.into_iter().map(|set| set.into_iter().collect()).collect();
        let found = hitting_sets(&conflicts, &[0.01; PARTS], at_once);
        let mut sets = found.sets.clone();
        sets.sort();
        prop_assert!(found.complete);
        prop_assert_eq!(sets, by_trying(&conflicts, at_once));
    }
}

#[test]
fn three_small_conflicts_are_solved_as_by_hand() {
    // By hand: {a, b}, {b, c}, {a, c, d} are hit by {a, b}, {a, c}, {b, c} and {b, d}.
    let conflicts = [vec![0, 1], vec![1, 2], vec![0, 2, 3]];
    let found = hitting_sets(&conflicts, &[0.01; 4], 4);
    assert_eq!(found.sets, [vec![0, 1], vec![0, 2], vec![1, 2], vec![1, 3]]);
}

#[test]
fn past_the_limit_the_likeliest_are_kept_and_it_is_said() {
    let conflicts = [(0..100).collect::<Vec<_>>(), (100..200).collect()];
    let mut odds = vec![0.01; 200];
    odds[57] = 0.5;
    let found = hitting_sets(&conflicts, &odds, 2);
    assert!(!found.complete);
    assert_eq!(found.sets.iter().filter(|set| set.contains(&57)).count(), 100);
}
