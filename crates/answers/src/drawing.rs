//! `show drawing`.

use crate::SCHEMA;
use draw::Measures;
use serde::Serialize;

/// `show drawing`: what is good and bad about the track diagram, counted from its strokes.
#[derive(Debug, Serialize)]
pub struct DrawingAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Highest minus lowest level, in the least distance of parallel tracks.
    pub height: i64,
    /// Rightmost minus leftmost place, in the same unit.
    pub width: i64,
    /// Changes of direction along tracks, between joints.
    pub bends: usize,
    /// Places where strokes cross that no track has.
    pub crossings: usize,
    /// Crossings that the track has.
    pub track_crossings: usize,
    /// Whether no drawing has fewer crossings, nor as few and less height, for certain.
    pub proven: bool,
    /// No drawing with the same legs level has less height than this; null where that was not worked out.
    pub height_bound: Option<i64>,
    /// Joints whose legs turn the wrong way.
    pub hand_errors: usize,
    /// Words over one another, over a stroke or off the sheet.
    pub overlaps: usize,
    /// Tracks that are drawn as two stubs with the same letter.
    pub cuts: usize,
    /// How long the drawing took.
    pub seconds: f64,
}

/// Answers `show drawing`; how long it took is the caller's to measure.
pub fn drawing(measures: &Measures, height_bound: Option<i64>, seconds: f64) -> DrawingAnswer {
    DrawingAnswer {
        schema: SCHEMA,
        height: measures.height(),
        width: measures.width(),
        bends: measures.bends,
        crossings: measures.crossings,
        track_crossings: measures.track_crossings,
        proven: measures.crossings == 0 && measures.cuts == 0 && Some(measures.height()) == height_bound,
        height_bound,
        hand_errors: measures.hand_errors,
        overlaps: measures.overlaps,
        cuts: measures.cuts,
        seconds,
    }
}
