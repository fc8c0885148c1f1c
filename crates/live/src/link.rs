//! What stands between the panel and the machines. Each link is a module without sockets: it takes what the panel sends,
//! says when it wants to be asked again, and gives back events.

pub mod bytes;
mod layout_bus;
mod simulator;

pub use layout_bus::{Heard, LayoutBus, NodeId};
pub use simulator::{Fault, Simulator, TRAVEL};

/// The name of the link to the modelled layout.
pub const SIMULATOR: &str = "simulated layout";
