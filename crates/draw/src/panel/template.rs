//! The sheets to drill a fascia by: the true view over a pale engraving, the view of its back, and the table of its holes.
//!
//! Each hole has its circle, a cross through its middle that reaches past it, and its id. On paper that is too small for the
//! panel the views come in tiles.

use super::fit::Fitted;
use super::table::{HoleRow, letter, rows};
use crate::fonts::Fonts;
use crate::label::Taken;
use crate::pen::{Pen, Type};
use crate::scene::{Area, Hole, Layer, Scene, Tag, Xy};
use crate::sheet::{
    HAIR_WIDTH, Ink, MEASURING_BAR, MM, PANEL_LEGEND_HEIGHT, PANEL_TITLE_HEIGHT, TILE_MARGIN, Um,
    WORD_CLEARANCE,
};
use crate::tiles::tiles;
use plan::model::{DeviceKind, Fascia, Plan};

/// Height of the capitals of ids beside holes.
const ID_HEIGHT: Um = 2_000;
/// How far the cross of a hole reaches past it.
const CROSS_PAST: Um = 2 * MM;
/// Height of a row of the table.
const ROW_HEIGHT: Um = 5_500;

/// All sheets of a template.
pub(super) fn sheets(
    plan: &Plan,
    fascia: &Fascia,
    fitted: &Fitted,
    face: &Scene,
    fonts: &Fonts,
) -> Vec<Scene> {
    let paper = super::paper(plan);
    let holes = rows(plan, fascia, fitted);
    let size = format!("{} × {} mm", mm(fitted.width), mm(fitted.height));
    let mut sheets = Vec::new();
    for (mirrored, says) in [(false, "front, true view"), (true, "back, mirrored")] {
        let view = view(fitted, face, &holes, mirrored, fonts);
        sheets.extend(tiles(&view, paper, &format!("Panel {} · {says} · {size}", fascia.panel)));
    }
    sheets.extend(table_sheets(plan, fascia, fitted, &holes, fonts));
    sheets
}

/// The whole panel at 1:1 with its holes marked.
fn view(fitted: &Fitted, face: &Scene, holes: &[HoleRow], mirrored: bool, fonts: &Fonts) -> Scene {
    let mut pen = Pen::on(fonts, face.title.clone(), (fitted.width, fitted.height));
    let mut taken = Taken::new(WORD_CLEARANCE / 2);
    if mirrored {
        let sheet = pen.scene.sheet();
        pen.rectangle(sheet, Layer::Cut, Ink::Ink, "outline");
    } else {
        for stroke in &face.strokes {
            let ink = if stroke.layer == Layer::Cut { stroke.ink } else { Ink::Faint };
            pen.scene.strokes.push(crate::scene::Stroke { ink, ..stroke.clone() });
        }
    }
    let places: Vec<(Xy, &HoleRow)> = holes
        .iter()
        .map(|hole| {
            let x = if mirrored { fitted.width - hole.x } else { hole.x };
            (Xy::new(x, fitted.height - hole.y), hole)
        })
        .collect();
    for &(at, hole) in &places {
        let reach = hole.diameter / 2 + CROSS_PAST;
        taken.add_area(Area::around(at, hole.diameter + MM, hole.diameter + MM));
        taken.add_stroke(&[Xy::new(at.x - reach, at.y), Xy::new(at.x + reach, at.y)], HAIR_WIDTH);
        taken.add_stroke(&[Xy::new(at.x, at.y - reach), Xy::new(at.x, at.y + reach)], HAIR_WIDTH);
    }
    for (at, hole) in places {
        add_hole(&mut pen, &mut taken, at, hole);
    }
    pen.scene
}

fn add_hole(pen: &mut Pen<'_>, taken: &mut Taken, at: Xy, hole: &HoleRow) {
    let reach = hole.diameter / 2 + CROSS_PAST;
    pen.scene.holes.push(Hole { at, diameter: hole.diameter, tag: Tag::class("hole") });
    for path in [
        [Xy::new(at.x - reach, at.y), Xy::new(at.x + reach, at.y)],
        [Xy::new(at.x, at.y - reach), Xy::new(at.x, at.y + reach)],
    ] {
        pen.stroke(&path, HAIR_WIDTH / 2, Layer::Drill, Ink::Ink, "centre-mark");
    }
    let look = Type::bold(ID_HEIGHT);
    let off = hole.diameter / 2 + WORD_CLEARANCE;
    let wide = pen.width(&hole.id, look);
    let sheet = pen.scene.sheet();
    let ring = [off, off + 2 * MM, off + 4 * MM];
    let places = ring.into_iter().flat_map(|off| {
        let side = off * 3 / 4;
        [
            Xy::new(at.x + side, at.y - side),
            Xy::new(at.x + side, at.y + side + ID_HEIGHT),
            Xy::new(at.x - side - wide, at.y - side),
            Xy::new(at.x - side - wide, at.y + side + ID_HEIGHT),
        ]
    });
    for foot in places {
        let words = pen.words(&hole.id, foot, wide, look, Tag::class("hole-id"));
        if sheet.holds(words.area) && taken.is_free(words.area) {
            taken.add_area(words.area);
            pen.scene.words.push(words);
            return;
        }
    }
}

/// The table of holes, on as many sheets as it takes.
fn table_sheets(
    plan: &Plan,
    fascia: &Fascia,
    fitted: &Fitted,
    holes: &[HoleRow],
    fonts: &Fonts,
) -> Vec<Scene> {
    let paper = super::paper(plan);
    let (left, right) = (TILE_MARGIN, paper.0 - TILE_MARGIN);
    let head = TILE_MARGIN + 24 * MM;
    let per_sheet = usize::try_from((paper.1 - head - 30 * MM) / ROW_HEIGHT).unwrap_or(1).max(1);
    let count = holes.len().div_ceil(per_sheet).max(1);
    let sheet = |index: usize| {
        let title = format!("{}: holes of panel {}", plan.network.described.layout.name, fascia.panel);
        let mut pen = Pen::on(fonts, title, paper);
        let name = format!("Holes of panel {}", fascia.panel);
        let at = Xy::new(left, TILE_MARGIN + PANEL_TITLE_HEIGHT);
        pen.write(&name, at, right - left, Type::bold(PANEL_TITLE_HEIGHT), Tag::class("title"));
        let kinds: Vec<&str> = [DeviceKind::Button, DeviceKind::Toggle, DeviceKind::Lamp]
            .into_iter()
            .filter(|kind| fascia.devices.iter().any(|device| device.kind == *kind))
            .map(letter)
            .collect();
        let says = format!(
            "{} × {} mm{} · x and y from the lower left corner of the front · {}, F: fixing",
            mm(fitted.width),
            mm(fitted.height),
            thickness(plan, fascia),
            kinds.join(", ")
        );
        let quiet = Type::plain(PANEL_LEGEND_HEIGHT).quiet();
        pen.write(&says, Xy::new(left, at.y + 7 * MM), right - left, quiet, Tag::class("words"));
        let shown = holes.iter().skip(index * per_sheet).take(per_sheet);
        add_rows(&mut pen, shown, [left, right], head);
        let place = format!("sheet {} of {count}", index + 1);
        let foot = paper.1 - TILE_MARGIN / 2;
        pen.bar(right - MEASURING_BAR, foot);
        pen.write(&place, Xy::new(left, foot), 60 * MM, quiet, Tag::class("sheet-place"));
        pen.scene
    };
    (0..count).map(sheet).collect()
}

fn thickness(plan: &Plan, fascia: &Fascia) -> String {
    super::facts(plan, fascia)
        .thickness
        .map_or_else(String::new, |thick| format!(", {} mm thick", mm(super::parts::um(thick.value))))
}

fn add_rows<'a>(
    pen: &mut Pen<'_>,
    holes: impl Iterator<Item = &'a HoleRow>,
    [left, right]: [Um; 2],
    head: Um,
) {
    let columns = [right - 46 * MM, right - 23 * MM, right];
    let [part, does] = [left + 14 * MM, left + 46 * MM];
    let bold = Type::bold(PANEL_LEGEND_HEIGHT);
    let plain = Type::plain(PANEL_LEGEND_HEIGHT);
    let room = [13 * MM, does - part - MM, columns[0] - 22 * MM - does];
    let row = |pen: &mut Pen<'_>, y: Um, cells: [&str; 6], look: Type| {
        let class = || Tag::class("hole-cell");
        pen.write(cells[0], Xy::new(left, y), room[0], bold, class());
        pen.write(cells[1], Xy::new(part, y), room[1], look, class());
        pen.write(cells[2], Xy::new(does, y), room[2], look, class());
        for (x, text) in columns.into_iter().zip(&cells[3..]) {
            pen.write(text, Xy::new(x, y), 22 * MM, look.right(), class());
        }
        let rule = [Xy::new(left, y + 1_500), Xy::new(right, y + 1_500)];
        pen.stroke(&rule, HAIR_WIDTH / 2, Layer::Frame, Ink::Faint, "rule");
    };
    row(pen, head, ["hole", "part", "what it does", "diameter mm", "x mm", "y mm"], bold);
    for (index, hole) in (1..).zip(holes) {
        let (diameter, x, y) = (mm(hole.diameter), mm(hole.x), mm(hole.y));
        let cells = [hole.id.as_str(), &hole.part, &hole.does, &diameter, &x, &y];
        row(pen, head + index * ROW_HEIGHT, cells, plain);
    }
}

/// Micrometres as millimetres with one place, as a rule is read.
fn mm(um: Um) -> String {
    let tenths = (um + 50) / 100;
    format!("{}.{}", tenths / 10, tenths % 10)
}
