//! Single-source facility location against published optima and brute force.

use plan::facility::{Case, Found, solve};
use proptest::prelude::*;
use serde_json::Value;

const STEPS: u64 = 400_000;

/// A case of `reference/placement/`, with its published optimum.
fn read(text: &str) -> (Case, f64) {
    let json: Value = serde_json::from_str(text).unwrap();
    let rows = |name: &str| json[name].as_array().unwrap().clone();
    let case = Case {
        capacities: rows("facilities").iter().map(|row| row["capacity"].as_u64().unwrap()).collect(),
        opening: rows("facilities").iter().map(|row| row["fixed_cost"].as_f64().unwrap()).collect(),
        demands: rows("customers").iter().map(|row| row["demand"].as_u64().unwrap()).collect(),
        serving: rows("cost")
            .iter()
            .map(|row| row.as_array().unwrap().iter().map(|cost| cost.as_f64().unwrap()).collect())
            .collect(),
    };
    (case, json["expected"]["optimum"].as_f64().unwrap())
}

/// # Source
/// `cap62` of the OR library and problem 034 of `CSPLib`: `reference/placement/README.md`.
#[test]
fn published_optima_are_reached_and_proven() {
    let cases = [
        ("csplib034", include_str!("../../../../reference/placement/csplib034_example.json")),
        ("cap62", include_str!("../../../../reference/placement/orlib_cap62_single.json")),
    ];
    for (name, text) in cases {
        let (case, optimum) = read(text);
        let Found::Solution(best) = solve(&case, STEPS) else { panic!("{name}: nothing found") };
        assert!((best.cost - optimum).abs() < 1e-6 * optimum, "{name}: {} is not {optimum}", best.cost);
        assert!(best.proven(), "{name}: only {} is proven", best.lower_bound);
        assert_eq!(
            case.cost_of(&best.assign),
            Some(best.cost),
            "{name}: the assignment costs something else"
        );
    }
}

/// The least cost of all assignments, tried one by one.
fn by_trying(case: &Case, assign: &mut Vec<usize>) -> Option<f64> {
    if assign.len() == case.demands.len() {
        return case.cost_of(assign);
    }
    let mut best: Option<f64> = None;
    for facility in 0..case.capacities.len() {
        assign.push(facility);
        if let Some(cost) = by_trying(case, assign) {
            best = Some(best.map_or(cost, |best| best.min(cost)));
        }
        assign.pop();
    }
    best
}

proptest! {
    #[test]
    fn no_assignment_is_cheaper(
        facilities in prop::collection::vec((0_u64..9, 0_u8..30), 1..5),
        demands in prop::collection::vec(0_u64..5, 0..6),
        costs in prop::collection::vec(prop::option::weighted(0.9, 0_u8..20), 30),
    ) {
        let case = Case {
            capacities: facilities.iter().map(|(capacity, _)| *capacity).collect(),
            opening: facilities.iter().map(|(_, cost)| f64::from(*cost)).collect(),
            serving: (0..facilities.len())
                .map(|row| {
                    let costs = &costs[row * demands.len()..][..demands.len()];
                    costs.iter().map(|cost| cost.map_or(f64::INFINITY, f64::from)).collect()
                })
                .collect(),
            demands,
        };
        let best = by_trying(&case, &mut Vec::new());
        match solve(&case, STEPS) {
            Found::Solution(found) => {
                prop_assert_eq!(Some(found.cost), best);
                prop_assert!(found.proven());
            }
            Found::Impossible => prop_assert_eq!(None, best),
            Found::GaveUp => prop_assert!(false, "gave up on {:?}", case),
        }
    }
}
