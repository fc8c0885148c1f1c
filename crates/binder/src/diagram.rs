//! A track diagram too large to be read on one sheet, cut into parts that can be.
//!
//! The diagram is cut into a grid of equal parts that overlap a little, so that whatever a cut goes through is whole on
//! one of the two. A part where nothing is drawn is left out. Each part knows its neighbours, and where it lies on the
//! whole, for a small plan of the parts.

use draw::scene::{Area, Mark, Scene, Stroke, Xy};
use draw::sheet::{MM, Um};

/// The room for a drawing on a sheet that lies on its side, of either paper.
const ROOM: (Um, Um) = (245 * MM, 130 * MM);
/// Below this, in hundredths of its true size, the smallest words of a diagram can't be read.
const PERCENT_MIN: Um = 55;
/// How much of the drawing stands on both of two neighbours.
const OVERLAP: Um = 40 * MM;
/// The most parts; a diagram that would take more is printed smaller.
const PARTS_MAX: usize = 24;

/// One part of a diagram.
pub(crate) struct Part {
    /// What is drawn on it, from its own corner.
    pub(crate) scene: Scene,
    /// Where it lies on the whole.
    pub(crate) area: Area,
    /// The numbers of the parts to its left, to its right, above and below, counted from 1.
    pub(crate) beside: [Option<usize>; 4],
}

/// The parts of a diagram, row by row; none where it can be read on one sheet.
pub(crate) fn parts(whole: &Scene) -> Vec<Part> {
    let enough = |room: Um, size: Um| room * 100 >= size * PERCENT_MIN;
    let (short, long) = (ROOM.1, ROOM.0);
    let lying = enough(long, whole.width) && enough(short, whole.height);
    let upright = enough(170 * MM, whole.width) && enough(200 * MM, whole.height);
    if lying || upright {
        return Vec::new();
    }
    let mut percent = PERCENT_MIN;
    loop {
        let grid = Grid::of(whole, percent);
        if grid.columns * grid.rows <= PARTS_MAX || percent <= 1 {
            return grid.parts(whole);
        }
        percent = percent * 9 / 10;
    }
}

/// How a diagram is cut: so many columns and rows of parts of one size.
struct Grid {
    columns: usize,
    rows: usize,
    width: Um,
    height: Um,
}

impl Grid {
    fn of(whole: &Scene, percent: Um) -> Self {
        let cut = |room: Um, size: Um| {
            let part = room * 100 / percent.max(1);
            let step = (part - OVERLAP).max(MM);
            let count = usize::try_from((size - OVERLAP).max(1).div_euclid(step) + 1).unwrap_or(1);
            (count, part)
        };
        let (columns, width) = cut(ROOM.0, whole.width);
        let (rows, height) = cut(ROOM.1, whole.height);
        Self { columns, rows, width, height }
    }

    fn area(&self, column: usize, row: usize) -> Area {
        let along = |count: usize, part: Um| Um::try_from(count).unwrap_or(0) * (part - OVERLAP).max(MM);
        let (left, top) = (along(column, self.width), along(row, self.height));
        Area { left, top, right: left + self.width, bottom: top + self.height }
    }

    fn parts(&self, whole: &Scene) -> Vec<Part> {
        let mut cuts = Vec::new();
        for row in 0..self.rows {
            for column in 0..self.columns {
                let area = self.area(column, row);
                let scene = cut_out(whole, area);
                if !(scene.strokes.is_empty() && scene.words.is_empty()) {
                    cuts.push((column, row, area, scene));
                }
            }
        }
        let places: Vec<(usize, usize)> = cuts.iter().map(|&(column, row, ..)| (column, row)).collect();
        let number_of = |column: Option<usize>, row: Option<usize>| {
            let place = (column?, row?);
            places.iter().position(|&known| known == place).map(|index| index + 1)
        };
        let part = |(column, row, area, scene): (usize, usize, Area, Scene)| Part {
            scene,
            area,
            beside: [
                number_of(column.checked_sub(1), Some(row)),
                number_of(Some(column + 1), Some(row)),
                number_of(Some(column), row.checked_sub(1)),
                number_of(Some(column), Some(row + 1)),
            ],
        };
        cuts.into_iter().map(part).collect()
    }
}

/// What of a drawing touches this area, moved so that the area's corner is the sheet's.
fn cut_out(whole: &Scene, area: Area) -> Scene {
    let moved = |at: Xy| Xy::new(at.x - area.left, at.y - area.top);
    let strokes = whole.strokes.iter().filter(|stroke| around(stroke).is_some_and(|it| it.overlaps(area)));
    let strokes = strokes
        .map(|stroke| Stroke { path: stroke.path.iter().copied().map(moved).collect(), ..stroke.clone() });
    let marks = whole.marks.iter().filter(|mark| Area::around(mark.at, mark.size, mark.size).overlaps(area));
    // A word that a cut goes through stands whole on the neighbour.
    let words = whole.words.iter().filter(|words| area.holds(words.area));
    Scene {
        title: whole.title.clone(),
        width: area.right - area.left,
        height: area.bottom - area.top,
        strokes: strokes.collect(),
        marks: marks.map(|mark| Mark { at: moved(mark.at), ..mark.clone() }).collect(),
        words: words
            .map(|words| {
                let mut words = words.clone();
                words.at = moved(words.at);
                words
            })
            .collect(),
        holes: Vec::new(),
    }
}

/// The area that a stroke takes.
fn around(stroke: &Stroke) -> Option<Area> {
    let corners = stroke.path.iter().map(|&at| Area::around(at, stroke.width, stroke.width));
    corners.reduce(Area::with)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stroke(path: [Xy; 2]) -> Stroke {
        Stroke {
            path: path.to_vec(),
            width: MM,
            ink: draw::sheet::Ink::Ink,
            layer: draw::scene::Layer::Track,
            round: true,
            dashed: false,
            hidden: false,
            tag: draw::scene::Tag::default(),
        }
    }

    fn line(length: Um) -> Scene {
        let path = [Xy::new(0, 50 * MM), Xy::new(length, 50 * MM)];
        Scene { width: length, height: 100 * MM, strokes: vec![stroke(path)], ..Scene::default() }
    }

    #[test]
    fn a_diagram_that_can_be_read_on_one_sheet_is_not_cut() {
        assert!(parts(&line(400 * MM)).is_empty());
    }

    #[test]
    fn a_long_diagram_is_cut_into_parts_that_overlap_and_know_each_other() {
        let parts = parts(&line(2_000 * MM));
        assert!(parts.len() > 1 && parts.len() <= PARTS_MAX);
        for (index, pair) in parts.windows(2).enumerate() {
            assert_eq!(pair[0].area.right - pair[1].area.left, OVERLAP);
            assert_eq!(pair[0].beside[1], Some(index + 2));
            assert_eq!(pair[1].beside[0], Some(index + 1));
        }
        assert!(parts.last().unwrap().area.right >= 2_000 * MM, "the parts cover the whole");
    }

    #[test]
    fn a_diagram_as_big_as_a_house_is_printed_smaller_instead() {
        let mut house = line(40_000 * MM);
        house.height = 40_000 * MM;
        house.strokes.push(stroke([Xy::new(0, 0), Xy::new(40_000 * MM, 40_000 * MM)]));
        let parts = parts(&house);
        assert!(!parts.is_empty() && parts.len() <= PARTS_MAX);
    }
}
