//! Panels at 1:1: the face of a fascia with every hole in it, its drilling template, its outline for a saw; the row of a
//! strip.
//!
//! What stands on a fascia is decided in the plan. Here everything finds its place in millimetres: [`fit`] multiplies the
//! diagram of the panel's territory until each device has room, [`place`] keeps the distances, [`face`] draws the engraving,
//! [`template`] the sheets to drill by. [`check_panels`] says what of that cannot be had.

mod face;
mod findings;
mod fit;
mod legend;
mod parts;
mod place;
mod strip;
mod table;
mod template;

pub use findings::check_panels;
pub use table::{HoleRow, hole_rows};

use crate::fonts::Fonts;
use crate::pen::Pen;
use crate::scene::Scene;
use crate::sheet::{A4, LETTER, Um};
use fit::{Fitted, Fitting};
use measure::Units;
pub(crate) use parts::um;
use parts::{facts, outline};
use plan::model::{Fascia, Plan};

/// The face of a panel at 1:1; none when no panel with a face has this name.
pub fn panel_face(plan: &Plan, panel: &str) -> Option<Scene> {
    let fonts = Fonts::read();
    if let Some(fascia) = fascia(plan, panel) {
        return Some(face_of(plan, fascia, &fitted(plan, fascia, &fonts), &fonts));
    }
    strip::face(plan, panel, &fonts)
}

/// The sheets to drill a fascia by: true view, mirrored for the back, and the table of its holes. None when no fascia has this
/// name.
pub fn template(plan: &Plan, panel: &str) -> Option<Vec<Scene>> {
    let fonts = Fonts::read();
    let fascia = fascia(plan, panel)?;
    let fitted = fitted(plan, fascia, &fonts);
    let face = face_of(plan, fascia, &fitted, &fonts);
    Some(template::sheets(plan, fascia, &fitted, &face, &fonts))
}

/// What a saw and a drill follow on a fascia, at 1:1 and in one piece: its outline and its holes, nothing else.
pub fn panel_cut(plan: &Plan, panel: &str) -> Option<Scene> {
    let fonts = Fonts::read();
    let fascia = fascia(plan, panel)?;
    let mut face = face_of(plan, fascia, &fitted(plan, fascia, &fonts), &fonts);
    face.title = format!("{}: outline and holes of panel {panel}", plan.network.described.layout.name);
    face.strokes.retain(|stroke| stroke.layer == crate::scene::Layer::Cut);
    face.marks.clear();
    face.words.clear();
    Some(face)
}

fn fascia<'a>(plan: &'a Plan, panel: &str) -> Option<&'a Fascia> {
    plan.fascias.iter().find(|fascia| fascia.panel == panel)
}

fn fitted(plan: &Plan, fascia: &Fascia, fonts: &Fonts) -> Fitted {
    let (fitting, territory) = Fitting::of(plan, fascia, outline(facts(plan, fascia)), fonts);
    fitting.fit(territory)
}

fn face_of(plan: &Plan, fascia: &Fascia, fitted: &Fitted, fonts: &Fonts) -> Scene {
    let title = format!("{}: panel {}", plan.network.described.layout.name, fascia.panel);
    let pen = Pen::on(fonts, title, (fitted.width, fitted.height));
    face::draw(plan, fascia, fitted, pen).scene
}

/// The paper that sheets of a layout are printed on.
pub(crate) fn paper(plan: &Plan) -> (Um, Um) {
    match plan.network.described.layout.units {
        Units::Imperial => LETTER,
        Units::Metric => A4,
    }
}
