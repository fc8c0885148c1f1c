//! What `[drawing]` pins is drawn so, and what cannot be is said.

use crate::layouts::{drawn, sound_network};
use draw::{Schematic, schematic_of, unheld};
use network::Network;

/// A main with a siding to its left and a spur off the siding.
const SIDING: &str = r#"
[layout]
name = "made up"
[end.west]
track = "west"
is = "beyond"
[end.east]
track = "east"
is = "beyond"
[end.spur]
track = "spur"
[turnout.a]
points = "west"
through = "main"
diverging = "siding 1"
hand = "left"
[turnout.s]
points = "siding 1"
through = "siding 2"
diverging = "spur"
hand = "left"
[turnout.b]
points = "east"
through = "main"
diverging = "siding 2"
hand = "right"
[line.main]
from = "west"
to = "east"
"#;

/// The levels a track runs on, counted upward from the main.
fn levels(network: &Network, drawn: &Schematic, name: &str) -> Vec<i64> {
    let y = |name: &str| -> Vec<i64> {
        let run = drawn.tracks.iter().find(|run| network.track(run.track).name == name).unwrap();
        let level = run.path.windows(2).filter(|pair| pair[0].y == pair[1].y);
        level.map(|pair| pair[0].y).collect()
    };
    let main = y("main")[0];
    y(name).into_iter().map(|y| (main - y) / draw::sheet::LEVEL_PITCH).collect()
}

#[test]
fn a_track_lies_on_the_level_it_is_pinned_to() {
    let (network, plain, _) = drawn(SIDING);
    assert_eq!(levels(&network, &plain, "siding 2"), [1]);
    let (network, pinned, counts) =
        drawn(&format!("{SIDING}[drawing]\nlevels = {{ \"siding 2\" = 3, spur = 5 }}\n"));
    assert_eq!(levels(&network, &pinned, "siding 2"), [3]);
    assert_eq!(levels(&network, &pinned, "spur"), [5]);
    assert_eq!((counts.crossings, counts.hand_errors, counts.overlaps), (0, 0, 0));
    assert!(unheld(&network, &pinned).is_empty());
}

#[test]
fn a_turnout_has_the_leg_straight_that_is_asked_for() {
    let network = sound_network(&format!("{SIDING}[drawing]\nstraight = [\"s\"]\n"));
    let drawn = schematic_of(&network);
    // The spur takes the level that the siding has otherwise, and the siding leaves slanted.
    let (network, plain, _) = crate::layouts::drawn(SIDING);
    assert_eq!((levels(&network, &plain, "spur"), levels(&network, &plain, "siding 2")), (vec![2], vec![1]));
    assert_eq!((levels(&network, &drawn, "spur"), levels(&network, &drawn, "siding 2")), (vec![1], vec![]));
    assert!(unheld(&network, &drawn).is_empty());
}

#[test]
fn joints_stand_in_the_order_that_is_asked_for() {
    let text = SIDING.replace("[line.main]", "[turnout.m]\npoints = \"main 2\"\nthrough = \"x\"\ndiverging = \"team\"\nhand = \"right\"\n[end.team]\ntrack = \"team\"\n[end.x]\ntrack = \"x\"\n[end.y]\ntrack = \"main 2\"\n[line.main]");
    for (left, right) in [("m", "a"), ("b", "m")] {
        let network = sound_network(&format!("{text}[drawing]\norder = [[\"{left}\", \"{right}\"]]\n"));
        let drawn = schematic_of(&network);
        let x = |id: &str| {
            let of = |machine: &&draw::DrawnMachine| network.machine(machine.machine).name == id;
            drawn.machines.iter().find(of).unwrap().at.x
        };
        assert!(x(left) < x(right), "{left} {right}");
        assert!(unheld(&network, &drawn).is_empty());
    }
}

#[test]
fn what_cannot_be_drawn_so_is_said_at_its_place() {
    let text = format!("{SIDING}[drawing]\nlevels = {{ \"siding 1\" = -1 }}\norder = [[\"b\", \"a\"]]\n");
    let network = sound_network(&text);
    let drawn = schematic_of(&network);
    let mut told: Vec<(&str, String)> = unheld(&network, &drawn)
        .into_iter()
        .map(|note| (&text[note.span.start..note.span.end], note.message))
        .collect();
    told.sort();
    assert_eq!(
        told,
        [
            (
                "\"a\"",
                "`b` cannot be drawn to the left of `a`: the tracks ask for the other order".to_owned()
            ),
            (
                "-1",
                "`siding 1` cannot be drawn on level -1: what lies above and below it leaves no room there"
                    .to_owned()
            ),
        ]
    );
    assert_eq!(levels(&network, &drawn, "siding 2"), [1], "the rest stands");
}
