//! The diagram as an operator on the other side sees it: turned by half a turn, hands true, words upright and clear.

use crate::layouts::{DEMO, LOOPED, OPEN, sound_network};
use draw::scene::{Scene, Xy};
use draw::sheet::LEVEL_PITCH;
use draw::{Operator, Schematic, gap_plan_seen, map_seen, measures, schematic_of, schematic_of_seen};

/// The middle of all tracks.
fn middle(drawn: &Schematic) -> Xy {
    let corners = || drawn.tracks.iter().flat_map(|track| &track.path);
    let (left, right) = (corners().map(|at| at.x).min(), corners().map(|at| at.x).max());
    let (top, bottom) = (corners().map(|at| at.y).min(), corners().map(|at| at.y).max());
    Xy::new(left.unwrap_or(0).midpoint(right.unwrap_or(0)), top.unwrap_or(0).midpoint(bottom.unwrap_or(0)))
}

#[test]
fn every_law_holds_from_the_other_side() {
    for (name, text) in OPEN.iter().chain(&LOOPED) {
        let network = sound_network(text);
        let drawn = schematic_of_seen(&network, Operator::Back);
        let counts = measures(&drawn, &network);
        assert_eq!((counts.hand_errors, counts.crossings, counts.overlaps), (0, 0, 0), "{name}");
        let front = measures(&schematic_of(&network), &network);
        assert_eq!(
            (counts.height(), counts.bends, counts.cuts),
            (front.height(), front.bends, front.cuts),
            "{name}"
        );
    }
}

/// Numbers may ask for other room from the other side, so lengths can differ; what is left of what, and above what, is
/// turned round exactly.
#[test]
fn left_is_right_and_above_is_below() {
    for (name, text) in OPEN.iter().chain(&LOOPED) {
        let network = sound_network(text);
        let (front, back) = (schematic_of(&network), schematic_of_seen(&network, Operator::Back));
        let (in_front, behind) = (middle(&front), middle(&back));
        assert_eq!(front.machines.len(), back.machines.len(), "{name}");
        for (one, other) in front.machines.iter().zip(&back.machines) {
            assert_eq!(one.machine, other.machine, "{name}");
            assert_eq!(one.at.y - in_front.y, behind.y - other.at.y, "{name}: levels");
        }
        for (one, other) in front.ends.iter().zip(&back.ends) {
            assert_eq!((one.joint, one.at_right), (other.joint, !other.at_right), "{name}");
        }
    }
}

#[test]
fn the_demo_from_behind_has_its_west_at_the_right() {
    let network = sound_network(DEMO);
    let west = |drawn: &Schematic| {
        let end = drawn.ends.iter().find(|end| network.joint(end.joint).name == "west");
        end.map(|end| end.at_right)
    };
    assert_eq!(west(&schematic_of(&network)), Some(false));
    let back = schematic_of_seen(&network, Operator::Back);
    assert_eq!(west(&back), Some(true));
    // The siding leaves the main to the left of a train from the west: above it from the front, below from behind.
    let level = |track: &str| {
        let found = back.tracks.iter().find(|drawn| network.track(drawn.track).name == track);
        found.expect("drawn").path[1].y
    };
    assert_eq!(level("passing 1"), level("west approach") + LEVEL_PITCH);
}

#[test]
fn a_map_from_behind_has_every_number() {
    let plan = plan::make(sound_network(DEMO)).value;
    let numbers = |scene: &Scene| {
        let mut numbers: Vec<String> = scene.words.iter().map(|words| words.text.clone()).collect();
        numbers.sort();
        numbers
    };
    let [front, back] = [Operator::Front, Operator::Back].map(|from| map_seen(&plan, 170, 80, from));
    assert_eq!(numbers(&front), numbers(&back));
    assert!(back.words.iter().all(|words| back.sheet().holds(words.area)));
}

/// Both rails of the reversing loop are cut where they are from the front, turned by half a turn: as far from the points.
#[test]
fn gaps_lie_at_the_same_ends_from_behind() {
    let plan = plan::make(sound_network(DEMO)).value;
    let [front, back] = [Operator::Front, Operator::Back].map(|from| gap_plan_seen(&plan, from).gaps);
    assert!(!front.is_empty());
    let from_first = |gaps: &[draw::DrawnGap]| -> Vec<(usize, Vec<Xy>)> {
        let first = gaps[0].at[0];
        gaps.iter()
            .map(|gap| {
                let places = gap.at.iter().map(|at| Xy::new(at.x - first.x, at.y - first.y));
                (gap.number, places.collect())
            })
            .collect()
    };
    for ((number, places), (same, behind)) in from_first(&front).into_iter().zip(from_first(&back)) {
        assert_eq!(number, same);
        for (one, other) in places.iter().zip(&behind) {
            // Places along a slant are rounded to the micrometre.
            assert!((one.x + other.x).abs() <= 2 && (one.y + other.y).abs() <= 2, "{one:?} {other:?}");
        }
    }
}
