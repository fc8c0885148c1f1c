//! A plan as strokes, marks and words at exact places, and those as SVG, DXF and PNG.
//!
//! [`schematic()`] draws the track diagram of a plan from topology and handedness alone; [`map()`] makes the small one for the
//! fascia, [`plates()`] the number plates, both at 1:1; [`gap_plan()`] shows where both rails are cut, [`matrix()`] the
//! diode matrix of one-push routes, [`bus_plan()`] and [`drop_chart()`] a bus and the volts along it. Each gives a [`scene::Scene`], which [`svg::write`], [`dxf::write`] and [`png::write`]
//! turn into files. [`measures()`] counts, from the finished strokes and by other means than the layout used,
//! what is good and bad about a diagram.
//!
//! Nothing here chooses anything about the railroad: numbers, lines and positions come from the plan. Every millimetre
//! and colour stands in [`sheet`]. The same plan gives the same bytes.

mod bus;
mod compose;
pub mod dxf;
mod figure;
pub mod fonts;
mod gaps;
mod label;
mod labels;
mod map;
mod matrix;
mod measures;
mod nudges;
mod outline;
mod panel;
mod panel_map;
mod pen;
mod places;
mod plates;
pub mod png;
mod qr;
pub mod scene;
mod schematic;
pub mod sheet;
pub mod svg;
mod territory;
mod tiles;
pub mod waveform;

pub use bus::{bus_plan, drop_chart};
pub use gaps::{DrawnGap, GapPlan, gap_plan, gap_plan_seen};
pub use labels::{Grid, labels, labels_at};
pub use map::{map, map_of, map_seen};
pub use matrix::{MATRIX_SHEETS_MAX, MatrixDrawing, matrix};
pub use measures::{Measures, measures};
pub use nudges::{unheld, unheld_nudges};
pub use panel::{HoleRow, check_panels, hole_rows, panel_cut, panel_face, template};
pub use panel_map::{index_map, panel_map};
pub use plates::plates;
pub use schematic::{
    DrawnConnector, DrawnEnd, DrawnInner, DrawnLeg, DrawnMachine, DrawnNumber, DrawnTrack, Operator,
    Schematic, schematic, schematic_of, schematic_of_seen, schematic_seen,
};
pub use tiles::{Tile, tile_windows, tiles};
