//! Routes between two stops, against picking from the list of all routes.

use crate::polarity::tangle;
use network::{
    Avoid, JointId, Network, Prefer, ROUTES_MAX, Route, TrackId, Wish, best_route, cost_of, find_routes,
    routes_between,
};
use proptest::prelude::*;
use std::fmt::Write as _;

/// Two tracks lie between west and east: the short one needs two reversed machines, the long one none.
const LOOP: &str = r#"
[layout]
name = "made up"
[end.west]
track = "west"
[end.east]
track = "east"
[turnout.1]
points = "west"
through = "main"
diverging = "siding"
hand = "left"
[turnout.2]
points = "east"
through = "main"
diverging = "siding"
hand = "right"
[track.main]
length = "3 m"
[track.siding]
length = "2 m"
"#;

pub(crate) fn network_of(text: &str) -> Network {
    let read = description::read(text).then(network::resolve);
    assert!(!read.has_errors(), "{:?}", read.diagnostics);
    read.value
}

fn track(network: &Network, name: &str) -> TrackId {
    TrackId::at(network.tracks.iter().position(|track| track.name == name).expect("a track of that name"))
}

pub(crate) fn names<'a>(network: &'a Network, route: &Route) -> Vec<&'a str> {
    route.tracks.iter().map(|&id| network.track(id).name.as_str()).collect()
}

#[test]
fn the_shortest_and_the_straightest_differ() {
    let network = network_of(LOOP);
    let wish = Wish::new(track(&network, "west"), track(&network, "east"));
    let best = |prefer| best_route(&network, &wish, prefer).route.expect("a route");
    assert_eq!(names(&network, &best(Prefer::Shortest)), ["east", "siding", "west"]);
    assert_eq!(names(&network, &best(Prefer::FewestReverse)), ["east", "main", "west"]);
}

#[test]
fn via_and_avoid_leave_the_other_way_only() {
    let network = network_of(LOOP);
    let (west, east) = (track(&network, "west"), track(&network, "east"));
    let siding = track(&network, "siding");
    let via = Wish { via: vec![siding], ..Wish::new(west, east) };
    let around =
        Wish { avoid: Avoid { tracks: [siding].into(), ..Avoid::default() }, ..Wish::new(west, east) };
    assert_eq!(
        names(&network, &best_route(&network, &via, Prefer::FewestReverse).route.unwrap())[1],
        "siding"
    );
    assert_eq!(names(&network, &best_route(&network, &around, Prefer::Shortest).route.unwrap())[1], "main");
    assert_eq!(routes_between(&network, &Wish::new(west, east), 1).routes.len(), 1);
    assert!(!routes_between(&network, &Wish::new(west, east), 1).complete);
    let turnout = (0..network.joints.len()).map(JointId::at).find(|&id| network.joint(id).id == "1");
    let nowhere = Wish {
        avoid: Avoid { joints: turnout.into_iter().collect(), ..Avoid::default() },
        ..Wish::new(west, east)
    };
    let best = best_route(&network, &nowhere, Prefer::Shortest);
    assert!(best.route.is_none() && best.proven);
}

/// A tangle of turnouts in which some tracks are stops, every track with a length of its own.
pub(crate) fn stopped_tangle(ports: &[usize], stops: &[bool], lengths: &[u8]) -> Network {
    let mut text = tangle(ports.len() / 3, ports);
    for index in 0..ports.len().div_ceil(2) {
        let (stop, length) = (stops[index % stops.len()], lengths[index % lengths.len()]);
        writeln!(text, "[track.t{index}]\nstop = {stop}\nlength = \"{length} cm\"").unwrap();
    }
    network_of(&text)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_the_best_route_is_the_best_of_all_routes(
        ports in (2usize..=9).prop_flat_map(|count| Just((0..count * 3).collect::<Vec<_>>()).prop_shuffle()),
        stops in prop::collection::vec(prop::bool::weighted(0.3), 3..14),
        lengths in prop::collection::vec(1u8..200, 3..14),
        via in any::<prop::sample::Index>(),
        avoid in any::<prop::sample::Index>(),
        joint in any::<prop::sample::Index>(),
        which in 0u8..8,
    ) {
        let network = stopped_tangle(&ports, &stops, &lengths);
        let all = find_routes(&network, ROUTES_MAX);
        prop_assert!(all.complete);
        let stops: Vec<TrackId> = network.stops().collect();
        for (index, &from) in stops.iter().enumerate() {
            for &to in &stops[index + 1..] {
                let mut wish = Wish::new(to, from);
                if which & 1 == 1 {
                    wish.via.push(TrackId::at(via.index(network.tracks.len())));
                }
                if which & 2 == 2 {
                    wish.avoid.tracks.insert(TrackId::at(avoid.index(network.tracks.len())));
                }
                if which & 4 == 4 {
                    wish.avoid.joints.insert(JointId::at(joint.index(network.joints.len())));
                }
                let picked: Vec<Route> = all.routes.iter().filter(|route| wish.is_met_by(route)).cloned().collect();
                let found = routes_between(&network, &wish, ROUTES_MAX);
                prop_assert!(found.complete);
                prop_assert_eq!(&found.routes, &picked);
                for prefer in [Prefer::Shortest, Prefer::FewestReverse] {
                    let best = best_route(&network, &wish, prefer);
                    prop_assert!(best.proven);
                    let least = picked.iter().map(|route| cost_of(&network, route, prefer)).min();
                    prop_assert_eq!(best.route.as_ref().map(|route| cost_of(&network, route, prefer)), least);
                    prop_assert!(best.route.is_none_or(|route| picked.contains(&route)));
                }
            }
        }
    }
}
