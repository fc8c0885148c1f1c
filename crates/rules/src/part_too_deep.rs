//! A button, lamp or toggle that reaches farther back than there is room behind its fascia.

use notice::{Diagnostic, code};
use plan::model::{Fascia, Plan};
use std::collections::BTreeSet;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    plan.fascias.iter().flat_map(|fascia| too_deep(plan, fascia)).collect()
}

fn too_deep(plan: &Plan, fascia: &Fascia) -> Vec<Diagnostic> {
    let described = &plan.network.described;
    let Some(room) = described.panels[fascia.described].fascia.room else { return Vec::new() };
    let used: BTreeSet<&str> = fascia.devices.iter().map(|device| device.part.as_str()).collect();
    let mm = |metres: f64| format!("{:.0} mm", (metres * 1000.0 - 1e-6).ceil());
    used.into_iter()
        .filter_map(|name| {
            let depth = described.parts.get(name)?.depth?;
            if depth.value <= room.value {
                return None;
            }
            let message = format!(
                "`{name}` reaches {} behind panel `{}`, where there are only {} of room",
                mm(depth.value.value()),
                fascia.panel,
                mm(room.value.value())
            );
            let note = Diagnostic::error(code::PART_TOO_DEEP, room.span, message)
                .help("make more room behind the panel, or name a flatter part");
            Some(if depth.span.start == depth.span.end {
                note
            } else {
                note.related(depth.span, "its depth is written here")
            })
        })
        .collect()
}
