//! Every millimetre and every colour of the drafting sheet, named once.
//!
//! Lengths are whole micrometres, so that a drawing is the same to the last digit on every machine. Angles are level,
//! 30° and 60° and come from a table of whole numbers; no trigonometry is done anywhere.
//!
//! Sizes that the trade leaves open (how far tracks lie apart, how long a leg's gap is) are common practice of the
//! drawing board, no source: chosen so that a number of 4 mm stands between two parallel tracks.

/// A length in micrometres.
pub type Um = i64;

/// One millimetre.
pub const MM: Um = 1_000;

/// Width of a track of the main in 1:1 output.
pub const MAIN_WIDTH: Um = 2_000;
/// Width of any other track in 1:1 output.
pub const TRACK_WIDTH: Um = 1_200;
/// Width of leaders, frames and cutting lines.
pub const HAIR_WIDTH: Um = 250;

/// Least distance of parallel tracks: one level.
pub const LEVEL_PITCH: Um = 11 * MM;
/// How far a leg at 30° runs across while it climbs one level: 11 mm · √3, rounded to the micrometre.
pub const SLANT_RUN: Um = 19_053;
/// How far a leg at 60° runs across while it climbs one level: 11 mm / √3, rounded to the micrometre.
pub const STEEP_RUN: Um = 6_351;
/// Legs that climb this many levels or more run at 60°, to save width; lower ones at 30°.
pub const STEEP_LEVELS: i64 = 3;
/// How far a leg is drawn away from its joint when it is not set: past the stroke of the other leg, with clear paper
/// after it.
pub const LEG_GAP: Um = 6_500;
/// How far a leg that is set reaches into the rest of its track, so that no seam shows.
pub const LEG_LAP: Um = 200;
/// How far from the middle of a slip its curves begin and end.
pub const SLIP_REACH: Um = 10_500;

/// Least distance of two joints along a track.
pub const JOINT_GAP: Um = 17 * MM;
/// Least level run between the end of a slanted leg and the next joint.
pub const LANDING_GAP: Um = 10 * MM;
/// Least level run of a track without a joint on it.
pub const RUN_MIN: Um = 14 * MM;
/// Length of a stub that ends at a bumper, where its name asks for no more.
pub const STUB_LENGTH: Um = 30 * MM;
/// Length of the stub up to a lettered connector.
pub const CONNECTOR_STUB: Um = 16 * MM;
/// Clear paper between two tracks that follow one another on one level.
pub const LEVEL_GAP: Um = 9 * MM;
/// How far apart the two ends of a slip's or three-way's marks lie from its middle.
pub const TWIN_MARK_OFFSET: Um = 4_500;
/// Distance, at the rim of a turntable's pit, between the strokes of neighbouring stalls.
pub const STALL_PITCH: Um = 4 * MM;
/// Rim of the pit beyond its outermost stall.
pub const PIT_MARGIN: Um = 4 * MM;
/// Least radius of a pit.
pub const PIT_RADIUS_MIN: Um = 8 * MM;
/// Levels left free between parts of a railroad that are not joined.
pub const PART_SPACING: i64 = 2;

/// Diameter of a machine's mark.
pub const MARK_SIZE: Um = 3_400;
/// Ring of paper round a mark.
pub const MARK_HALO: Um = 500;
/// Height of the bar of a bumper.
pub const BAR_HEIGHT: Um = 5 * MM;
/// Length of the arrow where a track goes on past the sheet.
pub const ARROW_SIZE: Um = 4 * MM;
/// Diameter of a lettered connector.
pub const CONNECTOR_SIZE: Um = 5_600;

/// Height of the digits of lever numbers in 1:1 output.
pub const NUMBER_HEIGHT: Um = 4 * MM;
/// Height of the capitals in names of ends.
pub const END_NAME_HEIGHT: Um = 2_800;
/// Height of the capitals in names of tracks.
pub const TRACK_NAME_HEIGHT: Um = 2_400;
/// Height of the letter in a connector.
pub const CONNECTOR_LETTER_HEIGHT: Um = 2_600;
/// The widest a name gets before it is shortened.
pub const NAME_WIDTH_MAX: Um = 42 * MM;
/// The widest a lever's label gets before it is shortened.
pub const NUMBER_WIDTH_MAX: Um = 24 * MM;
/// Clear paper between a word and whatever is nearest.
pub const WORD_CLEARANCE: Um = 700;
/// Clear paper between an end's mark and its name.
pub const END_NAME_GAP: Um = 1_500;

/// Clear paper round the whole drawing.
pub const SCHEMATIC_MARGIN: Um = 8 * MM;

/// Heights tried for the numbers of a fascia map, in order; the first at which all fit is taken.
pub const MAP_NUMBER_HEIGHTS: [Um; 4] = [4 * MM, 3_200, 2_600, 2 * MM];
/// Clear paper inside the frame of a fascia map.
pub const MAP_MARGIN: Um = 4 * MM;
/// Thinnest stroke of the main on a fascia map.
pub const MAP_MAIN_MIN: Um = 900;
/// Thinnest stroke of any other track on a fascia map.
pub const MAP_TRACK_MIN: Um = 550;
/// Least clear paper round a number on a fascia map.
pub const MAP_CLEARANCE_MIN: Um = 350;
/// Smallest mark on a fascia map.
pub const MAP_MARK_MIN: Um = 1_600;

/// Width of a number plate.
pub const PLATE_WIDTH: Um = 30 * MM;
/// Height of a number plate.
pub const PLATE_HEIGHT: Um = 14 * MM;
/// Height of the digits on a number plate.
pub const PLATE_NUMBER_HEIGHT: Um = 6 * MM;
/// Height of the capitals of the name on a number plate.
pub const PLATE_NAME_HEIGHT: Um = 1_900;
/// How far the cross through the middle of a hole reaches past its rim.
pub const HOLE_CROSS: Um = 1_500;
/// How far an outline cut into straight pieces may be from the curve of its letter.
pub const OUTLINE_ERROR: Um = 10;
/// The most dots that a picture may have: 400 MB while it is made.
pub const DOTS_MAX: u64 = 100_000_000;
/// Length of the bar that proves the scale of a sheet.
pub const MEASURING_BAR: Um = 100 * MM;
/// Margin of a sheet of plates.
pub const PLATE_SHEET_MARGIN: Um = 15 * MM;
/// Room at the foot of a sheet of plates for the measuring bar.
pub const MEASURING_FOOT: Um = 16 * MM;

/// Distance of the two rails of a track on the gap plan, middle to middle.
pub const GAUGE: Um = 2_400;
/// Width of one rail.
pub const RAIL_WIDTH: Um = 600;
/// Width of a track that is drawn as one stroke on the gap plan.
pub const PLAIN_TRACK_WIDTH: Um = 800;
/// How far from its joint a gap is drawn, where its track is long enough.
pub const GAP_AT: Um = 10 * MM;
/// How far both rails stand apart at a gap.
pub const GAP_OPENING: Um = 1_800;
/// How far on both sides of a gap a track is drawn as two rails.
pub const GAP_REACH: Um = 7_500;
/// Height of the capitals in a gap's number.
pub const GAP_NAME_HEIGHT: Um = 2_800;

/// The room for a diode matrix on a sheet that lies on its side, of either paper, under its title.
pub const MATRIX_ROOM: (Um, Um) = (245 * MM, 122 * MM);
/// Clear paper round a diode matrix.
pub const MATRIX_MARGIN: Um = MM;
/// Room for what a row is called.
pub const MATRIX_LABEL_WIDTH: Um = 48 * MM;
/// Room for what a column is called.
pub const MATRIX_HEAD_HEIGHT: Um = 8 * MM;
/// Distance of two rows.
pub const MATRIX_ROW_PITCH: Um = 3_800;
/// Least distance of two columns.
pub const MATRIX_COLUMN_PITCH: Um = 4_200;
/// Clear paper between the names of two columns.
pub const MATRIX_HEAD_GAP: Um = 1_200;
/// Height of the capitals in the names of rows and columns.
pub const MATRIX_LETTER_HEIGHT: Um = 1_900;
/// Size of the sign of a position over a column.
pub const MATRIX_HEAD_MARK: Um = 1_700;
/// Height and width of a diode.
pub const DIODE_SIZE: Um = 2_000;
/// Least web of a panel that is left between the edges of two holes, and between a hole and the panel's edge.
///
/// # Source
/// Common practice, no source.
pub const HOLE_GAP_MIN: Um = 3 * MM;
/// Least clear room between the nuts of two neighbours, for a spanner.
///
/// # Source
/// Common practice, no source.
pub const NUT_GAP_MIN: Um = 2 * MM;
/// Clear room between a button's nut and a track that is not its own.
pub const NUT_TRACK_GAP: Um = 500;
/// The border of a fascia that is kept clear, where the user gives none.
pub const PANEL_MARGIN: Um = 12 * MM;
/// The hole that a fascia is fixed by, where the user gives none: for a screw of 4 mm.
pub const PANEL_FIXING_HOLE: Um = 4_500;
/// Farther apart than this a fascia is not fixed.
pub const PANEL_FIXING_SPACING: Um = 300 * MM;
/// Height of the capitals of a fascia's title.
pub const PANEL_TITLE_HEIGHT: Um = 4_500;
/// Height of the capitals of a fascia's legend, and of what stands beside its title.
pub const PANEL_LEGEND_HEIGHT: Um = 2_200;
/// Room for the title at the top of a fascia.
pub const PANEL_TITLE_ROOM: Um = 9 * MM;
/// Room for the legend at the foot of a fascia.
pub const PANEL_LEGEND_ROOM: Um = 7 * MM;
/// Sizes of fascias that the user leaves open are rounded up to this.
pub const PANEL_ROUNDING: Um = 10 * MM;

/// Width of what is drawn of a bus: a sheet of either paper, upright and punched.
pub const BUS_WIDTH: Um = 170 * MM;
/// Clear paper round a bus plan.
pub const BUS_MARGIN: Um = 2 * MM;
/// Distance of two rows of a bus plan.
pub const BUS_ROW_PITCH: Um = 20 * MM;
/// The most places that stand in one row of a bus plan.
pub const BUS_PLACES_IN_ROW: usize = 7;
/// Height of the capitals on what is drawn of a bus.
pub const BUS_LETTER_HEIGHT: Um = 2_200;
/// A drop chart.
pub const BUS_CHART_SIZE: (Um, Um) = (BUS_WIDTH, 74 * MM);

/// Clear paper round what a tile shows of something larger than the paper.
pub const TILE_MARGIN: Um = 14 * MM;
/// Room at the foot of a tile for its measuring bar and its name.
pub const TILE_FOOT: Um = 22 * MM;
/// How much neighbouring tiles show of the same.
pub const TILE_OVERLAP: Um = 15 * MM;
/// Length of the marks along which tiles are cropped.
pub const CROP_LENGTH: Um = 6 * MM;

/// Margins of a sheet of labels, where the user gives none.
pub const LABEL_MARGINS: Um = 12 * MM;
/// Narrowest label.
pub const LABEL_WIDTH_MIN: Um = 15 * MM;
/// Lowest label.
pub const LABEL_HEIGHT_MIN: Um = 8 * MM;
/// Clear paper inside a label's edge.
pub const LABEL_PADDING: Um = 1_500;
/// Tallest capitals of the rows on a label.
pub const LABEL_TEXT_MAX: Um = 2_600;

/// Clear paper round a packet drawn along time.
pub const WAVE_MARGIN: Um = 8 * MM;
/// Room for what a row of it is called.
pub const WAVE_LABEL_WIDTH: Um = 34 * MM;
/// Least room for the half bits of a row: nine 0 bits.
pub const WAVE_ROOM_MIN: Um = 90 * MM;
/// Distance of two rows.
pub const WAVE_ROW_PITCH: Um = 16 * MM;
/// How far the high level lies above the low one.
pub const WAVE_HIGH: Um = 7 * MM;
/// Width of the stroke.
pub const WAVE_WIDTH: Um = 600;
/// Nanoseconds to a micrometre of paper.
pub const WAVE_NS_PER_UM: u64 = 20;
/// The longest that a half bit is drawn.
pub const WAVE_CUT: Um = 14 * MM;
/// Height of the letters.
pub const WAVE_LETTER_HEIGHT: Um = 2_400;
/// Height of the letters of the title.
pub const WAVE_TITLE_HEIGHT: Um = 3_200;

/// A4 upright.
///
/// # Source
/// ISO 216.
pub const A4: (Um, Um) = (210 * MM, 297 * MM);
/// Letter upright: 8.5 by 11 in.
///
/// # Source
/// ANSI/ASME Y14.1, size A.
pub const LETTER: (Um, Um) = (215_900, 279_400);

/// What a thing is drawn with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ink {
    /// Lines and words.
    Ink,
    /// Rules that stay in the background.
    Faint,
    /// Words that stay in the background.
    Quiet,
    /// A machine that stands normal.
    Normal,
    /// A machine that stands reverse.
    Reverse,
    /// A machine of unknown position.
    Unknown,
    /// Something wrong.
    Fault,
    /// The band under a set route.
    Band,
    /// The sheet itself.
    Paper,
}

impl Ink {
    /// Its colour as `#RRGGBB`.
    pub const fn colour(self) -> &'static str {
        match self {
            Self::Ink => "#1F2933",
            Self::Faint => "#D8D3C8",
            Self::Quiet => "#5B6670",
            Self::Normal => "#0B7285",
            Self::Reverse => "#C2410C",
            Self::Unknown => "#8A929A",
            Self::Fault => "#A61E4D",
            Self::Band => "#BFE3E0",
            Self::Paper => "#FBFAF7",
        }
    }

    /// Its colour as red, green and blue.
    pub fn channels(self) -> [u8; 3] {
        [1, 3, 5].map(|from| {
            let digits = self.colour().get(from..from + 2).unwrap_or_default();
            u8::from_str_radix(digits, 16).unwrap_or(0)
        })
    }
}
