//! The desk: the one thread that owns the core's state, the journal and the modelled layout.
//!
//! Whatever happens comes to it one at a time and in order. It writes down first, then changes the state, then moves
//! machines and shows pages a new snapshot; only then does the one who asked get an answer. When the journal can no
//! longer be written it takes no more throws, but goes on showing what the layout reports.

use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use journal::{Journal, Opened, ReadError};
use live::link::Simulator;
use live::{Effect, Entry, Event, NumberTwice, Railroad, State, step};
use network::Position;
use plan::model::{LeverNumber, Plan};
use tokio::sync::{oneshot, watch};

use crate::clock::Clock;
use crate::refusal::{JournalStopped, LeverUnknown, PanelBusy, PanelClosing, Refused};
use crate::snapshot::{LeverNow, Snapshot};

/// How many throws may wait to be taken.
const THROWS_WAITING_MAX: usize = 256;

/// How often overdue reports are looked for while any report is awaited.
const TICK: Duration = Duration::from_secs(1);

/// A handle to the desk. The desk closes when it is told to, or when the last handle is gone.
#[derive(Clone, Debug)]
pub struct Desk {
    orders: SyncSender<Order>,
    snapshots: watch::Receiver<Arc<Snapshot>>,
    thread: Arc<Mutex<Option<JoinHandle<()>>>>,
}

/// Why a desk could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// Two levers carry one number.
    #[error(transparent)]
    NumberTwice(#[from] NumberTwice),
    /// The journal cannot be replayed.
    #[error("the journal cannot be replayed")]
    Journal(#[from] ReadError),
    /// The system gives no thread.
    #[error("the panel cannot start its thread")]
    Thread(#[from] std::io::Error),
}

enum Order {
    Throw { lever: LeverNumber, position: Position, answer: oneshot::Sender<Answer> },
    Close,
}

/// The lever after the throw, or why there was none.
type Answer = Result<LeverNow, Refused>;

impl Desk {
    /// Opens the panel of this plan on this journal. Also gives back what the user should be told about the journal.
    ///
    /// # Errors
    /// When the plan has two levers of one number, or the journal cannot be read.
    pub fn open(plan: &Plan, opened: Opened) -> Result<(Self, Vec<String>), DeskError> {
        let railroad = Railroad::new(plan)?;
        let mut notes: Vec<String> = opened.mended.iter().map(ToString::to_string).collect();
        if opened.layout != railroad.layout() {
            notes.push(format!("the journal was begun for the layout “{}”", opened.layout));
        }
        let (state, skipped) = replay(&railroad, &opened.journal)?;
        if let Some((count, example)) = skipped {
            notes.push(format!(
                "{count} rows of the journal do not fit this layout and were skipped ({example})"
            ));
        }
        let clock = Clock::start();
        let levers = railroad.levers().map(|lever| LeverNow::see(&railroad, &state, lever, 0)).collect();
        let snapshot = Snapshot { run: clock.now().0, change: 0, open: true, trouble: None, levers };
        let (orders, taken) = sync_channel(THROWS_WAITING_MAX);
        let (shown, snapshots) = watch::channel(Arc::new(snapshot.clone()));
        let simulator = Simulator::holding(&railroad, &state, clock.now());
        let keeper = Keeper {
            railroad,
            state,
            simulator,
            journal: opened.journal,
            stopped: false,
            clock,
            snapshot,
            shown,
        };
        let thread = thread::Builder::new().name("desk".into()).spawn(move || keeper.run(&taken))?;
        Ok((Self { orders, snapshots, thread: Arc::new(Mutex::new(Some(thread))) }, notes))
    }

    /// Throws a lever. When this is answered, the throw is on disk and every page can see it.
    pub(crate) async fn throw(&self, lever: LeverNumber, position: Position) -> Answer {
        let (answer, answered) = oneshot::channel();
        match self.orders.try_send(Order::Throw { lever, position, answer }) {
            Ok(()) => answered.await.unwrap_or_else(|_| Err(PanelClosing {}.into())),
            Err(TrySendError::Full(_)) => Err(PanelBusy {}.into()),
            Err(TrySendError::Disconnected(_)) => Err(PanelClosing {}.into()),
        }
    }

    /// The panel now.
    pub fn snapshot(&self) -> Arc<Snapshot> {
        self.snapshots.borrow().clone()
    }

    /// The panel now and, one after the other, whenever it changes.
    pub fn snapshots(&self) -> watch::Receiver<Arc<Snapshot>> {
        self.snapshots.clone()
    }

    /// Ends every event stream, closes the journal and waits until that is done. Blocks.
    pub fn close(&self) {
        // Blocks only while throws wait, and they are answered one by one. A desk that is gone needs no telling.
        let told = self.orders.send(Order::Close);
        let thread = self.thread.lock().ok().and_then(|mut thread| thread.take());
        if let (Ok(()), Some(thread)) = (told, thread) {
            // A thread that ended in a panic has nothing left to close.
            drop(thread.join());
        }
    }
}

/// The state that the journal's rows end in; and when some did not fit this railroad, how many and the first of them.
fn replay(railroad: &Railroad, journal: &Journal) -> Result<(State, Option<(u64, String)>), ReadError> {
    let mut state = State::unknown(railroad);
    let mut skipped: Option<(u64, String)> = None;
    for record in journal.replay()? {
        let record = record?;
        let applied = Entry::read(&record.row)
            .map_err(|error| error.to_string())
            .and_then(|entry| state.apply(railroad, &entry).map_err(|error| error.to_string()));
        if let Err(error) = applied {
            let example = || (0, format!("row {}: {error}", record.sequence));
            skipped.get_or_insert_with(example).0 += 1;
        }
    }
    Ok((state, skipped))
}

/// What the thread owns.
struct Keeper {
    railroad: Railroad,
    state: State,
    simulator: Simulator,
    journal: Journal,
    /// True once the journal could not be written.
    stopped: bool,
    clock: Clock,
    snapshot: Snapshot,
    shown: watch::Sender<Arc<Snapshot>>,
}

impl Keeper {
    fn run(mut self, orders: &Receiver<Order>) {
        loop {
            let order = match self.patience() {
                Some(patience) => orders.recv_timeout(patience),
                None => orders.recv().map_err(|_| RecvTimeoutError::Disconnected),
            };
            match order {
                Ok(Order::Throw { lever, position, answer }) => {
                    // The one who asked may have gone; the lever is thrown all the same.
                    drop(answer.send(self.throw(lever, position)));
                }
                Ok(Order::Close) | Err(RecvTimeoutError::Disconnected) => break,
                Err(RecvTimeoutError::Timeout) => {}
            }
            self.pass_time();
        }
        self.snapshot.open = false;
        self.show();
    }

    /// How long nothing will happen by itself; none when nothing ever will.
    fn patience(&self) -> Option<Duration> {
        let waiting = self.railroad.machines().any(|(id, _)| self.state.standing(id).waiting_since.is_some());
        let due = self.simulator.next_due().map(|due| Duration::from_millis(due.since(self.clock.now()).0));
        if waiting { Some(due.unwrap_or(TICK).min(TICK)) } else { due }
    }

    fn pass_time(&mut self) {
        for report in self.simulator.reports(self.clock.now()) {
            // A refused report changes nothing; only a link can send one, and the modelled layout knows its machines.
            drop(self.happen(&report));
        }
        drop(self.happen(&Event::Tick));
    }

    fn throw(&mut self, lever: LeverNumber, position: Position) -> Answer {
        self.happen(&Event::Throw { lever, position })?;
        let now = self.snapshot.lever(lever).cloned();
        now.ok_or_else(|| LeverUnknown { number: lever.to_string() }.into())
    }

    /// Runs one event through the core and does what follows from it, in order.
    fn happen(&mut self, event: &Event) -> Result<(), Refused> {
        let now = self.clock.now();
        let effects = step(&self.railroad, &self.state, event, now);
        self.record(event, &effects)?;
        let mut changed = Vec::new();
        for effect in effects {
            match effect {
                Effect::Send { machine, position } => self.simulator.send(machine, position, now),
                Effect::Announce { lever } => changed.push(lever),
                Effect::Refuse(live::Refusal::LeverUnknown(number)) => {
                    return Err(LeverUnknown { number: number.to_string() }.into());
                }
                Effect::Record(_) | Effect::Refuse(live::Refusal::MachineUnknown) => {}
            }
        }
        if !changed.is_empty() {
            self.announce(&changed);
        }
        Ok(())
    }

    /// Writes down what an event makes happen, then applies it.
    fn record(&mut self, event: &Event, effects: &[Effect]) -> Result<(), Refused> {
        let entries = || {
            effects.iter().filter_map(|effect| match effect {
                Effect::Record(entry) => Some(entry),
                Effect::Send { .. } | Effect::Announce { .. } | Effect::Refuse(_) => None,
            })
        };
        let rows: Vec<String> = entries().map(Entry::write).collect();
        if rows.is_empty() {
            return Ok(());
        }
        if !self.stopped && self.journal.append(&rows).is_err() {
            self.stopped = true;
            self.snapshot.trouble = Some(JournalStopped {}.to_string());
            self.announce(&[]);
        }
        // What the layout reports is so, written down or not; what people ask for can be refused.
        if self.stopped && matches!(event, Event::Throw { .. }) {
            return Err(JournalStopped {}.into());
        }
        for entry in entries() {
            if let Err(error) = self.state.apply(&self.railroad, entry) {
                self.snapshot.trouble =
                    Some(format!("The panel met something it does not understand: {error}."));
            }
        }
        Ok(())
    }

    fn announce(&mut self, changed: &[LeverNumber]) {
        self.snapshot.change += 1;
        for now in self.snapshot.levers.iter_mut().filter(|now| changed.contains(&now.number)) {
            if let Some(lever) = self.railroad.lever(now.number) {
                *now = LeverNow::see(&self.railroad, &self.state, lever, self.snapshot.change);
            }
        }
        self.show();
    }

    fn show(&self) {
        self.shown.send_replace(Arc::new(self.snapshot.clone()));
    }
}
