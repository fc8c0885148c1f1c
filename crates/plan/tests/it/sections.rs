//! Reversing sections, how far they go, and where power districts are cut, on layouts as builders know them.
//!
//! # Source
//! A reversing section has to hold the longest train; a crossover between two districts is cut in its middle: common
//! practice, no source. Lengths are added up by hand.

use measure::Length;
use notice::code;
use plan::model::Plan;
use testkit::{list, plan_of, planned};

/// Puts the layout's facts above, an end at each of these tracks below.
fn layout(longest: &str, rows: &str, ends: &[&str]) -> String {
    let mut text =
        format!("[layout]\nname = \"Tern Harbor Terminal\"\nlongest_train = \"{longest}\"\n{rows}");
    for end in ends {
        text += &format!("[end.\"{end}\"]\ntrack = \"{end}\"\n");
    }
    text
}

fn turnout(id: &str, points: &str, through: &str, diverging: &str) -> String {
    format!(
        "[turnout.{id}]\npoints = \"{points}\"\nthrough = \"{through}\"\ndiverging = \"{diverging}\"\nhand = \"left\"\n"
    )
}

fn track(name: &str, keys: &str) -> String {
    format!("[track.\"{name}\"]\n{keys}\n")
}

/// Each section: its tracks, and its shortest way in feet, rounded to tenths.
fn sections(plan: &Plan) -> Vec<(Vec<&str>, Option<f64>)> {
    let feet = |length: Length| (length.value() / 0.3048 * 10.0).round() / 10.0;
    let name = |track: &network::TrackId| plan.network.track(*track).name.as_str();
    plan.reversing
        .iter()
        .map(|section| (section.tracks.value.iter().map(name).collect(), section.shortest.map(feet)))
        .collect()
}

fn gaps(plan: &Plan) -> Vec<String> {
    plan.gaps.iter().map(|gap| format!("{} {}", gap.track, gap.end)).collect()
}

/// The balloon's longest track, 4 ft, enters the siding's turnout at its points, so a train from it gets to both legs: the
/// section has the whole loop, 4 + 3 ft, and the siding with it, which ends and needs no gap.
#[test]
fn a_short_balloon_track_is_joined_by_the_rest_of_the_loop() {
    let rows = turnout("loop", "lead", "bay", "hill")
        + &turnout("ice", "bay", "hill", "ice house")
        + &track("bay", "length = \"4 ft\"")
        + &track("hill", "length = \"3 ft\"")
        + &track("ice house", "length = \"2 ft\"");
    let plan = plan_of(&layout("6 ft", &rows, &["lead", "ice house"]));
    assert_eq!(sections(&plan), [(vec!["bay", "hill", "ice house"], Some(7.0))]);
    assert_eq!(gaps(&plan), ["bay at the through leg of loop", "hill at the diverging leg of loop"]);
    assert_eq!(plan.gaps_fewest, 1, "the fewest tracks to gap is not changed by how far the section goes");
}

/// The same loop with the siding's turnout the other way round: the long track comes to a leg of it, no train turns off
/// from there into the siding, and the siding's leg is cut at the turnout.
#[test]
fn a_leg_that_no_train_takes_is_cut_at_the_turnout() {
    let rows = turnout("loop", "lead", "bay", "hill")
        + &turnout("ice", "hill", "bay", "ice house")
        + &track("bay", "length = \"4 ft\"")
        + &track("hill", "length = \"3 ft\"");
    let plan = plan_of(&layout("6 ft", &rows, &["lead", "ice house"]));
    assert_eq!(sections(&plan), [(vec!["bay", "hill"], Some(7.0))]);
    assert_eq!(
        gaps(&plan),
        [
            "ice house at the diverging leg of ice",
            "bay at the through leg of loop",
            "hill at the diverging leg of loop"
        ]
    );
}

#[test]
fn a_track_that_holds_the_train_stays_alone() {
    let rows = turnout("loop", "lead", "bay", "hill")
        + &turnout("ice", "bay", "hill", "ice house")
        + &track("bay", "length = \"4 ft\"")
        + &track("hill", "length = \"3 ft\"");
    for (longest, tracks) in [("3 ft 11 in", vec!["bay"]), ("4 ft", vec!["bay", "hill", "ice house"])] {
        let plan = plan_of(&layout(longest, &rows, &["lead", "ice house"]));
        assert_eq!(sections(&plan)[0].0, tracks, "{longest}");
    }
}

/// A wye that turns trains on its tail: the longest leg is too short, and a train on it comes out over the points onto
/// the tail, which ends there. At its other end the road goes on past what is described. No train can stand over gaps on both sides of the leg.
#[test]
fn the_tail_of_a_wye_joins_its_leg() {
    let rows = turnout("A", "west", "main", "west leg")
        + &turnout("B", "east", "main", "east leg")
        + "[wye.C]\npoints = \"tail\"\nleft = \"west leg\"\nright = \"east leg\"\n"
        + &track("main", "length = \"2 ft\"")
        + &track("west leg", "length = \"3 ft\"")
        + &track("east leg", "length = \"2 ft\"")
        + &track("tail", "length = \"3 ft\"");
    let ends =
        "[end.west]\ntrack = \"west\"\nis = \"beyond\"\n[end.east]\ntrack = \"east\"\nis = \"beyond\"\n";
    let plan = plan_of(&layout("5 ft", &(rows + ends), &["tail"]));
    assert_eq!(sections(&plan), [(vec!["tail", "west leg"], None)]);
    assert_eq!(gaps(&plan), ["west leg at the diverging leg of A", "east leg at the right leg of C"]);
}

#[test]
fn a_loop_of_one_track_cannot_be_extended_and_says_so() {
    let rows = turnout("loop", "lead", "bay", "bay") + &track("bay", "length = \"4 ft\"\nstop = true");
    let text = layout("6 ft", &rows, &["lead"]);
    let outcome = planned(&text);
    assert_eq!(sections(&outcome.value), [(vec!["bay"], Some(4.0))]);
    let note = outcome.diagnostics.iter().find(|note| note.code == code::REVERSING_TOO_SHORT);
    let note = note.unwrap_or_else(|| panic!("{}", list(&text, &outcome.diagnostics)));
    assert!(note.help.as_ref().is_some_and(|help| help.contains("no tracks beside it")), "{:?}", note.help);
}

#[test]
fn tracks_beside_without_a_length_are_asked_for() {
    let rows = turnout("loop", "lead", "bay", "hill")
        + &turnout("ice", "bay", "hill", "ice house")
        + &track("bay", "length = \"4 ft\"");
    let end = "[end.lead]\ntrack = \"lead\"\nis = \"beyond\"\n";
    let text = layout("6 ft", &(rows + end), &["ice house"]);
    let outcome = planned(&text);
    let note = outcome.diagnostics.iter().find(|note| note.code == code::REVERSING_TOO_SHORT);
    let help = note.and_then(|note| note.help.clone()).unwrap_or_default();
    assert!(help.contains("write how long these are: \"hill\", \"ice house\""), "{help}");
}

fn districts(plan: &Plan) -> Vec<String> {
    let name = |at: usize| plan.network.tracks[at].name.clone();
    plan.districts
        .iter()
        .enumerate()
        .map(|(at, district)| match district {
            Some(district) => format!("{}: {}", name(at), district.value),
            None => format!("{}: none", name(at)),
        })
        .collect()
}

#[test]
fn a_crossover_between_two_districts_is_cut_in_its_middle() {
    let rows = "[crossover.4]\none = [\"up 1\", \"up 2\"]\nother = [\"down 1\", \"down 2\"]\n".to_owned()
        + &track("up 1", "district = \"north\"")
        + &track("down 2", "district = \"south\"")
        + &track("up 2", "district = \"north\"")
        + &track("down 1", "district = \"south\"");
    let plan = plan_of(&layout("6 ft", &rows, &["up 1", "up 2", "down 1", "down 2"]));
    assert_eq!(gaps(&plan), ["the link of 4 in its middle"]);
}

/// Of three tracks at a turnout two are of the yard, so one gap at the main does, and not two in the yard.
#[test]
fn the_fewest_cuts_part_two_districts() {
    let rows = turnout("1", "main", "yard 1", "yard 2")
        + &track("main", "district = \"A\"")
        + &track("yard 1", "district = \"B\"")
        + &track("yard 2", "district = \"B\"");
    let plan = plan_of(&layout("6 ft", &rows, &["main", "yard 1", "yard 2"]));
    assert_eq!(gaps(&plan), ["main at the points of 1"]);
}

/// The lines of a diamond do not touch, and a turntable's pit cuts the rails already.
#[test]
fn diamonds_and_turntables_need_no_gaps_between_districts() {
    let rows = "[crossing.X]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\n\
                [turntable.T]\napproach = [\"d\"]\nstalls = [\"e\"]\n"
        .to_owned()
        + &track("a", "district = \"A\"")
        + &track("c", "district = \"B\"")
        + &track("e", "district = \"C\"");
    let plan = plan_of(&layout("6 ft", &rows, &["a", "b", "c", "e"]));
    assert!(plan.gaps.is_empty(), "{:?}", gaps(&plan));
    assert_eq!(districts(&plan), ["a: A", "b: A", "c: B", "d: B", "e: C"]);
}

/// The neck between two districts has none written: it goes with the one that comes first, and the gap lies at its far
/// end.
#[test]
fn a_track_without_a_district_goes_with_its_neighbours() {
    let rows = turnout("1", "neck", "a 1", "a 2")
        + &turnout("2", "neck", "b 1", "b 2")
        + &track("a 1", "district = \"2\"")
        + &track("b 1", "district = \"10\"")
        + &track("b 2", "district = \"10\"");
    let plan = plan_of(&layout("6 ft", &rows, &["a 1", "a 2", "b 1", "b 2"]));
    assert_eq!(districts(&plan), ["a 1: 2", "a 2: 2", "b 1: 10", "b 2: 10", "neck: 2"]);
    assert_eq!(gaps(&plan), ["neck at the points of 2"]);
    let why: Vec<String> =
        plan.districts[4].iter().flat_map(notice::Decided::because).map(ToString::to_string).collect();
    assert_eq!(
        why,
        [
            "no district is written on it, and of those it is joined to (2, 10) 2 comes first (district-of-several)"
        ]
    );
}

/// A turntable joins each approach to each stall, and neither two approaches nor two stalls: as the description says.
#[test]
fn a_turntable_leads_from_each_approach_to_each_stall() {
    let rows = "[turntable.T]\napproach = [\"lead 1\", \"lead 2\"]\nstalls = [\"stall 1\", \"stall 2\", \"stall 3\"]\n";
    let plan = plan_of(&layout("6 ft", rows, &["lead 1", "lead 2", "stall 1", "stall 2", "stall 3"]));
    let name = |track: network::TrackId| plan.network.track(track).name.as_str();
    let ways: Vec<(&str, &str)> =
        plan.routes.iter().map(|route| (name(route.from()), name(route.to()))).collect();
    let mut expected = Vec::new();
    for lead in ["lead 1", "lead 2"] {
        expected.extend(["stall 1", "stall 2", "stall 3"].map(|stall| (lead, stall)));
    }
    assert_eq!(ways, expected);
    assert!(plan.gaps.is_empty(), "its pit cuts the rails");
}
