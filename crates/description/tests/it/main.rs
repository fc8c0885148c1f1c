//! The record of what is built, there and back.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

// What a record says comes back as it was written, and what is damaged is refused with a place.
mod record;
// How long work takes.
mod work;
