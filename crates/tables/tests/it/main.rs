//! What is written, against readers that share no code with the writers.
#![allow(clippy::disallowed_methods, reason = "what is written is read back from files")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

/// Files read back by Python's csv module and by openpyxl.
mod back;
/// What stands in the tables of a plan.
mod content;
