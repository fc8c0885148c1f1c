//! A modelled layout: each machine takes its travel time and then reports where it stands.
//!
//! A machine that is sent elsewhere while it travels turns round and reports only once, at the end. Machines that arrive
//! at one moment report in the order in which they were sent. Modelled faults (stuck, feedback lost, wrong way round) are
//! left to a later issue.
//!
//! # What happens to it when the panel restarts
//!
//! Points stay where they are when a computer stops, so the modelled layout holds the positions that the journal says
//! were confirmed. A machine that had been sent and had not yet reported has its command already, and its motor does
//! not stop because the panel did: so it starts its travel afresh on reopening and reports in due time. Until then the
//! panel shows it as on its way, never as arrived. The panel itself sends nothing again on reopening: a real machine must
//! not move because a computer was started.

use std::collections::VecDeque;

use network::{MachineId, Position};

use crate::{Event, Moment, Railroad, State, Wait};

/// How long a modelled machine travels from one position to the other: a brisk stall motor (common practice, no source).
pub const TRAVEL: Wait = Wait(900);

/// The modelled layout.
#[derive(Clone, Debug, Default)]
pub struct Simulator {
    /// Machines on their way, in the order in which they arrive.
    travelling: VecDeque<Travel>,
}

#[derive(Clone, Copy, Debug)]
struct Travel {
    machine: MachineId,
    to: Position,
    arrives: Moment,
}

impl Simulator {
    /// The layout as it stands when the panel is opened with this state at this moment.
    pub fn holding(railroad: &Railroad, state: &State, at: Moment) -> Self {
        let mut simulator = Self::default();
        for (machine, _) in railroad.machines() {
            let standing = state.standing(machine);
            if let (Some(_), Some(to)) = (standing.waiting_since, standing.commanded) {
                simulator.send(machine, to, at);
            }
        }
        simulator
    }

    /// Takes a command for one machine.
    pub fn send(&mut self, machine: MachineId, to: Position, at: Moment) {
        self.travelling.retain(|travel| travel.machine != machine);
        let arrives = at.after(TRAVEL);
        let place = self.travelling.partition_point(|travel| travel.arrives <= arrives);
        self.travelling.insert(place, Travel { machine, to, arrives });
    }

    /// When the next machine arrives.
    pub fn next_due(&self) -> Option<Moment> {
        self.travelling.front().map(|travel| travel.arrives)
    }

    /// The reports of all machines that have arrived by this moment, in order.
    pub fn reports(&mut self, at: Moment) -> Vec<Event> {
        let arrived = self.travelling.partition_point(|travel| travel.arrives <= at);
        self.travelling
            .drain(..arrived)
            .map(|travel| Event::Confirmed { machine: travel.machine, position: travel.to })
            .collect()
    }
}
