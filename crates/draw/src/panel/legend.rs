//! What the marks on a fascia mean, in one row at its foot.

use super::fit::Fitted;
use super::parts::{facts, outline};
use crate::pen::{Pen, Type};
use crate::scene::{Layer, Mark, Shape, Tag, Xy};
use crate::sheet::{Ink, MM, PANEL_LEGEND_HEIGHT, Um};
use description::Buttons;
use plan::model::{DeviceKind, Fascia, Plan};

/// Adds the legend; items that the panel is too narrow for are left out from the last on.
pub(super) fn add(pen: &mut Pen<'_>, plan: &Plan, fascia: &Fascia, fitted: &Fitted) {
    let facts = facts(plan, fascia);
    let margin = outline(facts).margin;
    let look = Type::plain(PANEL_LEGEND_HEIGHT).quiet();
    let foot = fitted.height - margin - MM;
    let mut x = margin;
    let has = |kind: DeviceKind| fascia.devices.iter().any(|device| device.kind == kind);
    let layout = plan.network.described.layout.name.as_str();
    let push = match facts.buttons {
        Buttons::OnePush => "button: sets the way to its track",
        Buttons::Pair | Buttons::Toggle => "button: sets its leg",
    };
    let items: [(DeviceKind, Um, &str); 3] = [
        (DeviceKind::Button, PANEL_LEGEND_HEIGHT, push),
        (DeviceKind::Toggle, PANEL_LEGEND_HEIGHT, "toggle: holds its lever normal or reverse"),
        (DeviceKind::Lamp, PANEL_LEGEND_HEIGHT * 3 / 5, "lamp: its leg is set"),
    ];
    let right = fitted.width - margin;
    for (_, size, text) in items.into_iter().filter(|(kind, ..)| has(*kind)) {
        let wide = PANEL_LEGEND_HEIGHT + MM + pen.width(text, look);
        if x + wide > right {
            return;
        }
        let at = Xy::new(x + PANEL_LEGEND_HEIGHT / 2, foot - PANEL_LEGEND_HEIGHT / 2);
        let (layer, tag, ink) = (Layer::Mark, Tag::class("legend"), Ink::Quiet);
        pen.scene.marks.push(Mark { shape: Shape::Ring, at, size, ink, layer, hidden: false, tag });
        let at = Xy::new(x + PANEL_LEGEND_HEIGHT + MM, foot);
        x += PANEL_LEGEND_HEIGHT + MM + pen.write(text, at, wide, look, Tag::class("legend")) + 6 * MM;
    }
    if x + pen.width(layout, look) <= right {
        pen.write(layout, Xy::new(right, foot), right - x, look.right(), Tag::class("legend"));
    }
}
