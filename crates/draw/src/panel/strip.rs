//! The face of a strip at 1:1: its row of pairs, each with the number and the name of what it throws, and which button does
//! what.
//!
//! How far apart the pairs of a bought strip stand is the strip's own affair, so this is a plate to read beside it, not a
//! template: one cell a pair, as wide as a number plate.

use crate::fonts::Fonts;
use crate::pen::{Pen, Type};
use crate::scene::{Area, Layer, Mark, Scene, Shape, Tag, Xy};
use crate::sheet::{
    Ink, MARK_SIZE, MM, PANEL_LEGEND_HEIGHT, PANEL_TITLE_HEIGHT, PLATE_NAME_HEIGHT, PLATE_NUMBER_HEIGHT,
    PLATE_WIDTH, Um,
};
use network::AccessoryId;
use plan::model::{Plan, Strip};

/// Height of a pair's cell.
const CELL_HEIGHT: Um = 30 * MM;
/// Room above the row for the title.
const HEAD: Um = 14 * MM;
/// Room below the row for the legend.
const FOOT: Um = 9 * MM;
/// Clear paper round everything.
const MARGIN: Um = 8 * MM;
/// The most pairs in one row; longer strips take several.
const ROW_PAIRS: usize = 12;

/// The face of the strip of this name; none when there is none.
pub(super) fn face(plan: &Plan, panel: &str, fonts: &Fonts) -> Option<Scene> {
    let strip = plan.strips.iter().find(|strip| strip.panel == panel)?;
    let count = usize::from(strip.pair_count).max(1);
    let columns = count.min(ROW_PAIRS);
    let rows = count.div_ceil(ROW_PAIRS);
    let um = |count: usize| Um::try_from(count).unwrap_or(0);
    let width = 2 * MARGIN + um(columns) * PLATE_WIDTH;
    let height = 2 * MARGIN + HEAD + FOOT + um(rows) * CELL_HEIGHT;
    let title = format!("{}: strip {panel}", plan.network.described.layout.name);
    let mut pen = Pen::on(fonts, title, (width, height));
    add_title(&mut pen, strip, width);
    for pair in 0..count {
        let corner = Xy::new(
            MARGIN + um(pair % ROW_PAIRS) * PLATE_WIDTH,
            MARGIN + HEAD + um(pair / ROW_PAIRS) * CELL_HEIGHT,
        );
        add_pair(&mut pen, plan, strip, pair, corner);
    }
    add_legend(&mut pen, height - MARGIN);
    Some(pen.scene)
}

fn add_title(pen: &mut Pen<'_>, strip: &Strip, width: Um) {
    let foot = MARGIN + PANEL_TITLE_HEIGHT;
    let room = width - 2 * MARGIN;
    let says =
        format!("addresses {} to {} · operator's left to right", strip.first.value.number(), strip.last());
    let quiet = Type::plain(PANEL_LEGEND_HEIGHT).quiet().right();
    let wide = pen.width(&says, quiet);
    let beside = if wide + 40 * MM < room { wide + 4 * MM } else { 0 };
    pen.write(
        &strip.panel,
        Xy::new(MARGIN, foot),
        room - beside,
        Type::bold(PANEL_TITLE_HEIGHT),
        Tag::class("title"),
    );
    if beside > 0 {
        pen.write(&says, Xy::new(width - MARGIN, foot), wide, quiet, Tag::class("title"));
    }
}

fn add_pair(pen: &mut Pen<'_>, plan: &Plan, strip: &Strip, pair: usize, corner: Xy) {
    let Xy { x, y } = corner;
    let middle = x + PLATE_WIDTH / 2;
    let cell = Area { left: x, top: y, right: x + PLATE_WIDTH, bottom: y + CELL_HEIGHT };
    pen.rectangle(cell, Layer::Frame, Ink::Faint, "cell");
    let lever = strip.pairs.get(pair).copied().flatten();
    let address = u64::from(strip.first.value.number()) + pair as u64;
    let small = Type::plain(PLATE_NAME_HEIGHT).quiet();
    let most = PLATE_WIDTH - 3 * MM;
    let note = format!("pair {} · address {address}", pair + 1);
    pen.write(&note, Xy::new(middle, y + CELL_HEIGHT - 2 * MM), most, small.middle(), Tag::class("pair"));
    if let Some(accessory) = strip.accessories.get(pair).copied().flatten() {
        add_accessory(pen, plan, accessory, corner);
        return;
    }
    let Some(id) = lever else {
        pen.write("spare", Xy::new(middle, y + 12 * MM), most, small.middle(), Tag::class("spare"));
        return;
    };
    let described = plan.network.lever(id);
    let number = plan
        .levers
        .iter()
        .find(|lever| lever.lever == id)
        .map_or(String::new(), |lever| lever.number.value.to_string());
    let tag = |class| Tag { lever: Some(described.id.clone()), ..Tag::class(class) };
    let look = Type::bold(PLATE_NUMBER_HEIGHT).middle();
    pen.write(&number, Xy::new(middle, y + 2 * MM + PLATE_NUMBER_HEIGHT), most, look, tag("plate-number"));
    if described.name != number {
        let look = Type::plain(PLATE_NAME_HEIGHT).middle();
        pen.write(&described.name, Xy::new(middle, y + 12 * MM), most, look, tag("plate-name"));
    }
    for (shift, shape, ink, says) in
        [(-1, Shape::Round, Ink::Normal, "normal"), (1, Shape::Diamond, Ink::Reverse, "reverse")]
    {
        let at = Xy::new(middle + shift * PLATE_WIDTH / 4, y + 17 * MM);
        let tag = Tag { position: Some(says), ..tag("pair-button") };
        pen.scene.marks.push(Mark {
            shape,
            at,
            size: MARK_SIZE,
            ink,
            layer: Layer::Mark,
            hidden: false,
            tag,
        });
        let foot = Xy::new(at.x, y + 22 * MM + PLATE_NAME_HEIGHT / 2);
        pen.write(says, foot, PLATE_WIDTH / 2 - MM, small.middle(), Tag::class("pair-word"));
    }
}

/// A signal or light has a number and a name; its two buttons switch it, so they carry no positions of points.
fn add_accessory(pen: &mut Pen<'_>, plan: &Plan, id: AccessoryId, corner: Xy) {
    let middle = corner.x + PLATE_WIDTH / 2;
    let most = PLATE_WIDTH - 3 * MM;
    let number = plan.accessory(id).map_or(String::new(), |planned| planned.number.value.to_string());
    let look = Type::bold(PLATE_NUMBER_HEIGHT).middle();
    let foot = corner.y + 2 * MM + PLATE_NUMBER_HEIGHT;
    pen.write(&number, Xy::new(middle, foot), most, look, Tag::class("plate-number"));
    let look = Type::plain(PLATE_NAME_HEIGHT).middle();
    let described = plan.network.accessory(id);
    let name = format!("{} {}", described.kind.word(), described.name);
    pen.write(&name, Xy::new(middle, corner.y + 12 * MM), most, look, Tag::class("plate-name"));
}

fn add_legend(pen: &mut Pen<'_>, foot: Um) {
    let look = Type::plain(PANEL_LEGEND_HEIGHT).quiet();
    let words =
        "each pair is shown with its normal button on the left; where yours differ, exchange the marks";
    let most = pen.scene.width - 2 * MARGIN;
    pen.write(words, Xy::new(MARGIN, foot), most, look, Tag::class("legend"));
}
