//! Putting words and lines on a sheet that is set out by hand: plates, panels, templates, labels, tables.

use crate::fonts::Fonts;
use crate::scene::{Anchor, Area, Family, Layer, Scene, Stroke, Tag, Weight, Words, Xy};
use crate::sheet::{HAIR_WIDTH, Ink, MEASURING_BAR, MM, TRACK_NAME_HEIGHT, Um};

/// How a row of text looks.
#[derive(Clone, Copy)]
pub(crate) struct Type {
    /// Height of its capitals.
    pub(crate) height: Um,
    pub(crate) weight: Weight,
    pub(crate) ink: Ink,
    pub(crate) anchor: Anchor,
}

impl Type {
    pub(crate) const fn plain(height: Um) -> Self {
        Self { height, weight: Weight::Regular, ink: Ink::Ink, anchor: Anchor::Left }
    }

    pub(crate) const fn bold(height: Um) -> Self {
        Self { weight: Weight::SemiBold, ..Self::plain(height) }
    }

    pub(crate) const fn quiet(self) -> Self {
        Self { ink: Ink::Quiet, ..self }
    }

    pub(crate) const fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }

    pub(crate) const fn right(self) -> Self {
        Self { anchor: Anchor::Right, ..self }
    }
}

/// A sheet being set out.
pub(crate) struct Pen<'a> {
    pub(crate) fonts: &'a Fonts,
    pub(crate) scene: Scene,
    /// What words belong to: the thing that is made, or the paper it is drawn on.
    pub(crate) words_on: Layer,
}

impl<'a> Pen<'a> {
    pub(crate) fn on(fonts: &'a Fonts, title: String, (width, height): (Um, Um)) -> Self {
        let scene = Scene { title, width, height, ..Scene::default() };
        Self { fonts, scene, words_on: Layer::Words }
    }

    /// How wide a row of text is.
    pub(crate) fn width(&self, text: &str, look: Type) -> Um {
        let size = self.fonts.size_for(look.height, Family::Label, look.weight);
        self.fonts.width(text, size, Family::Label, look.weight)
    }

    /// A row of text, shortened to at most this width, ready to be placed.
    pub(crate) fn words(&self, text: &str, at: Xy, most: Um, look: Type, tag: Tag) -> Words {
        let family = Family::Label;
        let Type { weight, ink, anchor, height } = look;
        let size = self.fonts.size_for(height, family, weight);
        let text = self.fonts.fit(text, most, size, family, weight);
        let width = self.fonts.width(&text, size, family, weight);
        let left = match anchor {
            Anchor::Left => at.x,
            Anchor::Middle => at.x - width / 2,
            Anchor::Right => at.x - width,
        };
        let area = Area { left, top: at.y - height, right: left + width, bottom: at.y + size / 5 };
        Words { text, at, anchor, size, family, weight, ink, layer: self.words_on, area, tag }
    }

    /// Writes a row of text; returns how wide it came out. Nothing is written where not even a letter has room.
    pub(crate) fn write(&mut self, text: &str, at: Xy, most: Um, look: Type, tag: Tag) -> Um {
        let words = self.words(text, at, most, look, tag);
        let width = words.area.right - words.area.left;
        if words.text.is_empty() || width > most {
            return 0;
        }
        self.scene.words.push(words);
        width
    }

    pub(crate) fn stroke(&mut self, path: &[Xy], width: Um, layer: Layer, ink: Ink, class: &'static str) {
        self.scene.strokes.push(Stroke {
            path: path.to_vec(),
            width,
            ink,
            layer,
            round: false,
            dashed: false,
            hidden: false,
            tag: Tag::class(class),
        });
    }

    pub(crate) fn rectangle(&mut self, area: Area, layer: Layer, ink: Ink, class: &'static str) {
        self.stroke(&corners(area), HAIR_WIDTH, layer, ink, class);
    }

    /// The bar that shows whether a printer kept the scale, with its foot on this row.
    pub(crate) fn bar(&mut self, left: Um, foot: Um) {
        let right = left + MEASURING_BAR;
        let y = foot - 7 * MM;
        let bar = [Xy::new(left, y), Xy::new(right, y)];
        self.stroke(&bar, HAIR_WIDTH * 2, Layer::Frame, Ink::Ink, "measuring-bar");
        for x in [left, right] {
            let tick = [Xy::new(x, y - 2 * MM), Xy::new(x, y + 2 * MM)];
            self.stroke(&tick, HAIR_WIDTH, Layer::Frame, Ink::Ink, "measuring-tick");
        }
        let at = Xy::new(i64::midpoint(left, right), foot);
        let words_on = std::mem::replace(&mut self.words_on, Layer::Frame);
        let look = Type::plain(TRACK_NAME_HEIGHT).middle();
        self.write("measure this bar: 100 mm", at, MEASURING_BAR, look, Tag::class("words"));
        self.words_on = words_on;
    }
}

/// The corners of an area, the first again at the end.
pub(crate) fn corners(area: Area) -> [Xy; 5] {
    [
        Xy::new(area.left, area.top),
        Xy::new(area.right, area.top),
        Xy::new(area.right, area.bottom),
        Xy::new(area.left, area.bottom),
        Xy::new(area.left, area.top),
    ]
}
