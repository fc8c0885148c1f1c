//! `show polarity`.

use crate::{SCHEMA, because};
use plan::model::Plan;
use serde::Serialize;

/// `show polarity`: where the rails are cut.
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
}

/// A reversing section.
#[derive(Debug, Serialize)]
pub struct SectionRow {
    /// Its tracks.
    pub tracks: Vec<String>,
    /// How long it is; null where that is not known.
    pub length_m: Option<f64>,
    /// Where its ends are cut.
    pub gaps: Vec<String>,
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

/// Answers `show polarity`.
pub fn polarity(plan: &Plan) -> PolarityAnswer {
    PolarityAnswer {
        schema: SCHEMA,
        consistent: plan.reversing.is_empty(),
        reversing_sections: plan
            .reversing
            .iter()
            .map(|section| SectionRow {
                tracks: vec![section.name.clone()],
                length_m: section.length.map(measure::Length::value),
                gaps: plan
                    .gaps
                    .iter()
                    .filter(|gap| gap.track == section.name)
                    .map(|gap| gap.end.clone())
                    .collect(),
            })
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
    }
}
