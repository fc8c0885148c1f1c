//! The links through which commands leave and reports come in: each machine's commands go to the link that moves it.
//!
//! The modelled layout runs in the desk's own thread. Every other link has a task of its own beside it, on one more thread: `far` says how
//! such a link lives, `place` what it is plugged into, and what is spoken over it stands in [`live::link::Wire`]. A link to a message broker has its
//! task in `broker`; while machines are shared over one, `permits` says which of them this panel may drive.

mod broker;
mod far;
mod permits;
mod place;

use std::io;
use std::thread;

use live::link::broker::{Asked, panel_of};
use live::link::{Fault, Simulator, Wire};
use live::{Elsewhere, Event, Moment, Railroad, Reach, Said, State};
use network::{MachineId, Position};

use crate::clock::Clock;
use crate::desk::Ear;
use crate::link::broker::{Club, Table};
use crate::link::far::{Far, Talk};
use crate::link::permits::Permits;
use crate::link::place::Place;

/// Every link.
#[derive(Debug)]
pub(crate) struct Links {
    simulator: Option<Box<Simulator>>,
    /// In the order of the railroad's links; none for the modelled layout.
    far: Vec<Option<Far>>,
    /// In the order of the railroad's links; none for those of other kinds.
    clubs: Vec<Option<Club>>,
    permits: Permits,
}

impl Links {
    /// Opens every link of a railroad. None of them is in touch yet but the modelled layout; the others say so by events.
    pub(crate) fn open(railroad: &Railroad, state: &State, clock: Clock, ear: &Ear) -> io::Result<Self> {
        let (mut far, mut talks) = (Vec::new(), Vec::new());
        let (clubs, tables) = broker::open(railroad, ear, clock)?;
        let permits = Permits::new(clock, tables.iter().flat_map(Table::machines));
        for reach in railroad.links() {
            let described = reach.described.and_then(|at| railroad.plan().network.described.links.get(at));
            let wire = described.and_then(|link| Some((Place::of(&link.kind)?, Wire::of(railroad, reach)?)));
            far.push(wire.map(|(place, wire)| {
                let (handle, talk) = Talk::new(wire, place, ear.clone(), clock, permits.clone());
                talks.push(talk);
                handle
            }));
        }
        let permits_of_tables = permits.clone();
        if !talks.is_empty() || !tables.is_empty() {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
            // It ends when the desk lets go of the handles.
            thread::Builder::new().name("links".into()).spawn(move || {
                runtime.block_on(async {
                    let talks = talks.into_iter().map(|talk| tokio::spawn(talk.run()));
                    let talks: Vec<_> = talks.collect();
                    let tables = tables.into_iter();
                    let tables = tables.map(|table| tokio::spawn(table.run(permits_of_tables.clone())));
                    for task in talks.into_iter().chain(tables.collect::<Vec<_>>()) {
                        // A task that ended in a panic has nothing left to say.
                        drop(task.await);
                    }
                });
            })?;
        }
        let is_modelled = railroad.links().iter().any(Reach::is_simulated);
        let simulator = is_modelled.then(|| Box::new(Simulator::holding(railroad, state, clock.now())));
        Ok(Self { simulator, far, clubs, permits })
    }

    /// Lets every link go. Nothing is sent any more.
    pub(crate) fn close(&mut self) {
        self.simulator = None;
        self.far.clear();
        self.clubs.clear();
    }

    /// What is so when the panel opens: only the modelled layout is in touch without having said so.
    ///
    /// A machine that is shared over a broker may have been thrown by another panel meanwhile.
    pub(crate) fn first(railroad: &Railroad) -> Vec<Event> {
        let first = |reach: &Reach| {
            let link = Said::whole(&reach.name);
            if reach.is_simulated() { Event::LinkUp { link } } else { Event::LinkDown { link } }
        };
        let shared = broker::shared(railroad).into_iter().map(|machine| {
            let why = Said::new("the panel has just been opened");
            Event::Elsewhere(Elsewhere::Lost { machine, why, is_seen: false })
        });
        railroad.links().iter().map(first).chain(shared).collect()
    }

    /// Sends a machine off: false when its link has no room, or may not drive it.
    pub(crate) fn send(
        &mut self,
        railroad: &Railroad,
        state: &State,
        machine: MachineId,
        position: Position,
        at: Moment,
    ) -> bool {
        let over = state.over(machine);
        let named = |reach: &Reach| over.is_some_and(|over| over.as_str() == reach.name);
        let index = railroad.links().iter().position(named).or_else(|| railroad.link_index(machine));
        let Some(index) = index else { return false };
        if let Some(Some(club)) = self.clubs.get(index) {
            return club.ask(machine, position, at);
        }
        match (self.far.get(index), &mut self.simulator) {
            (Some(Some(far)), _) => far.send(machine, position, at),
            (Some(None), Some(simulator))
                if railroad.links()[index].is_simulated() && self.permits.may_drive(machine) =>
            {
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

    /// Whether a machine is thrown by asking another panel now.
    pub(crate) fn is_asked(&self, railroad: &Railroad, state: &State, machine: MachineId) -> bool {
        let link = |name: &Said| railroad.links().iter().position(|reach| reach.name == name.as_str());
        let index = state.over(machine).and_then(link).or_else(|| railroad.link_index(machine));
        index.is_some_and(|index| matches!(self.clubs.get(index), Some(Some(_))))
    }

    /// Tells other panels how this one is.
    pub(crate) fn show(&self, railroad: &Railroad, state: &State) {
        if self.clubs.iter().flatten().next().is_some() {
            let panel = panel_of(railroad, state);
            self.clubs.iter().flatten().for_each(|club| club.show(&panel));
        }
    }

    /// Tells another panel what came of what it asked.
    pub(crate) fn answer(&self, link: &Said, asked: Asked, why_not: Option<String>) {
        if let Some(club) = self.clubs.iter().flatten().find(|club| club.link() == link) {
            club.answer(asked, why_not);
        }
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
