//! One-push routes in wire: every button throws what its route needs, and nothing else.

use crate::plan_of;
use network::Position;
use plan::diode::{DiodeMatrix, Wire, wanted_lines, wire_diodes};

const DEMOS: [(&str, &str); 2] = [
    ("first-module", include_str!("../../../../demo/first-module/layout.toml")),
    ("tern-harbor", include_str!("../../../../demo/tern-harbor/layout.toml")),
];

/// Follows the current through the finished matrix, button by button.
#[test]
fn every_button_throws_its_route_and_nothing_else() {
    for (name, text) in DEMOS {
        let plan = plan_of(text);
        let matrix = wire_diodes(&plan);
        for (route, wanted) in wanted_lines(&plan).into_iter().enumerate() {
            assert_eq!(Some(matrix.alive(route)), wanted, "{name}: route {route}");
        }
    }
}

#[test]
fn groups_save_diodes_and_keep_above_the_bound() {
    for (name, text) in DEMOS {
        let matrix = wire_diodes(&plan_of(text));
        let count = matrix.diodes.len();
        assert!(matrix.bound <= count && count <= matrix.plain_count, "{name}: {count}");
    }
    let harbor = wire_diodes(&plan_of(DEMOS[1].1));
    assert!(
        harbor.diodes.len() < harbor.plain_count / 2,
        "{} of {}",
        harbor.diodes.len(),
        harbor.plain_count
    );
}

/// A matrix with a wire joined to a wrong line is caught by following the current.
#[test]
fn a_sneak_path_is_seen() {
    let plan = plan_of(DEMOS[0].1);
    let mut matrix: DiodeMatrix = wire_diodes(&plan);
    let wanted = wanted_lines(&plan)[0].clone();
    matrix.diodes.insert((Wire::Route(0), Wire::Line(8, Position::Reverse)));
    assert_ne!(Some(matrix.alive(0)), wanted);
}

/// By hand: three routes over a ladder of two. Route to track 1 needs 1R; to track 2, 1N 2R; to track 3, 1N 2N. Plain: 5 diodes.
/// Line 1R is fed by one route alone and hangs apart: bound = (1 + 1 − 1) + (2 + 3 − 1) = 5.
#[test]
fn a_ladder_of_two_needs_five_diodes() {
    let plan = plan_of(
        "[layout]\nname = \"ladder\"\n[end.lead]\ntrack = \"lead\"\n[turnout.1]\npoints = \"lead\"\nthrough = \"mid\"\n\
         diverging = \"track 1\"\nhand = \"left\"\n[turnout.2]\npoints = \"mid\"\nthrough = \"track 3\"\ndiverging = \"track 2\"\n\
         hand = \"left\"\n[end.a]\ntrack = \"track 1\"\n[end.b]\ntrack = \"track 2\"\n[end.c]\ntrack = \"track 3\"\n",
    );
    let matrix = wire_diodes(&plan);
    assert_eq!((matrix.plain_count, matrix.bound, matrix.diodes.len()), (5, 5, 5));
}

/// By hand: a button, two groups one behind the other, a line: three diodes; the other way to the line has one.
#[test]
fn the_longest_way_through_groups_is_counted() {
    let line = Wire::Line(3, Position::Normal);
    let mut matrix = DiodeMatrix::default();
    assert_eq!(matrix.deepest(), 0);
    matrix.diodes.insert((Wire::Route(0), line));
    assert_eq!(matrix.deepest(), 1);
    // The later group feeds the earlier one.
    matrix.diodes.extend([
        (Wire::Route(1), Wire::Group(1)),
        (Wire::Group(1), Wire::Group(0)),
        (Wire::Group(0), line),
    ]);
    assert_eq!(matrix.deepest(), 3);
}
