//! The desk: the way to the one thread that owns the core's state, the journal and the links.
//!
//! Whatever is asked for goes to that thread one at a time and in order; what it does with it stands in `keeper`. Pages read
//! snapshots of the state, which cost the thread nothing.

mod changing;
mod keeper;
mod keys;
mod replayed;
mod upkeep;

use std::sync::mpsc::{SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use journal::{Opened, ReadError, Replay};
use live::link::Fault;
use live::link::broker::Asked;
use live::{Event, NumberTwice, Railroad, Said};
use plan::model::Plan;
use tokio::sync::{oneshot, watch};

use crate::desk::keeper::Keeper;
use crate::desk::replayed::{Replayed, replay};
use crate::logbook::Logbook;
use crate::refusal::{PanelBusy, PanelClosing, Refused};
use crate::snapshot::Snapshot;

/// How long a link waits before it knocks again at a desk that has no room.
const EAR_WAIT: Duration = Duration::from_millis(2);

/// How many things that were asked for may wait to be taken.
const ORDERS_WAITING_MAX: usize = 256;

/// A handle to the desk. The desk closes when it is told to, or when the last handle is gone.
#[derive(Clone, Debug)]
pub struct Desk {
    orders: SyncSender<Order>,
    snapshots: watch::Receiver<Arc<Snapshot>>,
    logbook: Logbook,
    thread: Arc<Mutex<Option<JoinHandle<()>>>>,
    #[expect(dead_code, reason = "it is held for what happens when it is dropped")]
    ending: Arc<Ending>,
}

/// Closes the desk when the last handle is gone: its links hold a way to it as well, and would keep it open.
#[derive(Debug)]
struct Ending(SyncSender<Order>);

impl Drop for Ending {
    fn drop(&mut self) {
        // A desk that is closed already needs no telling.
        drop(self.0.send(Order::Close));
    }
}

/// The way from a link to the desk.
#[derive(Clone, Debug)]
pub(crate) struct Ear {
    orders: SyncSender<Order>,
    /// Which railroad the link was opened for: what is heard of another is not heard.
    turn: u64,
}

impl Ear {
    /// Tells the desk what happened, as soon as it has room for it.
    pub(crate) async fn tell(&self, event: Event) {
        self.order(Order::Heard { event, turn: self.turn }).await;
    }

    /// Tells the desk why a link is out of touch.
    pub(crate) async fn trouble(&self, link: &Said, why: String) {
        self.order(Order::Trouble { link: link.clone(), why, turn: self.turn }).await;
    }

    /// Tells the desk what another panel asks for.
    pub(crate) async fn ask(&self, link: &Said, asked: Asked) {
        self.order(Order::Asked { link: link.clone(), asked, turn: self.turn }).await;
    }

    async fn order(&self, mut order: Order) {
        // A desk that is closed hears nothing.
        while let Err(TrySendError::Full(back)) = self.orders.try_send(order) {
            order = back;
            tokio::time::sleep(EAR_WAIT).await;
        }
    }
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
    /// Someone asks for something, perhaps under a key that makes asking again harmless.
    Ask {
        event: Event,
        key: Option<String>,
        /// The railroad on which it means what it says; none where it means the same on all.
        on: Option<Arc<Railroad>>,
        answer: oneshot::Sender<Answer>,
    },
    /// The layout was read anew.
    Change {
        railroad: Arc<Railroad>,
        by: Said,
        answer: oneshot::Sender<Result<Changes, Refused>>,
    },
    /// What is to be done from time to time.
    Tend(Upkeep),
    /// A link has something to say.
    Heard {
        event: Event,
        turn: u64,
    },
    /// Another panel asks for something over this link.
    Asked {
        link: Said,
        asked: Asked,
        turn: u64,
    },
    /// A link is out of touch, for this reason.
    Trouble {
        link: Said,
        why: String,
        turn: u64,
    },
    /// Someone wants to read the whole journal.
    Replay {
        answer: oneshot::Sender<Result<Replay, ReadError>>,
    },
    /// A fault is put into a machine of the modelled layout, or mended.
    Spoil {
        machine: String,
        fault: Option<Fault>,
        by: Said,
        answer: oneshot::Sender<Answer>,
    },
    Close,
}

/// What is different on a layout that was read anew, and the routes that were released.
#[derive(Clone, Debug)]
pub(crate) struct Changes {
    pub(crate) says: Vec<String>,
    pub(crate) released: Vec<String>,
}

/// What the desk does from time to time.
pub struct Upkeep {
    /// Opens the journal once more, after it could not be written.
    pub reopen: Option<Reopen>,
    /// Where rows are put that are older than so many days; none when all stay in the journal.
    pub aside: Option<Aside>,
}

/// Opens a journal.
pub type Reopen = Box<dyn FnMut() -> Result<Opened, journal::OpenError> + Send>;

/// Where old rows are put, and which are old.
#[derive(Clone, Debug)]
pub struct Aside {
    /// The journal's file: what is put aside is named for it, beside it.
    pub journal: std::path::PathBuf,
    /// How many days of rows stay in the journal.
    pub days: u32,
}

/// The panel after what was asked for was done, or why it was not.
type Answer = Result<Arc<Snapshot>, Refused>;

impl Desk {
    /// Opens the panel of this plan on this journal. Also gives back what the user should be told about the journal.
    ///
    /// # Errors
    /// When the plan has two levers of one number, or the journal cannot be read.
    pub fn open(plan: impl Into<Arc<Plan>>, opened: Opened) -> Result<(Self, Vec<String>), DeskError> {
        let railroad = Arc::new(Railroad::new(plan)?);
        let mut notes: Vec<String> = opened.mended.iter().map(ToString::to_string).collect();
        if opened.layout != railroad.layout() {
            notes.push(format!("the journal was begun for the layout “{}”", opened.layout));
        }
        let logbook = Logbook::default();
        let Replayed { state, signs, skipped } = replay(&railroad, &opened.journal, &logbook)?;
        if let Some((count, example)) = skipped {
            notes.push(format!(
                "{count} rows of the journal do not fit this layout and were skipped ({example})"
            ));
        }
        let (orders, taken) = sync_channel(ORDERS_WAITING_MAX);
        let (keeper, snapshots) =
            Keeper::new(railroad, (state, signs), opened.journal, logbook.clone(), orders.clone())?;
        let thread = thread::Builder::new().name("desk".into()).spawn(move || keeper.run(&taken))?;
        let ending = Arc::new(Ending(orders.clone()));
        let thread = Arc::new(Mutex::new(Some(thread)));
        Ok((Self { orders, snapshots, logbook, thread, ending }, notes))
    }

    /// Asks for something. When this is answered, it is on disk and every page can see it.
    pub(crate) async fn ask(&self, event: Event, key: Option<String>) -> Answer {
        self.ask_on(None, event, key).await
    }

    /// The same for something that names a part of one railroad by its place, which is another on the next.
    pub(crate) async fn ask_on(
        &self,
        on: Option<Arc<Railroad>>,
        event: Event,
        key: Option<String>,
    ) -> Answer {
        let (answer, answered) = oneshot::channel();
        self.order(Order::Ask { event, key, on, answer })?;
        answered.await.unwrap_or_else(|_| Err(PanelClosing {}.into()))
    }

    /// Goes on with another railroad. What stays keeps its state; when this is answered, it is on disk and every page can see it.
    pub(crate) async fn change(&self, railroad: Railroad, by: Said) -> Result<Changes, Refused> {
        let (answer, answered) = oneshot::channel();
        self.order(Order::Change { railroad: Arc::new(railroad), by, answer })?;
        answered.await.unwrap_or_else(|_| Err(PanelClosing {}.into()))
    }

    /// Lets the desk look after its journal from now on.
    pub fn tend(&self, upkeep: Upkeep) {
        // A desk that is closing has nothing to look after.
        drop(self.order(Order::Tend(upkeep)));
    }

    /// Every record of the journal up to now. Read on a thread that may block.
    pub(crate) async fn replay(&self) -> Result<Replay, Refused> {
        let (answer, answered) = oneshot::channel();
        self.order(Order::Replay { answer })?;
        let replay = answered.await.map_err(|_| PanelClosing {})?;
        replay.map_err(|_| crate::refusal::JournalUnreadable {}.into())
    }

    /// Puts a fault into a machine of the modelled layout, or mends it, so that people can see what a fault looks like.
    pub fn spoil(&self, machine: &str, fault: Option<Fault>) {
        // A desk that is closing has no machines to spoil, and nobody waits for the answer.
        let (answer, _) = oneshot::channel();
        drop(self.order(Order::Spoil { machine: machine.to_owned(), fault, by: Said::default(), answer }));
    }

    /// The same, for someone who wants to know whether it was done.
    pub(crate) async fn put_in(&self, machine: &str, fault: Option<Fault>, by: Said) -> Answer {
        let (answer, answered) = oneshot::channel();
        self.order(Order::Spoil { machine: machine.to_owned(), fault, by, answer })?;
        answered.await.unwrap_or_else(|_| Err(PanelClosing {}.into()))
    }

    fn order(&self, order: Order) -> Result<(), Refused> {
        match self.orders.try_send(order) {
            Ok(()) => Ok(()),
            Err(TrySendError::Full(_)) => Err(PanelBusy {}.into()),
            Err(TrySendError::Disconnected(_)) => Err(PanelClosing {}.into()),
        }
    }

    /// The railroad it runs now. What is seen in one snapshot goes with the railroad of that snapshot.
    pub(crate) fn railroad(&self) -> Arc<Railroad> {
        Arc::clone(&self.snapshots.borrow().railroad)
    }

    /// What happened last.
    pub(crate) fn logbook(&self) -> &Logbook {
        &self.logbook
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
