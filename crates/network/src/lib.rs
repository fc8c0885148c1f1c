//! The railroad as a graph, and the laws that follow from it.
//!
//! [`resolve`] turns a [`description::Description`] into a [`Network`]: names become ids, tables that join tracks
//! become joints with moves, and whatever does not fit is left out with a diagnostic. [`find_routes`] walks it. What is
//! the *better* of two good answers is not decided here but in `plan`.

mod again;
mod between;
mod bits;
mod bus;
mod eliminate;
mod flank;
mod heaviest;
mod largest;
mod locking;
mod model;
mod polarity;
mod resolve;
mod route;
mod steps;
mod ways;

pub use between::{
    BEST_STEPS_MAX, Best, Cost, Prefer, UNKNOWN_LENGTH_MM, Wish, best_route, cost_of, routes_between,
};
pub use bus::{Bus, BusRun};
pub use flank::{Flank, flanks};
pub use heaviest::{Heaviest, Throws};
pub use largest::Largest;
pub use locking::{LOCKED_ROUTES_MAX, Locking, Why, lock, reasons};
pub use model::{
    Accessory, AccessoryId, Control, Controlled, Guarded, Joint, JointId, JointKind, Lever, LeverId, Line,
    LineId, Machine, MachineId, MachineLink, Move, MoveShape, Network, Nudge, Nudged, Pass, Port, Position,
    Track, TrackId, Wanted,
};
pub use polarity::{Bond, Link, Piece, Polarity, bond_at, follow_rails, links};
pub use resolve::resolve;
pub use route::{Path, ROUTE_TRACKS_MAX, ROUTES_MAX, Route, RouteList, Routes, STEPS_MAX, find_routes};
pub use steps::Avoid;
pub use ways::Ways;
