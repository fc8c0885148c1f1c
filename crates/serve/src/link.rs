//! The links through which commands leave and reports come in: each machine's commands go to the link that moves it.
//!
//! The modelled layout runs in the desk's own thread. Every other link has a task of its own beside it, on one more thread: `far` says how
//! such a link lives, `place` what it is plugged into, and what is spoken over it stands in [`live::link::Wire`].

mod far;
mod place;

use std::io;
use std::thread;

use live::link::{Fault, Simulator, Wire};
use live::{Event, Moment, Railroad, Reach, Said, State};
use network::{MachineId, Position};

use crate::clock::Clock;
use crate::desk::Ear;
use crate::link::far::{Far, Talk};
use crate::link::place::Place;

/// Every link.
#[derive(Debug)]
pub(crate) struct Links {
    simulator: Option<Box<Simulator>>,
    /// In the order of the railroad's links; none for the modelled layout.
    far: Vec<Option<Far>>,
}

impl Links {
    /// Opens every link of a railroad. None of them is in touch yet but the modelled layout; the others say so by events.
    pub(crate) fn open(railroad: &Railroad, state: &State, clock: Clock, ear: &Ear) -> io::Result<Self> {
        let (mut far, mut talks) = (Vec::new(), Vec::new());
        for reach in railroad.links() {
            let described = reach.described.and_then(|at| railroad.plan().network.described.links.get(at));
            let wire = described.and_then(|link| Some((Place::of(&link.kind)?, Wire::of(railroad, reach)?)));
            far.push(wire.map(|(place, wire)| {
                let (handle, talk) = Talk::new(wire, place, ear.clone(), clock);
                talks.push(talk);
                handle
            }));
        }
        if !talks.is_empty() {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
            // It ends when the desk lets go of the handles.
            thread::Builder::new().name("links".into()).spawn(move || {
                runtime.block_on(async {
                    let tasks: Vec<_> = talks.into_iter().map(|talk| tokio::spawn(talk.run())).collect();
                    for task in tasks {
                        // A task that ended in a panic has nothing left to say.
                        drop(task.await);
                    }
                });
            })?;
        }
        let is_modelled = railroad.links().iter().any(Reach::is_simulated);
        let simulator = is_modelled.then(|| Box::new(Simulator::holding(railroad, state, clock.now())));
        Ok(Self { simulator, far })
    }

    /// Lets every link go. Nothing is sent any more.
    pub(crate) fn close(&mut self) {
        self.simulator = None;
        self.far.clear();
    }

    /// What is so when the panel opens: only the modelled layout is in touch without having said so.
    pub(crate) fn first(railroad: &Railroad) -> Vec<Event> {
        let first = |reach: &Reach| {
            let link = Said::whole(&reach.name);
            if reach.is_simulated() { Event::LinkUp { link } } else { Event::LinkDown { link } }
        };
        railroad.links().iter().map(first).collect()
    }

    /// Why links that can never be in touch cannot: this version has no socket for them.
    pub(crate) fn unserved(railroad: &Railroad) -> Vec<(String, String)> {
        let described = &railroad.plan().network.described.links;
        let is_unserved = |reach: &&Reach| {
            let link = reach.described.and_then(|at| described.get(at));
            link.is_some_and(|link| Place::of(&link.kind).is_none())
        };
        let why = "this version does not speak to message brokers yet";
        railroad
            .links()
            .iter()
            .filter(is_unserved)
            .map(|reach| (reach.name.clone(), why.to_owned()))
            .collect()
    }

    /// Sends a machine off: false when its link has no room.
    pub(crate) fn send(
        &mut self,
        railroad: &Railroad,
        machine: MachineId,
        position: Position,
        at: Moment,
    ) -> bool {
        let Some(index) = railroad.link_index(machine) else { return false };
        match (self.far.get(index), &mut self.simulator) {
            (Some(Some(far)), _) => far.send(machine, position, at),
            (Some(None), Some(simulator)) if railroad.links()[index].is_simulated() => {
                simulator.send(machine, position, at);
                true
            }
            _ => false,
        }
    }

    /// Asks every link that has words for it for its emergency stop.
    pub(crate) fn stop(&mut self, at: Moment) {
        if let Some(simulator) = &mut self.simulator {
            simulator.stop_trains(at);
        }
        self.far.iter().flatten().for_each(|far| far.stop(true));
    }

    /// Lets trains run again.
    pub(crate) fn resume(&mut self) {
        if let Some(simulator) = &mut self.simulator {
            simulator.let_trains_run();
        }
        self.far.iter().flatten().for_each(|far| far.stop(false));
    }

    /// When the modelled layout wants to be asked again.
    pub(crate) fn next_due(&self) -> Option<Moment> {
        self.simulator.as_ref()?.next_due()
    }

    /// What the modelled layout has to say by now. Other links speak for themselves.
    pub(crate) fn reports(&mut self, at: Moment) -> Vec<Event> {
        self.simulator.as_mut().map(|simulator| simulator.reports(at)).unwrap_or_default()
    }

    /// Puts a fault into a machine of the modelled layout.
    pub(crate) fn spoil(&mut self, machine: MachineId, fault: Option<Fault>) {
        if let Some(simulator) = &mut self.simulator {
            simulator.spoil(machine, fault);
        }
    }
}
