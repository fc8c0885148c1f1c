//! What the desk's thread does: it takes what happens one after the other.
//!
//! It writes down first, then changes the state, then moves machines and shows pages a new snapshot; only then does the one
//! who asked get an answer. When the journal can no longer be written it takes nothing more but a stop, and goes on showing
//! what the layout reports.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender};
use std::time::Duration;

use journal::Journal;
use live::link::Fault;
use live::link::broker::Asked;
use live::{Effect, Entry, Event, Happened, Railroad, Said, Sight, Signs, State, step};
use network::MachineId;
use plan::model::LeverNumber;
use tokio::sync::watch;

use super::keys::{Keys, Known};
use super::upkeep::Tended;
use super::{Answer, Ear, Order};
use crate::clock::Clock;
use crate::endpoint::shortened;
use crate::link::Links;
use crate::logbook::Logbook;
use crate::refusal::{JournalStopped, KeyReused, LayoutChanged, MachineNotModelled, Refused};
use crate::snapshot::{LeverNow, Snapshot};

/// How often overdue reports are looked for while any report is awaited.
const TICK: Duration = Duration::from_secs(1);

/// After how many rows a checkpoint is kept, so that opening does not go through all of them.
const CHECKPOINT_ROWS: u64 = 10_000;

/// What the thread owns.
pub(super) struct Keeper {
    pub(super) railroad: Arc<Railroad>,
    pub(super) state: State,
    pub(super) signs: Signs,
    pub(super) links: Links,
    pub(super) journal: Journal,
    pub(super) logbook: Logbook,
    keys: Keys,
    /// True while the journal cannot be written.
    pub(super) stopped: bool,
    /// False while what another panel asked for is done.
    asks_on: bool,
    /// Levers that another panel asked for and that wait for the supply.
    pub(super) for_others: BTreeSet<LeverNumber>,
    pub(super) clock: Clock,
    pub(super) snapshot: Snapshot,
    pub(super) tended: Tended,
    /// How often the railroad was changed.
    pub(super) turn: u64,
    pub(super) orders: SyncSender<Order>,
    shown: watch::Sender<Arc<Snapshot>>,
}

impl Keeper {
    pub(super) fn new(
        railroad: Arc<Railroad>,
        (state, signs): (State, Signs),
        journal: Journal,
        logbook: Logbook,
        orders: SyncSender<Order>,
    ) -> std::io::Result<(Self, watch::Receiver<Arc<Snapshot>>)> {
        let clock = Clock::start();
        let mut snapshot = Snapshot::first(&railroad, &state, clock.now(), journal.last_sequence());
        snapshot.signs = signs.noticed();
        let (shown, snapshots) = watch::channel(Arc::new(snapshot.clone()));
        let ear = Ear { orders: orders.clone(), turn: 0 };
        let links = Links::open(&railroad, &state, clock, &ear)?;
        let (keys, tended) = (Keys::default(), Tended::default());
        let mut keeper = Self {
            railroad,
            state,
            signs,
            links,
            journal,
            logbook,
            keys,
            stopped: false,
            asks_on: true,
            for_others: BTreeSet::new(),
            clock,
            snapshot,
            tended,
            turn: 0,
            orders,
            shown,
        };
        keeper.look_back();
        keeper.show();
        keeper.begin();
        Ok((keeper, snapshots))
    }

    /// What is so when links were opened. Nothing that waited before is thrown now.
    pub(super) fn begin(&mut self) {
        for event in [Event::Opened].into_iter().chain(Links::first(&self.railroad)) {
            drop(self.happen(&event));
        }
    }

    pub(super) fn run(mut self, orders: &Receiver<Order>) {
        loop {
            let order = match self.patience() {
                Some(patience) => orders.recv_timeout(patience),
                None => orders.recv().map_err(|_| RecvTimeoutError::Disconnected),
            };
            match order {
                Ok(Order::Ask { event, key, on, answer }) => {
                    let is_meant = on.is_none_or(|on| Arc::ptr_eq(&on, &self.railroad));
                    // The one who asked may have gone; it is done all the same.
                    drop(answer.send(if is_meant {
                        self.ask(event, key)
                    } else {
                        Err(LayoutChanged {}.into())
                    }));
                }
                Ok(Order::Change { railroad, by, answer }) => drop(answer.send(self.change(railroad, &by))),
                Ok(Order::Tend(upkeep)) => self.tended.begin(upkeep),
                // What is said of a railroad that is no more may mean another machine now.
                Ok(Order::Heard { turn, .. } | Order::Trouble { turn, .. } | Order::Asked { turn, .. })
                    if turn != self.turn => {}
                Ok(Order::Heard { event, .. }) => self.hear(&event),
                Ok(Order::Asked { link, asked, .. }) => self.hear_ask(&link, asked),
                Ok(Order::Trouble { link, why, .. }) => {
                    let before = self.snapshot.link_troubles.insert(link.to_string(), why.clone());
                    if before != Some(why) {
                        self.announce(&[]);
                    }
                }
                Ok(Order::Replay { answer }) => drop(answer.send(self.replay())),
                Ok(Order::Spoil { machine, fault, by, answer }) => {
                    drop(answer.send(self.spoil(&machine, fault, by)));
                }
                Ok(Order::Close) | Err(RecvTimeoutError::Disconnected) => break,
                Err(RecvTimeoutError::Timeout) => {}
            }
            self.pass_time();
            self.tend();
            self.keep_checkpoint(CHECKPOINT_ROWS);
        }
        self.keep_checkpoint(1);
        self.snapshot.open = false;
        self.show();
    }

    /// How long nothing will happen by itself; none when nothing ever will.
    fn patience(&self) -> Option<Duration> {
        let is_awaited = |standing: live::Standing| standing.waiting_since.is_some() && !standing.overdue;
        let waiting = self.railroad.machines().any(|(id, _)| is_awaited(self.state.standing(id)));
        let now = self.clock.now();
        let due =
            [self.links.next_due(), self.state.next_burst(), self.next_tending()].into_iter().flatten().min();
        let due = due.map(|due| Duration::from_millis(due.since(now).0));
        if waiting { Some(due.unwrap_or(TICK).min(TICK)) } else { due }
    }

    fn pass_time(&mut self) {
        for report in self.links.reports(self.clock.now()) {
            // A refused report changes nothing; only a link can send one, and the modelled layout knows its machines.
            drop(self.happen(&report));
        }
        drop(self.happen(&Event::Tick));
        let waiting: BTreeSet<_> =
            self.for_others.iter().copied().filter(|lever| self.waits(*lever)).collect();
        self.for_others = waiting;
    }

    /// What a link says. One that is refused changes nothing.
    fn hear(&mut self, event: &Event) {
        match event {
            // Two panels on one bus would ask each other to stop for ever.
            Event::Stop { .. } if self.state.stopped().is_some() => return,
            Event::LinkUp { link } => drop(self.snapshot.link_troubles.remove(link.as_str())),
            Event::Throw { .. }
            | Event::Undo { .. }
            | Event::SetRoute { .. }
            | Event::SetOnce { .. }
            | Event::ReleaseRoute { .. }
            | Event::Lock { .. }
            | Event::Unlock { .. }
            | Event::Stop { .. }
            | Event::Resume { .. }
            | Event::Find(_)
            | Event::TurnTo { .. }
            | Event::Confirmed { .. }
            | Event::QueueFull { .. }
            | Event::LinkDown { .. }
            | Event::ThrowFor { .. }
            | Event::Elsewhere(_)
            | Event::Opened
            | Event::Tick => {}
        }
        drop(self.happen(event));
    }

    /// Whether a machine is another panel's, and its lever is thrown for another panel, which asks for that machine itself.
    fn is_left_out(&self, machine: MachineId) -> bool {
        let lever = self.railroad.machine(machine).and_then(|machine| machine.lever);
        let is_for_others = !self.asks_on || lever.is_some_and(|lever| self.for_others.contains(&lever));
        is_for_others && self.links.is_asked(&self.railroad, &self.state, machine)
    }

    fn waits(&self, lever: LeverNumber) -> bool {
        let lever = self.railroad.lever(lever);
        lever.is_some_and(|lever| matches!(self.state.sight(lever), Sight::Waiting(_)))
    }

    /// Another panel asks for a throw: it is done as if a person had asked, but of no third panel.
    fn hear_ask(&mut self, link: &Said, asked: Asked) {
        let Asked { lever, position, .. } = asked;
        let event = Event::ThrowFor { lever, position, by: asked.by.clone(), server: asked.server.clone() };
        self.asks_on = false;
        let done = self.happen(&event);
        self.asks_on = true;
        if self.waits(lever) {
            self.for_others.insert(lever);
        }
        self.links.answer(link, asked, done.err().map(|refused| refused.says().to_owned()));
    }

    fn ask(&mut self, event: Event, key: Option<String>) -> Answer {
        if let Some(key) = &key {
            match self.keys.find(key, &event) {
                Known::New => {}
                Known::Same => return Ok(Arc::new(self.snapshot.clone())),
                Known::Other => return Err(KeyReused {}.into()),
            }
        }
        self.happen(&event)?;
        if let Some(key) = key {
            self.keys.add(key, event);
        }
        Ok(Arc::new(self.snapshot.clone()))
    }

    /// Puts a fault into a machine of the modelled layout, or mends it. What it does comes to light when it is thrown.
    pub(super) fn spoil(&mut self, name: &str, fault: Option<Fault>, by: Said) -> Answer {
        let found = self.railroad.modelled().find(|(_, machine)| machine.name == name);
        let Some(id) = found.map(|(id, _)| id) else {
            return Err(MachineNotModelled { name: shortened(name) }.into());
        };
        self.links.spoil(id, fault);
        match fault {
            Some(fault) => drop(self.snapshot.put_in.insert(name.to_owned(), (fault, by))),
            None => drop(self.snapshot.put_in.remove(name)),
        }
        self.announce(&[]);
        Ok(Arc::new(self.snapshot.clone()))
    }

    /// Runs one event through the core and does what follows from it, in order.
    fn happen(&mut self, event: &Event) -> Result<(), Refused> {
        let now = self.clock.now();
        let effects = step(&self.railroad, &self.state, event, now);
        self.record(event, &effects)?;
        let (mut changed, mut panel, mut not_sent) = (Vec::new(), false, Vec::new());
        for effect in effects {
            match effect {
                Effect::Send { machine, position } => {
                    if !self.is_left_out(machine)
                        && !self.links.send(&self.railroad, &self.state, machine, position, now)
                    {
                        not_sent.push(machine);
                    }
                }
                Effect::StopLinks => self.links.stop(now),
                Effect::ResumeLinks => self.links.resume(),
                Effect::Announce { lever } => changed.push(lever),
                Effect::AnnouncePanel => panel = true,
                Effect::Refuse(refusal) => return Err(refusal.into()),
                Effect::Record(_) => {}
            }
        }
        if panel || !changed.is_empty() {
            self.announce(&changed);
            self.links.show(&self.railroad, &self.state);
        }
        for machine in not_sent {
            // Nothing is sent for it, so this goes no deeper.
            drop(self.happen(&Event::QueueFull { machine }));
        }
        Ok(())
    }

    /// Writes down what an event makes happen, then applies it.
    fn record(&mut self, event: &Event, effects: &[Effect]) -> Result<(), Refused> {
        let entries: Vec<&Entry> = effects
            .iter()
            .filter_map(|effect| if let Effect::Record(entry) = effect { Some(entry) } else { None })
            .collect();
        let rows: Vec<String> = entries.iter().map(|entry| entry.write()).collect();
        if rows.is_empty() {
            return Ok(());
        }
        if !self.stopped && self.journal.append(&rows).is_err() {
            self.stop_writing();
        }
        // What the layout reports is so, written down or not, and a stop is never refused; what else people ask for is.
        if self.stopped && is_asked(event) {
            return Err(JournalStopped {}.into());
        }
        let first = self.journal.last_sequence().saturating_sub(rows.len() as u64) + 1;
        for (entry, sequence) in entries.into_iter().zip(first..) {
            if let Err(error) = self.state.apply(&self.railroad, entry) {
                self.snapshot.trouble =
                    Some(format!("The panel met something it does not understand: {error}."));
            }
            if matches!(entry.what, Happened::Found(_) | Happened::Turned { .. }) {
                // Announced as the next change.
                self.snapshot.trial_change = self.snapshot.change + 1;
            }
            self.signs.take(&self.railroad, entry);
            if !self.stopped {
                self.logbook.add(sequence, entry);
            }
        }
        Ok(())
    }

    /// Keeps what all rows come to, when there are so many since that was last done.
    pub(super) fn keep_checkpoint(&mut self, rows: u64) {
        let last = self.journal.checkpoint().map_or(0, |checkpoint| checkpoint.sequence);
        if !self.stopped && self.journal.last_sequence().saturating_sub(last) >= rows {
            // Without it the next opening only takes longer; a journal that cannot be written shows when the next row is.
            drop(self.journal.keep_checkpoint(self.state.write(&self.railroad)));
        }
    }

    /// The journal could not be written: nothing new may happen.
    pub(super) fn stop_writing(&mut self) {
        self.stopped = true;
        self.snapshot.trouble = Some(JournalStopped {}.to_string());
        self.announce(&[]);
    }

    pub(super) fn announce(&mut self, changed: &[LeverNumber]) {
        self.snapshot.change += 1;
        for now in self.snapshot.levers.iter_mut().filter(|now| changed.contains(&now.number)) {
            if let Some(lever) = self.railroad.lever(now.number) {
                *now = LeverNow::see(&self.railroad, &self.state, lever, self.snapshot.change);
            }
        }
        self.snapshot.signs = self.signs.noticed();
        let rows = if self.stopped { self.snapshot.rows } else { self.journal.last_sequence() };
        self.snapshot.see(&self.railroad, &self.state, rows);
        self.show();
    }

    pub(super) fn show(&self) {
        self.shown.send_replace(Arc::new(self.snapshot.clone()));
    }
}

/// Whether people ask for it, so that it can be refused. A tick throws what they asked for before.
fn is_asked(event: &Event) -> bool {
    match event {
        Event::Throw { .. }
        | Event::ThrowFor { .. }
        | Event::Undo { .. }
        | Event::SetRoute { .. }
        | Event::SetOnce { .. }
        | Event::ReleaseRoute { .. }
        | Event::Lock { .. }
        | Event::Unlock { .. }
        | Event::Find(_)
        | Event::TurnTo { .. }
        | Event::Resume { .. } => true,
        Event::Stop { .. }
        | Event::Confirmed { .. }
        | Event::QueueFull { .. }
        | Event::LinkUp { .. }
        | Event::LinkDown { .. }
        | Event::Elsewhere(_)
        | Event::Opened
        | Event::Tick => false,
    }
}
