//! Bad input: layouts that fall apart, that have no stop or no end, that are far too large, or that have more routes than
//! anybody can count. Each must have an answer, or a limit that says that it ended the search. How long it takes is
//! measured elsewhere; a test that did not come to an end would be noticed.
//!
//! # Source
//! Counts by hand: 2^k routes along k passing loops; n + 1 from a lead to the leaves of n turnouts that only fan out.

use crate::extreme;
use network::{
    LOCKED_ROUTES_MAX, Locking, Network, Polarity, ROUTE_TRACKS_MAX, ROUTES_MAX, RouteList, find_routes,
    follow_rails, lock,
};
use notice::code;

/// The most routes that are kept, and locked, where a layout has too many: fewer than the tool keeps, as tests run
/// without optimisation.
const FEW: usize = 500;

/// All that is worked out about a network.
struct Answer {
    network: Network,
    list: RouteList,
    locking: Locking,
    polarity: Polarity,
}

impl Answer {
    fn of(text: &str) -> Self {
        Self::with_routes(text, ROUTES_MAX)
    }

    fn with_routes(text: &str, most: usize) -> Self {
        let read = description::read(text).then(network::resolve);
        let codes: Vec<&str> = read.diagnostics.iter().map(|note| note.code.name()).collect();
        let network = read.value;
        let is_stopless = !network.tracks.is_empty() && network.stops().next().is_none();
        assert_eq!(codes, if is_stopless { vec![code::STOP_MISSING.name()] } else { vec![] });
        let list = find_routes(&network, most);
        let locking = lock(&network, &list.routes);
        let polarity = follow_rails(&network);
        Self { network, list, locking, polarity }
    }

    /// Whatever is in the list is a route: it runs between two stops, and over nothing twice.
    fn assert_sound(&self) {
        for route in self.list.routes.iter().step_by(97) {
            let stops: Vec<_> =
                route.tracks.iter().filter(|track| self.network.track(**track).stop).collect();
            assert_eq!(stops, [&route.from(), &route.to()]);
            assert!(route.from() < route.to());
            assert!(route.needs.windows(2).all(|pair| pair[0].0 != pair[1].0), "a machine is used twice");
            let mut tracks = route.tracks.clone();
            tracks.sort_unstable();
            tracks.dedup();
            assert_eq!(tracks.len(), route.tracks.len(), "a track is used twice");
        }
        let chosen = &self.locking.largest.routes;
        assert_eq!(self.locking.route_count(), self.list.routes.len().min(LOCKED_ROUTES_MAX));
        assert!(chosen.iter().all(|&a| chosen.iter().all(|&b| a == b || !self.locking.conflict(a, b))));
        assert!(chosen.len() <= self.locking.largest.bound);
        assert!(self.polarity.reversing.len() >= self.polarity.fewest_bound);
    }
}

#[test]
fn a_layout_without_anything_has_no_routes() {
    let answer = Answer::of("[layout]\nname = \"made up\"\n");
    assert!(answer.list.complete && answer.list.routes.is_empty());
    assert!(answer.locking.largest.proven() && answer.polarity.proven());
}

/// 2^5 routes in one part and 2^3 in the other; a train on each part at once, so two routes at most.
#[test]
fn parts_that_do_not_touch_have_their_own_routes() {
    let answer = Answer::of(&extreme::apart(5, 3));
    assert!(answer.list.complete);
    assert_eq!(answer.list.routes.len(), (1 << 5) + (1 << 3));
    let between = answer.list.routes.iter().filter(|route| {
        let part = |track| answer.network.track(track).name.chars().next();
        part(route.from()) != part(route.to())
    });
    assert_eq!(between.count(), 0);
    assert_eq!(answer.locking.largest.routes.len(), 2);
    assert!(answer.locking.largest.proven() && answer.polarity.consistent());
    answer.assert_sound();
}

#[test]
fn a_ring_without_an_end_has_no_routes_and_a_warning_says_why() {
    let answer = Answer::of(&extreme::ring(40));
    assert!(answer.list.complete && answer.list.routes.is_empty());
    assert!(answer.polarity.consistent() && answer.polarity.proven());
}

/// A stop on the ring is not a route to itself; two are joined by the ways along either side.
#[test]
fn a_ring_with_stops_has_the_routes_between_them() {
    let ring = extreme::ring(4);
    let one = Answer::of(&format!("{ring}[track.m0]\nstop = true\n"));
    assert!(one.list.complete && one.list.routes.is_empty());
    let two = Answer::of(&format!("{ring}[track.m0]\nstop = true\n[track.m1]\nstop = true\n"));
    assert!(two.list.complete);
    assert_eq!(two.list.routes.len(), 2 + (1 << 3), "one loop on one side, three on the other");
    two.assert_sound();
}

/// From every stop on the west to every one east of it: far more tracks than the list may hold.
#[test]
fn ten_thousand_turnouts_in_a_line_meet_the_limit_on_tracks() {
    for text in [extreme::line(10_000), extreme::ladder(10_000)] {
        let answer = Answer::with_routes(&text, 50);
        assert_eq!(answer.network.machines.len(), 10_000);
        assert!(!answer.list.complete && answer.list.routes.len() == 50);
        assert!(answer.polarity.consistent() && answer.polarity.proven());
        answer.assert_sound();
        let all = find_routes(&answer.network, ROUTES_MAX);
        assert!(!all.complete && all.routes.len() < ROUTES_MAX);
        let track_count: usize = all.routes.iter().map(|route| route.tracks.len()).sum();
        // The next route, of some 10,000 tracks at most, found no room.
        assert!((ROUTE_TRACKS_MAX - 10_001..=ROUTE_TRACKS_MAX).contains(&track_count));
    }
}

/// All routes of a short line, by hand: every way to leave the line eastwards is paired with every way to join it
/// further west. 20 turnouts have 10 spurs of either kind, and the line has an end on either side.
#[test]
fn a_short_line_has_all_its_routes() {
    let answer = Answer::of(&extreme::line(20));
    assert!(answer.list.complete);
    // Joining at place i (0 is the west end) leaves the spurs further east and the east end.
    assert_eq!(answer.list.routes.len(), (0..=10).map(|joined| 11 - joined).sum::<usize>());
    answer.assert_sound();
    let ladder = Answer::of(&extreme::ladder(500));
    assert!(ladder.list.complete && ladder.list.routes.len() == 501);
}

#[test]
fn ten_thousand_turnouts_that_fan_out_have_one_route_for_each_leaf() {
    let answer = Answer::of(&extreme::tree(10_000));
    assert!(answer.list.complete);
    assert_eq!(answer.list.routes.len(), 10_001);
    assert_eq!(answer.locking.largest.routes.len(), 1);
    assert!(answer.locking.largest.proven() && answer.polarity.proven());
    answer.assert_sound();
}

#[test]
fn more_routes_than_can_be_counted_end_at_the_limit_on_routes() {
    for text in [extreme::slips(40, 40), extreme::loops(60), extreme::apart(60, 60)] {
        let answer = Answer::with_routes(&text, FEW);
        assert!(!answer.list.complete);
        assert_eq!(answer.list.routes.len(), FEW);
        assert!(answer.polarity.consistent() && answer.polarity.proven());
        answer.assert_sound();
    }
}

/// 2^14 routes are in the list; 2^15 are not.
#[test]
fn loops_are_complete_up_to_the_limit_on_routes() {
    let list = |loops| {
        find_routes(&description::read(&extreme::loops(loops)).then(network::resolve).value, ROUTES_MAX)
    };
    assert!(list(14).complete && list(14).routes.len() == 1 << 14);
    assert!(!list(15).complete && list(15).routes.len() == ROUTES_MAX);
}

#[test]
fn two_thousand_turnouts_joined_at_random_have_an_answer() {
    let answer = Answer::with_routes(&extreme::tangle(2_000, 10, 1), FEW);
    assert!(!answer.list.complete && answer.list.routes.len() == FEW);
    assert!(answer.polarity.fewest_bound > 0);
    answer.assert_sound();
}

#[test]
fn a_knot_with_one_way_in_and_none_out_has_no_routes() {
    for turnouts in [11, 101, 1_001] {
        let answer = Answer::of(&extreme::knot(turnouts, 1));
        assert!(answer.list.complete && answer.list.routes.is_empty(), "{turnouts} turnouts");
    }
}

/// Without optimisation too, the search gives up soon, however far it would have to look ahead.
#[test]
fn a_long_maze_makes_the_search_give_up() {
    let network = description::read(&extreme::balloon(60, 400)).then(network::resolve).value;
    let list = find_routes(&network, ROUTES_MAX);
    assert!(!list.complete && list.routes.is_empty());
}

/// A short balloon is searched to the end; for a long one the search may give up, but then says so.
#[test]
fn a_maze_that_only_seems_to_have_a_way_out_has_no_routes() {
    for (loops, far) in [(1, 0), (2, 3), (8, 8)] {
        let answer = Answer::of(&extreme::balloon(loops, far));
        assert!(answer.list.complete && answer.list.routes.is_empty(), "{loops} loops");
        assert_eq!(answer.polarity.reversing.len(), 1, "the balloon");
    }
}
