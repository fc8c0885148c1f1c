//! Tests of the operating log.
//!
//! - `keeps`: what is appended comes back, and what is damaged is cut and said.
//! - `anomalies`: the nth write fails, for every n; nothing acknowledged is lost.
//! - `checkpoints`: what they save on opening, and that nothing hangs on them.
//! - `damage`: files changed while they lay there, at any byte.
//! - `put_aside`: records that are taken out at the front.
//! - `memory`: every row of a journal, in order.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop there")]
#![allow(clippy::disallowed_methods, reason = "these tests damage files on purpose")]

mod anomalies;
mod checkpoints;
mod damage;
mod keeps;
mod memory;
mod put_aside;
