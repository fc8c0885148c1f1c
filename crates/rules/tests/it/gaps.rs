//! The gaps of finished plans, on joints of every kind joined at random: rails two-coloured by a walk of their own,
//! ways through sections counted one by one, and every gap taken away once.
//!
//! Neither the senses of [`network::follow_rails`] nor the groups of the rule `gap-missing` are used: a colour runs from
//! track to track over the moves of the joints. By hand, and in the same week as what it checks.

use network::{JointKind, Network, Piece, Port, TrackId};
use notice::code;
use plan::model::{Gap, Plan};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fmt::Write as _;
use testkit::{plan_of, planned};

/// Where a colour can be: on a track, or on the metal behind one port of a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Spot {
    Track(TrackId),
    Behind(Port),
}

/// Which spots touch, and whether left on the one is left on the other. Left of a track is seen from its first end, left
/// behind a port looking out of the joint.
fn touching(network: &Network, gaps: &[&Gap]) -> BTreeMap<Spot, Vec<(Spot, bool)>> {
    let mut touching: BTreeMap<Spot, Vec<(Spot, bool)>> = BTreeMap::new();
    let mut add = |a: Spot, b: Spot, same: bool| {
        touching.entry(a).or_default().push((b, same));
        touching.entry(b).or_default().push((a, same));
    };
    for (index, track) in network.tracks.iter().enumerate() {
        let id = TrackId::at(index);
        for (end, port) in track.ends.into_iter().enumerate() {
            if !gaps.iter().any(|gap| gap.at == Some(port)) {
                add(Spot::Track(id), Spot::Behind(port), end == 0);
            }
        }
    }
    for (index, joint) in network.joints.iter().enumerate() {
        let id = network::JointId::at(index);
        for way in joint.moves.iter().filter(|_| !matches!(joint.kind, JointKind::Turntable { .. })) {
            let link = match (joint.kind, way.ports) {
                (JointKind::Crossover { .. }, [0, 3]) | (JointKind::Scissors, [0, 1]) => Some(0),
                (JointKind::Scissors, [2, 3]) => Some(1),
                (JointKind::Scissors, [0, 3]) => Some(2),
                (JointKind::Scissors, [2, 1]) => Some(3),
                _ => None,
            };
            if !gaps.iter().any(|gap| link.is_some_and(|link| gap.piece == Piece::Link(id, link))) {
                let [a, b] = way.ports.map(|port| Spot::Behind(Port { joint: id, port }));
                add(a, b, false);
            }
        }
    }
    touching
}

/// The stretch that each spot lies in, by number, and its colour there; an error names a spot whose rails meet crossed.
fn colours(network: &Network, gaps: &[&Gap]) -> Result<BTreeMap<Spot, (usize, bool)>, Spot> {
    let touching = touching(network, gaps);
    let tracks = (0..network.tracks.len()).map(|index| Spot::Track(TrackId::at(index)));
    let mut colours: BTreeMap<Spot, (usize, bool)> = BTreeMap::new();
    for (stretch, start) in tracks.chain(touching.keys().copied()).enumerate() {
        if colours.contains_key(&start) {
            continue;
        }
        colours.insert(start, (stretch, false));
        let mut queue = VecDeque::from([start]);
        while let Some(spot) = queue.pop_front() {
            let (_, colour) = colours[&spot];
            for &(next, same) in touching.get(&spot).into_iter().flatten() {
                match colours.get(&next) {
                    Some(&(_, known)) if (known == colour) != same => return Err(next),
                    Some(_) => {}
                    None => {
                        colours.insert(next, (stretch, colour == same));
                        queue.push_back(next);
                    }
                }
            }
        }
    }
    Ok(colours)
}

fn for_polarity(plan: &Plan) -> Vec<&Gap> {
    plan.gaps.iter().filter(|gap| !gap.sections.is_empty()).collect()
}

/// What is wrong with the gaps of a plan.
fn faults(plan: &Plan) -> Vec<String> {
    let network = &plan.network;
    let name = |track: TrackId| network.track(track).name.as_str();
    let mut faults = Vec::new();
    let colours_of = |gaps: &[&Gap]| colours(network, gaps);
    let by_section = match colours_of(&for_polarity(plan)) {
        Ok(colours) => colours,
        Err(spot) => return vec![format!("the rails meet crossed at {spot:?}")],
    };
    let tracks: Vec<TrackId> = (0..network.tracks.len()).map(TrackId::at).collect();
    let stretch = |track: TrackId| by_section[&Spot::Track(track)].0;
    for section in &plan.reversing {
        let own = &section.tracks.value;
        for &track in own {
            let joined = tracks.iter().filter(|&&other| stretch(other) == stretch(track));
            let strange: Vec<_> =
                joined.filter(|other| !own.contains(other)).map(|&other| name(other)).collect();
            if !strange.is_empty() {
                faults.push(format!("section {} is joined to {strange:?}", section.name));
            }
            if stretch(track) != stretch(own[0]) {
                faults.push(format!("section {} falls apart at {}", section.name, name(track)));
            }
        }
    }
    for gap in for_polarity(plan) {
        let (Piece::Track(track), Some(port)) = (gap.piece, gap.at) else { continue };
        if by_section[&Spot::Track(track)].0 == by_section[&Spot::Behind(port)].0 {
            faults.push(format!("both sides of the gap in {} are joined elsewhere", gap.track));
        }
    }
    let apart = colours_of(&plan.gaps.iter().collect::<Vec<_>>()).expect("more gaps cross nothing");
    for &a in &tracks {
        for &b in tracks.iter().filter(|&&b| b > a) {
            let districts = [a, b].map(|track| plan.districts[track.index()].as_ref().map(|d| &d.value));
            if apart[&Spot::Track(a)].0 == apart[&Spot::Track(b)].0 && districts[0] != districts[1] {
                faults.push(format!("{} and {} are joined: {districts:?}", name(a), name(b)));
            }
            let written = [a, b].map(|track| network.track(track).district.as_ref());
            if let ([Some(x), Some(y)], true) =
                (written, apart[&Spot::Track(a)].0 == apart[&Spot::Track(b)].0)
                && x != y
            {
                faults.push(format!("{} of {x} and {} of {y} are joined", name(a), name(b)));
            }
        }
    }
    faults
}

/// The shortest way of a train from one gap of a section to another where the rails outside lie the other way round,
/// as far as the two are comparable, in half metres; every way is walked to its end.
fn shortest_by_walking(plan: &Plan, section: usize) -> Option<u32> {
    let network = &plan.network;
    let colours = colours(network, &for_polarity(plan)).expect("the rails meet nowhere crossed");
    let tracks = &plan.reversing[section].tracks.value;
    let gaps: Vec<Port> =
        plan.gaps.iter().filter(|gap| gap.sections.contains(&section)).filter_map(|gap| gap.at).collect();
    // Whether the rails on the two sides of a gap agree, and which stretch lies outside.
    let across = |port: Port| {
        let track = network.joint(port.joint).tracks[usize::from(port.port)];
        let (on_track, on_joint) = (colours[&Spot::Track(track)], colours[&Spot::Behind(port)]);
        let first = network.track(track).ends[0] == port;
        let agree = (on_track.1 == on_joint.1) == first;
        let outside = if tracks.contains(&track) { on_joint.0 } else { on_track.0 };
        (agree, outside)
    };
    let length = |track: TrackId| {
        let halves = network.track(track).length.map_or(0.0, |length| (length.value() * 2.0).round());
        (0u32..1_000).find(|&count| halves < f64::from(count) + 0.5).expect("lengths are short")
    };
    let mut best: Option<u32> = None;
    for &start in &gaps {
        let track = network.joint(start.joint).tracks[usize::from(start.port)];
        // Into the section: along its track away from the joint, or into its joint from the track outside.
        let (from, far, used) = if tracks.contains(&track) {
            (network.across(start), length(track), vec![track])
        } else {
            (start, 0, Vec::new())
        };
        let mut open = vec![(from, far, used)];
        while let Some((port, far, used)) = open.pop() {
            let mut arrived = |gap: Port, far: u32| {
                let (a, b) = (across(start), across(gap));
                if a.1 == b.1 && a.0 != b.0 {
                    best = Some(best.map_or(far, |least| least.min(far)));
                }
            };
            if port != start && gaps.contains(&port) {
                arrived(port, far);
                continue;
            }
            let joint = network.joint(port.joint);
            if matches!(joint.kind, JointKind::Turntable { .. }) {
                continue;
            }
            for out in joint.moves.iter().filter_map(|way| way.from(port.port)) {
                let next = Port { joint: port.joint, port: out };
                let track = joint.tracks[usize::from(out)];
                if gaps.contains(&next) {
                    arrived(next, far);
                } else if !used.contains(&track) && used.len() < 12 {
                    let used = used.iter().copied().chain([track]).collect();
                    open.push((network.across(next), far + length(track), used));
                }
            }
        }
    }
    best
}

/// Joints of every kind, their ports joined at random: what is left over ends. Lengths in half metres, districts and the
/// longest train by number; 0 says nothing. A track of district 4 is two, each with an end.
#[derive(Clone, Debug)]
struct Tangle {
    kinds: Vec<u8>,
    order: Vec<usize>,
    lengths: Vec<u8>,
    districts: Vec<u8>,
    longest: u8,
}

const LEGS: [(&str, &[&str]); 8] = [
    ("turnout", &["points", "through", "diverging"]),
    ("wye", &["points", "left", "right"]),
    ("threeway", &["points", "through", "left", "right"]),
    ("crossover", &["one", "one", "other", "other"]),
    ("scissors", &["one", "one", "other", "other"]),
    ("slip", &["one", "one", "other", "other"]),
    ("crossing", &["one", "one", "other", "other"]),
    ("turntable", &["approach", "stalls", "stalls"]),
];

/// Turnouts come up as often as all other kinds together, as they do on a railroad.
fn tangle() -> impl Strategy<Value = Tangle> {
    let kind = prop_oneof![Just(0u8), 0u8..8];
    prop::collection::vec(kind, 1..9).prop_flat_map(|kinds| {
        let ports = kinds.iter().map(|&kind| LEGS[usize::from(kind)].1.len()).sum::<usize>();
        let order = Just((0..ports).collect::<Vec<_>>()).prop_shuffle();
        let numbers = |most: u8| prop::collection::vec(0..most, ports);
        (Just(kinds), order, numbers(6), numbers(5), 0u8..12).prop_map(
            |(kinds, order, lengths, districts, longest)| Tangle {
                kinds,
                order,
                lengths,
                districts,
                longest,
            },
        )
    })
}

fn text_of(tangle: &Tangle) -> String {
    let mut legs: Vec<String> = vec![String::new(); tangle.order.len()];
    for (place, &port) in tangle.order.iter().enumerate() {
        let split = tangle.districts[place / 2] == 4 && place % 2 == 1;
        legs[port] = format!("\"{}{}\"", if split { 'u' } else { 't' }, place / 2);
    }
    let mut text = String::from("[layout]\nname = \"made up\"\n");
    if tangle.longest > 0 {
        writeln!(text, "longest_train = \"{} cm\"", u32::from(tangle.longest) * 50).unwrap();
    }
    let mut next = 0;
    for (number, &kind) in tangle.kinds.iter().enumerate() {
        let (table, keys) = LEGS[usize::from(kind)];
        writeln!(text, "[{table}.j{number}]").unwrap();
        let mut values: Vec<(&str, Vec<&str>)> = Vec::new();
        for key in keys {
            match values.last_mut().filter(|(last, _)| last == key) {
                Some((_, names)) => names.push(&legs[next]),
                None => values.push((key, vec![&legs[next]])),
            }
            next += 1;
        }
        for (key, names) in values {
            let list = names.join(", ");
            let as_list = ["one", "other", "approach", "stalls"].contains(&key);
            writeln!(text, "{key} = {}", if as_list { format!("[{list}]") } else { list }).unwrap();
        }
        if table == "turnout" {
            writeln!(text, "hand = \"left\"").unwrap();
        }
    }
    for track in 0..tangle.order.len().div_ceil(2) {
        writeln!(text, "[track.t{track}]").unwrap();
        if let length @ 1.. = tangle.lengths[track] {
            writeln!(text, "length = \"{} cm\"", u32::from(length) * 50).unwrap();
        }
        if let district @ 1..4 = tangle.districts[track] {
            writeln!(text, "district = \"{district}\"").unwrap();
        }
    }
    for track in 0..tangle.order.len().div_ceil(2) {
        let lone = track * 2 + 1 == tangle.order.len();
        let split = tangle.districts[track] == 4 && !lone;
        if lone || split {
            writeln!(text, "[end.t{track}]\ntrack = \"t{track}\"").unwrap();
        }
        if split {
            writeln!(text, "[end.u{track}]\ntrack = \"u{track}\"\nis = \"beyond\"").unwrap();
        }
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_gaps_leave_no_rails_crossed_no_section_open_and_no_districts_joined(tangle in tangle()) {
        let text = text_of(&tangle);
        let outcome = planned(&text);
        prop_assert!(!outcome.has_errors(), "{}\n{text}", testkit::list(&text, &outcome.diagnostics));
        let found = faults(&outcome.value);
        prop_assert!(found.is_empty(), "{found:?}\n{text}");
    }

    #[test]
    fn prop_sections_hold_the_longest_train_or_say_that_they_do_not(tangle in tangle()) {
        let text = text_of(&tangle);
        let outcome = planned(&text);
        let plan = &outcome.value;
        for (index, section) in plan.reversing.iter().enumerate() {
            let Piece::Track(track) = section.piece else { continue };
            if plan.network.track(track).length.is_none() {
                prop_assert!(section.shortest.is_none());
                continue;
            }
            let halves = section.shortest.map(|length| length.value() * 2.0);
            let walked = shortest_by_walking(plan, index).map(f64::from);
            let is_short = halves.is_some_and(|halves| tangle.longest > 0 && halves <= f64::from(tangle.longest));
            let says = outcome.diagnostics.iter().any(|note| {
                note.code == code::REVERSING_TOO_SHORT && note.span == plan.network.track(track).span
            });
            prop_assert_eq!(is_short, says, "{}", text);
            prop_assert!(!is_short || section.tracks.value.len() == 1, "{}", text);
            // Where the sections cut the railroad apart, some ways are not comparable, and none is walked shorter.
            if let (Some(halves), Some(walked)) = (halves, walked) {
                prop_assert!(halves <= walked + 1e-6, "{} m: {halves} halves, walked {walked}\n{text}", section.name);
            }
            prop_assert!(walked.is_none() || halves.is_some(), "{}: walked {:?}\n{}", section.name, walked, text);
        }
    }

    /// None is there in vain, and the rule sees each that is not there.
    #[test]
    fn prop_any_gap_taken_away_is_missed(tangle in tangle()) {
        let text = text_of(&tangle);
        let plan = planned(&text).value;
        for index in 0..plan.gaps.len() {
            let mut worse = plan.clone();
            let gap = worse.gaps.remove(index);
            let found = rules::verify(worse.clone()).diagnostics;
            let missed = found.iter().any(|note| note.code == code::GAP_MISSING);
            prop_assert!(missed, "{} {}: {:?}\n{text}", gap.track, gap.end, plan.gaps);
            if gap.at.is_some() {
                prop_assert!(!faults(&worse).is_empty(), "{} {}\n{text}", gap.track, gap.end);
            }
        }
    }

    /// A joint that is cut off from all its tracks would be dead. Only where all its tracks have to be gapped is there no
    /// other way.
    #[test]
    fn prop_a_joint_keeps_a_track_unless_all_of_them_have_to_be_gapped(tangle in tangle()) {
        let text = text_of(&tangle);
        let plan = planned(&text).value;
        let colours = colours(&plan.network, &plan.gaps.iter().collect::<Vec<_>>()).expect("nothing is crossed");
        let tracks = (0..plan.network.tracks.len()).map(TrackId::at);
        let on_tracks: BTreeSet<usize> = tracks.map(|track| colours[&Spot::Track(track)].0).collect();
        let gapped = |track: TrackId| plan.reversing.iter().any(|section| section.piece == Piece::Track(track));
        for (spot, (stretch, _)) in colours {
            let Spot::Behind(port) = spot else { continue };
            let joint = plan.network.joint(port.joint);
            let joins = !matches!(joint.kind, JointKind::End { .. } | JointKind::Turntable { .. });
            let fed = on_tracks.contains(&stretch) || joint.tracks.iter().all(|&track| gapped(track));
            prop_assert!(!joins || fed, "{spot:?}\n{text}");
        }
    }
}

/// By hand: a balloon over two tracks with a siding in it, main and yard in districts of their own.
const BALLOON: &str = r#"
[layout]
name = "Tern Harbor Terminal"
longest_train = "6 ft"
[turnout.loop]
points = "main"
through = "bay curve"
diverging = "hill curve"
hand = "left"
[turnout.ice]
points = "bay curve"
through = "hill curve"
diverging = "ice house"
hand = "right"
[end.ice]
track = "ice house"
[turnout.yard]
points = "west"
through = "main"
diverging = "yard"
hand = "left"
[end.west]
track = "west"
[end.yard]
track = "yard"
[track."bay curve"]
length = "4 ft"
stop = true
[track."hill curve"]
length = "3 ft"
[track.main]
district = "main"
[track.yard]
district = "yard"
"#;

#[test]
fn a_plan_without_one_of_its_gaps_is_refused() {
    let plan = plan_of(BALLOON);
    let gaps: Vec<String> = plan.gaps.iter().map(|gap| format!("{} {}", gap.track, gap.end)).collect();
    assert_eq!(
        gaps,
        [
            "bay curve at the through leg of loop",
            "hill curve at the diverging leg of loop",
            "yard at the diverging leg of yard",
        ]
    );
    let said = |index: usize| {
        let mut worse = plan.clone();
        worse.gaps.remove(index);
        let found = rules::verify(worse).diagnostics;
        let found = found.into_iter().filter(|note| note.code == code::GAP_MISSING);
        found.map(|note| note.message).collect::<Vec<_>>()
    };
    let open = "with the gaps planned, reversing section `bay curve` is not cut off: `main` and `bay curve` are joined";
    assert_eq!(said(0), [open]);
    assert_eq!(said(1), [open]);
    assert_eq!(said(2), ["with the gaps planned, districts `main` and `yard` are joined: `main` and `yard`"]);
    let mut uncut = plan.clone();
    uncut.gaps.clear();
    let found = rules::verify(uncut).diagnostics;
    let crossed = found.iter().filter(|note| note.message.contains("are joined crossed")).count();
    assert_eq!(crossed, 1, "{found:?}");
}
