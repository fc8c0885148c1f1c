//! Tests of the running panel, on plans made by hand.
//!
//! - `throws`: single events and what follows from them.
//! - `evenings`: whole sessions, random but seeded, on a false clock and a modelled layout.
//! - `rows`: the written form of an entry.
//! - `backoff`: when a link is tried again.
//! - `broker`: several panels on one message broker, whatever goes wrong between them.
//! - `broker_talk`: what panels on a broker say to one another, message by message.
//! - `changed`: the railroad is changed while the panel runs.
//! - `bytes`: links of bytes in the user's own wording.
//! - `inverted`: a machine that moves the other way round, by the record.
//! - `layout_bus`: the node on the layout bus, held to the standards' frames.
//! - `routes`: routes set and released beside levers, locks and stops, on the demo's first module.
//! - `once`: routes that are set and not held.
//! - `faults`: the modelled layout down to its bits, with machines that are not sound.
//! - `model`: random sequences with crashes beside a tiny model of the locking; years of operation.
//! - `signs`: machines that get slow or miss reports, on rows made by hand.
//! - `panel`: a panel on a false clock, with its modelled layout.
//! - `by_hand`: the plans.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop there")]

mod backoff;
mod broker;
mod broker_talk;
mod by_hand;
mod bytes;
mod changed;
mod evenings;
mod faults;
mod inverted;
mod layout_bus;
mod model;
mod once;
mod panel;
mod routes;
mod rows;
mod signs;
mod throws;
