//! More strips than the cab bus feeds: those past the fourth need a supply of their own.
//!
//! # Source
//! Up to four strips are fed by the cab bus, and past that a separate, well-regulated supply of 12–18 V DC with centre
//! positive: common practice, no source.

use notice::{Diagnostic, code};
use plan::model::{Plan, StripFeed};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let own: Vec<_> = plan.strips.iter().filter(|strip| strip.feed.value == StripFeed::OwnSupply).collect();
    let Some(first) = own.first() else { return Vec::new() };
    let names: Vec<String> = own.iter().map(|strip| format!("`{}`", strip.panel)).collect();
    let message = format!("the cab bus does not feed strip {}", names.join(", "));
    vec![
        Diagnostic::warning(code::STRIPS_NEED_SUPPLY, first.span, message).help(
            "give them a regulated supply of 12–18 V DC, centre positive, fused at its source; it is on the parts list",
        ),
    ]
}
