//! Every route of the reference networks and graphs, compared with the routes listed there.
//!
//! Each case is read from its `.toml`, resolved and searched; the routes are compared as sets with `expected.stop_routes`
//! of its `.json`, taken without direction: a list of tracks up to reversal, the position of each machine, and the plain
//! crossings on the way. Where a case lists only a count, the count is compared.
//!
//! # Source
//! `reference/networks/README.md` (three research networks, routes confirmed by the source's own list) and
//! `reference/graphs/README.md` (closed forms, two searches that share no code, a graph library).

use network::{JointKind, Network, Position, ROUTES_MAX, Route, find_routes};
use notice::Outcome;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A route without direction: its tracks, the position of each machine, the plain crossings it runs over.
type Undirected = (Vec<String>, BTreeMap<String, Position>, BTreeSet<String>);

macro_rules! case {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../../../reference/", $name, ".toml")),
            include_str!(concat!("../../../../reference/", $name, ".json")),
        )
    };
}

pub(crate) type Case = (&'static str, &'static str, &'static str);

pub(crate) const NETWORKS: [Case; 3] =
    [case!("networks/nested_switches"), case!("networks/overlapping_routes"), case!("networks/small_infra")];

pub(crate) const GRAPHS: [Case; 7] = [
    case!("graphs/loops_3"),
    case!("graphs/loops_10"),
    case!("graphs/yard_6"),
    case!("graphs/crossovers_2"),
    case!("graphs/crossovers_6"),
    case!("graphs/slips_3"),
    case!("graphs/tree_4"),
];

pub(crate) const REVERSING: [Case; 4] = [
    case!("graphs/reversing_balloon"),
    case!("graphs/reversing_oval_with_cutoff"),
    case!("graphs/reversing_oval_with_loop"),
    case!("graphs/reversing_wye"),
];

#[test]
fn research_networks_have_exactly_the_routes_their_source_lists() {
    for case in NETWORKS {
        let expected = expected_of(case);
        assert!(expected["stop_routes"].is_array(), "{} lists its routes", case.0);
        compare(case, &expected);
    }
}

#[test]
fn graphs_have_the_routes_of_their_closed_forms() {
    for case in GRAPHS {
        compare(case, &expected_of(case));
    }
}

/// # Source
/// `reference/graphs/README.md`: 2^k routes for k loops, 2n for a double-ended yard, 2·2^k for k double slips, 2^k for
/// a lead that fans out k times.
#[test]
fn route_counts_follow_the_formulas() {
    let counts = |name: &str| {
        let case = GRAPHS.into_iter().find(|case| case.0 == name).expect("the case is in the list");
        find_routes(&network_of(case), ROUTES_MAX).routes.len()
    };
    assert_eq!(counts("graphs/loops_3"), 1 << 3);
    assert_eq!(counts("graphs/loops_10"), 1 << 10);
    assert_eq!(counts("graphs/yard_6"), 2 * 6);
    assert_eq!(counts("graphs/slips_3"), 2 * (1 << 3));
    assert_eq!(counts("graphs/tree_4"), 1 << 4);
}

#[test]
fn networks_with_reversing_connections_resolve_without_a_finding() {
    for case in REVERSING {
        let network = network_of(case);
        let legs = serde_json::from_str::<Value>(case.2).unwrap()["legs"].as_array().unwrap().len();
        assert_eq!(network.tracks.len(), legs, "{}", case.0);
    }
}

#[test]
fn a_search_that_is_cut_short_says_so() {
    let network = network_of(case!("graphs/loops_10"));
    let all = find_routes(&network, 1024);
    assert!(all.complete && all.routes.len() == 1024);
    let cut = find_routes(&network, 1023);
    assert!(!cut.complete && cut.routes.len() == 1023);
}

pub(crate) fn expected_of(case: Case) -> Value {
    serde_json::from_str::<Value>(case.2).expect(case.0)["expected"].clone()
}

pub(crate) fn network_of((name, layout, _): Case) -> Network {
    let Outcome { value, diagnostics } = description::read(layout).then(network::resolve);
    assert!(diagnostics.is_empty(), "{name}: {diagnostics:?}");
    value
}

fn compare(case: Case, expected: &Value) {
    let network = network_of(case);
    let found = find_routes(&network, ROUTES_MAX);
    assert!(found.complete, "{}", case.0);
    let count = usize::try_from(expected["stop_route_count"].as_u64().expect("a count")).unwrap();
    assert_eq!(found.routes.len(), count, "{}", case.0);
    let ours: BTreeSet<Undirected> = found.routes.iter().map(|route| undirected(&network, route)).collect();
    assert_eq!(ours.len(), count, "{}: a route is listed twice", case.0);
    if let Some(listed) = expected["stop_routes"].as_array() {
        let theirs: BTreeSet<Undirected> = listed.iter().map(undirected_of_source).collect();
        let missing: Vec<_> = theirs.difference(&ours).collect();
        let extra: Vec<_> = ours.difference(&theirs).collect();
        assert!(missing.is_empty() && extra.is_empty(), "{}: missing {missing:?}, extra {extra:?}", case.0);
    }
}

fn without_direction(mut tracks: Vec<String>) -> Vec<String> {
    let reversed: Vec<String> = tracks.iter().rev().cloned().collect();
    if reversed < tracks {
        tracks = reversed;
    }
    tracks
}

fn undirected(network: &Network, route: &Route) -> Undirected {
    let tracks = route.tracks.iter().map(|&track| network.track(track).name.clone()).collect();
    let positions = route
        .needs
        .iter()
        .map(|&(machine, position)| (network.machine(machine).name.clone(), position))
        .collect();
    let crossings = route
        .passes
        .iter()
        .map(|pass| network.joint(pass.joint))
        .filter(|joint| joint.kind == JointKind::Crossing)
        .map(|joint| joint.id.clone())
        .collect();
    (without_direction(tracks), positions, crossings)
}

/// A route of the source, its turnout and slip positions turned into those of our machines.
///
/// # Source
/// The legs and moves as each file's `expected.definitions` name them; that through is normal, and which blades of a
/// slip lie how for each move, is the description's own statement (common practice, no source).
fn undirected_of_source(route: &Value) -> Undirected {
    let mut positions = BTreeMap::new();
    for (turnout, leg) in entries(&route["turnouts"]) {
        let position = match leg.as_str() {
            "through" => Position::Normal,
            "diverging" => Position::Reverse,
            other => panic!("leg {other}"),
        };
        positions.insert(turnout, position);
    }
    for (slip, way) in entries(&route["slips"]) {
        let (west, east) = match way.as_str() {
            "one" => (Position::Normal, Position::Normal),
            "other" => (Position::Reverse, Position::Reverse),
            "slip one0-other1" => (Position::Reverse, Position::Normal),
            "slip other0-one1" => (Position::Normal, Position::Reverse),
            other => panic!("way {other}"),
        };
        positions.insert(format!("{slip}W"), west);
        positions.insert(format!("{slip}E"), east);
    }
    (without_direction(names(&route["tracks"])), positions, names(&route["crossings"]).into_iter().collect())
}

fn names(list: &Value) -> Vec<String> {
    list.as_array().into_iter().flatten().map(|name| name.as_str().unwrap().to_owned()).collect()
}

fn entries(object: &Value) -> impl Iterator<Item = (String, String)> + '_ {
    object
        .as_object()
        .into_iter()
        .flatten()
        .map(|(key, value)| (key.clone(), value.as_str().unwrap().to_owned()))
}
