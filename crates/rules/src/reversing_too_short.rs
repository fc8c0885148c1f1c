//! A reversing section through which the longest train is too long.
//!
//! # Source
//! A reversing section has to be longer than the longest train, so that no wheels bridge both its gaps at once: common
//! practice, no source.

use network::Piece;
use notice::{Diagnostic, code, quoted};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let layout = &network.described.layout;
    let Some(train) = layout.longest_train else { return Vec::new() };
    let mut notes = Vec::new();
    for section in &plan.reversing {
        let (Piece::Track(id), Some(shortest)) = (section.piece, section.shortest) else { continue };
        if shortest.value() > train.value.value() {
            continue;
        }
        let message = format!(
            "reversing section `{}` is {}, no longer than the longest train of {}",
            section.name,
            shortest.print(layout.units),
            train.value.print(layout.units)
        );
        let unmeasured: Vec<String> =
            section.unmeasured.iter().map(|&track| quoted(&network.track(track).name)).collect();
        let help = if unmeasured.is_empty() {
            "lengthen it or run shorter trains through it; no tracks beside it were found that make it long enough"
                .to_owned()
        } else {
            format!(
                "lengthen it, run shorter trains through it, or write how long these are: {}, so that it \
                 may go on over them",
                unmeasured.join(", ")
            )
        };
        notes.push(
            Diagnostic::warning(code::REVERSING_TOO_SHORT, network.track(id).span, message)
                .help(help)
                .related(train.span, "the longest train"),
        );
    }
    notes
}
