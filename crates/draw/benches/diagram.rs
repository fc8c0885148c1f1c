//! The track diagram, from a network to its strokes and words. `cargo bench -p draw`.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench is no product")]

#[path = "../../network/tests/it/terminal.rs"]
mod terminal;

use draw::schematic_of;
use network::Network;
use std::fmt::Write as _;

fn main() {
    divan::main();
}

fn network_of(text: &str) -> Network {
    let outcome = description::read(text).then(network::resolve);
    assert!(!outcome.has_errors(), "{:?}", outcome.diagnostics);
    outcome.value
}

/// Parallel tracks with so many crossovers between each two neighbours, alternating in direction.
fn parallel(tracks: usize, crossovers: usize) -> String {
    let mut text = String::from("[layout]\nname = \"parallel\"\n");
    // Each track is cut into pieces by the crossovers to its neighbours; the pieces are counted as they come.
    let mut piece = vec![0; tracks];
    for step in 0..crossovers {
        for parity in [0, 1] {
            for upper in (parity..tracks - 1).step_by(2) {
                let lower = upper + 1;
                let (a, b) = (piece[upper], piece[lower]);
                let hand = if (step + upper) % 2 == 0 { "right" } else { "left" };
                let (one, other) = if hand == "right" { (upper, lower) } else { (lower, upper) };
                let (one_piece, other_piece) = if hand == "right" { (a, b) } else { (b, a) };
                writeln!(
                    text,
                    "[crossover.\"x {step} {upper}\"]\none = [\"t{one} {one_piece}\", \"t{one} {}\"]\nother = [\"t{other} {other_piece}\", \"t{other} {}\"]\nhand = \"{hand}\"",
                    one_piece + 1,
                    other_piece + 1
                )
                .unwrap();
                piece[upper] += 1;
                piece[lower] += 1;
            }
        }
    }
    for (track, last) in piece.into_iter().enumerate() {
        writeln!(
            text,
            "[end.\"w{track}\"]\ntrack = \"t{track} 0\"\nis = \"beyond\"\nside = \"left\"\n[end.\"e{track}\"]\ntrack = \"t{track} {last}\"\nis = \"beyond\"\nside = \"right\""
        )
        .unwrap();
    }
    text
}

/// A main with so many spurs, each with a siding of its own.
fn long(turnouts: usize) -> String {
    let mut text = String::from("[layout]\nname = \"long\"\n[end.w]\ntrack = \"m0\"\nis = \"beyond\"\n");
    for index in 0..turnouts {
        let hand = if index % 2 == 0 { "left" } else { "right" };
        writeln!(
            text,
            "[turnout.{index}]\npoints = \"m{index}\"\nthrough = \"m{}\"\ndiverging = \"s{index}\"\nhand = \"{hand}\"\n[end.s{index}]\ntrack = \"s{index}\"",
            index + 1
        )
        .unwrap();
    }
    writeln!(text, "[end.e]\ntrack = \"m{turnouts}\"\nis = \"beyond\"").unwrap();
    text
}

#[divan::bench(args = ["small_infra", "nested_switches", "overlapping_routes"])]
fn reference(bencher: divan::Bencher<'_, '_>, name: &str) {
    let path = format!("{}/../../reference/networks/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    #[allow(clippy::disallowed_methods, reason = "a bench reads its cases")]
    let network = network_of(&std::fs::read_to_string(path).unwrap());
    bencher.bench(|| schematic_of(&network));
}

#[divan::bench(args = [(5, 5), (10, 10), (15, 15)], sample_count = 5)]
fn parallel_tracks(bencher: divan::Bencher<'_, '_>, (tracks, crossovers): (usize, usize)) {
    let network = network_of(&parallel(tracks, crossovers));
    bencher.bench(|| schematic_of(&network));
}

#[divan::bench(args = [500, 1_000, 2_000, 5_000], sample_count = 2)]
fn long_main(bencher: divan::Bencher<'_, '_>, turnouts: usize) {
    let network = network_of(&long(turnouts));
    bencher.bench(|| schematic_of(&network));
}

/// A generated terminal of so many yards of 14 tracks: 32 machines each.
#[divan::bench(args = [1, 14, 56, 160], sample_count = 1)]
fn terminals(bencher: divan::Bencher<'_, '_>, yards: usize) {
    let network = network_of(&terminal::terminal(yards, 14));
    bencher.bench(|| schematic_of(&network));
}
