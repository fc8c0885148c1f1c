//! A QR code as strokes: each run of dark modules in a row is one stroke, a hair wider than a module is high.
//!
//! # Source
//! ISO/IEC 18004:2015: four light modules on every side (clause 6.3.8). The modules come from the crate `qrcodegen`.

use crate::scene::{Layer, Stroke, Tag, Xy};
use crate::sheet::{Ink, Um};
use qrcodegen::{QrCode, QrCodeEcc};

/// Light modules on every side.
const QUIET: i32 = 4;

/// How far rows lap over one another, so that no hairline of paper shows between them on a screen.
const ROW_LAP: Um = 40;

/// The longest text that is put into a code: with more, its modules are too small for a label.
pub(crate) const LINK_MAX: usize = 300;

/// The strokes of a text's code in a square of this side, quiet zone counted; none for a text that is too long.
pub(crate) fn strokes(text: &str, corner: Xy, side: Um) -> Option<Vec<Stroke>> {
    if text.len() > LINK_MAX {
        return None;
    }
    let code = QrCode::encode_text(text, QrCodeEcc::Medium).ok()?;
    let count = code.size();
    // Modules are whole micrometres, so that no hairline of paper shows between two rows.
    let module = side / Um::from(count + 2 * QUIET);
    let at = |index: i32| Um::from(index + QUIET) * module;
    let mut strokes = Vec::new();
    for row in 0..count {
        let y = corner.y + at(row) + module / 2;
        let mut column = 0;
        while column < count {
            let from = column;
            while column < count && code.get_module(column, row) {
                column += 1;
            }
            if column == from {
                column += 1;
                continue;
            }
            strokes.push(Stroke {
                path: vec![Xy::new(corner.x + at(from), y), Xy::new(corner.x + at(column), y)],
                width: module + ROW_LAP,
                ink: Ink::Ink,
                layer: Layer::Mark,
                round: false,
                dashed: false,
                hidden: false,
                tag: Tag::class("qr"),
            });
        }
    }
    Some(strokes)
}
