//! Words as outlines: the letters of the embedded fonts as closed rings of straight pieces, for machines that have no
//! fonts.
//!
//! Every curve of a letter is cut into so many equal steps of its parameter that no piece is further than
//! [`OUTLINE_ERROR`] from it. All is reckoned in whole numbers, so the rings are the same on every machine.
//!
//! # Source
//! Quadratic curves: the OpenType specification, `glyf`. A chord over one of `n` equal steps of a parabola with the
//! corners a, b, c is at most |a − 2b + c| / (4n²) from it, since the second derivative is constant.

use crate::fonts::Fonts;
use crate::scene::{Anchor, Words, Xy};
use crate::sheet::{OUTLINE_ERROR, Um};
use ttf_parser::OutlineBuilder;

/// The most pieces that one curve becomes.
const PIECES_MAX: i64 = 64;

/// The letters of a row of text, each a few closed rings; the last corner of a ring is joined to its first.
pub(crate) fn rings(words: &Words, fonts: &Fonts) -> Vec<Vec<Xy>> {
    let text = fonts.shown(&words.text, words.family, words.weight);
    let Some(face) = fonts.face(words.family, words.weight) else { return Vec::new() };
    let em = i64::from(face.units_per_em()).max(1);
    let width = fonts.width(&text, words.size, words.family, words.weight);
    let left = match words.anchor {
        Anchor::Left => words.at.x,
        Anchor::Middle => words.at.x - width / 2,
        Anchor::Right => words.at.x - width,
    };
    let mut pen = Pen { size: words.size, em, foot: Xy::new(left, words.at.y), ..Pen::default() };
    let mut advanced = 0;
    for glyph in text.chars().filter_map(|letter| face.glyph_index(letter)) {
        pen.foot.x = left + advanced * words.size / em;
        // A letter without an outline, such as a space, draws nothing.
        let _ = face.outline_glyph(glyph, &mut pen);
        advanced += face.glyph_hor_advance(glyph).map_or(em, i64::from);
    }
    pen.rings
}

/// Follows the outline of one letter after the other. Places of the font are in halves of its units, which is exact:
/// a font's corners are whole, and those implied between two of them are halves.
#[derive(Default)]
struct Pen {
    size: Um,
    em: i64,
    foot: Xy,
    rings: Vec<Vec<Xy>>,
    ring: Vec<Xy>,
    last: (i64, i64),
}

impl Pen {
    /// The place on the sheet of a place in the letter, given over `of`.
    fn on_sheet(&self, (x, y): (i64, i64), of: i64) -> Xy {
        let scaled = |value: i64| {
            let (over, under) = (i128::from(value) * i128::from(self.size), i128::from(2 * self.em * of));
            i64::try_from((2 * over + under).div_euclid(2 * under)).unwrap_or(0)
        };
        Xy::new(self.foot.x + scaled(x), self.foot.y - scaled(y))
    }

    fn step_to(&mut self, at: Xy) {
        if self.ring.last() != Some(&at) {
            self.ring.push(at);
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a corner of a letter is a few thousand units off at most"
)]
fn halves(x: f32, y: f32) -> (i64, i64) {
    ((x * 2.0) as i64, (y * 2.0) as i64)
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.last = halves(x, y);
        self.ring = vec![self.on_sheet(self.last, 1)];
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.last = halves(x, y);
        self.step_to(self.on_sheet(self.last, 1));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32) {
        let (from, by, to) = (self.last, halves(x1, y1), halves(x2, y2));
        // The larger of the two directions times 3/2 is at least the distance.
        let bow = (from.0 - 2 * by.0 + to.0).abs().max((from.1 - 2 * by.1 + to.1).abs()) * 3 / 2;
        let off = bow * self.size / (2 * self.em);
        let count = (1..PIECES_MAX).find(|n| off <= 4 * n * n * OUTLINE_ERROR).unwrap_or(PIECES_MAX);
        for step in 1..=count {
            let rest = count - step;
            let mixed =
                |from: i64, by: i64, to: i64| from * rest * rest + 2 * by * step * rest + to * step * step;
            let at = (mixed(from.0, by.0, to.0), mixed(from.1, by.1, to.1));
            self.step_to(self.on_sheet(at, count * count));
        }
        self.last = to;
    }

    /// The embedded fonts have no cubic curves; a straight line to the end keeps a ring closed if one ever has.
    fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, x: f32, y: f32) {
        self.line_to(x, y);
    }

    fn close(&mut self) {
        if self.ring.len() > 1 && self.ring.first() == self.ring.last() {
            self.ring.pop();
        }
        let ring = std::mem::take(&mut self.ring);
        if ring.len() > 2 {
            self.rings.push(ring);
        }
    }
}
