//! Tests of the drawings, one binary.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

/// Layouts to draw: reference networks, small ones by hand, random ones.
mod layouts;

/// What must hold of every diagram, computed from its strokes.
mod laws;

/// That the counts of the laws see what they are for.
mod counts;

/// Heights and bends against a published method.
mod published;

/// What `[drawing]` pins.
mod nudges;

/// Small layouts, each with the one thing it is about.
mod shapes;

/// The file: well-formed, true to scale, tagged, the same every time.
mod file;

/// The sheets at 1:1: fascia map and number plates.
mod sheets;

/// The gap plan: both rails are open at every gap, and only there.
mod gaps;

/// The diode matrix: what its picture says is what the plan says.
mod matrix;

/// From the other side of the railroad.
mod back;

/// Letters and angles.
mod letters;

/// Colours: contrast, colour-vision deficiencies, grey print.
mod colours;

/// Maps of panels.
mod panel_maps;
/// Fascias, templates, tiles.
mod panels;
/// The other writers: PNG, DXF, and what a renderer makes of the SVG.
mod writers;

/// Labels and their codes.
mod labels;

/// Plans of buses and the charts of their drop.
mod buses;
/// One packet along time.
mod waveform;
