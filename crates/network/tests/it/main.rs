//! The network against answers from outside.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

// Route sets and counts of networks and graphs that others computed.
mod against;
// Routes between two stops.
mod between;
// Levers that keep things out of a route's side.
mod flank;
// Pairs of routes that exclude one another, and the most that can be set at once.
mod locking;
// Machines in the order a train meets them.
mod meeting;
// Tracks to gap, and how the rails lie.
mod polarity;
// A large generated terminal.
mod terminal;
