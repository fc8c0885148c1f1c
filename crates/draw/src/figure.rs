//! What a mark or a hole is as plain geometry, for every writer alike.
//!
//! A writer decides how a figure looks in its format (filled, outlined, how wide); where its corners are is decided here,
//! once.

use crate::scene::{Hole, Mark, Shape, Xy};
use crate::sheet::{HOLE_CROSS, Um};

/// The geometry of a mark.
pub(crate) enum Figure {
    /// A circle of this radius round the mark's place.
    Circle(Um),
    /// A closed outline through these corners.
    Outline(Vec<Xy>),
    /// Upright bars, each from its upper to its lower end, [`bar_width`] wide.
    Bars(Vec<[Xy; 2]>),
    /// A closed outline, and the bar at its tip, [`bar_width`] wide.
    Diode([Xy; 3], [Xy; 2]),
}

/// How wide the bars of a mark are.
pub(crate) fn bar_width(mark: &Mark) -> Um {
    mark.size / if mark.shape == Shape::Diode { 8 } else { 5 }
}

/// The geometry of a mark.
pub(crate) fn figure(mark: &Mark) -> Figure {
    let half = mark.size / 2;
    let Xy { x, y } = mark.at;
    let bar = |shift: Um| [Xy::new(x + shift, y - half), Xy::new(x + shift, y + half)];
    let arrow = |reach: Um| {
        Figure::Outline(vec![
            Xy::new(x + reach, y),
            Xy::new(x - reach, y - half),
            Xy::new(x - reach, y + half),
        ])
    };
    match mark.shape {
        Shape::Round | Shape::Ring | Shape::Pit => Figure::Circle(half),
        Shape::Diamond => {
            let reach = half + half / 4;
            Figure::Outline(vec![
                Xy::new(x, y - reach),
                Xy::new(x + reach, y),
                Xy::new(x, y + reach),
                Xy::new(x - reach, y),
            ])
        }
        Shape::OpenSquare => {
            let reach = half - half / 8;
            Figure::Outline(vec![
                Xy::new(x - reach, y - reach),
                Xy::new(x + reach, y - reach),
                Xy::new(x + reach, y + reach),
                Xy::new(x - reach, y + reach),
            ])
        }
        Shape::Bar => Figure::Bars(vec![bar(0)]),
        Shape::TwinBar => Figure::Bars([-1, 1].map(|side| bar(side * (mark.size / 6))).to_vec()),
        Shape::Diode => Figure::Diode(
            [Xy::new(x - half, y + half), Xy::new(x + half, y + half), Xy::new(x, y - half)],
            [Xy::new(x - half, y - half), Xy::new(x + half, y - half)],
        ),
        Shape::ArrowLeft => arrow(-half),
        Shape::ArrowRight => arrow(half),
    }
}

/// The two arms of the cross through the middle of a hole.
pub(crate) const fn cross(hole: &Hole) -> [[Xy; 2]; 2] {
    let reach = hole.diameter / 2 + HOLE_CROSS;
    let Xy { x, y } = hole.at;
    [[Xy::new(x - reach, y), Xy::new(x + reach, y)], [Xy::new(x, y - reach), Xy::new(x, y + reach)]]
}
