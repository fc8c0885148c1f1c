//! The electric crate from outside.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "helpers of tests are tests, and run a simulator"
)]

/// Cheapest sizes, fuses, supplies, feeders.
mod advice;
/// Wire tables, sums worked elsewhere, transients with closed forms.
mod against;
/// Laws that every linear circuit keeps.
mod laws;
/// The circuit simulator on our own netlists.
mod simulator;
