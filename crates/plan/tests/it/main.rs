//! The plan against what builders do, and against the rules.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

// What a practitioner would expect: strips, chains, cab addresses, numbers.
mod practice;

/// One-push routes in wire.
mod diodes;
