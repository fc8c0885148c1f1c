//! The running panel as a pure machine: what has happened so far and one event in, effects out.
//!
//! ```text
//! people, links, timers ── Event ──▶ step ──▶ Record(entry)   written down first, then applied to the state
//!                                         ├─▶ Send(machine)   handed to the link that moves it
//!                                         ├─▶ Announce(lever) told to every open page, as AnnouncePanel is
//!                                         └─▶ Refuse(reason)  told to the one who asked
//! ```
//!
//! [`step`] changes nothing. The state changes only by [`State::apply`], one recorded [`Entry`] at a time, in the running
//! panel and in a replay alike: so a replayed journal cannot end in another state than the one people saw, and an entry
//! that could not be written leaves no trace. Time is an input ([`Moment`]); there is no clock, no thread and no file here.
//!
//! What moves the points stands behind a link. In this crate a link is the part without sockets: [`link::Simulator`] models
//! a layout whose machines take their time and then report. Sockets, pages and the journal's file belong to `serve` and
//! `journal`.

mod apply;
mod changed;
mod elsewhere;
mod entry;
mod kept;
pub mod link;
mod moment;
mod railroad;
mod reach;
mod refusal;
mod row;
mod said;
pub mod sign;
mod state;
mod step;

pub use apply::NotOnRailroad;
pub use changed::{CHANGES_SAID_MAX, Changed, change};
pub use elsewhere::{Elsewhere, HeldBy, Hold, Stands};
pub use entry::{Entry, EntryUnreadable, Found, Happened, RouteName};
pub use moment::{Moment, Wait};
pub use railroad::{Lever, Machine, NumberTwice, Railroad, Route, RouteId};
pub use reach::Reach;
pub use refusal::Refusal;
pub use said::{SAID_LETTERS_MAX, Said};
pub use sign::{Sign, Signs};
pub use state::{
    BURST_WAIT, Burst, FOUND_MAX, HeldRoute, Lock, RouteSight, Sight, Standing, State, Stop, UNDO_MAX,
};
pub use step::{CONFIRM_WAIT, Effect, Event, WAITING_MAX, step, why_not};
