//! The live panel in a browser: requests become events of the core, its effects become answers and event streams.
//!
//! ```text
//! browser ── POST throw ──▶ endpoint ──▶ desk (one thread: core, journal, modelled layout) ◀─▶ links
//!    ▲                                     │ written down, synced, applied
//!    └── event stream ◀── endpoint ◀── snapshot of what may truly be shown
//! ```
//!
//! [`app`] builds the endpoints without a socket, so tests call it directly; [`serve`] binds an address and runs it. One
//! thread, the [`Desk`], owns everything that changes, so that two people who throw one lever in the same millisecond are
//! taken one after the other. Pages get snapshots, never the history: a slow reader misses steps in between but is never
//! shown something that is not so, and costs no memory.
//!
//! # After a restart
//!
//! The journal is replayed, throws and reports alike. A machine that had reported is shown where it stood, because points
//! stay where they are when a computer stops. One that was on its way is shown as on its way until it reports: what it
//! last reported is no longer so. Nothing is sent to any machine because a computer was started. How the modelled layout
//! resumes stands in [`live::link::Simulator`].
//!
//! This crate chooses nothing about the railroad; which levers there are and where they lie in the diagram is the plan's
//! and `draw`'s.

#![allow(clippy::disallowed_methods, reason = "this is an edge: it owns the clock and a thread")]

mod access;
mod alone;
mod app;
mod aside;
mod asset;
mod body;
mod certificate;
mod clients;
mod clock;
mod counts;
mod desk;
mod diagram;
mod endpoint;
mod findings;
mod guard;
mod link;
mod listen;
mod logbook;
mod page;
mod practice;
pub mod refusal;
mod server;
mod snapshot;
mod told;
mod trial;
mod wire;

pub use access::{Access, KeysError, NewKey, Role};
pub use app::{Panel, Reread, app};
pub use certificate::{Certificate, CertificateError, Tls, beside as certificate_beside};
pub use desk::{Aside, Desk, DeskError, Reopen, Upkeep};
pub use findings::{FindingsError, findings};
pub use guard::Hosts;
pub use server::{DEFAULT_PORT, Open, Options, ServeError, address_of, interrupted, keys_beside, serve};
pub use snapshot::{LeverNow, RouteNow, Snapshot};
