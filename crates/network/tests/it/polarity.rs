//! Tracks to gap, against the reference graphs and against trying all sets of tracks.

use crate::against::{GRAPHS, NETWORKS, REVERSING, expected_of, network_of};
use network::{JointKind, Network, follow_rails};
use proptest::prelude::*;
use std::fmt::Write as _;

/// # Source
/// `expected.fewest_legs_to_gap` of the reversing cases, and `expected.reversing` of the research networks: removal sets
/// by increasing size. See `reference/graphs/README.md`.
#[test]
fn fewest_tracks_to_gap_are_those_of_the_references() {
    let mut compared = 0;
    for case in REVERSING.into_iter().chain(NETWORKS).chain(GRAPHS) {
        let expected = expected_of(case);
        let fewest = [&expected["fewest_legs_to_gap"], &expected["reversing"]["fewest_legs_to_gap"]];
        let Some(fewest) = fewest.iter().find_map(|count| count.as_u64()) else { continue };
        let polarity = follow_rails(&network_of(case));
        assert!(polarity.proven(), "{}", case.0);
        assert_eq!(polarity.reversing.len() as u64, fewest, "{}", case.0);
        compared += 1;
    }
    assert!(compared >= 5, "only {compared} cases say how many");
}

/// Turnouts joined at random: track i joins two ports of a shuffled list.
pub(crate) fn tangle(turnout_count: usize, ports: &[usize]) -> String {
    let mut tracks = vec![String::new(); turnout_count * 3];
    for (place, port) in ports.iter().enumerate() {
        tracks[*port] = format!("t{}", place / 2);
    }
    let mut text = String::from("[layout]\nname = \"made up\"\n");
    for (turnout, legs) in tracks.chunks(3).enumerate() {
        write!(
            text,
            "[turnout.s{turnout}]\npoints = \"{}\"\nthrough = \"{}\"\ndiverging = \"{}\"\nhand = \"left\"\n",
            legs[0], legs[1], legs[2]
        )
        .unwrap();
    }
    if ports.len() % 2 == 1 {
        write!(text, "[end.e]\ntrack = \"t{}\"\n", ports.len() / 2).unwrap();
    }
    text
}

/// The fewest tracks to gap, by trying every sense of every turnout. By hand: points are on one side, both legs on the
/// other, and a track between two like sides asks for unlike senses.
fn fewest_by_trying(network: &Network) -> usize {
    let turnouts: Vec<usize> = (0..network.joints.len())
        .filter(|&index| matches!(network.joints[index].kind, JointKind::Turnout { .. }))
        .collect();
    let wishes: Vec<(usize, usize, bool)> = network
        .tracks
        .iter()
        .filter_map(|track| {
            let [a, b] = track.ends;
            let place = |joint: usize| turnouts.iter().position(|&other| other == joint);
            let (first, second) = (place(a.joint.index())?, place(b.joint.index())?);
            Some((first, second, (a.port == 0) == (b.port == 0)))
        })
        .collect();
    (0u32..1 << turnouts.len())
        .map(|senses| {
            let unmet =
                |&&(a, b, differ): &&(usize, usize, bool)| ((senses >> a ^ senses >> b) & 1 == 1) != differ;
            wishes.iter().filter(unmet).count()
        })
        .min()
        .unwrap_or(0)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_fewest_tracks_to_gap_are_what_trying_finds(
        ports in (1usize..=12).prop_flat_map(|count| Just((0..count * 3).collect::<Vec<_>>()).prop_shuffle())
    ) {
        let read = description::read(&tangle(ports.len() / 3, &ports)).then(network::resolve);
        prop_assert!(!read.has_errors(), "{:?}", read.diagnostics);
        let polarity = follow_rails(&read.value);
        prop_assert!(polarity.proven());
        prop_assert_eq!(polarity.reversing.len(), fewest_by_trying(&read.value));
    }
}
