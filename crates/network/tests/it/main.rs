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
// Counts of routes against published counts of simple paths.
mod counts;
// Layouts that nobody builds: very large, without a stop, without a way out.
mod extreme;
// What is answered about them.
mod extremes;
// Routes against a graph library's simple paths, on planar layouts made at random.
mod paths;
// Tracks to gap, and how the rails lie.
mod polarity;
// Which ways are open through each kind of joint.
mod tables;
// A large generated terminal.
mod terminal;
