//! Number plates at 1:1: one for each lever in the order of the numbers, with cutting lines and a bar to prove the scale.
//!
//! Plates stand in rows without gaps, so that one cut parts two of them. A plate has the number, 6 mm tall, and under it
//! the lever's name where that says something else. As many sheets as are needed; A4 or Letter as the description's
//! units ask.

use crate::fonts::Fonts;
use crate::scene::{Anchor, Area, Family, Layer, Scene, Stroke, Tag, Weight, Words, Xy};
use crate::sheet::{
    A4, HAIR_WIDTH, Ink, LETTER, MEASURING_BAR, MEASURING_FOOT, MM, PLATE_HEIGHT, PLATE_NAME_HEIGHT,
    PLATE_NUMBER_HEIGHT, PLATE_SHEET_MARGIN, PLATE_WIDTH, TRACK_NAME_HEIGHT, Um,
};
use plan::model::Plan;

/// Sheets of number plates, one plate for each lever of the plan.
pub fn plates(plan: &Plan) -> Vec<Scene> {
    let fonts = Fonts::read();
    let layout = &plan.network.described.layout;
    let (width, height) = if layout.units == measure::Units::Imperial { LETTER } else { A4 };
    let columns = ((width - 2 * PLATE_SHEET_MARGIN) / PLATE_WIDTH).max(1);
    let rows = ((height - 2 * PLATE_SHEET_MARGIN - MEASURING_FOOT) / PLATE_HEIGHT).max(1);
    let per_sheet = usize::try_from(columns * rows).unwrap_or(1);
    let mut sheets = Vec::new();
    for levers in plan.levers.chunks(per_sheet) {
        let mut sheet = Sheet { fonts: &fonts, scene: Scene { width, height, ..Scene::default() } };
        sheet.scene.title = format!("{}: number plates", layout.name);
        let left = (width - columns * PLATE_WIDTH) / 2;
        for (lever, place) in levers.iter().zip(0..) {
            let (column, row) = (place % columns, place / columns);
            let corner = Xy::new(left + column * PLATE_WIDTH, PLATE_SHEET_MARGIN + row * PLATE_HEIGHT);
            let described = plan.network.lever(lever.lever);
            sheet.add_plate(corner, &lever.number.value.to_string(), &described.id, &described.name);
        }
        let count = Um::try_from(levers.len()).unwrap_or(0);
        sheet.add_cuts(left, columns.min(count), count, columns);
        sheet.add_bar(height - PLATE_SHEET_MARGIN);
        sheets.push(sheet.scene);
    }
    sheets
}

struct Sheet<'a> {
    fonts: &'a Fonts,
    scene: Scene,
}

impl Sheet<'_> {
    fn add_plate(&mut self, corner: Xy, number: &str, lever: &str, name: &str) {
        let middle = corner.x + PLATE_WIDTH / 2;
        let tag = Tag { lever: Some(lever.to_owned()), ..Tag::class("plate-number") };
        let named = name != number && !name.trim().is_empty();
        let foot =
            if named { PLATE_HEIGHT * 9 / 14 } else { i64::midpoint(PLATE_HEIGHT, PLATE_NUMBER_HEIGHT) };
        self.add_words(number, Xy::new(middle, corner.y + foot), PLATE_NUMBER_HEIGHT, Weight::SemiBold, tag);
        if named {
            let tag = Tag { lever: Some(lever.to_owned()), ..Tag::class("plate-name") };
            let foot = Xy::new(middle, corner.y + PLATE_HEIGHT - 2 * MM);
            self.add_words(name, foot, PLATE_NAME_HEIGHT, Weight::Regular, tag);
        }
    }

    fn add_words(&mut self, text: &str, at: Xy, height: Um, weight: Weight, tag: Tag) {
        let family = Family::Label;
        let size = self.fonts.size_for(height, family, weight);
        // The words of the measuring bar are for paper, as the bar is.
        let (most, layer) = match tag.class {
            "words" => (MEASURING_BAR, Layer::Frame),
            _ => (PLATE_WIDTH - 3 * MM, Layer::Words),
        };
        let text = self.fonts.fit(text, most, size, family, weight);
        let width = self.fonts.width(&text, size, family, weight);
        let left = at.x - width / 2;
        let area = Area { left, top: at.y - height, right: left + width, bottom: at.y + size / 5 };
        let (anchor, ink) = (Anchor::Middle, Ink::Ink);
        self.scene.words.push(Words { text, at, anchor, size, family, weight, ink, layer, area, tag });
    }

    fn add_stroke(&mut self, path: [Xy; 2], width: Um, layer: Layer, class: &'static str) {
        self.scene.strokes.push(Stroke {
            path: path.to_vec(),
            width,
            ink: if layer == Layer::Cut { Ink::Quiet } else { Ink::Ink },
            layer,
            round: false,
            dashed: false,
            hidden: false,
            tag: Tag::class(class),
        });
    }

    /// Cutting lines along every side of every plate, a little past the outermost.
    fn add_cuts(&mut self, left: Um, wide: Um, count: Um, columns: Um) {
        let past = 4 * MM;
        let row_count = (count + columns - 1) / columns;
        let top = PLATE_SHEET_MARGIN;
        let (right, bottom) = (left + wide * PLATE_WIDTH + past, top + row_count * PLATE_HEIGHT + past);
        for row in 0..=row_count {
            let y = top + row * PLATE_HEIGHT;
            self.add_stroke([Xy::new(left - past, y), Xy::new(right, y)], HAIR_WIDTH, Layer::Cut, "cut");
        }
        for column in 0..=wide {
            let x = left + column * PLATE_WIDTH;
            self.add_stroke([Xy::new(x, top - past), Xy::new(x, bottom)], HAIR_WIDTH, Layer::Cut, "cut");
        }
    }

    /// The bar that shows whether a printer kept the scale.
    fn add_bar(&mut self, foot: Um) {
        let left = (self.scene.width - MEASURING_BAR) / 2;
        let right = left + MEASURING_BAR;
        let y = foot - 7 * MM;
        self.add_stroke([Xy::new(left, y), Xy::new(right, y)], HAIR_WIDTH * 2, Layer::Frame, "measuring-bar");
        // The ticks stand inside, so that the bar measures the same over its outer edges.
        for x in [left + HAIR_WIDTH / 2, right - HAIR_WIDTH / 2] {
            let tick = [Xy::new(x, y - 2 * MM), Xy::new(x, y + 2 * MM)];
            self.add_stroke(tick, HAIR_WIDTH, Layer::Frame, "measuring-tick");
        }
        let at = Xy::new(i64::midpoint(left, right), foot);
        self.add_words(
            "measure this bar: 100 mm",
            at,
            TRACK_NAME_HEIGHT,
            Weight::Regular,
            Tag::class("words"),
        );
    }
}
