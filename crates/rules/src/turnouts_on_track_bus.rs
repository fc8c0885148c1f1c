//! Turnouts fed from the track bus: a train that shorts the rails at a turnout takes away what could throw it.

use description::BusKind;
use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let buses = &plan.network.buses;
    let all_described = plan.network.described.buses.len() == buses.len();
    if !all_described || plan.decoders.is_empty() || buses.iter().any(|bus| bus.kind == BusKind::Accessory) {
        return Vec::new();
    }
    let Some(track) = buses.first() else { return Vec::new() };
    let message = format!(
        "decoders and motors are fed from track bus `{}`, so a short on the rails stops them, too",
        track.name
    );
    let note = Diagnostic::warning(code::TURNOUTS_ON_TRACK_BUS, track.span, message);
    vec![note.help("feed them from a bus of their own: [bus.accessory] with kind = \"accessory\" and a supply of its own")]
}
