//! Findings about where tracks lead, where sections meet and what is fed: those that must come, and practice that must
//! not be found fault with.

use notice::{Diagnostic, code};
use std::fmt::Write as _;
use testkit::planned;

fn found(text: &str, code: notice::Code) -> Vec<Diagnostic> {
    planned(text).diagnostics.into_iter().filter(|note| note.code == code).collect()
}

fn layout(rows: &str, ends: &[&str]) -> String {
    let mut text = format!("[layout]\nname = \"Tern Harbor Terminal\"\n{rows}");
    for end in ends {
        writeln!(text, "[end.\"{end}\"]\ntrack = \"{end}\"").unwrap();
    }
    text
}

fn turnout(id: &str, points: &str, through: &str, diverging: &str) -> String {
    format!(
        "[turnout.{id}]\npoints = \"{points}\"\nthrough = \"{through}\"\ndiverging = \"{diverging}\"\nhand = \"left\"\n"
    )
}

/// Common practice, no source: a spur that faces the wrong way is served by turning back on the lead, which is a stop.
#[test]
fn stops_that_are_reached_by_turning_back_are_joined() {
    let rows = turnout("1", "lead", "pier 1", "pier 2") + &turnout("2", "pier 1", "shed", "coal");
    let text = layout(&rows, &["lead", "pier 2", "shed", "coal"]);
    assert!(found(&text, code::STOPS_NO_ROUTE).is_empty());
}

/// Three groups hang on one neck that leads to a tail where no train stops: one finding for each but the largest.
#[test]
fn each_group_of_stops_that_is_cut_off_is_found_once() {
    let group =
        |name: &str| turnout(name, &format!("{name} 1"), &format!("{name} 2"), &format!("{name} neck"));
    let rows = group("north")
        + &group("south")
        + &turnout("east", "east 1", "east 2", "east neck")
        + &turnout("yard", "east 2", "east 3", "east 4")
        + "[threeway.T]\npoints = \"tail\"\nthrough = \"north neck\"\nleft = \"south neck\"\nright = \"east neck\"\n\
           [track.tail]\nstop = false\n";
    let ends = ["north 1", "north 2", "south 1", "south 2", "east 1", "east 3", "east 4", "tail"];
    let notes = found(&layout(&rows, &ends), code::STOPS_NO_ROUTE);
    let messages: Vec<&str> = notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "no route, nor one route after another, leads from `north 1`, `north 2` to `east 1`",
            "no route, nor one route after another, leads from `south 1`, `south 2` to `east 1`",
        ]
    );
    let with_stop = layout(&rows.replace("stop = false", "stop = true"), &ends);
    assert!(found(&with_stop, code::STOPS_NO_ROUTE).is_empty());
}

/// Lines that only cross, and railroads that stand apart, are not held to be one.
#[test]
fn lines_that_only_cross_are_two_railroads() {
    let rows = "[crossing.X]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\n";
    assert!(found(&layout(rows, &["a", "b", "c", "d"]), code::STOPS_NO_ROUTE).is_empty());
}

#[test]
fn two_balloons_on_one_main_do_not_touch() {
    let rows = turnout("west", "main", "west loop", "west loop")
        + &turnout("east", "main", "east loop", "east loop");
    assert!(found(&layout(&rows, &[]), code::REVERSING_SECTIONS_TOUCH).is_empty());
}

/// A plan in which two sections hold one track is refused, whoever made it.
#[test]
fn sections_that_share_a_track_are_found() {
    let rows = turnout("west", "main", "west loop", "west loop")
        + &turnout("east", "main", "east loop", "east loop");
    let mut plan = planned(&layout(&rows, &[])).value;
    let [east, west] = &mut plan.reversing[..] else { panic!("a section for each balloon") };
    east.tracks = west.tracks.clone();
    let notes = rules::verify(plan).diagnostics;
    let says: Vec<&str> = notes
        .iter()
        .filter(|note| note.code == code::REVERSING_SECTIONS_TOUCH)
        .map(|note| note.message.as_str())
        .collect();
    assert_eq!(says, ["reversing sections `east loop` and `west loop` both hold `west loop`"]);
}

/// A section goes on over a turnout into a spur, and the spur's far turnout has a balloon: left outside that turnout
/// would have all its legs cut, so it is taken in, and the two sections have its gaps in common.
#[test]
fn a_section_that_reaches_another_touches_it() {
    let rows = turnout("loop", "lead", "bay", "hill")
        + &turnout("mid", "bay", "hill", "spur")
        + &turnout("ring", "spur", "round", "round")
        + "[track.bay]\nlength = \"4 ft\"\n[track.hill]\nlength = \"3 ft\"\n[track.round]\nlength = \"9 ft\"\n\
           [track.spur]\nlength = \"5 ft\"\n[end.lead]\ntrack = \"lead\"\nis = \"beyond\"\n";
    let text = layout(&rows, &[]).replacen("Terminal\"\n", "Terminal\"\nlongest_train = \"6 ft\"\n", 1);
    let plan = planned(&text).value;
    let tracks: Vec<usize> = plan.reversing.iter().map(|section| section.tracks.value.len()).collect();
    assert_eq!(tracks, [3, 1]);
    let notes = found(&text, code::REVERSING_SECTIONS_TOUCH);
    let messages: Vec<&str> = notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(messages, ["reversing sections `bay` and `round` meet at `ring`"]);
}

#[test]
fn feeders_are_asked_for_only_where_some_are_described() {
    let rows = turnout("1", "lead", "pier 1", "pier 2");
    let ends = ["lead", "pier 1", "pier 2"];
    let track = |name: &str, keys: &str| format!("[track.\"{name}\"]\n{keys}\n");
    let main = track("lead", "district = \"main\"");
    let wharf = track("pier 1", "district = \"wharf\"");
    let fed = |text: &str| text.replace("\"main\"\n", "\"main\"\nfeeders = \"3 ft\"\n");
    let none = layout(&(rows.clone() + &main + &wharf), &ends);
    assert!(found(&none, code::DISTRICT_NO_FEEDER).is_empty());
    assert_eq!(found(&fed(&none), code::DISTRICT_NO_FEEDER).len(), 1);
    let wired = fed(&none).replace("\"wharf\"\n", "\"wharf\"\nexisting = true\n");
    assert!(found(&wired, code::DISTRICT_NO_FEEDER).is_empty());
    // Feeders on a track without a district count for the one that it goes with: `pier 2` goes with the main.
    let by_neighbour = none + &track("pier 2", "feeders = \"3 ft\"");
    let notes = found(&by_neighbour, code::DISTRICT_NO_FEEDER);
    assert!(notes.len() == 1 && notes[0].message.contains("`wharf`"), "{notes:?}");
}

/// Balloons along a chain of turnouts, each too short with all its neighbours: planned and verified in a moment, or this
/// test does not end in our time. One stop, so that there are no routes to find.
#[test]
fn very_many_short_sections_are_planned_in_a_moment() {
    let count = 2_000;
    let mut rows = String::new();
    for at in 0..count {
        let next = at + 1;
        rows += &turnout(&format!("m{at}"), &format!("m{at}"), &format!("m{next}"), &format!("n{at}"));
        rows += &turnout(&format!("b{at}"), &format!("n{at}"), &format!("x{at}"), &format!("y{at}"));
        rows += &turnout(&format!("c{at}"), &format!("x{at}"), &format!("y{at}"), &format!("z{at}"));
        writeln!(rows, "[end.z{at}]\ntrack = \"z{at}\"\n[track.x{at}]\nlength = \"1 ft\"\nstop = true")
            .unwrap();
    }
    let text = layout(&rows, &["m0", &format!("m{count}")]) + &format!("[track.m{count}]\nstop = false\n");
    let text = text.replacen("Terminal\"\n", "Terminal\"\nlongest_train = \"60 ft\"\n", 1);
    let outcome = planned(&text);
    assert_eq!(outcome.value.reversing.len(), count);
    assert!(outcome.diagnostics.iter().all(|note| note.code != code::GAP_MISSING));
}
