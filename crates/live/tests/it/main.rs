//! Tests of the running panel, on plans made by hand.
//!
//! - `throws`: single events and what follows from them.
//! - `evenings`: whole sessions, random but seeded, on a false clock and a modelled layout.
//! - `rows`: the written form of an entry.
//! - `bytes`: links of bytes in the user's own wording.
//! - `layout_bus`: the node on the layout bus, held to the standards' frames.
//! - `by_hand`: the plans.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop there")]

mod by_hand;
mod bytes;
mod evenings;
mod layout_bus;
mod rows;
mod throws;
