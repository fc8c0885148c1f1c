//! What a description says of sheets: labels and the track diagram.

use super::Name;
use measure::Length;
use notice::Spanned;

/// `[labels]`: the sheets that labels are printed on. Without `columns` and `rows` they are cut out of plain paper.
#[derive(Clone, Debug, Default)]
pub struct Labels {
    /// Labels beside one another on a sheet.
    pub columns: Option<Spanned<u16>>,
    /// Labels above one another on a sheet.
    pub rows: Option<Spanned<u16>>,
    /// The margin of the sheet.
    pub margins: Option<Spanned<Length>>,
    /// The margin left and right, where it is another.
    pub side_margins: Option<Spanned<Length>>,
    /// What is left between two columns.
    pub gap: Option<Spanned<Length>>,
    /// Where the live panel is served; labels of decoders lead there.
    pub link: Option<Name>,
}

/// The highest and lowest level that a track can be pinned to.
pub const LEVEL_MAX: i16 = 100;

/// `[drawing]`: what is pinned of the track diagram.
#[derive(Clone, Debug, Default)]
pub struct Drawing {
    /// Turnouts whose diverging leg is drawn straight on from the points.
    pub straight: Vec<Name>,
    /// Joints from left to right.
    pub order: Vec<Vec<Name>>,
    /// Levels of tracks, counted upward from the first line.
    pub levels: Vec<(Name, Spanned<i16>)>,
}
