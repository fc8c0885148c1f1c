//! What is read of a description and of a record.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

// The rows of keys, the reader and the reference agree.
mod keys;
// What a record says comes back as it was written, and what is damaged is refused with a place.
mod record;
// How long work takes.
mod work;
