//! What links and the clock say.

use std::collections::BTreeSet;

use network::{MachineId, Position};

use super::{CONFIRM_WAIT, Doing};
use crate::{Elsewhere, Happened, Refusal, Said};

impl Doing<'_> {
    pub(super) fn confirm(&mut self, id: MachineId, position: Position) -> Result<(), Refusal> {
        let machine = self.railroad.machine(id).ok_or(Refusal::MachineUnknown)?;
        self.record(Happened::Confirmed { machine: machine.name.clone(), position });
        if let Some(lever) = machine.lever {
            self.announce(lever);
        }
        self.find_set();
        Ok(())
    }

    pub(super) fn not_sent(&mut self, id: MachineId) -> Result<(), Refusal> {
        let machine = self.railroad.machine(id).ok_or(Refusal::MachineUnknown)?;
        self.record(Happened::NotSent { machine: machine.name.clone() });
        if let Some(lever) = machine.lever {
            self.announce(lever);
        }
        Ok(())
    }

    pub(super) fn link_up(&mut self, link: &Said) {
        if !self.state.reaches(link.as_str()) {
            self.record(Happened::LinkUp { link: link.clone() });
            self.panel = true;
        }
    }

    /// What waits would be fired late, perhaps at a train: it is dropped.
    pub(super) fn link_down(&mut self, link: &Said) {
        if self.state.reaches(link.as_str()) {
            self.record(Happened::LinkDown { link: link.clone() });
            self.panel = true;
            self.drop_waiting();
        }
    }

    pub(super) fn hear_elsewhere(&mut self, said: &Elsewhere) -> Result<(), Refusal> {
        let id = self.railroad.machine_named(said.machine()).ok_or(Refusal::MachineUnknown)?;
        self.record(Happened::Elsewhere(said.clone()));
        self.panel = true;
        if let Some(lever) = self.railroad.machine(id).and_then(|machine| machine.lever) {
            self.announce(lever);
        }
        self.find_set();
        Ok(())
    }

    /// What other panels hold and drive is heard again when they are; the layout may share nothing any more.
    pub(super) fn let_go_elsewhere(&mut self) {
        let shared: BTreeSet<MachineId> =
            self.state.away.keys().chain(self.state.over.keys()).copied().collect();
        for id in shared {
            if let (Some(machine), Some(link)) = (self.railroad.machine(id), self.railroad.link_of(id)) {
                let (machine, over) = (machine.name.clone(), Said::whole(&link.name));
                self.record(Happened::Elsewhere(Elsewhere::Reached { machine, over }));
            }
        }
        let held: Vec<_> = self.state.elsewhere.keys().cloned().collect();
        for (id, server, by) in held {
            if let Some(machine) = self.railroad.machine(id) {
                let machine = machine.name.clone();
                self.record(Happened::Elsewhere(Elsewhere::LetGo { machine, server, by }));
            }
        }
    }

    pub(super) fn find_overdue(&mut self) {
        let is_overdue = |id: MachineId| {
            let standing = self.state.standing(id);
            let since = standing.waiting_since;
            !standing.overdue && since.is_some_and(|since| self.at.since(since) >= CONFIRM_WAIT)
        };
        let overdue: Vec<_> = self.railroad.machines().filter(|&(id, _)| is_overdue(id)).collect();
        for (_, machine) in overdue {
            self.record(Happened::Overdue { machine: machine.name.clone() });
            if let Some(lever) = machine.lever {
                self.announce(lever);
            }
        }
    }
}
