//! The diode matrix, drawn: a row for each wire that diodes lead from, a column for each wire that they lead to, and a diode
//! where the two are joined.
//!
//! Rows are the routes by their numbers, then the group wires. A sheet has only the columns that its rows use, group wires
//! first and then the levers' lines in the order of the numbers, so that a matrix of a hundred routes takes a few sheets
//! and not a wall. The heads stand again on every sheet; a wire has the same name wherever it comes up again.
//!
//! Current flows from a row to a column, so the bar of each diode lies toward the column's head.

use crate::fonts::Fonts;
use crate::scene::{Anchor, Area, Family, Layer, Mark, Scene, Shape, Stroke, Tag, Weight, Words, Xy};
use crate::sheet::{
    DIODE_SIZE, HAIR_WIDTH, Ink, MATRIX_COLUMN_PITCH, MATRIX_HEAD_GAP, MATRIX_HEAD_HEIGHT, MATRIX_HEAD_MARK,
    MATRIX_LABEL_WIDTH, MATRIX_LETTER_HEIGHT, MATRIX_MARGIN, MATRIX_ROOM, MATRIX_ROW_PITCH, MM, Um,
};
use network::{LeverId, Position};
use plan::diode::{DiodeMatrix, Wire};
use plan::model::{LeverNumber, Plan};
use std::collections::{BTreeMap, BTreeSet};

/// The most sheets that a matrix is drawn on.
pub const MATRIX_SHEETS_MAX: usize = 40;

/// A diode matrix on sheets.
#[derive(Clone, Debug, Default)]
pub struct MatrixDrawing {
    /// The sheets, in the order of the rows.
    pub sheets: Vec<Scene>,
    /// How many wires found no room on them.
    pub left_out: usize,
}

/// Draws a diode matrix of a plan.
pub fn matrix(plan: &Plan, matrix: &DiodeMatrix) -> MatrixDrawing {
    let mut feeds: BTreeMap<Wire, Vec<Wire>> = BTreeMap::new();
    for &(from, to) in &matrix.diodes {
        feeds.entry(from).or_default().push(to);
    }
    let fonts = Fonts::read();
    let pitch = column_pitch(&fonts, matrix);
    let columns_max = count(MATRIX_ROOM.0 - MATRIX_LABEL_WIDTH - 2 * MATRIX_MARGIN, pitch);
    let rows_max = count(MATRIX_ROOM.1 - MATRIX_HEAD_HEIGHT - 2 * MATRIX_MARGIN, MATRIX_ROW_PITCH);
    let blocks = blocks(&feeds, columns_max, rows_max);
    let levers = plan.levers.iter().map(|planned| (planned.number.value, planned.lever)).collect();
    let mut drawn = MatrixDrawing::default();
    for block in blocks.iter().take(MATRIX_SHEETS_MAX) {
        let mut sheet = Sheet { plan, fonts: &fonts, levers: &levers, pitch, scene: Scene::default() };
        sheet.draw(block);
        drawn.sheets.push(sheet.scene);
    }
    let left_out = blocks.iter().skip(MATRIX_SHEETS_MAX).flat_map(|block| &block.rows);
    drawn.left_out = left_out.map(|(from, _)| *from).collect::<BTreeSet<Wire>>().len();
    drawn
}

/// How many of these fit, at least one.
fn count(room: Um, pitch: Um) -> usize {
    usize::try_from(room / pitch.max(1)).unwrap_or(1).max(1)
}

/// Columns lie so far apart that the widest head has room.
fn column_pitch(fonts: &Fonts, matrix: &DiodeMatrix) -> Um {
    let heads = matrix.diodes.iter().map(|(_, to)| {
        let size = fonts.size_for(MATRIX_LETTER_HEIGHT, Family::Label, Weight::SemiBold);
        fonts.width(&to.label(), size, Family::Label, Weight::SemiBold) + MATRIX_HEAD_GAP
    });
    heads.max().unwrap_or(0).max(MATRIX_COLUMN_PITCH)
}

/// What stands on one sheet.
#[derive(Default)]
struct Block {
    rows: Vec<(Wire, Vec<Wire>)>,
    columns: BTreeSet<Wire>,
}

/// Fills sheets with rows until the next row, or the columns it uses, find no room; a row with more diodes than a sheet has
/// columns is on several.
fn blocks(feeds: &BTreeMap<Wire, Vec<Wire>>, columns_max: usize, rows_max: usize) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    for (&from, tos) in feeds {
        for piece in tos.chunks(columns_max) {
            let fits = blocks.last().is_some_and(|block| {
                let more = piece.iter().filter(|to| !block.columns.contains(to)).count();
                block.rows.len() < rows_max && block.columns.len() + more <= columns_max
            });
            if !fits {
                blocks.push(Block::default());
            }
            if let Some(block) = blocks.last_mut() {
                block.columns.extend(piece);
                block.rows.push((from, piece.to_vec()));
            }
        }
    }
    blocks
}

struct Sheet<'a> {
    plan: &'a Plan,
    fonts: &'a Fonts,
    levers: &'a BTreeMap<LeverNumber, LeverId>,
    pitch: Um,
    scene: Scene,
}

impl Sheet<'_> {
    fn draw(&mut self, block: &Block) {
        let place = |step: usize, pitch: Um| Um::try_from(step).unwrap_or(0) * pitch + pitch / 2;
        let left = MATRIX_MARGIN + MATRIX_LABEL_WIDTH;
        let top = MATRIX_MARGIN + MATRIX_HEAD_HEIGHT;
        let x_of: BTreeMap<Wire, Um> =
            (0..).zip(&block.columns).map(|(step, &to)| (to, left + place(step, self.pitch))).collect();
        let mut foot_of: BTreeMap<Wire, Um> = BTreeMap::new();
        for (step, (from, tos)) in block.rows.iter().enumerate() {
            let y = top + place(step, MATRIX_ROW_PITCH);
            self.add_label(*from, y);
            let mut right = left;
            for x in tos.iter().filter_map(|to| x_of.get(to)) {
                self.add_mark(Shape::Diode, Xy::new(*x, y), DIODE_SIZE, Ink::Ink, Tag::class("diode"));
                right = right.max(*x);
            }
            self.add_wire([Xy::new(left - MM, y), Xy::new(right, y)]);
            foot_of.extend(tos.iter().map(|&to| (to, y)));
        }
        for (&to, &x) in &x_of {
            self.add_head(to, x);
            let foot = foot_of.get(&to).copied().unwrap_or(top);
            self.add_wire([Xy::new(x, top), Xy::new(x, foot)]);
        }
        let across = Um::try_from(block.columns.len()).unwrap_or(0) * self.pitch;
        let down = Um::try_from(block.rows.len()).unwrap_or(0) * MATRIX_ROW_PITCH;
        let scene = &mut self.scene;
        (scene.width, scene.height) = (left + across + MATRIX_MARGIN, top + down + MATRIX_MARGIN);
        scene.title = format!("{}: diode matrix", self.plan.network.described.layout.name);
    }

    /// What a row is: the route's number and its two stops, or the group's name.
    fn add_label(&mut self, from: Wire, y: Um) {
        let foot = y + MATRIX_LETTER_HEIGHT / 2;
        let mut x = MATRIX_MARGIN;
        let route = match from {
            Wire::Route(index) => self.plan.routes.get(index),
            Wire::Group(_) | Wire::Line(..) => None,
        };
        let number = self.words(from.label(), Xy::new(x, foot), Weight::SemiBold, Tag::class("row-number"));
        self.scene.words.push(number);
        let Some(route) = route else { return };
        x += MATRIX_LABEL_WIDTH / 7;
        let ends = [route.from(), route.to()].map(|track| self.plan.network.track(track).name.as_str());
        let room = MATRIX_LABEL_WIDTH + MATRIX_MARGIN - x - 2 * MM;
        for (step, name) in ends.into_iter().enumerate() {
            let text = if step == 0 { name.to_owned() } else { format!("– {name}") };
            let text = self.fitted(&text, room / 2);
            let tag = Tag { track: Some(name.to_owned()), ..Tag::class("row-stop") };
            let words = self.words(text, Xy::new(x, foot), Weight::Regular, tag);
            x = words.area.right + MM;
            self.scene.words.push(words);
        }
    }

    /// What a column is: a group's name, or a lever's number with N or R and the sign of the position.
    fn add_head(&mut self, to: Wire, x: Um) {
        let foot = MATRIX_MARGIN + MATRIX_HEAD_HEIGHT - MM;
        let mut tag = Tag::class("column");
        if let Wire::Line(number, position) = to {
            let lever = self.levers.get(&number).map(|&lever| self.plan.network.lever(lever).id.clone());
            tag.lever = lever;
            tag.position = Some(position.word());
            let (shape, ink) = match position {
                Position::Normal => (Shape::Round, Ink::Normal),
                Position::Reverse => (Shape::Diamond, Ink::Reverse),
            };
            let at = Xy::new(x, foot - MATRIX_LETTER_HEIGHT - MATRIX_HEAD_MARK);
            self.add_mark(shape, at, MATRIX_HEAD_MARK, ink, Tag::class("sign"));
        }
        let mut words = self.words(to.label(), Xy::new(x, foot), Weight::SemiBold, tag);
        let half = (words.area.right - words.area.left) / 2;
        (words.area.left, words.area.right) = (x - half, x + half);
        words.anchor = Anchor::Middle;
        self.scene.words.push(words);
    }

    fn fitted(&self, text: &str, most: Um) -> String {
        let size = self.fonts.size_for(MATRIX_LETTER_HEIGHT, Family::Label, Weight::Regular);
        self.fonts.fit(text, most, size, Family::Label, Weight::Regular)
    }

    fn words(&self, text: String, at: Xy, weight: Weight, tag: Tag) -> Words {
        let family = Family::Label;
        let size = self.fonts.size_for(MATRIX_LETTER_HEIGHT, family, weight);
        let width = self.fonts.width(&text, size, family, weight);
        let (top, right) = (at.y - MATRIX_LETTER_HEIGHT, at.x + width);
        let area = Area { left: at.x, top, right, bottom: at.y + size / 5 };
        let (anchor, ink, layer) = (Anchor::Left, Ink::Ink, Layer::Words);
        Words { text, at, anchor, size, family, weight, ink, layer, area, tag }
    }

    fn add_mark(&mut self, shape: Shape, at: Xy, size: Um, ink: Ink, tag: Tag) {
        self.scene.marks.push(Mark { shape, at, size, ink, layer: Layer::Mark, hidden: false, tag });
    }

    fn add_wire(&mut self, path: [Xy; 2]) {
        self.scene.strokes.push(Stroke {
            path: path.to_vec(),
            width: HAIR_WIDTH,
            ink: Ink::Unknown,
            layer: Layer::Track,
            round: false,
            dashed: false,
            hidden: false,
            tag: Tag::class("wire"),
        });
    }
}
