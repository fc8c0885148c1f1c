//! Rules and codes, on the demos and on the pages that explain them.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]
#![allow(clippy::format_push_string, clippy::format_collect, reason = "fixtures are short and built once")]

/// Signals and lights.
mod accessories;
/// Every kind of bad input that was thought of.
mod bad_input;
/// Every code has a page, and the page is true.
mod codes;
/// What clashes where no address is free.
mod conflicts;
/// Parts that count addresses otherwise than the system.
mod counts;
/// Rooms of decoders, machines without one, weak outputs.
mod decoders;
/// The gaps of finished plans, by another road; and plans that lack one.
mod gaps;
/// Laws on demos that were changed at random.
mod mutations;
/// Strips, chains and levers without a button.
mod strips;
/// Rows that cannot be read.
mod syntax;
/// Where tracks lead, where sections meet, what is fed.
mod topology;

#[test]
fn the_demos_check_clean() {
    for (name, text) in [
        ("first-module", include_str!("../../../../demo/first-module/layout.toml")),
        ("tern-harbor", include_str!("../../../../demo/tern-harbor/layout.toml")),
    ] {
        let outcome = testkit::planned(text);
        assert!(outcome.diagnostics.is_empty(), "{name}:\n{}", testkit::list(text, &outcome.diagnostics));
    }
}
