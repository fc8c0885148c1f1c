//! Locking against the counts of the reference networks and graphs, and the largest set against brute force.

use crate::against::{Case, GRAPHS, NETWORKS, expected_of, network_of};
use network::{Network, ROUTES_MAX, Route, Why, find_routes, lock, reasons};
use proptest::prelude::*;

/// # Source
/// `expected.stop_pairs` of each case: pairs of undirected stop routes, slips with a position for each of their moves, end
/// tracks counted as shared. See `reference/networks/README.md` and `reference/graphs/README.md`.
#[test]
fn pair_counts_are_those_of_the_references() {
    for case in NETWORKS.into_iter().chain(GRAPHS) {
        let expected = expected_of(case);
        let pairs = &expected["stop_pairs"];
        if pairs.is_null() {
            continue;
        }
        let (network, routes) = routes_of(case);
        let locking = lock(&network, &routes);
        let count = |key: &str| pairs[key].as_u64().map(|count| usize::try_from(count).unwrap());
        assert_eq!(Some(locking.incompatible_count()), count("incompatible"), "{}: incompatible", case.0);
        assert_eq!(Some(locking.conflicting_count()), count("conflicting_with_end_tracks"), "{}", case.0);
        assert!(locking.largest.proven(), "{}", case.0);
        assert_eq!(
            Some(locking.largest.routes.len()),
            count("max_simultaneous_with_end_tracks"),
            "{}",
            case.0
        );
    }
}

/// The rows of bits and the lists of reasons are two roads to the same answer.
#[test]
fn every_conflict_has_a_reason_and_no_other_pair_has_one() {
    for case in NETWORKS.into_iter().chain(GRAPHS).filter(|case| case.0 != "graphs/loops_10") {
        let (network, routes) = routes_of(case);
        let locking = lock(&network, &routes);
        for a in 0..routes.len() {
            for b in a + 1..routes.len() {
                let why = reasons(&network, &routes[a], &routes[b]);
                assert_eq!(locking.conflict(a, b), !why.is_empty(), "{}: {a} and {b}: {why:?}", case.0);
                let listed = locking.pairs().find(|pair| (pair.0, pair.1) == (a, b));
                let opposed = why.iter().any(|why| matches!(why, Why::Opposed(_)));
                assert_eq!(listed.is_some_and(|pair| pair.2), opposed, "{}", case.0);
            }
        }
    }
}

fn routes_of(case: Case) -> (Network, Vec<Route>) {
    let network = network_of(case);
    let routes = find_routes(&network, ROUTES_MAX).routes;
    (network, routes)
}

/// The most routes of which no two conflict, by trying every set.
fn most_by_trying(count: usize, conflicts: &[(usize, usize)]) -> usize {
    (0u32..1 << count)
        .filter(|set| conflicts.iter().all(|&(a, b)| set >> a & 1 == 0 || set >> b & 1 == 0))
        .map(|set| set.count_ones() as usize)
        .max()
        .unwrap_or(0)
}

/// A chain of passing loops and spurs, as a description: each number says what comes next along the main.
fn main_with(pieces: &[u8]) -> String {
    let mut text = String::from("[layout]\nname = \"made up\"\n[end.west]\ntrack = \"m0\"\n");
    for (index, piece) in pieces.iter().enumerate() {
        let next = index + 1;
        let piece = match piece {
            0 => format!(
                "[turnout.s{index}]\npoints = \"m{index}\"\nthrough = \"m{next}\"\ndiverging = \"spur {index}\"\nhand = \"left\"\n\
                 [end.s{index}]\ntrack = \"spur {index}\"\n"
            ),
            1 => format!(
                "[turnout.s{index}]\npoints = \"m{next}\"\nthrough = \"m{index}\"\ndiverging = \"spur {index}\"\nhand = \"left\"\n\
                 [end.s{index}]\ntrack = \"spur {index}\"\n"
            ),
            2 => format!(
                "[crossing.x{index}]\none = [\"m{index}\", \"m{next}\"]\nother = [\"n{index}\", \"s{index}\"]\n\
                 [end.n{index}]\ntrack = \"n{index}\"\n[end.q{index}]\ntrack = \"s{index}\"\n"
            ),
            _ => format!(
                "[slip.x{index}]\none = [\"m{index}\", \"m{next}\"]\nother = [\"n{index}\", \"s{index}\"]\n\
                 [end.n{index}]\ntrack = \"n{index}\"\n[end.q{index}]\ntrack = \"s{index}\"\n"
            ),
        };
        text.push_str(&piece);
    }
    text + &format!("[end.east]\ntrack = \"m{}\"\n", pieces.len())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_the_largest_set_is_as_large_as_trying_all_sets_finds(pieces in prop::collection::vec(0u8..4, 1..7)) {
        let read = description::read(&main_with(&pieces)).then(network::resolve);
        prop_assert!(!read.has_errors(), "{:?}", read.diagnostics);
        let network = read.value;
        let mut routes = find_routes(&network, ROUTES_MAX).routes;
        routes.truncate(20);
        let locking = lock(&network, &routes);
        let pairs: Vec<_> = locking.pairs().map(|(a, b, _)| (a, b)).collect();
        prop_assert!(locking.largest.proven());
        prop_assert_eq!(locking.largest.routes.len(), most_by_trying(routes.len(), &pairs));
        let chosen = &locking.largest.routes;
        prop_assert!(pairs.iter().all(|(a, b)| !chosen.contains(a) || !chosen.contains(b)));
    }
}
