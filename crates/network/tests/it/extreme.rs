//! Layouts that nobody builds and a tool has to answer all the same: very long, very wide, without a stop, without a way
//! out. Used by tests for the facts about them; as text, so that reading is tried as well.

use std::fmt::Write as _;

/// The start of every layout here.
const HEAD: &str = "[layout]\nname = \"made up\"\n";

fn turnout(text: &mut String, id: &str, [points, through, diverging]: [&str; 3]) {
    writeln!(
        text,
        "[turnout.\"{id}\"]\npoints = \"{points}\"\nthrough = \"{through}\"\ndiverging = \"{diverging}\"\nhand = \"left\""
    )
    .unwrap();
}

fn end(text: &mut String, track: &str) {
    writeln!(text, "[end.\"{track}\"]\ntrack = \"{track}\"").unwrap();
}

/// A main with a spur at each turnout, every other one leaving it eastwards and joining it eastwards.
///
/// ```text
/// m0 ──●──────●── m2 ──●──…
///       ╲ s0  ╱ s1      ╲
/// ```
pub(crate) fn line(turnouts: usize) -> String {
    let mut text = HEAD.to_owned();
    end(&mut text, "m0");
    for index in 0..turnouts {
        let (west, east) = (format!("m{index}"), format!("m{}", index + 1));
        let spur = format!("s{index}");
        let (points, through) = if index % 2 == 0 { (&west, &east) } else { (&east, &west) };
        turnout(&mut text, &format!("{index}"), [points, through, &spur]);
        end(&mut text, &spur);
    }
    end(&mut text, &format!("m{turnouts}"));
    text
}

/// A lead with a yard track at each turnout, all leaving it the same way.
pub(crate) fn ladder(turnouts: usize) -> String {
    let mut text = HEAD.to_owned();
    end(&mut text, "m0");
    for index in 0..turnouts {
        let spur = format!("s{index}");
        turnout(&mut text, &format!("{index}"), [&format!("m{index}"), &format!("m{}", index + 1), &spur]);
        end(&mut text, &spur);
    }
    end(&mut text, &format!("m{turnouts}"));
    text
}

/// A lead that fans out, turnout after turnout, as evenly as it can: the legs of turnout i lead to 2i + 1 and 2i + 2.
pub(crate) fn tree(turnouts: usize) -> String {
    let mut text = HEAD.to_owned();
    end(&mut text, "t0");
    for index in 0..turnouts {
        let [left, right] = [2 * index + 1, 2 * index + 2].map(|child| {
            if child >= turnouts {
                end(&mut text, &format!("t{child}"));
            }
            format!("t{child}")
        });
        turnout(&mut text, &format!("{index}"), [&format!("t{index}"), &left, &right]);
    }
    text
}

/// Double slips in rows and columns, a stop at every track that leaves the grid.
pub(crate) fn slips(rows: usize, columns: usize) -> String {
    let mut text = HEAD.to_owned();
    for row in 0..rows {
        for column in 0..columns {
            writeln!(
                text,
                "[slip.\"{row} {column}\"]\none = [\"h {row} {column}\", \"h {row} {}\"]\nother = [\"v {row} {column}\", \"v {} {column}\"]",
                column + 1,
                row + 1
            )
            .unwrap();
        }
    }
    for row in 0..rows {
        end(&mut text, &format!("h {row} 0"));
        end(&mut text, &format!("h {row} {columns}"));
    }
    for column in 0..columns {
        end(&mut text, &format!("v 0 {column}"));
        end(&mut text, &format!("v {rows} {column}"));
    }
    text
}

/// The turnouts of passing loops in a row, from track `m0` to track `m{count}`, all names after `prefix`.
fn add_loops(text: &mut String, prefix: &str, count: usize) {
    for index in 0..count {
        let [west, main, side, east] = [
            format!("{prefix}m{index}"),
            format!("{prefix}a{index}"),
            format!("{prefix}b{index}"),
            format!("{prefix}m{}", index + 1),
        ];
        turnout(text, &format!("{prefix}{index} w"), [&west, &main, &side]);
        turnout(text, &format!("{prefix}{index} e"), [&east, &main, &side]);
    }
}

/// Passing loops in a row between two ends.
pub(crate) fn loops(count: usize) -> String {
    let mut text = HEAD.to_owned();
    add_loops(&mut text, "", count);
    end(&mut text, "m0");
    end(&mut text, &format!("m{count}"));
    text
}

/// Passing loops in a ring that trains never leave.
pub(crate) fn ring(count: usize) -> String {
    let mut text = HEAD.to_owned();
    add_loops(&mut text, "", count);
    text.replace(&format!("\"m{count}\""), "\"m0\"")
}

/// Two rows of passing loops that do not touch.
pub(crate) fn apart(first: usize, second: usize) -> String {
    let mut text = HEAD.to_owned();
    for (prefix, count) in [("p ", first), ("q ", second)] {
        add_loops(&mut text, prefix, count);
        end(&mut text, &format!("{prefix}m0"));
        end(&mut text, &format!("{prefix}m{count}"));
    }
    text
}

/// Legs of turnouts, and some ends, joined two by two at random.
///
/// # Panics
/// When the number of legs and ends is odd.
pub(crate) fn tangle(turnouts: usize, ends: usize, seed: u64) -> String {
    let mut text = HEAD.to_owned();
    add_tangle(&mut text, turnouts, ends, seed);
    for index in 0..ends {
        end(&mut text, &format!("e{index}"));
    }
    text
}

/// A tangle whose tracks `e0`, `e1`, … are left with one end each.
fn add_tangle(text: &mut String, turnouts: usize, open: usize, seed: u64) {
    let count = turnouts * 3;
    assert!((count + open).is_multiple_of(2) && open <= count, "each track has two ends");
    let mut legs: Vec<usize> = (0..count).collect();
    let mut state = seed;
    for place in (1..count).rev() {
        // Knuth's MMIX generator; the seed is the caller's, so the tangle is always the same.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        legs.swap(place, (state >> 33) as usize % (place + 1));
    }
    let mut names = vec![String::new(); count];
    for (place, leg) in legs.into_iter().enumerate() {
        names[leg] = if place < open { format!("e{place}") } else { format!("t{}", (place - open) / 2) };
    }
    for (index, legs) in names.chunks(3).enumerate() {
        turnout(text, &format!("k{index}"), [&legs[0], &legs[1], &legs[2]]);
    }
}

/// A knot of turnouts behind one turnout: trains get in, and the only way out is the turnout they came in by.
///
/// ```text
/// pier ──╲
///         ●── e0 ── the knot
/// wharf ─╱
/// ```
pub(crate) fn knot(turnouts: usize, seed: u64) -> String {
    let mut text = HEAD.to_owned();
    add_tangle(&mut text, turnouts, 1, seed);
    turnout(&mut text, "gate", ["e0", "pier", "wharf"]);
    end(&mut text, "pier");
    end(&mut text, "wharf");
    text
}

/// Passing loops that end in a balloon, itself with a passing loop, and a stop that only a train coming back from the
/// balloon could reach, over `far` more loops.
///
/// When a train looks ahead from among the loops, the way round the balloon and on to the other stop runs over nothing
/// that it has used. But two turnouts would be used twice, so there is no route, and there are 2^loops ways to find that
/// out one by one; the more there is to look at ahead, the longer each takes.
///
/// ```text
///                            ╭──────────────────╮        ╭──────╮
///     m0 ── … loops … ───────●                  ●────────●      ○ loop
///                            ╰────────────────●─╯        ╰──────╯
///     out ── … loops far away … ──────────────╯       balloon
/// ```
pub(crate) fn balloon(loops: usize, far: usize) -> String {
    let mut text = HEAD.to_owned();
    add_loops(&mut text, "", loops);
    let last = loops - 1;
    let west = format!("b{last} west");
    text = text.replacen(&format!("diverging = \"b{last}\""), &format!("diverging = \"{west}\""), 1);
    turnout(&mut text, "join", [&format!("b{last}"), &west, "out m0"]);
    add_loops(&mut text, "out ", far);
    add_loops(&mut text, "round ", 1);
    turnout(&mut text, "balloon", [&format!("m{loops}"), "round m0", "round m1"]);
    end(&mut text, "m0");
    end(&mut text, &format!("out m{far}"));
    text
}
