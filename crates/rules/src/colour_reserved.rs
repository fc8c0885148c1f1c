//! Green and yellow together are kept for the protective earth of the mains.
//!
//! # Source
//! NEM 605 (2014): green-yellow is reserved for the protective earth of the 230 V mains and must not be used otherwise.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let own = plan.network.described.colours.own.values();
    let reserved = own.filter(|colour| {
        let lower = colour.value.to_lowercase();
        let mut words: Vec<&str> =
            lower.split(|letter: char| !letter.is_alphabetic()).filter(|word| !word.is_empty()).collect();
        words.sort_unstable();
        words == ["green", "yellow"]
    });
    reserved
        .map(|colour| {
            let message = format!("`{}` is kept for the protective earth of the mains", colour.value);
            Diagnostic::error(code::COLOUR_RESERVED, colour.span, message)
                .help("take another colour; NEM 605 has green alone for turnouts")
        })
        .collect()
}
