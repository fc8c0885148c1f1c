//! Heights and bends against those that a published drawing method reaches.
//!
//! # Source
//! `reference/drawing/README.md`: figures of a research program on three networks, for three orders of goals.

use crate::layouts::drawn;
use serde_json::Value;

macro_rules! case {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../../../reference/drawing/", $name, ".toml")),
            include_str!(concat!("../../../../reference/drawing/", $name, ".json")),
        )
    };
}

#[test]
fn no_more_height_and_bends_than_published_and_the_height_proven() {
    for (name, layout, expected) in [case!("twotrack"), case!("ladder"), case!("crossover")] {
        let (_, diagram, counts) = drawn(layout);
        let expected: Value = serde_json::from_str(expected).expect("JSON");
        let peers = expected["expected"]["peer"].as_array().expect("figures");
        assert_eq!(peers.len(), 3, "{name}");
        for peer in peers {
            assert!(counts.height() <= peer["height"].as_i64().unwrap(), "{name}: {counts:?} {peer}");
            assert!(counts.bends as u64 <= peer["bends"].as_u64().unwrap(), "{name}: {counts:?} {peer}");
        }
        assert_eq!(diagram.least_height, Some(counts.height()), "{name}: no drawing is lower");
        assert_eq!(
            (counts.crossings, counts.cuts, counts.hand_errors, counts.overlaps),
            (0, 0, 0, 0),
            "{name}"
        );
    }
}

/// The bound is one of its own making, so that it can be wrong; it must never lie above what was drawn.
#[test]
fn no_diagram_is_lower_than_the_bound_says() {
    for (name, text) in crate::layouts::OPEN.iter().chain(&crate::layouts::LOOPED) {
        let (_, diagram, counts) = drawn(text);
        let bound = diagram.least_height.expect("small enough");
        assert!(bound <= counts.height(), "{name}: {bound} {counts:?}");
    }
}
