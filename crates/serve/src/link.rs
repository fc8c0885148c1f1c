//! The links through which commands leave and reports come in. Today there is one, to the modelled layout; a link with a
//! socket becomes another variant, with its task beside it in a module of its own.

use live::link::{Fault, Simulator};
use live::{Event, Moment, Railroad, State};
use network::{MachineId, Position};

/// One link.
#[derive(Debug)]
pub(crate) enum Link {
    /// To the modelled layout, which needs no socket.
    Simulated(Box<Simulator>),
}

impl Link {
    /// The link to the modelled layout as it stands when the panel is opened.
    pub(crate) fn simulated(railroad: &Railroad, state: &State, at: Moment) -> Self {
        Self::Simulated(Box::new(Simulator::holding(railroad, state, at)))
    }

    /// Sends a machine off. A link that has no room says so by an event.
    pub(crate) fn send(&mut self, machine: MachineId, position: Position, at: Moment) {
        match self {
            Self::Simulated(simulator) => simulator.send(machine, position, at),
        }
    }

    /// Asks for the emergency stop of the layout.
    pub(crate) fn stop(&mut self, at: Moment) {
        match self {
            Self::Simulated(simulator) => simulator.stop_trains(at),
        }
    }

    /// Lets trains run again.
    pub(crate) fn resume(&mut self) {
        match self {
            Self::Simulated(simulator) => simulator.let_trains_run(),
        }
    }

    /// When it wants to be asked again.
    pub(crate) fn next_due(&self) -> Option<Moment> {
        match self {
            Self::Simulated(simulator) => simulator.next_due(),
        }
    }

    /// What it has heard by now.
    pub(crate) fn reports(&mut self, at: Moment) -> Vec<Event> {
        match self {
            Self::Simulated(simulator) => simulator.reports(at),
        }
    }

    /// Puts a fault into a machine of a modelled layout.
    pub(crate) fn spoil(&mut self, machine: MachineId, fault: Option<Fault>) {
        match self {
            Self::Simulated(simulator) => simulator.spoil(machine, fault),
        }
    }
}
