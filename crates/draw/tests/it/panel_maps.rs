//! Maps of panels: what is theirs is dark and numbered, the rest grey and without numbers.

use crate::layouts::DEMO;
use draw::sheet::Ink;
use draw::{Operator, index_map, panel_map};
use plan::model::Plan;
use std::collections::BTreeSet;

fn demo() -> Plan {
    description::read(DEMO).then(network::resolve).then(plan::make).value
}

/// Of the demo's two strips each has ten levers, so that each map shows ten numbers and together they show all.
#[test]
fn each_panel_has_its_own_numbers_and_none_is_left_out() {
    let plan = demo();
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for strip in &plan.strips {
        let map = panel_map(&plan, &strip.panel, 170, 80, Operator::Front).expect("a map");
        let own: BTreeSet<String> = map
            .words
            .iter()
            .filter(|words| words.tag.class == "number")
            .map(|words| words.text.clone())
            .collect();
        let pairs = strip.pairs.iter().flatten().count();
        assert_eq!(own.len(), pairs, "{}", strip.panel);
        assert!(seen.is_disjoint(&own), "{} shows a number of another panel", strip.panel);
        seen.extend(own);
        let inks: BTreeSet<String> = map
            .strokes
            .iter()
            .filter(|stroke| stroke.tag.track.is_some())
            .map(|stroke| stroke.ink.colour().to_owned())
            .collect();
        let both = [Ink::Ink, Ink::Unknown].map(|ink| ink.colour().to_owned());
        assert_eq!(inks, both.into(), "{}: some tracks are its own and some are not", strip.panel);
    }
    assert_eq!(seen.len(), plan.levers.len());
    assert!(panel_map(&plan, "nowhere", 170, 80, Operator::Front).is_none());
}

#[test]
fn the_index_lists_every_panel_with_its_numbers() {
    let plan = demo();
    let map = index_map(&plan, 170, 80, Operator::Front);
    let of = |class: &str| -> Vec<&str> {
        map.words.iter().filter(|words| words.tag.class == class).map(|words| words.text.as_str()).collect()
    };
    assert_eq!(of("panel-name"), ["west", "east"]);
    assert_eq!(of("panel-levers"), ["levers 1–10", "levers 11–20"]);
}
