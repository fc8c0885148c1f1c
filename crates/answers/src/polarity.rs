//! `show polarity`.

use crate::{SCHEMA, because};
use notice::natural;
use plan::model::{Feed, Gap, Plan, ReversingSection};
use serde::Serialize;
use std::collections::BTreeMap;

/// `show polarity`: where the rails are cut, and how frogs are fed.
#[derive(Debug, Serialize)]
pub struct PolarityAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// True when the rails meet nowhere crossed.
    pub consistent: bool,
    /// The pieces that polarity turns over in.
    pub reversing_sections: Vec<SectionRow>,
    /// Every gap: of the reversing sections, and where districts meet.
    pub gaps: Vec<GapRow>,
    /// The fewest tracks to gap for polarity.
    pub fewest: usize,
    /// Whether fewer will not do, for certain.
    pub proven: bool,
    /// The power districts, in natural order.
    pub districts: Vec<DistrictRow>,
    /// Every frog, joint by joint.
    pub frogs: Vec<FrogRow>,
}

/// A reversing section.
#[derive(Debug, Serialize)]
pub struct SectionRow {
    /// Its tracks.
    pub tracks: Vec<String>,
    /// How long they are together; null where that is not known.
    pub length_m: Option<f64>,
    /// The shortest way of a train through it that turns polarity over; null where that is not known or there is none.
    pub shortest_m: Option<f64>,
    /// Where its ends are cut; each with its track where the section has several, or where the track is not its own.
    pub gaps: Vec<String>,
    /// Why it has these tracks.
    pub because: Vec<String>,
}

/// Both rails cut at one end of a track.
#[derive(Debug, Serialize)]
pub struct GapRow {
    /// The track.
    pub track: String,
    /// Which end.
    pub end: String,
    /// Why.
    pub why: String,
}

/// A power district.
#[derive(Debug, Serialize)]
pub struct DistrictRow {
    /// Its name.
    pub district: String,
    /// Its tracks, in natural order.
    pub tracks: Vec<DistrictTrackRow>,
}

/// A track of a district.
#[derive(Debug, Serialize)]
pub struct DistrictTrackRow {
    /// The track.
    pub track: String,
    /// Why it belongs there.
    pub because: Vec<String>,
}

/// A frog.
#[derive(Debug, Serialize)]
pub struct FrogRow {
    /// The joint it lies in.
    pub joint: String,
    /// Which of its frogs.
    pub frog: String,
    /// `"switched"`, `"polarity unit"` or `"dead"`.
    pub feed: &'static str,
    /// The machine whose contact feeds it; null where none does.
    pub machine: Option<String>,
    /// Why.
    pub because: Vec<String>,
}

/// Answers `show polarity`.
pub fn polarity(plan: &Plan) -> PolarityAnswer {
    let mut gaps_of: Vec<Vec<&Gap>> = vec![Vec::new(); plan.reversing.len()];
    for gap in &plan.gaps {
        for &section in &gap.sections {
            gaps_of[section].push(gap);
        }
    }
    PolarityAnswer {
        schema: SCHEMA,
        consistent: plan.reversing.is_empty(),
        reversing_sections: plan
            .reversing
            .iter()
            .zip(&gaps_of)
            .map(|(section, gaps)| section_row(plan, section, gaps))
            .collect(),
        gaps: plan
            .gaps
            .iter()
            .map(|gap| GapRow {
                track: gap.track.clone(),
                end: gap.end.clone(),
                why: because(&gap.why).join("; "),
            })
            .collect(),
        fewest: plan.reversing.len(),
        proven: plan.gaps_fewest == plan.reversing.len(),
        districts: districts(plan),
        frogs: frogs(plan),
    }
}

fn section_row(plan: &Plan, section: &ReversingSection, gaps: &[&Gap]) -> SectionRow {
    let tracks: Vec<String> =
        section.tracks.value.iter().map(|&track| plan.network.track(track).name.clone()).collect();
    let own = |gap: &Gap| gap.piece == section.piece && tracks.len() <= 1;
    let words = |gap: &Gap| if own(gap) { gap.end.clone() } else { format!("{} {}", gap.track, gap.end) };
    SectionRow {
        gaps: gaps.iter().map(|gap| words(gap)).collect(),
        length_m: section.length.map(measure::Length::value),
        shortest_m: section.shortest.map(measure::Length::value),
        because: because(&section.tracks),
        tracks: if tracks.is_empty() { vec![section.name.clone()] } else { tracks },
    }
}

fn districts(plan: &Plan) -> Vec<DistrictRow> {
    let mut tracks_of: BTreeMap<&str, Vec<DistrictTrackRow>> = BTreeMap::new();
    for (track, district) in plan.network.tracks.iter().zip(&plan.districts) {
        if let Some(district) = district {
            let row = DistrictTrackRow { track: track.name.clone(), because: because(district) };
            tracks_of.entry(&district.value).or_default().push(row);
        }
    }
    let mut rows: Vec<DistrictRow> = tracks_of
        .into_iter()
        .map(|(district, tracks)| DistrictRow { district: district.to_owned(), tracks })
        .collect();
    rows.sort_by(|a, b| natural(&a.district, &b.district));
    rows
}

fn frogs(plan: &Plan) -> Vec<FrogRow> {
    plan.frogs
        .iter()
        .map(|frog| FrogRow {
            joint: plan.network.joint(frog.joint).id.clone(),
            frog: frog.name.to_owned(),
            feed: frog.feed.value.word(),
            machine: match frog.feed.value {
                Feed::Contact(machine) => machine.map(|machine| plan.network.machine(machine).name.clone()),
                Feed::PolarityUnit | Feed::Dead => None,
            },
            because: because(&frog.feed),
        })
        .collect()
}
