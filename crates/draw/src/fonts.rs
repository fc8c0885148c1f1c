//! The letters: the two families that every sheet and screen uses, embedded, and how wide a word is in them.
//!
//! Widths are sums of the fonts' own advances. Kerning is left out and switched off in the writers, so that what is
//! measured here is what is drawn. A letter that a font does not have counts as one em wide, which is wider than any
//! substitute.
//!
//! # Source
//! Barlow and Barlow Semi Condensed, version 1.408, SIL Open Font License 1.1 (`fonts/OFL.txt`).

use crate::scene::{Family, Weight};
use crate::sheet::Um;
use ttf_parser::Face;

/// Every font file: its file name and its bytes.
pub const ALL: [(&str, &[u8]); 4] = [
    ("BarlowSemiCondensed-Regular.ttf", LABEL_REGULAR),
    ("BarlowSemiCondensed-SemiBold.ttf", LABEL_SEMI_BOLD),
    ("Barlow-Regular.ttf", TABLE_REGULAR),
    ("Barlow-SemiBold.ttf", TABLE_SEMI_BOLD),
];

/// The licence of the fonts.
pub const LICENCE: &str = include_str!("../fonts/OFL.txt");

/// The family of labels.
pub const LABEL_FAMILY: &str = "Barlow Semi Condensed";
/// The family of tables and running text.
pub const TABLE_FAMILY: &str = "Barlow";

const LABEL_REGULAR: &[u8] = include_bytes!("../fonts/BarlowSemiCondensed-Regular.ttf");
const LABEL_SEMI_BOLD: &[u8] = include_bytes!("../fonts/BarlowSemiCondensed-SemiBold.ttf");
const TABLE_REGULAR: &[u8] = include_bytes!("../fonts/Barlow-Regular.ttf");
const TABLE_SEMI_BOLD: &[u8] = include_bytes!("../fonts/Barlow-SemiBold.ttf");

/// The sign that stands for letters left out.
const ELLIPSIS: char = '…';

/// The sign that stands for a letter that a font does not have.
const STAND_IN: char = '?';

/// The fonts, read once for a drawing.
pub struct Fonts {
    faces: [Option<Face<'static>>; 4],
}

impl Fonts {
    /// Reads the embedded fonts.
    pub fn read() -> Self {
        Self { faces: ALL.map(|(_, bytes)| Face::parse(bytes, 0).ok()) }
    }

    pub(crate) fn face(&self, family: Family, weight: Weight) -> Option<&Face<'static>> {
        let index = match (family, weight) {
            (Family::Label, Weight::Regular) => 0,
            (Family::Label, Weight::SemiBold) => 1,
            (Family::Table, Weight::Regular) => 2,
            (Family::Table, Weight::SemiBold) => 3,
        };
        self.faces[index].as_ref()
    }

    /// How wide a row of text is at this size of em.
    pub fn width(&self, text: &str, size: Um, family: Family, weight: Weight) -> Um {
        let Some(face) = self.face(family, weight) else { return size * count(text) };
        let em = i64::from(face.units_per_em()).max(1);
        let units: i64 = text
            .chars()
            .map(|letter| {
                face.glyph_index(letter).and_then(|glyph| face.glyph_hor_advance(glyph)).map_or(em, i64::from)
            })
            .sum();
        units * size / em
    }

    /// The size of em at which capitals and digits are this high.
    pub fn size_for(&self, capital_height: Um, family: Family, weight: Weight) -> Um {
        let usual = capital_height * 10 / 7;
        let Some(face) = self.face(family, weight) else { return usual };
        match face.capital_height() {
            Some(height) if height > 0 => capital_height * i64::from(face.units_per_em()) / i64::from(height),
            _ => usual,
        }
    }

    /// Whether the font has every letter of the text.
    pub fn has_all(&self, text: &str, family: Family, weight: Weight) -> bool {
        self.face(family, weight)
            .is_some_and(|face| text.chars().all(|letter| face.glyph_index(letter).is_some()))
    }

    /// The text with a sign in the place of each letter that the font does not have, for files that can't borrow it from
    /// another font. Letters that only steer how others are shown are left out: they have no shape.
    pub fn shown(&self, text: &str, family: Family, weight: Weight) -> String {
        let Some(face) = self.face(family, weight) else { return text.to_owned() };
        let steers = |letter: &char| {
            matches!(letter, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}'
                | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}')
        };
        let has = |letter: char| face.glyph_index(letter).is_some();
        text.chars()
            .filter(|letter| !steers(letter))
            .map(|letter| if has(letter) { letter } else { STAND_IN })
            .collect()
    }

    /// The text, shortened if it is wider than `most`.
    ///
    /// The rule: whole letters are dropped from the end until the rest and `…` fit; spaces before the `…` go too. At
    /// least one letter stays. Control characters are never drawn: each counts as a space.
    pub fn fit(&self, text: &str, most: Um, size: Um, family: Family, weight: Weight) -> String {
        let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let clean = clean.trim();
        if self.width(clean, size, family, weight) <= most {
            return clean.to_owned();
        }
        let mut kept = String::new();
        let mut best = None;
        for letter in clean.chars() {
            kept.push(letter);
            let tried = format!("{}{ELLIPSIS}", kept.trim_end());
            if best.is_some() && self.width(&tried, size, family, weight) > most {
                break;
            }
            best = Some(tried);
        }
        best.unwrap_or_default()
    }
}

fn count(text: &str) -> i64 {
    i64::try_from(text.chars().count()).unwrap_or(i64::MAX / 1_000_000_000)
}
