//! Layouts to draw. Every one goes through the whole front: text, description, network, plan.

use draw::{Measures, Schematic, measures, schematic_of};
use network::Network;
use std::fmt::Write as _;

/// The network of a text, whatever of it is good.
pub(crate) fn network(text: &str) -> Network {
    description::read(text).then(network::resolve).value
}

/// The network of a text that must be good.
pub(crate) fn sound_network(text: &str) -> Network {
    let outcome = description::read(text).then(network::resolve);
    assert!(!outcome.has_errors(), "{:#?}", outcome.diagnostics);
    outcome.value
}

/// The diagram of a text that must be good, with its counts.
pub(crate) fn drawn(text: &str) -> (Network, Schematic, Measures) {
    let network = sound_network(text);
    let drawn = schematic_of(&network);
    let counts = measures(&drawn, &network);
    (network, drawn, counts)
}

/// A text under `reference/` or `demo/`.
///
/// # Source
/// `reference/networks` (open test networks of a real-railway research project) and `reference/graphs` (made by
/// ourselves); both folders say how they were obtained.
macro_rules! repository {
    ($path:literal) => {
        ($path, include_str!(concat!("../../../../", $path)))
    };
}

/// The demo with a bit of everything.
pub(crate) const DEMO: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

/// Every layout file of the repository that has no loop to be cut.
pub(crate) const OPEN: [(&str, &str); 10] = [
    repository!("demo/first-module/layout.toml"),
    repository!("reference/graphs/crossovers_2.toml"),
    repository!("reference/graphs/crossovers_6.toml"),
    repository!("reference/graphs/loops_3.toml"),
    repository!("reference/graphs/loops_10.toml"),
    repository!("reference/graphs/slips_3.toml"),
    repository!("reference/graphs/tree_4.toml"),
    repository!("reference/graphs/yard_6.toml"),
    repository!("reference/networks/nested_switches.toml"),
    repository!("reference/networks/overlapping_routes.toml"),
];

/// Layout files with loops, or with hands that contradict one another.
pub(crate) const LOOPED: [(&str, &str); 6] = [
    repository!("demo/tern-harbor/layout.toml"),
    repository!("reference/graphs/reversing_balloon.toml"),
    repository!("reference/graphs/reversing_oval_with_cutoff.toml"),
    repository!("reference/graphs/reversing_oval_with_loop.toml"),
    repository!("reference/graphs/reversing_wye.toml"),
    repository!("reference/networks/small_infra.toml"),
];

/// One step in growing a random railroad: which joint comes next, where it is joined on, its hand.
pub(crate) type Growth = (u8, u8, bool);

/// A railroad grown joint by joint from one end.
///
/// Each step takes an open end of a track and puts a joint there. With `rings`, some steps join two open ends by another
/// joint, so that loops, rings and contradictions come about.
pub(crate) fn grown(steps: &[Growth], rings: bool) -> String {
    let mut text = "[layout]\nname = \"grown\"\n[end.first]\ntrack = \"t0\"\n".to_owned();
    let mut open = vec!["t0".to_owned()];
    let mut track_count = 1;
    for (index, &(kind, place, left)) in steps.iter().enumerate() {
        if open.is_empty() {
            break;
        }
        let take = |open: &mut Vec<String>| open.remove(usize::from(place) % open.len());
        let at = take(&mut open);
        let again = if rings && !open.is_empty() && place % 3 == 0 { Some(take(&mut open)) } else { None };
        let mut fresh = || {
            let name = format!("t{track_count}");
            track_count += 1;
            name
        };
        let joined = again.clone();
        let mut other = |open: &mut Vec<String>| {
            again.clone().unwrap_or_else(|| {
                let name = fresh();
                open.push(name.clone());
                name
            })
        };
        let second = other(&mut open);
        let third = fresh();
        open.push(third.clone());
        let hand = if left { "left" } else { "right" };
        let joint = match kind % 7 {
            0 => format!(
                "points = \"{at}\"\nthrough = \"{second}\"\ndiverging = \"{third}\"\nhand = \"{hand}\"\n"
            ),
            1 => format!(
                "points = \"{third}\"\nthrough = \"{at}\"\ndiverging = \"{second}\"\nhand = \"{hand}\"\n"
            ),
            2 => format!(
                "points = \"{second}\"\nthrough = \"{third}\"\ndiverging = \"{at}\"\nhand = \"{hand}\"\n"
            ),
            5 => {
                let _ = write!(
                    text,
                    "[wye.j{index}]\npoints = \"{at}\"\nleft = \"{second}\"\nright = \"{third}\"\n"
                );
                continue;
            }
            crossed => {
                let fourth = fresh();
                open.push(fourth.clone());
                let table = ["crossover", "crossing", "", "slip"][usize::from(crossed - 3)];
                let _ = write!(
                    text,
                    "[{table}.j{index}]\none = [\"{at}\", \"{second}\"]\nother = [\"{third}\", \"{fourth}\"]\n"
                );
                continue;
            }
        };
        debug_assert!(joined.is_none() || rings);
        let _ = write!(text, "[turnout.j{index}]\n{joint}");
    }
    for (index, track) in open.iter().enumerate() {
        let is = ["bumper", "beyond", "staging"][index % 3];
        let _ = write!(text, "[end.e{index}]\ntrack = \"{track}\"\nis = \"{is}\"\n");
    }
    text
}
