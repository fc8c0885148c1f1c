//! A hole that is as large as the fascia it is meant for.

use notice::{Diagnostic, Span, code};
use plan::model::{Fascia, Plan};
use std::collections::BTreeSet;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    plan.fascias.iter().flat_map(|fascia| too_large(plan, fascia)).collect()
}

fn too_large(plan: &Plan, fascia: &Fascia) -> Vec<Diagnostic> {
    let described = &plan.network.described;
    let sizes = &described.panels[fascia.described].fascia;
    let sides = [sizes.width, sizes.height].into_iter().flatten();
    let Some(least) = sides.min_by(|a, b| a.value.value().total_cmp(&b.value.value())) else {
        return Vec::new();
    };
    let used: BTreeSet<&str> = fascia.devices.iter().map(|device| device.part.as_str()).collect();
    let of_parts = used.into_iter().filter_map(|name| {
        let hole = described.parts.get(name)?.hole?;
        Some((format!("the hole for `{name}`"), hole.value.value(), hole.span))
    });
    let fixing = sizes.holes.map(|hole| ("a hole to fix it by".to_owned(), hole.value.value(), hole.span));
    let mm = |metres: f64| format!("{:.1} mm", metres * 1000.0);
    of_parts
        .chain(fixing)
        .filter(|&(_, hole, _)| hole >= least.value.value())
        .map(|(what, hole, at)| {
            let message = format!(
                "{what} is {} wide, and panel `{}` only {}",
                mm(hole),
                fascia.panel,
                mm(least.value.value())
            );
            let written = at != Span::default();
            let span = if written { at } else { least.span };
            let note = Diagnostic::error(code::HOLE_TOO_LARGE, span, message)
                .help("check the units of both: a push button wants a hole of 6 to 16 mm");
            if written { note.related(least.span, "the panel's size is written here") } else { note }
        })
        .collect()
}
