//! What must hold of every diagram, computed from its strokes and words.

use crate::layouts::{Growth, LOOPED, OPEN, drawn, grown, network};
use draw::scene::{Layer, Scene, Stroke, Xy};
use draw::sheet::MM;
use draw::{Measures, Schematic, measures, schematic_of, svg};
use network::{JointId, JointKind, Network, Port};
use proptest::prelude::*;

/// The laws of any diagram.
fn assert_lawful(name: &str, network: &Network, drawn: &Schematic, counts: &Measures) {
    assert_eq!(counts.hand_errors, 0, "{name}: every leg leaves on its side");
    assert_eq!(counts.crossings, 0, "{name}: nothing crosses that does not on the ground");
    assert_eq!(counts.overlaps, 0, "{name}: no word over another, over a track or off the sheet");
    assert_angles(name, &drawn.scene);
    assert_whole(name, network, drawn);
    assert_straight_across(name, network, drawn);
}

/// Every stroke runs level, at 30° or at 60°.
///
/// # Source
/// tan 30° = 1/√3, tan 60° = √3: a stroke over `dx` across and `dy` down is at 30° when `dx² = 3·dy²`, at 60° when
/// `dy² = 3·dx²`; whole micrometres leave a little to rounding.
fn assert_angles(name: &str, scene: &Scene) {
    let nearly = |a: i128, b: i128| (a - b).abs() * 200 <= a.max(b);
    // The curve of a slip is drawn as its chord, which lies between its two tracks.
    let straight = |stroke: &&Stroke| stroke.layer <= Layer::Leader && stroke.tag.class != "slip";
    for stroke in scene.strokes.iter().filter(straight) {
        for pair in stroke.path.windows(2) {
            let (dx, dy) =
                (i128::from(pair[1].x - pair[0].x).pow(2), i128::from(pair[1].y - pair[0].y).pow(2));
            let small = dx + dy < i128::from(MM / 2).pow(2);
            assert!(
                small || dy == 0 || nearly(dx, 3 * dy) || nearly(dy, 3 * dx),
                "{name}: {:?}",
                stroke.path
            );
        }
    }
}

/// Both lines of a crossing or slip run straight through it.
fn assert_straight_across(name: &str, network: &Network, drawn: &Schematic) {
    for (index, joint) in network.joints.iter().enumerate() {
        if !matches!(joint.kind, JointKind::Slip { .. } | JointKind::Crossing) {
            continue;
        }
        let leaves = |port: u8| {
            let at = Some(Port { joint: JointId::at(index), port });
            let step = |a: Xy, b: Xy| (i128::from(b.x - a.x), i128::from(b.y - a.y));
            let direction = drawn.tracks.iter().find_map(|track| match track.path.as_slice() {
                [a, b, ..] if track.ports[0] == at => Some(step(*a, *b)),
                [.., b, a] if track.ports[1] == at => Some(step(*a, *b)),
                _ => None,
            });
            direction.expect("every port has its track")
        };
        for (one, other) in [(0, 1), (2, 3)] {
            let (a, b) = (leaves(one), leaves(other));
            let (turn, along) = (a.0 * b.1 - a.1 * b.0, a.0 * b.0 + a.1 * b.1);
            // Rounding to whole micrometres turns a stroke by less than a thousandth.
            assert!(along < 0 && turn.abs() * 1_000 < -along, "{name}: {} has a kink", joint.id);
        }
    }
}

/// Every track is there from joint to joint, every machine and every lever's number.
fn assert_whole(name: &str, network: &Network, drawn: &Schematic) {
    for (index, track) in network.tracks.iter().enumerate() {
        let runs: Vec<_> = drawn.tracks.iter().filter(|run| run.track.index() == index).collect();
        let mut ports: Vec<_> = runs.iter().flat_map(|run| run.ports).flatten().collect();
        ports.sort_unstable();
        let mut ends = track.ends.to_vec();
        ends.sort_unstable();
        assert_eq!(ports, ends, "{name}: track {} keeps both its ends", track.name);
        assert!((1..=2).contains(&runs.len()), "{name}: track {} is whole or cut once", track.name);
    }
    for index in 0..network.machines.len() {
        assert!(
            drawn.machines.iter().any(|machine| machine.machine.index() == index),
            "{name}: every machine"
        );
    }
    for index in 0..network.levers.len() {
        assert!(drawn.numbers.iter().any(|number| number.lever.index() == index), "{name}: every lever");
    }
}

#[test]
fn layouts_without_loops_are_drawn_whole_and_lawful() {
    for (name, text) in OPEN {
        let (network, drawn, counts) = drawn(text);
        assert_lawful(name, &network, &drawn, &counts);
        assert_eq!(counts.cuts, 0, "{name}: nothing is cut that can be drawn");
    }
}

#[test]
fn layouts_with_loops_are_drawn_closed_and_lawful() {
    for (name, text) in LOOPED {
        let (network, drawn, counts) = drawn(text);
        assert_lawful(name, &network, &drawn, &counts);
        assert_eq!(counts.cuts, 0, "{name}: every loop is closed");
        let turns_back = |path: &[Xy]| {
            path.windows(2).any(|pair| pair[1].x < pair[0].x)
                && path.windows(2).any(|pair| pair[1].x > pair[0].x)
        };
        assert!(drawn.tracks.iter().any(|run| turns_back(&run.path)), "{name}: some track turns back");
    }
}

/// Two rings that cross once: no drawing can show that, so a track is cut, and both its stubs carry one letter.
///
/// # Source
/// The Jordan curve theorem: two closed curves in a plane that cross do so an even number of times.
#[test]
fn rings_that_cross_once_are_cut() {
    let text = r#"
[layout]
name = "two rings"
[crossing.X]
one = ["a", "b"]
other = ["c", "d"]
[turnout.1]
points = "a"
through = "b"
diverging = "e"
hand = "left"
[turnout.2]
points = "c"
through = "d"
diverging = "f"
hand = "left"
[end.e]
track = "e"
[end.f]
track = "f"
"#;
    let (network, drawn, counts) = drawn(text);
    assert_lawful("two rings", &network, &drawn, &counts);
    assert_eq!(counts.cuts, 1);
    let letters: Vec<&str> = drawn.connectors.iter().map(|connector| connector.letter.as_str()).collect();
    assert_eq!(letters, ["A", "A"]);
}

#[test]
fn the_same_network_gives_the_same_bytes() {
    for (name, text) in OPEN.iter().chain(&LOOPED) {
        let network = network(text);
        let first = svg::write(&schematic_of(&network).scene);
        assert_eq!(first, svg::write(&schematic_of(&network).scene), "{name}");
    }
}

fn growths(most: usize) -> impl Strategy<Value = Vec<Growth>> {
    proptest::collection::vec(any::<Growth>(), 0..most)
}

/// Seen first in a random railroad: between tracks close above one another no place near its machine was free for a number.
#[test]
fn a_number_with_no_room_near_its_machine_stands_further_off() {
    let steps = [
        (25, 0, true),
        (238, 2, false),
        (191, 105, true),
        (66, 77, false),
        (131, 159, true),
        (73, 159, false),
        (70, 212, false),
        (4, 164, false),
        (10, 31, true),
        (235, 94, false),
        (3, 60, false),
        (25, 12, false),
        (135, 202, false),
    ];
    let (network, drawn, counts) = drawn(&grown(&steps, false));
    assert_lawful("crowded", &network, &drawn, &counts);
    assert_eq!(counts.cuts, 0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    /// A railroad without rings can always be drawn, so nothing of it may be cut.
    #[test]
    fn prop_trees_are_drawn_whole_and_lawful(steps in growths(24)) {
        let (network, drawn, counts) = drawn(&grown(&steps, false));
        assert_lawful("grown", &network, &drawn, &counts);
        prop_assert_eq!(counts.cuts, 0);
    }

    #[test]
    fn prop_railroads_with_rings_are_lawful(steps in growths(24)) {
        let network = network(&grown(&steps, true));
        let drawn = schematic_of(&network);
        assert_lawful("grown with rings", &network, &drawn, &measures(&drawn, &network));
    }
}
