//! Drawings alone as PDF, at true size: each scene on a page of its own size, without frame or title block.
//!
//! The pages are set by the same typesetter as the binder, from the same SVG, so a drawing looks the same in both. The
//! ground is left to the paper.

use draw::fonts::Fonts;
use draw::scene::Scene;
use draw::sheet::MM;
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::drawings::{length, picture};
use crate::typeset::{Error, PAGE_MAX_MM, set};
use crate::world;

/// The scenes as the bytes of one PDF, a page for each.
///
/// # Errors
/// A scene is longer than a page can be, or the typesetter refuses a drawing.
pub fn pages(scenes: &[Scene]) -> Result<Vec<u8>, Error> {
    for scene in scenes {
        if scene.width.max(scene.height) > PAGE_MAX_MM * MM {
            return Err(Error::PageTooLarge { width_mm: scene.width / MM, height_mm: scene.height / MM });
        }
    }
    let title = scenes.first().map(|scene| scene.title.clone()).unwrap_or_default();
    let fonts = Fonts::read();
    let drawings: Array = scenes.iter().map(|scene| drawing(scene, &fonts)).collect();
    let values = dict! { "title" => title.clone().into_value(), "drawings" => drawings };
    let made = set(world::SCENES, values, &title);
    // The typesetter remembers what it set for the next time; a program that runs for months must not keep it all.
    typst::comemo::evict(0);
    made.map(|(_, (pdf, _))| pdf)
}

/// A scene as the template wants it: `(svg, width, height, alt)`.
fn drawing(scene: &Scene, fonts: &Fonts) -> Value {
    let mut shown = scene.clone();
    for words in &mut shown.words {
        words.text = fonts.shown(&words.text, words.family, words.weight);
    }
    let drawing: Dict = dict! {
        "svg" => picture(&shown),
        "width" => length(scene.width),
        "height" => length(scene.height),
        "alt" => scene.title.clone(),
    };
    drawing.into_value()
}
