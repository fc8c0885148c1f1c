//! Which machines this panel may drive now, where panels share them over a message broker.
//!
//! The broker's task writes it; whoever sends a command looks at it last, just before the command goes out. A machine that is not shared may always be driven.

use std::collections::BTreeMap;
use std::sync::{Arc, RwLock};

use live::link::broker::Permit;
use network::MachineId;

use crate::clock::Clock;

/// The permits of all machines that are shared.
#[derive(Clone, Debug)]
pub(super) struct Permits {
    clock: Clock,
    shared: Arc<RwLock<BTreeMap<MachineId, Option<Permit>>>>,
}

impl Permits {
    /// These machines are shared, and none may be driven yet.
    pub(super) fn new(clock: Clock, shared: impl IntoIterator<Item = MachineId>) -> Self {
        let shared = shared.into_iter().map(|machine| (machine, None)).collect();
        Self { clock, shared: Arc::new(RwLock::new(shared)) }
    }

    pub(super) fn may_drive(&self, machine: MachineId) -> bool {
        let Ok(shared) = self.shared.read() else { return false };
        match shared.get(&machine) {
            None => true,
            Some(permit) => permit.is_some_and(|permit| permit.is_good(self.clock.both())),
        }
    }

    pub(super) fn grant(&self, permits: impl IntoIterator<Item = (MachineId, Option<Permit>)>) {
        if let Ok(mut shared) = self.shared.write() {
            shared.extend(permits);
        }
    }
}
