//! Labels on sheets: one to a cell of a grid, or packed on plain paper with lines to cut along.

use super::Set;
use super::content::{Kind, Label, labels_of};
use crate::fonts::Fonts;
use crate::pen::{Pen, Type};
use crate::scene::{Area, Layer, Scene, Tag, Xy};
use crate::sheet::{
    HAIR_WIDTH, Ink, LABEL_PADDING, LABEL_TEXT_MAX, MEASURING_BAR, MEASURING_FOOT, MM, PLATE_SHEET_MARGIN, Um,
};
use plan::model::Plan;

/// The size of a label that is cut out of plain paper.
fn plain_size(kind: Kind) -> (Um, Um) {
    match kind {
        Kind::Number => (crate::sheet::PLATE_WIDTH, crate::sheet::PLATE_HEIGHT),
        Kind::Decoder => (60 * MM, 30 * MM),
        Kind::Terminal => (22 * MM, 11 * MM),
        Kind::Flag => (60 * MM, 11 * MM),
    }
}

/// One label to a cell, kinds in order, in as many sheets as it takes.
pub(super) fn on_grid(plan: &Plan, paper: (Um, Um), set: &Set) -> Vec<Scene> {
    let fonts = Fonts::read();
    let kinds = [Kind::Number].into_iter().chain(super::KINDS);
    let labels: Vec<Label> = kinds.flat_map(|kind| labels_of(plan, kind)).collect();
    let columns = usize::from(set.grid.columns.max(1));
    let per_sheet = columns * usize::from(set.grid.rows.max(1));
    let um = |count: usize| Um::try_from(count).unwrap_or(0);
    let sheet = |labels: &[Label]| {
        let mut pen = Pen::on(&fonts, title(plan), paper);
        for (place, label) in labels.iter().enumerate() {
            let left = set.side + um(place % columns) * (set.width + set.gap);
            let top = set.margin + um(place / columns) * set.height;
            let cell = Area { left, top, right: left + set.width, bottom: top + set.height };
            add_label(&mut pen, label, cell);
        }
        // Where the margin is wide enough, the bar that proves the scale stands in it.
        if set.margin >= 12 * MM {
            pen.bar((paper.0 - MEASURING_BAR) / 2, paper.1 - 3 * MM);
        }
        pen.scene
    };
    labels.chunks(per_sheet).map(sheet).collect()
}

/// Each kind in its own size, packed from top to bottom, with lines to cut along.
pub(super) fn on_plain_paper(plan: &Plan, paper: (Um, Um)) -> Vec<Scene> {
    packed(plan, paper, None)
}

/// The same, of one place alone where one is named.
pub(super) fn packed(plan: &Plan, paper: (Um, Um), place: Option<&str>) -> Vec<Scene> {
    let fonts = Fonts::read();
    let mut sheets: Vec<Pen<'_>> = Vec::new();
    let foot = paper.1 - PLATE_SHEET_MARGIN - MEASURING_FOOT;
    let mut top = foot;
    for kind in super::KINDS {
        let mut labels = labels_of(plan, kind);
        labels.retain(|label| place.is_none_or(|place| label.at.iter().any(|at| at == place)));
        let (width, height) = plain_size(kind);
        let columns = ((paper.0 - 2 * PLATE_SHEET_MARGIN) / width).max(1);
        let left = (paper.0 - columns * width) / 2;
        let mut rest = labels.as_slice();
        while !rest.is_empty() {
            let rows_left = (foot - top) / height;
            if rows_left < 1 {
                let mut pen = Pen::on(&fonts, title(plan), paper);
                pen.bar((paper.0 - MEASURING_BAR) / 2, paper.1 - PLATE_SHEET_MARGIN);
                sheets.push(pen);
                top = PLATE_SHEET_MARGIN;
                continue;
            }
            let here = usize::try_from(rows_left * columns).unwrap_or(1).min(rest.len());
            let (block, after) = rest.split_at(here);
            rest = after;
            let Some(pen) = sheets.last_mut() else { break };
            top = add_block(pen, block, Xy::new(left, top), [columns, width, height]) + 5 * MM;
        }
    }
    sheets.into_iter().map(|pen| pen.scene).collect()
}

/// Labels of one size in rows without gaps; returns where the block ends.
fn add_block(pen: &mut Pen<'_>, labels: &[Label], corner: Xy, [columns, width, height]: [Um; 3]) -> Um {
    let count = Um::try_from(labels.len()).unwrap_or(0);
    for (label, place) in labels.iter().zip(0..) {
        let left = corner.x + (place % columns) * width;
        let top = corner.y + (place / columns) * height;
        let cell = Area { left, top, right: left + width, bottom: top + height };
        add_label(pen, label, cell);
    }
    let rows = (count + columns - 1) / columns;
    let (past, wide) = (4 * MM, columns.min(count));
    for row in 0..=rows {
        let y = corner.y + row * height;
        let ends = [Xy::new(corner.x - past, y), Xy::new(corner.x + wide * width + past, y)];
        pen.stroke(&ends, HAIR_WIDTH, Layer::Cut, Ink::Quiet, "cut");
    }
    for column in 0..=wide {
        let x = corner.x + column * width;
        let ends = [Xy::new(x, corner.y - MM), Xy::new(x, corner.y + rows * height + MM)];
        pen.stroke(&ends, HAIR_WIDTH, Layer::Cut, Ink::Quiet, "cut");
    }
    corner.y + rows * height
}

fn title(plan: &Plan) -> String {
    format!("{}: labels", plan.network.described.layout.name)
}

fn add_label(pen: &mut Pen<'_>, label: &Label, cell: Area) {
    let inner = cell.grown(-LABEL_PADDING);
    match (label.kind, &label.link) {
        (Kind::Flag, _) => {
            let fold = i64::midpoint(cell.left, cell.right);
            let line = [Xy::new(fold, cell.top), Xy::new(fold, cell.bottom)];
            pen.stroke(&line, HAIR_WIDTH / 2, Layer::Frame, Ink::Faint, "fold");
            add_text(pen, label, Area { right: fold - LABEL_PADDING, ..inner });
            add_text(pen, label, Area { left: fold + LABEL_PADDING, ..inner });
        }
        (Kind::Number | Kind::Decoder | Kind::Terminal, Some(link)) => {
            let side = (inner.bottom - inner.top).min((inner.right - inner.left) / 2);
            let corner = Xy::new(inner.right - side, i64::midpoint(inner.top, inner.bottom) - side / 2);
            if let Some(strokes) = crate::qr::strokes(link, corner, side) {
                pen.scene.strokes.extend(strokes);
                add_text(pen, label, Area { right: corner.x, ..inner });
            } else {
                add_text(pen, label, inner);
            }
        }
        (Kind::Number | Kind::Decoder | Kind::Terminal, None) => add_text(pen, label, inner),
    }
}

/// The head and the rows below it, as large as the place allows, from the top.
fn add_text(pen: &mut Pen<'_>, label: &Label, place: Area) {
    // Heights of capitals in shares of the place: the head counts double and has room for its descenders, and half a row is
    // left between rows.
    let count = Um::try_from(label.rows.len()).unwrap_or(0);
    let row = ((place.bottom - place.top) * 10 / (25 + 15 * count)).min(LABEL_TEXT_MAX);
    let head = row * 2;
    let used = head + row / 2 + count * (row * 3 / 2);
    let mut foot = place.top + (place.bottom - place.top - used) / 2 + head;
    let most = place.right - place.left;
    let class = label.kind.class();
    let heading = shrunk(pen, &label.head, most, Type::bold(head));
    pen.write(&label.head, Xy::new(place.left, foot), most, heading, Tag::class(class));
    foot += row / 2;
    for text in &label.rows {
        foot += row * 3 / 2;
        let look = shrunk(pen, text, most, Type::plain(row));
        pen.write(text, Xy::new(place.left, foot), most, look, Tag::class("label-row"));
    }
}

/// A row of text made smaller until it fits, to three fifths at the least; what is still too long is shortened.
fn shrunk(pen: &Pen<'_>, text: &str, most: Um, look: Type) -> Type {
    let wide = pen.width(text, look);
    if wide <= most {
        return look;
    }
    Type { height: (look.height * most / wide.max(1) * 99 / 100).max(look.height * 3 / 5), ..look }
}
