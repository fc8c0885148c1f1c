//! Decoders where no accessory bus passes: they would have to be fed by wires that nobody described.

use notice::{Diagnostic, code, natural};
use plan::model::Plan;
use std::collections::BTreeMap;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let accessory = || plan.network.buses.iter().filter(|bus| bus.kind == description::BusKind::Accessory);
    let Some(first) = accessory().next() else { return Vec::new() };
    let mut missed: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for decoder in &plan.decoders {
        let Some(place) = &decoder.at else { continue };
        if accessory().all(|bus| !bus.places.contains(&place.value)) {
            missed.entry(&place.value).or_default().push(&decoder.id);
        }
    }
    let mut missed: Vec<(&str, Vec<&str>)> = missed.into_iter().collect();
    missed.sort_by(|a, b| natural(a.0, b.0));
    let notes = missed.into_iter().map(|(place, decoders)| {
        let stand = if decoders.len() == 1 { "stands" } else { "stand" };
        let message = format!("no accessory bus passes `{place}`, where {} {stand}", decoders.join(", "));
        Diagnostic::warning(code::BUS_MISSES_DECODERS, first.span, message)
            .help(format!("add `{place}` to its path, or a branch that leads there"))
    });
    notes.collect()
}
