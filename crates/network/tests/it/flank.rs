//! Levers that keep things out of a route's side, against rolling a car from every stop with every setting.

use crate::between::{names, network_of, stopped_tangle};
use network::{JointKind, LeverId, Network, Port, Position, ROUTES_MAX, Route, TrackId, find_routes, flanks};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// A main with two spurs: `bare` joins by its own turnout only, `caught` over a catch turnout that can throw a car off.
const SPURS: &str = r#"
[layout]
name = "made up"
[end.west]
track = "west"
[end.east]
track = "east"
[end.bare]
track = "bare"
[end.caught]
track = "caught"
[end.pit]
track = "pit"
[track.pit]
stop = false
[turnout.1]
points = "west"
through = "mid"
diverging = "bare"
hand = "left"
[turnout.2]
points = "east"
through = "mid"
diverging = "lead"
hand = "left"
[turnout.3]
points = "caught"
through = "pit"
diverging = "lead"
hand = "left"
"#;

/// By hand: on the main, a car on `bare` trails turnout 1 and runs in, whatever is done; one on `caught` meets turnout 3
/// facing, and normal sends it to the pit. Common practice, no source.
#[test]
fn a_catch_turnout_guards_and_a_bare_spur_does_not() {
    let network = network_of(SPURS);
    let routes = find_routes(&network, ROUTES_MAX).routes;
    let main = routes.iter().find(|route| names(&network, route) == ["east", "mid", "west"]).unwrap();
    let flanks = flanks(&network, main);
    let told: Vec<_> = flanks
        .iter()
        .map(|flank| {
            let guards =
                flank.guards.iter().map(|&(lever, position)| (network.lever(lever).id.as_str(), position));
            let open = flank.open_to.iter().map(|&track| network.track(track).name.as_str());
            (network.joint(flank.joint).id.as_str(), guards.collect::<Vec<_>>(), open.collect::<Vec<_>>())
        })
        .collect();
    assert_eq!(told, [("2", vec![("3", Position::Normal)], vec![]), ("1", vec![], vec!["bare"])]);
}

/// Rolls a car off a stop: over points that are set for it where it meets them facing, through points that it trails
/// however they stand. Tells whether it runs into the route: into
/// its side, or also over its ends. Turnouts only, written from what a turnout is.
fn comes_onto(
    network: &Network,
    route: &Route,
    set: &BTreeMap<LeverId, Position>,
    stop: TrackId,
    over_ends: bool,
) -> bool {
    let mut queue: Vec<Port> = network.track(stop).ends.to_vec();
    let mut seen: BTreeSet<Port> = BTreeSet::new();
    while let Some(at) = queue.pop() {
        let joint = network.joint(at.joint);
        if !seen.insert(at) || !matches!(joint.kind, JointKind::Turnout { .. }) {
            continue;
        }
        if let Some(pass) = route.passes.iter().find(|pass| pass.joint == at.joint) {
            if [pass.enter, pass.leave].contains(&at.port) && !over_ends {
                continue;
            }
            return true;
        }
        let leaves = match at.port {
            0 => match set.get(&network.machine(joint.machines[0]).lever) {
                Some(Position::Reverse) => 2,
                _ => 1,
            },
            _ => 0,
        };
        if over_ends && route.tracks.contains(&joint.tracks[leaves]) {
            return true;
        }
        queue.push(network.across(Port { joint: at.joint, port: u8::try_from(leaves).unwrap() }));
    }
    false
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_what_is_guarded_stays_out_and_what_is_open_comes_in(
        ports in (2usize..=7).prop_flat_map(|count| Just((0..count * 3).collect::<Vec<_>>()).prop_shuffle()),
        stops in prop::collection::vec(prop::bool::weighted(0.3), 3..12),
    ) {
        let network = stopped_tangle(&ports, &stops, &[10]);
        for route in find_routes(&network, ROUTES_MAX).routes.iter().take(40) {
            let found = flanks(&network, route);
            let needs: BTreeMap<LeverId, Position> =
                route.needs.iter().map(|&(machine, position)| (network.machine(machine).lever, position)).collect();
            let mut set = needs.clone();
            set.extend(found.iter().flat_map(|flank| flank.guards.iter().copied()));
            let others: Vec<TrackId> = network.stops().filter(|stop| !route.tracks.contains(stop)).collect();
            if found.iter().all(|flank| flank.open_to.is_empty()) {
                for &stop in &others {
                    prop_assert!(!comes_onto(&network, route, &set, stop, false), "{:?} comes in", network.track(stop).name);
                }
            }
            // Where nothing guards, no setting of the other levers keeps a car out.
            let free: Vec<LeverId> =
                (0..network.levers.len()).map(LeverId::at).filter(|lever| !needs.contains_key(lever)).collect();
            for flank in found.iter().filter(|flank| flank.guards.is_empty()) {
                for bits in 0u32..1 << free.len() {
                    let mut set = needs.clone();
                    set.extend(free.iter().enumerate().map(|(bit, &lever)| {
                        (lever, if bits >> bit & 1 == 1 { Position::Reverse } else { Position::Normal })
                    }));
                    prop_assert!(flank.open_to.iter().any(|&stop| comes_onto(&network, route, &set, stop, true)));
                }
            }
        }
    }
}
