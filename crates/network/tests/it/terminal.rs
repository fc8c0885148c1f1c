//! A large terminal, generated: used by tests for its counts and by benches for its size.

use std::fmt::Write as _;

/// A terminal of `groups` yards along a double main: each yard a ladder of `tracks` tracks on a lead.
pub(crate) fn terminal(groups: usize, tracks: usize) -> String {
    let mut text =
        String::from("[layout]\nname = \"terminal\"\n[end.w]\ntrack = \"m0\"\n[end.v]\ntrack = \"p0\"\n");
    for group in 0..groups {
        let (a, b, c) = (group * 3, group * 3 + 1, group * 3 + 2);
        let next = a + 3;
        writeln!(text, "[crossover.x{group}]\none = [\"m{a}\", \"m{b}\"]\nother = [\"p{a}\", \"p{b}\"]")
            .unwrap();
        writeln!(text, "[crossover.z{group}]\none = [\"p{b}\", \"p{c}\"]\nother = [\"m{b}\", \"m{c}\"]")
            .unwrap();
        for (main, side) in [("m", "left"), ("p", "right")] {
            writeln!(
                text,
                "[turnout.{main}l{group}]\npoints = \"{main}{c}\"\nthrough = \"{main}{next}\"\ndiverging = \"{main} lead {group} 0\"\nhand = \"{side}\""
            )
            .unwrap();
            for track in 0..tracks - 1 {
                let on = if track + 2 == tracks {
                    format!("{main} yard {group} {}", track + 1)
                } else {
                    format!("{main} lead {group} {}", track + 1)
                };
                writeln!(
                    text,
                    "[turnout.\"{main}y{group} {track}\"]\npoints = \"{main} lead {group} {track}\"\nthrough = \"{on}\"\ndiverging = \"{main} yard {group} {track}\"\nhand = \"{side}\""
                )
                .unwrap();
            }
            for track in 0..tracks {
                writeln!(text, "[end.\"{main}y{group} {track}\"]\ntrack = \"{main} yard {group} {track}\"")
                    .unwrap();
            }
        }
        writeln!(text, "[track.m{next}]\nstop = true\n[track.p{next}]\nstop = true").unwrap();
    }
    let last = groups * 3;
    writeln!(text, "[end.e]\ntrack = \"m{last}\"\n[end.f]\ntrack = \"p{last}\"").unwrap();
    text
}

/// By hand: each yard has two ladders of `tracks` tracks; a ladder of n tracks has n − 1 turnouts, and each of the two mains has a
/// turnout to its ladder and an end of each of two crossovers.
#[test]
fn a_terminal_has_the_machines_that_it_is_made_of() {
    let read = description::read(&terminal(3, 5)).then(network::resolve);
    assert!(!read.has_errors(), "{:?}", read.diagnostics);
    assert_eq!(read.value.machines.len(), 3 * 2 * (4 + 1 + 2));
}
