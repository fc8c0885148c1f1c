//! A scene as DXF: what a laser, a router or a drill follows, at true size.
//!
//! Millimetres, y upward from the lower left corner of the sheet, three layers: `CUT`, `ENGRAVE`, `DRILL`. What is for
//! paper only (bands, frames, bars to measure: [`Work::Print`]) and what is hidden stays out, so that no tool follows it.
//!
//! - A hole is a circle on `DRILL`; its middle is where to drill, so no cross is drawn in it.
//! - A track or leader is a polyline along its middle, as wide as its stroke: a cutter follows the middle, a program that
//!   shows widths shows the stroke. A cut is a polyline without width. Dashes are not kept: a tool follows the whole line.
//! - A word is the outline of its letters on `ENGRAVE`, closed rings. It could have been text, to be edited; but then the
//!   machine's own font would be engraved in place of the one drawn, wider or narrower, over its neighbours.
//! - Filled marks are their outlines, closed.
//!
//! The dates that the format asks for are one fixed day, its random identifiers zero, so the same scene gives the same
//! bytes.
//!
//! # Source
//! Autodesk, DXF Reference, release 2000 (AC1015): header variables `$INSUNITS` (4: millimetres) and `$TDCREATE` (a
//! Julian date), entities CIRCLE and LWPOLYLINE (group 43: constant width; flag 1: closed). Layer colours: common
//! practice, no source.

use crate::figure::{Figure, bar_width, figure};
use crate::fonts::Fonts;
use crate::outline::rings;
use crate::scene::{Hole, Layer, Mark, Scene, Stroke, Work, Xy};
use crate::sheet::{MM, Um};
use ::dxf::entities::{Circle, Entity, EntityType, LwPolyline};
use ::dxf::enums::{AcadVersion, DrawingUnits, Units};
use ::dxf::{Color, Drawing, LwPolylineVertex, Point};

/// The scene could not be written. Always a fault of this program, never of the scene.
#[derive(Debug, thiserror::Error)]
#[error(
    "the drawing could not be written as DXF, which is a fault in this program and not in the layout: {0}"
)]
pub struct Error(String);

/// The date of every file: noon of the first day of 2000, as a Julian date.
const DATE: &str = "2451545.0";

/// The scene as the bytes of a DXF file.
///
/// # Errors
/// The library that writes the format refuses, which no scene is known to bring about.
pub fn write(scene: &Scene) -> Result<Vec<u8>, Error> {
    let mut drawing = Drawing::new();
    set_header(&mut drawing, scene);
    for work in [Work::Cut, Work::Engrave, Work::Drill] {
        if let Some((name, colour)) = layer_of(work) {
            let color = Color::from_index(colour);
            drawing.add_layer(::dxf::tables::Layer { name: name.to_owned(), color, ..Default::default() });
        }
    }
    let mut writer = Writer { drawing, height: scene.height };
    for layer in Layer::ALL {
        for stroke in scene.strokes.iter().filter(|stroke| stroke.layer == layer && !stroke.hidden) {
            writer.add_stroke(stroke);
        }
        for mark in scene.marks.iter().filter(|mark| mark.layer == layer && !mark.hidden) {
            writer.add_mark(mark);
        }
    }
    let fonts = Fonts::read();
    for words in &scene.words {
        for ring in rings(words, &fonts) {
            writer.add_path(words.layer.work(), &ring, 0, true);
        }
    }
    scene.holes.iter().for_each(|hole| writer.add_hole(hole));
    let mut bytes = Vec::new();
    writer.drawing.save(&mut bytes).map_err(|error| Error(error.to_string()))?;
    String::from_utf8(bytes).map(|text| dated(&text)).map_err(|error| Error(error.to_string()))
}

/// The name and colour of the layer for a kind of work; none for paper.
const fn layer_of(work: Work) -> Option<(&'static str, u8)> {
    match work {
        Work::Print => None,
        Work::Cut => Some(("CUT", 1)),
        Work::Engrave => Some(("ENGRAVE", 5)),
        Work::Drill => Some(("DRILL", 3)),
    }
}

fn set_header(drawing: &mut Drawing, scene: &Scene) {
    let header = &mut drawing.header;
    header.version = AcadVersion::R2000;
    header.default_drawing_units = Units::Millimeters;
    header.drawing_units = DrawingUnits::Metric;
    header.maximum_drawing_extents = Point::new(mm(scene.width), mm(scene.height), 0.0);
    header.minimum_drawing_extents = Point::origin();
    header.maximum_drawing_limits = Point::new(mm(scene.width), mm(scene.height), 0.0);
    header.minimum_drawing_limits = Point::origin();
    // Random by default; all zero once taken.
    std::mem::take(&mut header.fingerprint_guid);
    std::mem::take(&mut header.version_guid);
}

/// The text of a file with the fixed date in the place of the clock's. The library counts days in the zone of the machine,
/// so a date given to it would still come out differently elsewhere.
fn dated(text: &str) -> Vec<u8> {
    let mut out = String::with_capacity(text.len());
    let mut until_date = None;
    for row in text.split_inclusive("\r\n") {
        match until_date {
            Some(0) => {
                out.push_str(DATE);
                out.push_str("\r\n");
                until_date = None;
                continue;
            }
            Some(rows) => until_date = Some(rows - 1),
            None => {}
        }
        if matches!(row.trim_end(), "$TDCREATE" | "$TDUCREATE" | "$TDUPDATE" | "$TDUUPDATE") {
            until_date = Some(1);
        }
        out.push_str(row);
    }
    out.into_bytes()
}

/// Micrometres as millimetres.
#[expect(clippy::cast_precision_loss, reason = "a sheet is metres at most: micrometres far below 2^52")]
fn mm(um: Um) -> f64 {
    um as f64 / MM as f64
}

struct Writer {
    drawing: Drawing,
    height: Um,
}

impl Writer {
    fn add(&mut self, work: Work, specific: EntityType) {
        let Some((name, _)) = layer_of(work) else { return };
        let mut entity = Entity::new(specific);
        name.clone_into(&mut entity.common.layer);
        self.drawing.add_entity(entity);
    }

    fn add_path(&mut self, work: Work, corners: &[Xy], width: Um, closed: bool) {
        let vertex =
            |at: &Xy| LwPolylineVertex { x: mm(at.x), y: mm(self.height - at.y), ..Default::default() };
        let vertices = corners.iter().map(vertex).collect();
        let line = LwPolyline {
            flags: i32::from(closed),
            constant_width: mm(width),
            vertices,
            ..Default::default()
        };
        self.add(work, EntityType::LwPolyline(line));
    }

    fn add_circle(&mut self, work: Work, at: Xy, radius: Um) {
        let center = Point::new(mm(at.x), mm(self.height - at.y), 0.0);
        self.add(work, EntityType::Circle(Circle { center, radius: mm(radius), ..Default::default() }));
    }

    fn add_stroke(&mut self, stroke: &Stroke) {
        let work = stroke.layer.work();
        let width = if work == Work::Engrave { stroke.width } else { 0 };
        let closed = stroke.path.len() > 3 && stroke.path.first() == stroke.path.last();
        let corners = if closed { &stroke.path[1..] } else { &stroke.path };
        self.add_path(work, corners, width, closed);
    }

    fn add_mark(&mut self, mark: &Mark) {
        let work = mark.layer.work();
        match figure(mark) {
            Figure::Circle(radius) => self.add_circle(work, mark.at, radius),
            Figure::Outline(corners) => self.add_path(work, &corners, 0, true),
            Figure::Bars(bars) => {
                for bar in &bars {
                    self.add_path(work, bar, bar_width(mark), false);
                }
            }
            Figure::Diode(corners, tip) => {
                self.add_path(work, &corners, 0, true);
                self.add_path(work, &tip, bar_width(mark), false);
            }
        }
    }

    fn add_hole(&mut self, hole: &Hole) {
        let center = Point::new(mm(hole.at.x), mm(self.height - hole.at.y), 0.0);
        let circle = Circle { center, radius: mm(hole.diameter) / 2.0, ..Default::default() };
        self.add(Work::Drill, EntityType::Circle(circle));
    }
}
