//! More decoders at a place than its `decoders` says that it has room for: the built ones, the pinned ones and the new ones together.

use notice::{Diagnostic, code};
use plan::model::{Decoder, Plan};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    plan.network
        .described
        .places
        .iter()
        .filter_map(|place| {
            let room = place.decoders?;
            let name = place.id.value.as_str();
            let is_here = |decoder: &&Decoder| decoder.at.as_ref().is_some_and(|at| at.value == name);
            let ids: Vec<&str> =
                plan.decoders.iter().filter(is_here).map(|decoder| decoder.id.as_str()).collect();
            if ids.len() <= usize::from(room.value) {
                return None;
            }
            let (are, fit) =
                (if ids.len() == 1 { "is" } else { "are" }, if room.value == 1 { "fits" } else { "fit" });
            let message = format!(
                "{} {are} planned at `{name}`, where {} {fit}: {}",
                count(ids.len()),
                room.value,
                ids.join(", ")
            );
            Some(Diagnostic::error(code::PLACE_FULL, room.span, message).help(format!(
            "make room and write decoders = {}, give another place more, or take decoders with more outputs",
            ids.len()
        )))
        })
        .collect()
}

fn count(decoders: usize) -> String {
    if decoders == 1 { "1 decoder".to_owned() } else { format!("{decoders} decoders") }
}
