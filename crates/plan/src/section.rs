//! How far a reversing section goes: the track that has to be cut, and over which neighbours it goes on so that it holds
//! the longest train.
//!
//! ```text
//!         ┌── main ──          T is the track where the rails meet crossed. A train that bridges a gap on its left
//!   ──T──●                     and one on its right at once shorts the two; so the shortest way of a train from one
//!         └── yard ──          to the other has to be longer than the train.
//! ```
//!
//! A section that is too short takes in the joint behind its nearest gap, with every track a train coming from T can
//! reach over it; the other legs of that joint are cut right at it. Any longer section has to take in the joint on one
//! side or on the other, so both are tried, fewest joints first: up to [`JOINTS_MAX`] joints, [`TRIES_MAX`] tries and
//! [`TRIES_OF_ALL_MAX`] for all sections, the answer has the fewest joints there can be. A joint left outside with all
//! its legs cut would be dead, so it is taken in too. Seen from T a section has two sides; they never join, since the rails would meet
//! crossed inside it. Sections keep to their own joints and tracks, and to one power district. A track whose length is
//! not known counts as no length.
//!
//! # Source
//! A reversing section has to be longer than the longest train: common practice, no source.

use crate::reason::{HOLDS_TRAIN, LINK_STAYS, NO_WAY_ON, NO_WAY_THROUGH, ONE_TRACK, SECTION_GOES_ON};
use description::EndKind;
use measure::Length;
use network::{Bond, JointId, JointKind, Network, Piece, Port, TrackId, bond_at};
use notice::{Because, Decided};
use std::cell::Cell;
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap, VecDeque};

/// The most extensions of one section that are looked at.
const TRIES_MAX: usize = 500;

/// The most extensions of all sections together.
const TRIES_OF_ALL_MAX: usize = 20_000;

/// The most joints in one section: more than anyone would cut off and feed together.
const JOINTS_MAX: usize = 12;

/// A length in whole steps, so that ways can be put in order.
///
/// # Units
/// Micrometres.
type Micrometres = u64;

/// One reversing section, as far as it goes.
#[derive(Debug)]
pub(crate) struct Section {
    /// The piece where the rails meet crossed.
    pub(crate) piece: Piece,
    /// Its tracks, and why it has these.
    pub(crate) tracks: Decided<Vec<TrackId>>,
    /// The joints inside it; of a crossing, the line.
    pub(crate) joints: BTreeSet<Bond>,
    /// Where its tracks, or the legs beside them, are cut.
    pub(crate) cuts: Vec<Port>,
    /// All its tracks together.
    pub(crate) length: Option<Length>,
    /// The shortest way through that turns polarity over.
    pub(crate) shortest: Option<Length>,
    /// Tracks whose lengths might let it go on.
    pub(crate) unmeasured: Vec<TrackId>,
}

/// The sections of these pieces, in the same order.
pub(crate) fn lay_sections(
    network: &Network,
    reversing: &[Piece],
    districts: &[Option<&str>],
) -> Vec<Section> {
    let mut taken = Taken::default();
    let tries_left = Cell::new(TRIES_OF_ALL_MAX);
    for piece in reversing {
        match *piece {
            Piece::Track(track) => {
                taken.tracks.insert(track);
                taken.cuts.extend(network.track(track).ends);
            }
            Piece::Link(joint, _) => {
                taken.links.insert(joint);
            }
        }
    }
    let mut sections = Vec::new();
    for &piece in reversing {
        let section = match piece {
            Piece::Track(track) => {
                let mut ends = network.track(track).ends;
                ends.sort_unstable();
                for end in ends {
                    taken.cuts.remove(&end);
                }
                Search { network, districts, taken: &taken, track, ends, unknown: 0, tries_left: &tries_left }
                    .section()
            }
            Piece::Link(..) => link_section(piece),
        };
        taken.tracks.extend(&section.tracks.value);
        taken.joints.extend(&section.joints);
        taken.cuts.extend(&section.cuts);
        sections.push(section);
    }
    sections
}

/// A link inside a joint has no neighbours to go on over: its own joint is crossed at both its ends.
fn link_section(piece: Piece) -> Section {
    Section {
        piece,
        tracks: Decided::new(Vec::new(), Because::new(&LINK_STAYS, [])),
        joints: BTreeSet::new(),
        cuts: Vec::new(),
        length: None,
        shortest: None,
        unmeasured: Vec::new(),
    }
}

/// What no further section may take in.
#[derive(Default)]
struct Taken {
    tracks: BTreeSet<TrackId>,
    joints: BTreeSet<Bond>,
    /// Joints with a link that is a section.
    links: BTreeSet<JointId>,
    cuts: BTreeSet<Port>,
}

/// The rails at a port that a section takes in as one: a whole joint, or one line of a crossing.
pub(crate) fn whole_at(network: &Network, port: Port) -> Option<Bond> {
    let bond = bond_at(network, port)?;
    let line = network.joint(bond.joint).kind == JointKind::Crossing;
    Some(if line { bond } else { Bond { number: 0, ..bond } })
}

/// The ports of what [`whole_at`] gives.
fn ports_of(network: &Network, whole: Bond) -> impl Iterator<Item = Port> {
    let count = u8::try_from(network.joint(whole.joint).tracks.len()).unwrap_or(u8::MAX);
    let ports = (0..count).map(move |port| Port { joint: whole.joint, port });
    ports.filter(move |&port| whole_at(network, port) == Some(whole))
}

/// Longer than any railroad, and short enough to be summed over all tracks there can be.
const LONGEST_M: f64 = 1e6;

fn micrometres(length: Length) -> Micrometres {
    let length_m = length.value().clamp(0.0, LONGEST_M);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the value is between 0 and a million million"
    )]
    let whole = (length_m * 1e6).round() as Micrometres;
    whole
}

fn length_of(micrometres: Micrometres) -> Length {
    #[allow(clippy::cast_precision_loss, reason = "sums of lengths stay far below 2^53 micrometres")]
    Length::new(micrometres as f64 / 1e6)
}

/// The joints taken in on either side of the track.
type Extent = [BTreeSet<Bond>; 2];

/// Where trains from the track get to on one side.
#[derive(Default)]
struct Walk {
    reached: BTreeSet<TrackId>,
    /// The nearest gap, and the joint behind it if the section may go on over it.
    nearest: Option<(Micrometres, Option<Bond>)>,
}

struct Search<'a> {
    network: &'a Network,
    districts: &'a [Option<&'a str>],
    taken: &'a Taken,
    /// The track where the rails meet crossed, and its ends in order.
    track: TrackId,
    ends: [Port; 2],
    /// What a track of unknown length counts as.
    unknown: Micrometres,
    /// How many extensions may still be looked at, over all sections.
    tries_left: &'a Cell<usize>,
}

impl Search<'_> {
    fn section(&self) -> Section {
        let described = self.network.track(self.track);
        let layout = &self.network.described.layout;
        let name = described.name.as_str();
        let (Some(length), Some(train)) = (described.length, layout.longest_train) else {
            return self.build(&Extent::default(), described.length, Because::new(&ONE_TRACK, [name.into()]));
        };
        let print = |length: Length| length.print(layout.units);
        let (long, train_long) = (print(length), print(train.value));
        if length.value() > train.value.value() {
            let why = Because::new(&HOLDS_TRAIN, [name.into(), long.into(), train_long.into()]);
            return self.build(&Extent::default(), Some(length), why);
        }
        match self.longer_than(train.value) {
            None => {
                let why = Because::new(&NO_WAY_ON, [name.into(), train_long.into()]);
                let unmeasured = self.worth_measuring(train.value);
                Section { unmeasured, ..self.build(&Extent::default(), Some(length), why) }
            }
            Some((extent, Some(shortest))) => {
                let saw = [name.into(), long.into(), train_long.into(), print(shortest).into()];
                self.build(&extent, Some(shortest), Because::new(&SECTION_GOES_ON, saw))
            }
            Some((extent, None)) => {
                let saw = [name.into(), long.into(), train_long.into()];
                self.build(&extent, None, Because::new(&NO_WAY_THROUGH, saw))
            }
        }
    }

    /// The tracks of unknown length over which the section could go on if they were long.
    fn worth_measuring(&self, train: Length) -> Vec<TrackId> {
        let hopeful = Search { unknown: micrometres(Length::new(LONGEST_M)), ..*self };
        let Some((extent, _)) = hopeful.longer_than(train) else { return Vec::new() };
        let (tracks, _) = hopeful.tracks_and_cuts(&extent);
        tracks.into_iter().filter(|&track| self.network.track(track).length.is_none()).collect()
    }

    fn length_of(&self, track: TrackId) -> Micrometres {
        self.network.track(track).length.map_or(self.unknown, micrometres)
    }

    /// The extent of the fewest joints in which no way through is as short as a train, with its shortest way.
    fn longer_than(&self, train: Length) -> Option<(Extent, Option<Length>)> {
        let own = self.length_of(self.track);
        let mut seen: BTreeSet<Extent> = BTreeSet::new();
        let mut queue = VecDeque::from([Extent::default()]);
        while let Some(extent) = queue.pop_front() {
            let walks = [0, 1].map(|side| self.walk(side, &extent[side]));
            let nearest = [walks[0].nearest, walks[1].nearest];
            let shortest = match nearest {
                [Some((left, _)), Some((right, _))] => Some(length_of(left + own + right)),
                _ => None,
            };
            let ways_on: Vec<(usize, Bond)> = if shortest
                .is_none_or(|shortest| shortest.value() > train.value())
            {
                let Some(dead) = self.left_dead(&extent) else { return Some((extent, shortest)) };
                (0..2)
                    .filter(|&side| self.leads_to(side, &walks[side], dead))
                    .map(|side| (side, dead))
                    .collect()
            } else {
                let behind =
                    |(side, nearest): (usize, Option<(Micrometres, Option<Bond>)>)| Some((side, nearest?.1?));
                nearest.into_iter().enumerate().filter_map(behind).collect()
            };
            for (side, joint) in ways_on {
                let mut next = extent.clone();
                next[side].insert(joint);
                let tries_left = self.tries_left.get();
                if tries_left > 0
                    && seen.len() < TRIES_MAX
                    && next.iter().map(BTreeSet::len).sum::<usize>() <= JOINTS_MAX
                    && self.may_take(&extent, side, joint)
                    && seen.insert(next.clone())
                {
                    self.tries_left.set(tries_left - 1);
                    queue.push_back(next);
                }
            }
        }
        None
    }

    /// Whether a track stays outside, cut where it meets the section.
    fn is_barred(&self, track: TrackId) -> bool {
        let beyond = |end: &Port| {
            matches!(self.network.joint(end.joint).kind, JointKind::End { is: EndKind::Beyond, .. })
        };
        self.taken.tracks.contains(&track)
            || self.network.track(track).ends.iter().any(beyond)
            || self.districts[track.index()] != self.districts[self.track.index()]
    }

    /// Walks as a train would, from the track out of one of its ends, as far as the joints taken in go.
    fn walk(&self, side: usize, inside: &BTreeSet<Bond>) -> Walk {
        let mut walk = Walk::default();
        let mut seen: BTreeSet<Port> = BTreeSet::new();
        let mut heap = BinaryHeap::from([Reverse((0, self.ends[side]))]);
        while let Some(Reverse((far, port))) = heap.pop() {
            if !seen.insert(port) {
                continue;
            }
            // At an end a train goes no further; a turntable's bridge takes the polarity of the track.
            let Some(whole) = whole_at(self.network, port) else { continue };
            if !inside.contains(&whole) {
                walk.nearest.get_or_insert((far, Some(whole)));
                continue;
            }
            let joint = self.network.joint(port.joint);
            for out in joint.moves.iter().filter_map(|way| way.from(port.port)) {
                let track = joint.tracks[usize::from(out)];
                if track == self.track {
                    continue;
                }
                if self.is_barred(track) {
                    walk.nearest.get_or_insert((far, None));
                    continue;
                }
                walk.reached.insert(track);
                let further = far + self.length_of(track);
                heap.push(Reverse((further, self.network.across(Port { joint: port.joint, port: out }))));
            }
        }
        walk
    }

    /// Whether a joint may be taken in on this side: nothing else has it, and no track leads from it to the other side.
    fn may_take(&self, extent: &Extent, side: usize, joint: Bond) -> bool {
        let other = &extent[1 - side];
        let free = !self.taken.joints.contains(&joint) && !self.taken.links.contains(&joint.joint);
        let meets = whole_at(self.network, self.ends[1 - side]) == Some(joint) || other.contains(&joint);
        free && !meets
            && ports_of(self.network, joint).all(|port| {
                let track = self.network.joint(port.joint).tracks[usize::from(port.port)];
                let beyond = whole_at(self.network, self.network.across(port));
                track == self.track || self.is_barred(track) || beyond.is_none_or(|at| !other.contains(&at))
            })
    }

    /// A joint outside all of whose legs are cut, so that nothing feeds it.
    fn left_dead(&self, extent: &Extent) -> Option<Bond> {
        let (_, cuts) = self.tracks_and_cuts(extent);
        let cut = |port: Port| cuts.contains(&port) || self.taken.cuts.contains(&port);
        let mut outside = cuts.iter().filter_map(|&port| whole_at(self.network, port));
        outside.find(|whole| {
            extent.iter().all(|side| !side.contains(whole)) && ports_of(self.network, *whole).all(cut)
        })
    }

    /// Whether a track of the section comes to this joint on this side.
    fn leads_to(&self, side: usize, walk: &Walk, joint: Bond) -> bool {
        ports_of(self.network, joint).any(|port| {
            port == self.ends[side]
                || walk.reached.contains(&self.network.joint(port.joint).tracks[usize::from(port.port)])
        })
    }

    fn tracks_and_cuts(&self, extent: &Extent) -> (BTreeSet<TrackId>, BTreeSet<Port>) {
        let network = self.network;
        let mut tracks = BTreeSet::from([self.track]);
        let mut cuts = BTreeSet::new();
        for (side, inside) in extent.iter().enumerate() {
            let is_inside = |port: Port| whole_at(network, port).is_some_and(|at| inside.contains(&at));
            let legs = || inside.iter().flat_map(|&joint| ports_of(network, joint));
            let track_at = |port: Port| network.joint(port.joint).tracks[usize::from(port.port)];
            let mut own = self.walk(side, inside).reached;
            // A track with both ends at these joints belongs to them, whether trains from this one reach it or not.
            own.extend(
                legs()
                    .filter(|&leg| is_inside(network.across(leg)))
                    .map(track_at)
                    .filter(|&track| track != self.track && !self.is_barred(track)),
            );
            let ends = own.iter().flat_map(|&track| network.track(track).ends).chain([self.ends[side]]);
            cuts.extend(ends.filter(|&end| whole_at(network, end).is_some() && !is_inside(end)));
            cuts.extend(legs().filter(|&leg| leg != self.ends[side] && !own.contains(&track_at(leg))));
            tracks.extend(own);
        }
        (tracks, cuts)
    }

    fn build(&self, extent: &Extent, shortest: Option<Length>, why: Because) -> Section {
        let (tracks, cuts) = self.tracks_and_cuts(extent);
        let lengths: Option<Vec<Length>> =
            tracks.iter().map(|&track| self.network.track(track).length).collect();
        Section {
            piece: Piece::Track(self.track),
            tracks: Decided::new(tracks.into_iter().collect(), why),
            joints: extent.iter().flatten().copied().collect(),
            cuts: cuts.into_iter().collect(),
            length: lengths.map(|lengths| lengths.into_iter().sum()),
            shortest,
            unmeasured: Vec::new(),
        }
    }
}
