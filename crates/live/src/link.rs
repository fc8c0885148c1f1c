//! What stands between the panel and the machines. Each link is a module without sockets: it takes what the panel sends,
//! says when it wants to be asked again, and gives back events.

mod backoff;
pub mod broker;
pub mod bytes;
mod layout_bus;
mod simulator;
mod wire;

pub use backoff::{Backoff, STEADY, STEPS};
pub use layout_bus::{Heard, LayoutBus, NodeId};
pub use simulator::{Fault, Simulator, TRAVEL};
pub use wire::{BYTES_WAITING_MAX, Wire};

/// The name of the link to the modelled layout.
pub const SIMULATOR: &str = "simulated layout";
