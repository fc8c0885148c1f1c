//! The operator's card: how it folds, and what is on it.

use binder::{Access, Options, card};

use crate::fixture::{ladders, tern_harbor};
use crate::poppler::Paper;

/// The words of one half of a side, left or right.
fn half(paper: &Paper, side: usize, right: bool) -> String {
    // A Letter sheet that lies on its side is 792 points wide.
    let left = if right { 396 } else { 0 };
    paper.told_within(side, [left, 0, 396, 612])
}

/// Folded like a greeting card, the front is the right half of the outside and the back its left half; opened, page 2 is at the
/// left. Turned over its short edge, the sheet has page 2 behind page 1, as a leaf of a book does.
#[test]
fn it_folds_into_pages_one_to_four() {
    let made = card(&tern_harbor(), &Options::default()).unwrap();
    assert_eq!((made.pages, made.access), (2, Access::Universal));
    let paper = Paper::of(&made.pdf);
    assert!(paper.fact("Page size").starts_with("792 x 612"), "{}", paper.fact("Page size"));
    let halves = [(1, true), (2, false), (2, true), (1, false)];
    for (page, (side, right)) in (1..).zip(halves) {
        let words = half(&paper, side, right);
        assert!(words.contains(&format!("card page {page} of 4")), "page {page}: {words}");
        assert_eq!(words.matches("card page").count(), 1, "a page reaches over the fold: {words}");
    }
    assert!(half(&paper, 1, true).contains("Emergency"));
    assert!(half(&paper, 1, false).contains("When something is wrong"));
}

#[test]
fn a_visitor_finds_every_lever_and_what_it_leads_to() {
    let plan = tern_harbor();
    let paper = Paper::of(&card(&plan, &Options::default()).unwrap().pdf);
    let words = half(&paper, 2, false);
    for planned in &plan.levers {
        let row = format!("{} {}", planned.number.value, plan.network.lever(planned.lever).name);
        assert!(words.contains(&row), "no `{row}` in {words}");
    }
    // By hand, from the description: `pier-2` has pier 1 lead through and pier 2 diverging.
    assert!(words.contains("12 pier 2 pier 1 lead pier 2"), "{words}");
    // Both legs of the loop are one track.
    assert!(words.contains("(through)") && words.contains("(diverging)"), "{words}");
}

#[test]
fn one_way_stands_for_each_two_stops() {
    let plan = tern_harbor();
    let paper = Paper::of(&card(&plan, &Options::default()).unwrap().pdf);
    let words = half(&paper, 2, true);
    // By hand, as on the sheet of routes: from the cannery spur to the ice house.
    assert!(words.contains("ice house 8R 3N 9R 11R"), "{words}");
    let stops: std::collections::BTreeSet<_> = plan.routes.iter().map(network_ends).collect();
    let printed = words.split_whitespace().filter(|word| is_setting(word)).count();
    assert!(printed > stops.len(), "{printed} settings for {} ways", stops.len());
}

fn network_ends(route: &network::Route) -> (network::TrackId, network::TrackId) {
    (route.from(), route.to())
}

fn is_setting(word: &str) -> bool {
    word.strip_suffix(['N', 'R']).is_some_and(|number| number.parse::<u16>().is_ok())
}

/// What finds no room is counted, and nothing runs out of its page.
#[test]
fn a_large_layout_is_cut_and_says_so() {
    let plan = ladders("Long Ladders", 200, |index| format!("rung {index}"));
    let made = card(&plan, &Options { paper: Some(binder::Paper::Letter), ..Options::default() }).unwrap();
    assert_eq!(made.pages, 2);
    let paper = Paper::of(&made.pdf);
    let words = half(&paper, 2, false);
    let left_out = words.split(" more are in the binder").next().unwrap().split_whitespace().last().unwrap();
    let left_out: usize = left_out.parse().unwrap();
    let shown = words.matches("rung ").count();
    assert!(left_out > 0 && shown > 20, "{words}");
    let rows = words.split_whitespace().collect::<Vec<_>>();
    let last = (200 - left_out).to_string();
    assert!(rows.contains(&last.as_str()), "lever {last} is the last that has room: {words}");
}
