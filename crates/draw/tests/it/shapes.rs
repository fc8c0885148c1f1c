//! Small layouts, each with the one thing it is about.

use crate::layouts::{DEMO, drawn, network};
use draw::sheet::{LEVEL_PITCH, SLANT_RUN};
use draw::{DrawnTrack, Schematic, measures, schematic_of};
use network::{Network, Position};

fn path<'a>(network: &Network, drawn: &'a Schematic, track: &str) -> &'a DrawnTrack {
    let of = |run: &&DrawnTrack| network.track(run.track).name == track;
    drawn.tracks.iter().find(of).expect("the track is drawn")
}

const SIDING: &str = r#"
[layout]
name = "siding"
[end.west]
track = "west"
side = "left"
is = "beyond"
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
[end.east]
track = "east"
is = "beyond"
"#;

#[test]
fn a_left_hand_siding_lies_one_level_above_its_main() {
    let (network, drawn, counts) = drawn(SIDING);
    let (main, siding) = (path(&network, &drawn, "main"), path(&network, &drawn, "siding"));
    assert_eq!(main.path.len(), 2, "the main is straight");
    assert_eq!(siding.path.len(), 4, "the siding leaves, runs level, comes back");
    assert_eq!(siding.path[1].y, main.path[0].y - LEVEL_PITCH);
    assert_eq!((counts.height(), counts.bends), (1, 2));
}

#[test]
fn the_side_of_an_end_decides_which_way_round_it_is_drawn() {
    let (network, drawn, _) = drawn(&SIDING.replace("side = \"left\"", "side = \"right\""));
    let (west, east) = (path(&network, &drawn, "west"), path(&network, &drawn, "east"));
    assert!(west.path[0].x > east.path[0].x);
    // Half a turn keeps hands: from the other side a left-hand siding lies below.
    let (main, siding) = (path(&network, &drawn, "main"), path(&network, &drawn, "siding"));
    assert_eq!(siding.path[1].y, main.path[0].y + LEVEL_PITCH);
}

#[test]
fn the_link_of_a_crossover_is_one_slant_between_neighbouring_levels() {
    let text = r#"
[layout]
name = "crossover"
[end.a]
track = "a1"
[end.b]
track = "a2"
[end.c]
track = "b1"
[end.d]
track = "b2"
[crossover.4]
one = ["a1", "a2"]
other = ["b1", "b2"]
hand = "left"
"#;
    let (_, drawn, counts) = drawn(text);
    let link = &drawn.inner[0].path;
    assert_eq!((link[1].x - link[0].x, link[1].y - link[0].y), (SLANT_RUN, -LEVEL_PITCH));
    assert_eq!((counts.height(), counts.bends), (1, 0));
    let both: Vec<&str> = drawn.numbers.iter().map(|number| number.text.as_str()).collect();
    assert_eq!(both, ["4", "4"], "the number stands at both ends");
}

#[test]
fn named_lines_of_the_demo_run_level_where_they_go_straight() {
    let (network, drawn, _) = drawn(DEMO);
    let line = &network.lines[0];
    let mut levels: Vec<i64> = Vec::new();
    for &track in &line.tracks {
        let run = drawn.tracks.iter().find(|run| run.track == track).expect("drawn");
        // The loop at the end of the line turns back, and its return lies on another level.
        if run.path.windows(2).all(|pair| pair[0].x < pair[1].x) {
            levels.extend(run.path.iter().map(|at| at.y));
        }
    }
    levels.dedup();
    assert_eq!(levels.len(), 1, "the main keeps its level from end to end");
}

#[test]
fn a_ladder_runs_on_one_slant() {
    let text = r#"
[layout]
name = "ladder"
[end.lead]
track = "lead"
[turnout.1]
points = "lead"
through = "y1"
diverging = "l2"
hand = "left"
[turnout.2]
points = "l2"
through = "y2"
diverging = "l3"
hand = "left"
[turnout.3]
points = "l3"
through = "y3"
diverging = "y4"
hand = "left"
[end.y1]
track = "y1"
[end.y2]
track = "y2"
[end.y3]
track = "y3"
[end.y4]
track = "y4"
"#;
    let (network, drawn, counts) = drawn(text);
    for ladder in ["l2", "l3"] {
        assert_eq!(path(&network, &drawn, ladder).path.len(), 2, "{ladder} has no bend");
    }
    assert_eq!((counts.height(), counts.bends), (3, 1));
}

#[test]
fn each_leg_says_when_it_is_set_and_only_normal_ones_are_seen_on_paper() {
    let (network, drawn, _) = drawn(SIDING);
    for machine in &drawn.machines {
        let positions: Vec<Position> = machine.legs.iter().map(|leg| leg.position).collect();
        assert_eq!(positions.len(), 2);
        assert!(positions.contains(&Position::Normal) && positions.contains(&Position::Reverse));
        assert!(machine.legs.iter().all(|leg| leg.path[0] == machine.at), "legs start at the mark");
    }
    let legs = drawn.scene.strokes.iter().filter(|stroke| stroke.tag.class == "leg");
    for leg in legs {
        assert_eq!(leg.hidden, leg.tag.position == Some("reverse"));
        assert_eq!(leg.tag.lever, leg.tag.machine, "a lone turnout's lever has its name");
    }
    assert_eq!(network.machines.len(), 2);
}

#[test]
fn every_kind_of_joint_has_a_shape() {
    let text = r#"
[layout]
name = "kinds"
[end.w1]
track = "a1"
[end.w2]
track = "b1"
[scissors.5]
one = ["a1", "a2"]
other = ["b1", "b2"]
[threeway.T1]
points = "a2"
through = "a3"
left = "y1"
right = "y3"
[turntable.TT]
approach = ["a3"]
stalls = ["s1", "s2", "s3", "s4"]
[slip.6]
one = ["b2", "b3"]
other = ["c1", "c2"]
slips = "both"
[wye.W1]
points = "b3"
left = "d1"
right = "d2"
[crossing.X]
one = ["d2", "d3"]
other = ["c2", "c3"]
[end.y1]
track = "y1"
[end.y3]
track = "y3"
[end.s1]
track = "s1"
[end.s2]
track = "s2"
[end.s3]
track = "s3"
[end.s4]
track = "s4"
[end.c1]
track = "c1"
[end.c3]
track = "c3"
[end.d1]
track = "d1"
[end.d3]
track = "d3"
"#;
    let (network, drawn, counts) = drawn(text);
    assert_eq!((counts.crossings, counts.hand_errors, counts.overlaps, counts.cuts), (0, 0, 0, 0));
    assert_eq!(counts.track_crossings, 3, "scissors, slip and crossing");
    assert_eq!(drawn.inner.len(), 4, "two straights and two that cross in the scissors");
    assert_eq!(drawn.machines.len(), network.machines.len());
    assert_eq!(drawn.scene.marks.iter().filter(|mark| mark.tag.class == "pit").count(), 1);
    let slip_legs = drawn.machines.iter().filter(|machine| network.machine(machine.machine).name == "6W");
    assert_eq!(slip_legs.flat_map(|machine| &machine.legs).count(), 4, "a slip has four legs");
    // The description's own statement: W is the machine at a and c, E the one at b and d.
    let across = |machine: &str| {
        let found = drawn.machines.iter().find(|drawn| network.machine(drawn.machine).name == machine);
        found.expect("drawn").at.x
    };
    let (a, b) = (path(&network, &drawn, "b2").path[0].x, path(&network, &drawn, "b3").path[0].x);
    assert_eq!(across("6W") < across("6E"), a < b, "W stands at the end of a and c");
}

#[test]
fn nothing_gives_an_empty_sheet() {
    let empty = network("");
    let drawn = schematic_of(&empty);
    assert!(drawn.tracks.is_empty() && drawn.scene.strokes.is_empty());
    assert_eq!(measures(&drawn, &empty), draw::Measures::default());
}

#[test]
fn long_and_foreign_names_stay_on_the_sheet() {
    let long = "a very long name ".repeat(18);
    let text = SIDING
        .replace("[end.west]", &format!("[end.\"{long}\"]"))
        .replace("[end.east]", "[end.\"🚂 محطة & <east>\"]")
        .replace("\"main\"", "\"main of \u{202e}סוף\"");
    let (_, drawn, counts) = drawn(&text);
    assert_eq!(counts.overlaps, 0);
    let shortened =
        drawn.scene.words.iter().find(|words| words.text.starts_with("a very long")).expect("drawn");
    assert!(shortened.text.ends_with('…'), "{}", shortened.text);
}

/// As the trade draws it: two straight tracks that cross, and a curve past the crossing for each slip move; a single slip
/// has one. Common practice, no source.
#[test]
fn a_slip_has_a_curve_for_each_slip_move() {
    let slip = |slips: &str| {
        format!(
            "[layout]\nname = \"slip\"\n[slip.X]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\nslips = \"{slips}\"\n\
             [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n[end.d]\ntrack = \"d\"\n"
        )
    };
    for (slips, curves) in [("both", 2), ("one", 1)] {
        let (_, drawn, counts) = drawn(&slip(slips));
        let is_curve = |stroke: &&draw::scene::Stroke| stroke.tag.class == "slip";
        assert_eq!(drawn.scene.strokes.iter().filter(is_curve).count(), curves, "{slips}");
        assert_eq!((counts.crossings, counts.track_crossings, counts.overlaps), (0, 1, 0));
    }
}
