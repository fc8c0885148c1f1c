//! The gap plan: every gap and every section.

use binder::{Options, typeset};
use testkit::plan_of;

use crate::fixture::{first_module, harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

#[test]
fn every_gap_stands_with_its_track_and_end() {
    let plan = tern_harbor();
    let binder = harbor_binder();
    let words = Paper::of(&binder.pdf).told(pages_of(binder, "Gap plan")).join(" ");
    assert!(!plan.gaps.is_empty());
    for (index, gap) in plan.gaps.iter().enumerate() {
        let row = format!("gap {} {} {}", index + 1, gap.track, gap.end);
        assert!(words.contains(&row), "no `{row}` in {words}");
    }
    let drawn = Paper::of(&binder.pdf).told(pages_of(binder, "Gap plan, drawn")).join(" ");
    for index in 0..plan.gaps.len() {
        assert!(drawn.contains(&format!("gap {}", index + 1)), "gap {} is not on the drawing", index + 1);
    }
}

/// By hand, from the description: the loop is 9 ft, the longest train 6 ft, and the loop has a gap at each of its two ends.
#[test]
fn a_section_stands_with_its_length_against_the_longest_train() {
    let binder = harbor_binder();
    let words = Paper::of(&binder.pdf).told(pages_of(binder, "Gap plan")).join(" ");
    assert!(words.contains("1 lighthouse loop 1, 2 9 ft 9 ft 6 ft yes a polarity unit"), "{words}");
    assert!(words.contains("That fewer will not do is proven."), "{words}");
}

#[test]
fn a_layout_without_gaps_says_so() {
    let binder = typeset(&first_module(), &Options::default()).unwrap();
    let words = Paper::of(&binder.pdf).told(pages_of(&binder, "Gap plan")).join(" ");
    assert!(words.contains("no gap has to be cut for polarity"), "{words}");
    assert!(!binder.sheets.iter().any(|sheet| sheet.title == "Gap plan, drawn"));
}

/// A section too short for the train, and one without a length: the first is said to be, the second has to be measured.
#[test]
fn a_section_too_short_or_not_measured_is_said() {
    let text = "[layout]\nname = \"balloons\"\nlongest_train = \"2 m\"\n[turnout.1]\npoints = \"lead\"\nthrough = \"loop\"\n\
                diverging = \"loop\"\nhand = \"left\"\n[turnout.2]\npoints = \"lead\"\nthrough = \"ring\"\ndiverging = \"ring\"\n\
                hand = \"left\"\n[track.loop]\nlength = \"1 m\"\nstop = true\n[track.ring]\nstop = true\n";
    let binder = typeset(&plan_of(text), &Options::default()).unwrap();
    let words = Paper::of(&binder.pdf).told(pages_of(&binder, "Gap plan")).join(" ");
    assert!(words.contains("2.00 m no a polarity unit"), "{words}");
    assert!(words.contains("2.00 m measure it a polarity unit"), "{words}");
}
