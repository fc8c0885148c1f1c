//! Where the rails are cut, so that polarity clashes nowhere: reversing sections with a gap wherever they meet the rest,
//! and gaps where power districts meet.
//!
//! Which tracks become reversing sections is a matter of the network alone ([`network::follow_rails`]): as few as can be,
//! and of these the longest. How far each goes is decided in [`crate::section`]. A gap is two cuts, one in each rail, at
//! an end of a track, in front of a joint. Where a section and a district both end, one gap does.

use crate::district::district_borders;
use crate::model::{Gap, ReversingSection};
use crate::reason::{DISTRICTS_MEET, FEWEST_PROVEN, FEWEST_WITHIN, RAILS_MEET_CROSSED, SECTION_ENDS};
use crate::section::{Section, lay_sections, whole_at};
use network::{Bond, JointKind, Network, Piece, Polarity, Port, bond_at};
use notice::{Because, Decided};
use std::collections::{BTreeMap, BTreeSet};

/// The reversing sections of a network and every gap it needs.
pub(crate) fn place_gaps(
    network: &Network,
    polarity: &Polarity,
    districts: &[Option<&str>],
) -> (Vec<ReversingSection>, Vec<Gap>) {
    let sections = lay_sections(network, &polarity.reversing, districts);
    let how_sure = if polarity.proven() {
        Because::new(&FEWEST_PROVEN, [polarity.reversing.len().into()])
    } else {
        Because::new(&FEWEST_WITHIN, [polarity.reversing.len().into(), polarity.fewest_bound.into()])
    };
    let mut gaps = Gaps { network, list: Vec::new(), at: BTreeMap::new() };
    for (index, section) in sections.iter().enumerate() {
        let name = piece_name(network, section.piece);
        let crossed = Because::new(&RAILS_MEET_CROSSED, [name.as_str().into()]);
        let why = Decided::new((), crossed).and(how_sure.clone());
        let why = if section.tracks.value.len() > 1 {
            why.and(Because::new(&SECTION_ENDS, [name.as_str().into()]))
        } else {
            why
        };
        if let Piece::Link(..) = section.piece {
            gaps.cut(section.piece, None, Some(index), why.clone());
        }
        for &port in &section.cuts {
            let track = network.joint(port.joint).tracks[usize::from(port.port)];
            gaps.cut(Piece::Track(track), Some(port), Some(index), why.clone());
        }
    }
    let inside = district_inside(network, &sections, districts);
    let made: BTreeSet<(Piece, Option<Port>)> = gaps.at.keys().copied().collect();
    for border in district_borders(network, districts, |piece, at| made.contains(&(piece, at)), &inside) {
        let [first, second] = border.between;
        let why = Because::new(&DISTRICTS_MEET, [first.into(), second.into()]);
        gaps.cut(border.piece, border.at, None, Decided::new((), why));
    }
    let gaps = gaps.list;
    (sections.into_iter().map(|section| finished(network, section)).collect(), gaps)
}

fn finished(network: &Network, section: Section) -> ReversingSection {
    ReversingSection {
        name: piece_name(network, section.piece),
        piece: section.piece,
        tracks: section.tracks,
        length: section.length,
        shortest: section.shortest,
        unmeasured: section.unmeasured,
    }
}

/// The district of each bond that lies inside a section: that of the section.
fn district_inside<'a>(
    network: &Network,
    sections: &[Section],
    districts: &[Option<&'a str>],
) -> BTreeMap<Bond, &'a str> {
    let mut inside = BTreeMap::new();
    for section in sections {
        let Piece::Track(track) = section.piece else { continue };
        let Some(district) = districts[track.index()] else { continue };
        for joint in section.joints.iter().map(|whole| whole.joint) {
            let count = u8::try_from(network.joint(joint).tracks.len()).unwrap_or(u8::MAX);
            for port in (0..count).map(|port| Port { joint, port }) {
                if whole_at(network, port).is_some_and(|whole| section.joints.contains(&whole)) {
                    inside.extend(bond_at(network, port).map(|bond| (bond, district)));
                }
            }
        }
    }
    inside
}

/// The gaps so far, each once.
struct Gaps<'a> {
    network: &'a Network,
    list: Vec<Gap>,
    at: BTreeMap<(Piece, Option<Port>), usize>,
}

impl Gaps<'_> {
    fn cut(&mut self, piece: Piece, at: Option<Port>, section: Option<usize>, why: Decided<()>) {
        if let Some(&known) = self.at.get(&(piece, at)) {
            let gap = &mut self.list[known];
            gap.sections.extend(section);
            gap.why = why.because().cloned().fold(gap.why.clone(), Decided::and);
            return;
        }
        self.at.insert((piece, at), self.list.len());
        self.list.push(Gap {
            track: piece_name(self.network, piece),
            end: match at {
                Some(port) => end_words(self.network, port),
                None if section.is_some() => "both ends".to_owned(),
                None => "in its middle".to_owned(),
            },
            piece,
            at,
            sections: section.into_iter().collect(),
            why,
        });
    }
}

/// What a piece is called.
fn piece_name(network: &Network, piece: Piece) -> String {
    match piece {
        Piece::Track(track) => network.track(track).name.clone(),
        Piece::Link(joint, number) => {
            let joint = network.joint(joint);
            // The links of a scissors, in their order.
            let which = match (joint.kind, number) {
                (JointKind::Scissors, 0) => "A–D ",
                (JointKind::Scissors, 1) => "C–B ",
                (JointKind::Scissors, 2) => "A–B ",
                (JointKind::Scissors, 3) => "C–D ",
                _ => "",
            };
            format!("the link {which}of {}", joint.id)
        }
    }
}

/// Which end of a track, in words: "at the points of yard".
fn end_words(network: &Network, port: Port) -> String {
    let joint = network.joint(port.joint);
    let leg = match (joint.kind, port.port) {
        (JointKind::Turnout { .. } | JointKind::Wye | JointKind::Threeway, 0) => "the points of ",
        (JointKind::Turnout { .. } | JointKind::Threeway, 1) => "the through leg of ",
        (JointKind::Turnout { .. }, 2) => "the diverging leg of ",
        (JointKind::Wye, 1) | (JointKind::Threeway, 2) => "the left leg of ",
        (JointKind::Wye, 2) | (JointKind::Threeway, 3) => "the right leg of ",
        _ => "",
    };
    format!("at {leg}{}", joint.id)
}
