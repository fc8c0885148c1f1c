//! That the counts of the laws see what they are for: a good diagram is spoilt in one way, and that way is counted.

use crate::layouts::{OPEN, drawn};
use draw::scene::Xy;
use draw::{Measures, Schematic, measures};
use network::JointKind;

fn spoilt(spoil: impl Fn(&mut Schematic)) -> (Measures, Measures) {
    let (network, good, before) = drawn(OPEN[0].1);
    let mut bad = good;
    spoil(&mut bad);
    (before, measures(&bad, &network))
}

#[test]
fn a_mirrored_diagram_has_every_hand_wrong() {
    let (network, mut mirrored, _) = drawn(OPEN[0].1);
    for at in mirrored.tracks.iter_mut().flat_map(|track| &mut track.path) {
        at.y = -at.y;
    }
    let handed =
        |kind: &JointKind| matches!(kind, JointKind::Turnout { .. } | JointKind::Wye | JointKind::Threeway);
    let turnouts = network.joints.iter().filter(|joint| handed(&joint.kind)).count();
    assert!(turnouts > 5);
    let counts = measures(&mirrored, &network);
    // The link of the crossover stayed where it was and no longer meets its turnouts, which is counted too.
    assert!(counts.hand_errors >= turnouts, "{counts:?}");
}

#[test]
fn a_track_laid_over_another_is_a_crossing() {
    let (before, after) = spoilt(|drawn| {
        let [from, to] = [drawn.tracks[0].path[0], drawn.tracks[1].path[0]];
        drawn.tracks[0].path = vec![Xy::new(from.x, from.y - 60_000), Xy::new(to.x + 50_000, to.y + 60_000)];
    });
    assert_eq!(before.crossings, 0);
    assert!(after.crossings > 0);
}

#[test]
fn a_word_over_another_or_off_the_sheet_is_an_overlap() {
    let (before, after) = spoilt(|drawn| drawn.scene.words[1].area = drawn.scene.words[0].area);
    assert_eq!((before.overlaps, after.overlaps > 0), (0, true));
    let (_, after) = spoilt(|drawn| {
        let area = &mut drawn.scene.words[0].area;
        (area.left, area.right) = (-2_000, -1_000);
    });
    assert_eq!(after.overlaps, 1);
}

#[test]
fn a_word_over_a_track_is_an_overlap() {
    let (_, after) = spoilt(|drawn| {
        let at = drawn.tracks[0].path[0];
        let area = &mut drawn.scene.words[0].area;
        *area = draw::scene::Area::around(Xy::new(at.x + 9_000, at.y), 1_000, 1_000);
    });
    assert!(after.overlaps > 0);
}

#[test]
fn a_detour_is_two_bends_more() {
    let (before, after) = spoilt(|drawn| {
        let track = drawn.tracks.iter_mut().find(|track| track.path.len() == 2).expect("a straight track");
        let [from, to] = [track.path[0], track.path[1]];
        let aside = |share: i64| Xy::new(from.x + (to.x - from.x) * share / 4, from.y + 2_000);
        track.path = vec![from, aside(1), aside(3), to];
    });
    assert_eq!(after.bends, before.bends + 2);
}
