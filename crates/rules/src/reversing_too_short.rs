//! A reversing section that is shorter than the longest train.
//!
//! # Source
//! A reversing section has to be longer than the longest train, so that no wheels bridge both its gaps at once: common
//! practice, no source.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let layout = &plan.network.described.layout;
    let Some(train) = layout.longest_train else { return Vec::new() };
    let short = plan.reversing.iter().filter_map(|section| {
        let (track, length) = (section.track?, section.length?);
        (length.value() <= train.value.value()).then_some((track, length))
    });
    short
        .map(|(track, length)| {
            let track = plan.network.track(track);
            let message = format!(
                "reversing section `{}` is {}, no longer than the longest train of {}",
                track.name,
                length.print(layout.units),
                train.value.print(layout.units)
            );
            Diagnostic::warning(code::REVERSING_TOO_SHORT, track.span, message)
                .help("lengthen it, run shorter trains through it, or move its gaps further apart over more tracks")
                .related(train.span, "the longest train")
        })
        .collect()
}
