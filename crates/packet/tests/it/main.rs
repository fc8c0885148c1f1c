//! Addresses and packets against vectors from outside.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a failing check is a panic in a test, and the corpus is files"
)]

// Address tables and bits published by standards.
mod against;
// Packets to bytes and back.
mod packets;
// Lengths of bits and packets, and who comes next.
mod timing;
// Signals, edge by edge.
mod receive;
// Files of captures.
mod read;
// The layout bus: events and frames.
mod bus;
// What a fuzzer found, once more.
mod corpus;
// Variables that hold an address.
mod variables;
