//! A drawing at 1:1 that is larger than the paper, on as many sheets as it takes.
//!
//! Neighbouring sheets show a strip of the same, as wide as [`TILE_OVERLAP`] or the widest hole and a little. On each sheet
//! crop marks show where to cut, joining marks in the overlap lie over one another when two sheets are laid right, and a bar
//! shows whether the printer kept the scale. A hole is drawn on every sheet that shows it whole; words are cut between
//! letters.

use crate::fonts::Fonts;
use crate::pen::{Pen, Type};
use crate::scene::{Anchor, Area, Layer, Scene, Stroke, Tag, Words, Xy};
use crate::sheet::{
    CROP_LENGTH, HAIR_WIDTH, Ink, MEASURING_BAR, MM, PANEL_LEGEND_HEIGHT, TILE_FOOT, TILE_MARGIN,
    TILE_OVERLAP, Um,
};

/// Half the width of a joining mark.
const JOIN_ARM: Um = 2 * MM;

/// One sheet of a drawing: which part of it, and the neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tile {
    /// The part of the drawing that it shows.
    pub window: Area,
    /// Its column, from 0.
    pub column: usize,
    /// Its row, from 0.
    pub row: usize,
    /// How many columns there are.
    pub columns: usize,
    /// How many rows there are.
    pub rows: usize,
}

/// The parts of a drawing that sheets of this paper show, row by row, and whether the paper lies on its side.
pub fn tile_windows(scene: &Scene, paper: (Um, Um)) -> (Vec<Tile>, bool) {
    let upright = windows(scene, paper);
    let lying = windows(scene, (paper.1, paper.0));
    if lying.len() < upright.len() { (lying, true) } else { (upright, false) }
}

fn windows(scene: &Scene, (width, height): (Um, Um)) -> Vec<Tile> {
    let overlap = overlap(scene);
    let across = spans(scene.width, width - 2 * TILE_MARGIN, overlap);
    let down = spans(scene.height, height - 2 * TILE_MARGIN - TILE_FOOT, overlap);
    let (columns, rows) = (across.len(), down.len());
    let mut tiles = Vec::new();
    for (row, &(top, bottom)) in down.iter().enumerate() {
        for (column, &(left, right)) in across.iter().enumerate() {
            let window = Area { left, top, right, bottom };
            tiles.push(Tile { window, column, row, columns, rows });
        }
    }
    tiles
}

fn overlap(scene: &Scene) -> Um {
    let widest = scene.holes.iter().map(|hole| hole.diameter).max().unwrap_or(0);
    TILE_OVERLAP.max(widest + 5 * MM)
}

/// A length cut into stretches of at most this much that lap over one another, all of one length.
fn spans(length: Um, most: Um, overlap: Um) -> Vec<(Um, Um)> {
    if length <= most {
        return vec![(0, length.max(1))];
    }
    // A hole that is wider than half a sheet leaves no useful step; then sheets lap by half.
    let overlap = overlap.min(most / 2);
    let count = ((length - overlap) + (most - overlap) - 1) / (most - overlap);
    let stretch = (length + overlap * (count - 1) + count - 1) / count;
    (0..count)
        .map(|index| {
            let from = (index * (stretch - overlap)).min(length - stretch);
            (from, from + stretch)
        })
        .collect()
}

/// A drawing on sheets of this paper, each with its name, crop and joining marks and measuring bar.
pub fn tiles(scene: &Scene, paper: (Um, Um), says: &str) -> Vec<Scene> {
    let fonts = Fonts::read();
    let (parts, lying) = tile_windows(scene, paper);
    let paper = if lying { (paper.1, paper.0) } else { paper };
    let count = parts.len();
    let sheet = |(index, tile): (usize, &Tile)| {
        let mut pen = Pen::on(&fonts, scene.title.clone(), paper);
        pen.words_on = Layer::Frame;
        let corner = Xy::new((paper.0 - (tile.window.right - tile.window.left)) / 2, TILE_MARGIN);
        let shift = Xy::new(corner.x - tile.window.left, corner.y - tile.window.top);
        copy(scene, tile.window, shift, &mut pen);
        let shown = moved(tile.window, shift);
        if count > 1 {
            add_crop_marks(&mut pen, shown);
            add_joining_marks(&mut pen, tile, scene, shift);
        }
        let place = if count > 1 {
            format!(
                "sheet {} of {count}: column {} of {}, row {} of {}",
                index + 1,
                tile.column + 1,
                tile.columns,
                tile.row + 1,
                tile.rows
            )
        } else {
            "one sheet".to_owned()
        };
        add_foot(&mut pen, says, &place);
        pen.scene
    };
    parts.iter().enumerate().map(sheet).collect()
}

fn moved(area: Area, by: Xy) -> Area {
    Area {
        left: area.left + by.x,
        top: area.top + by.y,
        right: area.right + by.x,
        bottom: area.bottom + by.y,
    }
}

/// What of a drawing lies in a window, moved onto the sheet.
fn copy(scene: &Scene, window: Area, shift: Xy, pen: &mut Pen<'_>) {
    let to = |at: Xy| Xy::new(at.x + shift.x, at.y + shift.y);
    let inside = |at: Xy, size: Um| window.holds(Area::around(at, size, size));
    for stroke in &scene.strokes {
        for path in clipped(&stroke.path, window) {
            let path = path.into_iter().map(to).collect();
            pen.scene.strokes.push(Stroke { path, ..stroke.clone() });
        }
    }
    for mark in scene.marks.iter().filter(|mark| inside(mark.at, mark.size)) {
        pen.scene.marks.push(crate::scene::Mark { at: to(mark.at), ..mark.clone() });
    }
    for hole in scene.holes.iter().filter(|hole| inside(hole.at, hole.diameter)) {
        pen.scene.holes.push(crate::scene::Hole { at: to(hole.at), ..hole.clone() });
    }
    for words in &scene.words {
        if let Some(words) = cut_words(words, window, pen.fonts) {
            let (at, area) = (to(words.at), moved(words.area, shift));
            pen.scene.words.push(Words { at, area, ..words });
        }
    }
}

/// The letters of a row of text that lie in a window.
fn cut_words(words: &Words, window: Area, fonts: &Fonts) -> Option<Words> {
    if window.holds(words.area) {
        return Some(words.clone());
    }
    if !window.overlaps(words.area) || words.area.top < window.top || words.area.bottom > window.bottom {
        return None;
    }
    let wide = |text: &str| fonts.width(text, words.size, words.family, words.weight);
    let (mut kept, mut left) = (String::new(), None);
    let mut before = String::new();
    for letter in words.text.chars() {
        let from = words.area.left + wide(&before);
        before.push(letter);
        if from >= window.left && words.area.left + wide(&before) <= window.right {
            left.get_or_insert(from);
            kept.push(letter);
        }
    }
    let left = left?;
    let area = Area { left, right: left + wide(&kept), ..words.area };
    Some(Words { at: Xy::new(left, words.at.y), anchor: Anchor::Left, text: kept, area, ..words.clone() })
}

/// The pieces of a path that lie in a window.
fn clipped(path: &[Xy], window: Area) -> Vec<Vec<Xy>> {
    let mut pieces: Vec<Vec<Xy>> = Vec::new();
    for pair in path.windows(2) {
        let Some([from, to]) = clipped_piece([pair[0], pair[1]], window) else { continue };
        match pieces.last_mut().filter(|piece| piece.last() == Some(&from)) {
            Some(piece) => piece.push(to),
            None => pieces.push(vec![from, to]),
        }
    }
    pieces
}

/// The part of a straight piece that lies in a window: each side of the window cuts off what is beyond it.
///
/// # Source
/// Liang and Barsky, *A new concept and method for line clipping*, ACM Transactions on Graphics 3 (1984), in whole numbers.
fn clipped_piece([a, b]: [Xy; 2], window: Area) -> Option<[Xy; 2]> {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    // Fractions of the way from a to b, as numerator and positive denominator.
    let (mut enter, mut leave) = ((0_i64, 1_i64), (1_i64, 1_i64));
    let less = |(p, q): (i64, i64), (r, s): (i64, i64)| {
        i128::from(p) * i128::from(s) < i128::from(r) * i128::from(q)
    };
    let sides = [
        (-dx, a.x - window.left),
        (dx, window.right - a.x),
        (-dy, a.y - window.top),
        (dy, window.bottom - a.y),
    ];
    for (toward, room) in sides {
        if toward == 0 {
            if room < 0 {
                return None;
            }
        } else if toward < 0 {
            let at = (-room, -toward);
            if less(enter, at) {
                enter = at;
            }
        } else if less((room, toward), leave) {
            leave = (room, toward);
        }
    }
    if less(leave, enter) {
        return None;
    }
    let part = |(p, q): (i64, i64)| Xy::new(a.x + scaled(dx, p, q), a.y + scaled(dy, p, q));
    let ends = [part(enter), part(leave)];
    (ends[0] != ends[1]).then_some(ends)
}

/// `d · p / q`, rounded to the nearest.
fn scaled(d: i64, p: i64, q: i64) -> i64 {
    let (product, q) = (i128::from(d) * i128::from(p), i128::from(q.max(1)));
    let half = if product < 0 { -q / 2 } else { q / 2 };
    i64::try_from((product + half) / q).unwrap_or(d)
}

/// Short lines outside each corner, along which the sheet is cropped.
fn add_crop_marks(pen: &mut Pen<'_>, shown: Area) {
    let gap = MM;
    for (x, outward) in [(shown.left, -1), (shown.right, 1)] {
        for (y, upward) in [(shown.top, -1), (shown.bottom, 1)] {
            let level = [Xy::new(x + outward * gap, y), Xy::new(x + outward * (gap + CROP_LENGTH), y)];
            let upright = [Xy::new(x, y + upward * gap), Xy::new(x, y + upward * (gap + CROP_LENGTH))];
            for mark in [level, upright] {
                pen.stroke(&mark, HAIR_WIDTH, Layer::Frame, Ink::Ink, "crop");
            }
        }
    }
}

/// A saltire in each strip that two sheets share, at the same places of the drawing on both, clear of holes and of their
/// upright crosses.
fn add_joining_marks(pen: &mut Pen<'_>, tile: &Tile, scene: &Scene, shift: Xy) {
    let window = tile.window;
    let half = overlap(scene) / 2;
    let letter = |index: usize| crate::schematic::geometry::letters(index);
    let mut marks: Vec<(Xy, String)> = Vec::new();
    let sides = [
        (tile.column > 0, window.left + half, tile.column.wrapping_sub(1)),
        (tile.column + 1 < tile.columns, window.right - half, tile.column),
    ];
    for (_, x, column) in sides.into_iter().filter(|side| side.0) {
        let name = format!("{}{}", letter(column), tile.row + 1);
        let places = clear_of_holes(scene, [window.top, window.bottom], |y| Xy::new(x, y));
        marks.extend(places.into_iter().map(|at| (at, name.clone())));
    }
    let sides = [
        (tile.row > 0, window.top + half, tile.row.wrapping_sub(1)),
        (tile.row + 1 < tile.rows, window.bottom - half, tile.row),
    ];
    for (_, y, row) in sides.into_iter().filter(|side| side.0) {
        let name = format!("{}{}", tile.column + 1, letter(row));
        let places = clear_of_holes(scene, [window.left, window.right], |x| Xy::new(x, y));
        marks.extend(places.into_iter().map(|at| (at, name.clone())));
    }
    for (at, name) in marks {
        let at = Xy::new(at.x + shift.x, at.y + shift.y);
        for arm in [JOIN_ARM, -JOIN_ARM] {
            let path = [Xy::new(at.x - JOIN_ARM, at.y - arm), Xy::new(at.x + JOIN_ARM, at.y + arm)];
            pen.stroke(&path, HAIR_WIDTH, Layer::Frame, Ink::Quiet, "join");
        }
        let look = Type::plain(PANEL_LEGEND_HEIGHT).quiet();
        let foot = Xy::new(at.x + JOIN_ARM, at.y + PANEL_LEGEND_HEIGHT / 2);
        pen.write(&name, foot, 6 * MM, look, Tag::class("join"));
    }
}

/// Two places on a line across a drawing, near both ends of it, that are clear of every hole.
fn clear_of_holes(scene: &Scene, [from, to]: [Um; 2], place: impl Fn(Um) -> Xy) -> Vec<Xy> {
    let clear = |at: Xy| {
        scene.holes.iter().all(|hole| {
            let far = hole.diameter / 2 + JOIN_ARM + 6 * MM;
            (hole.at.x - at.x).pow(2) + (hole.at.y - at.y).pow(2) >= far.pow(2)
        })
    };
    let steps = (to - from) / (2 * MM);
    let near = (3..steps).map(|step| place(from + step * 2 * MM)).find(|&at| clear(at));
    let far = (3..steps).map(|step| place(to - step * 2 * MM)).find(|&at| clear(at));
    let mut places: Vec<Xy> = near.into_iter().chain(far).collect();
    places.dedup();
    places
}

/// The bar and what the sheet is.
fn add_foot(pen: &mut Pen<'_>, says: &str, place: &str) {
    let (width, height) = (pen.scene.width, pen.scene.height);
    let foot = height - TILE_MARGIN / 2;
    pen.bar(width - TILE_MARGIN - MEASURING_BAR, foot);
    let most = width - 2 * TILE_MARGIN - MEASURING_BAR - 4 * MM;
    let (bold, plain) = (Type::bold(PANEL_LEGEND_HEIGHT), Type::plain(PANEL_LEGEND_HEIGHT).quiet());
    pen.write(says, Xy::new(TILE_MARGIN, foot - 5 * MM), most, bold, Tag::class("sheet-name"));
    pen.write(&format!("1:1 · {place}"), Xy::new(TILE_MARGIN, foot), most, plain, Tag::class("sheet-place"));
}
