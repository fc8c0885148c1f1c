//! Machines in the order a train meets them, both ways through each joint that has several.

use network::{Network, find_routes};
use std::fmt::Write as _;

/// A joint of four tracks a, b, c, d between four ends.
fn four(joint: &str) -> Network {
    let mut text =
        format!("[layout]\nname = \"four\"\n[{joint}]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\n");
    for track in ["a", "b", "c", "d"] {
        writeln!(text, "[end.{track}]\ntrack = \"{track}\"").unwrap();
    }
    let read = description::read(&text).then(network::resolve);
    assert!(!read.has_errors(), "{:?}", read.diagnostics);
    read.value
}

/// The machines met on each way between two ends, driven from the first and from the second.
fn met(network: &Network) -> Vec<String> {
    let route_words = |route: &network::Route| {
        let pass = route.passes[0];
        let back = network::Pass { enter: pass.leave, leave: pass.enter, ..pass };
        let names = |pass| {
            let met = network.met(pass).into_iter();
            met.map(|(machine, _)| network.machine(machine).name.as_str()).collect::<Vec<_>>().join(" ")
        };
        let ends = [route.from(), route.to()].map(|track| network.track(track).name.as_str());
        format!("{}–{}: {}, back {}", ends[0], ends[1], names(pass), names(back))
    };
    find_routes(network, 100).routes.iter().map(route_words).collect()
}

/// By hand, from the description's own statement: W lies at a and c, E at b and d.
#[test]
fn a_slip_is_met_at_the_end_that_the_train_comes_to() {
    assert_eq!(
        met(&four("slip.6")),
        [
            "a–b: 6W 6E, back 6E 6W",
            "a–d: 6W 6E, back 6E 6W",
            "b–c: 6E 6W, back 6W 6E",
            "c–d: 6W 6E, back 6E 6W"
        ]
    );
}

/// By hand, from the description's own statement: `one` carries 4A, `other` carries 4B; the crossing move runs a–d.
#[test]
fn a_crossover_is_met_on_the_line_that_the_train_comes_from() {
    assert_eq!(met(&four("crossover.4")), ["a–b: 4A, back 4A", "a–d: 4A 4B, back 4B 4A", "c–d: 4B, back 4B"]);
}

/// By hand: A and B lie on the crossing move a–d, C and D on c–b, so a has A, d has B, c has C and b has D.
#[test]
fn a_scissors_is_met_at_the_corner_that_the_train_comes_to() {
    assert_eq!(
        met(&four("scissors.5")),
        [
            "a–b: 5A 5D, back 5D 5A",
            "a–d: 5A 5B, back 5B 5A",
            "b–c: 5D 5C, back 5C 5D",
            "c–d: 5C 5B, back 5B 5C"
        ]
    );
}
