//! Where words find room: beside their thing, over nothing else.
//!
//! What is on the sheet already is kept in squares of a coarse net, so that asking whether a piece of paper is free looks
//! only at what is near. A word takes the first free place of those it is offered, in order of preference; who is asked
//! first matters, so numbers come before names.

use crate::scene::{Area, Xy};
use crate::sheet::{MM, Um};
use std::collections::BTreeMap;

/// Side of a square of the net: a few numbers of the smallest map lie in one.
pub(crate) const SQUARE: Um = 10 * MM;

#[derive(Clone, Copy, Debug)]
enum Thing {
    Stroke([Xy; 2], Um),
    Paper(Area),
}

/// The paper that is taken.
#[derive(Clone, Debug)]
pub(crate) struct Taken {
    /// How near to anything else a word may come.
    clearance: Um,
    things: Vec<Thing>,
    squares: BTreeMap<(Um, Um), Vec<usize>>,
}

impl Taken {
    pub(crate) fn new(clearance: Um) -> Self {
        Self { clearance, things: Vec::new(), squares: BTreeMap::new() }
    }

    pub(crate) fn add_stroke(&mut self, path: &[Xy], width: Um) {
        for pair in path.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            let half = width / 2;
            // A long stroke is cut up, so that it lies in the squares along it and not in all around it.
            let count = ((a.x - b.x).abs() / SQUARE).max((a.y - b.y).abs() / SQUARE) + 1;
            let step =
                |index: Um| Xy::new(a.x + (b.x - a.x) * index / count, a.y + (b.y - a.y) * index / count);
            for index in 0..count {
                let ends = [step(index), step(index + 1)];
                self.add(Thing::Stroke(ends, half), bounds(ends).grown(half));
            }
        }
    }

    pub(crate) fn add_area(&mut self, area: Area) {
        self.add(Thing::Paper(area), area);
    }

    fn add(&mut self, thing: Thing, within: Area) {
        let index = self.things.len();
        self.things.push(thing);
        for square in squares(within) {
            self.squares.entry(square).or_default().push(index);
        }
    }

    /// Whether nothing lies on this area, nor nearer to it than words keep clear.
    pub(crate) fn is_free(&self, area: Area) -> bool {
        let wanted = area.grown(self.clearance);
        let near = squares(wanted).flat_map(|square| self.squares.get(&square).into_iter().flatten());
        near.into_iter().all(|&index| match self.things[index] {
            Thing::Stroke(ends, half) => !meets(wanted.grown(half), ends),
            Thing::Paper(other) => !wanted.overlaps(other),
        })
    }
}

impl Taken {
    /// Whether a hairline would cross nothing but what it starts from: its first quarter is not asked about.
    pub(crate) fn is_clear(&self, [from, to]: [Xy; 2]) -> bool {
        let from = Xy::new(from.x + (to.x - from.x) / 4, from.y + (to.y - from.y) / 4);
        let near =
            squares(bounds([from, to])).flat_map(|square| self.squares.get(&square).into_iter().flatten());
        near.into_iter().all(|&index| match self.things[index] {
            Thing::Stroke(ends, half) => !pieces_meet([from, to], ends, half),
            Thing::Paper(area) => !meets(area, [from, to]),
        })
    }
}

/// Whether two straight pieces meet, the second thick by this much on both sides.
fn pieces_meet(a: [Xy; 2], b: [Xy; 2], half: Um) -> bool {
    // Small steps along the thin piece, none longer than the thickness, cannot jump over the thick one.
    let length = (a[0].x - a[1].x).abs().max((a[0].y - a[1].y).abs());
    let count = length / half.max(100) + 1;
    (0..=count).any(|step| {
        let at =
            Xy::new(a[0].x + (a[1].x - a[0].x) * step / count, a[0].y + (a[1].y - a[0].y) * step / count);
        meets(Area::around(at, 0, 0).grown(half), b)
    })
}

fn bounds([a, b]: [Xy; 2]) -> Area {
    Area { left: a.x.min(b.x), top: a.y.min(b.y), right: a.x.max(b.x), bottom: a.y.max(b.y) }
}

/// The square of the net that a point lies in.
pub(crate) fn square(at: Xy) -> (Um, Um) {
    (at.x.div_euclid(SQUARE), at.y.div_euclid(SQUARE))
}

/// The squares of the net that an area lies in.
pub(crate) fn squares(area: Area) -> impl Iterator<Item = (Um, Um)> {
    let (left, top) = square(Xy::new(area.left, area.top));
    let (right, bottom) = square(Xy::new(area.right, area.bottom));
    (left..=right).flat_map(move |x| (top..=bottom).map(move |y| (x, y)))
}

/// Whether a straight piece has any paper in common with the inside of an area.
pub(crate) fn meets(area: Area, ends: [Xy; 2]) -> bool {
    let own = bounds(ends);
    let apart =
        own.left >= area.right || own.right <= area.left || own.top >= area.bottom || own.bottom <= area.top;
    if apart {
        return false;
    }
    // The piece misses the area when all four corners lie strictly on one side of it.
    let [a, b] = ends;
    let side = |x: Um, y: Um| {
        i128::from(b.x - a.x) * i128::from(y - a.y) - i128::from(b.y - a.y) * i128::from(x - a.x)
    };
    let sides = [
        side(area.left, area.top),
        side(area.right, area.top),
        side(area.left, area.bottom),
        side(area.right, area.bottom),
    ];
    sides.iter().any(|&side| side >= 0) && sides.iter().any(|&side| side <= 0)
}
