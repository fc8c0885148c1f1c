//! Tests of the live panel's edge, on the demo's first module.
//!
//! - `answers`: what is served, and how it may be kept.
//! - `asked`: routes, locks, undo and stop; the log and the health of the panel.
//! - `aside`: old rows that are put aside.
//! - `changes`: the layout is changed while it is served.
//! - `faults`: people, devices and cables that do what they should not.
//! - `links`: links over sockets and a pseudo-terminal, lost and found again.
//! - `brokers`: panels that share a railroad over a real message broker.
//! - `keys`: a panel that the network can reach, and what each key opens.
//! - `looks`: the style sheet, measured.
//! - `published`: the document of addresses, and the measurements.
//! - `refusals`: every way in which a request is refused.
//! - `streams`: what an open page is told, from the first event to the last.
//! - `restarts`: what is so after the panel was closed, and when its journal cannot be written.
//! - `enciphered`: the real server behind a certificate, and a client that checks it.
//! - `sockets`: the real server on a real port, closed while pages follow it.
//! - `commissioning`: steps judged and written down; faults narrowed down.
//! - `browser`: a real browser, two pages and a restart.
//! - `practice`: faults put in to practise on; routes that are set and not held.
//! - `panels`: panels without a socket, and requests to them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop there")]
#![allow(clippy::disallowed_methods, reason = "these tests keep journals in files and start a browser")]

mod answers;
mod aside;
mod asked;
mod brokers;
mod browser;
mod changes;
mod commissioning;
mod enciphered;
mod faults;
mod keys;
mod links;
mod looks;
mod panels;
mod practice;
mod published;
mod refusals;
mod restarts;
mod sockets;
mod streams;
