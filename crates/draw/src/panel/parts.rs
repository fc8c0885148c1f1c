//! What the holes of a fascia need: their sizes in whole micrometres, from the parts and the panel's own keys.

use crate::scene::Xy;
use crate::sheet::{HOLE_GAP_MIN, MM, PANEL_FIXING_HOLE, PANEL_FIXING_SPACING, PANEL_MARGIN, Um};
use description::{FasciaFacts, Part};
use measure::Length;
use notice::Spanned;
use plan::model::{Device, Fascia, Plan};

/// The room that a device takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Size {
    pub(crate) hole: Um,
    /// Its nut or body at the widest; never less than its hole.
    pub(crate) nut: Um,
}

/// The sizes of a fascia that the user gives or leaves open.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Outline {
    pub(crate) width: Option<Um>,
    pub(crate) height: Option<Um>,
    pub(crate) margin: Um,
    /// Diameter of the holes it is fixed by; 0 for none.
    pub(crate) fixing: Um,
}

/// A length in whole micrometres.
#[expect(clippy::cast_possible_truncation, reason = "lengths of panels and parts are metres at most")]
pub(crate) fn um(length: Length) -> Um {
    (length.value() * 1e6).round().clamp(0.0, 1e9) as Um
}

pub(crate) fn outline(facts: &FasciaFacts) -> Outline {
    let size = |length: Option<Spanned<Length>>| length.map(|length| um(length.value));
    Outline {
        width: size(facts.width),
        height: size(facts.height),
        margin: size(facts.margin).unwrap_or(PANEL_MARGIN),
        fixing: size(facts.holes).unwrap_or(PANEL_FIXING_HOLE),
    }
}

/// The facts that a fascia's table gives.
pub(crate) fn facts<'a>(plan: &'a Plan, fascia: &Fascia) -> &'a FasciaFacts {
    &plan.network.described.panels[fascia.described].fascia
}

pub(crate) fn size_of(plan: &Plan, device: &Device) -> Size {
    let part = plan.network.described.parts.get(&device.part);
    let read = |which: fn(&Part) -> Option<Spanned<Length>>, usual: Um| {
        part.and_then(which).map_or(usual, |length| um(length.value)).max(100)
    };
    let hole = read(|part| part.hole, 7 * MM);
    Size { hole, nut: read(|part| part.nut, 11 * MM).max(hole) }
}

/// Where a panel of this size is fixed: in its corners, and between them where they lie far apart.
pub(crate) fn fixing_places(outline: &Outline, width: Um, height: Um) -> Vec<Xy> {
    if outline.fixing == 0 {
        return Vec::new();
    }
    let inset = outline.margin / 2 / 100 * 100;
    let span = width - 2 * inset;
    let count = (span / PANEL_FIXING_SPACING + 1).clamp(1, 50);
    let along = (0..=count).map(|step| inset + span * step / count / 100 * 100);
    along.flat_map(|x| [Xy::new(x, inset), Xy::new(x, height - inset)]).collect()
}

/// Whether the holes that a panel is fixed by keep enough of its edge whole.
pub(crate) fn fixing_holds(outline: &Outline) -> bool {
    outline.fixing == 0 || outline.margin / 2 - outline.fixing / 2 >= HOLE_GAP_MIN
}
