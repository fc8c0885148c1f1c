//! The life of one link over a wire: it is opened, spoken over, lost, and tried again after a wait that grows.
//!
//! ```text
//! desk ── commands, bounded; stops, the last one only ──▶ talk ──▶ wire
//!   ▲                                                       │
//!   └── in touch, out of touch, reports, what was dropped ──┘
//! ```
//!
//! No command is sent late. One that waits while there is no wire is dropped and said to be; so is one that has waited longer than
//! [`COMMAND_FRESH`], and every one that waits when a stop comes. A wire that does not take what is written to it in [`WRITE_WAIT`] is closed, so that
//! nothing goes out of it later. A stop does go out late: when the wire comes back while everything is stopped, it is asked for again.

use std::pin::pin;
use std::time::Duration;

use live::link::{Backoff, Wire};
use live::{Event, Moment, Wait};
use network::{MachineId, Position};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::sync::mpsc::{Receiver, Sender, channel};
use tokio::sync::watch;
use tokio::time::{sleep, timeout};

use super::permits::Permits;
use super::place::{Place, Stream};
use crate::clock::Clock;
use crate::desk::Ear;

/// How many commands may wait for one link.
const COMMANDS_WAITING_MAX: usize = 256;

/// How long a command may wait before it is of no use any more: points that move a second after the press still look like its doing.
const COMMAND_FRESH: Wait = Wait(1_000);

/// How long the wire may take to take what is written.
const WRITE_WAIT: Duration = Duration::from_secs(1);

/// How long opening a wire may take.
const OPEN_WAIT: Duration = Duration::from_secs(5);

/// The desk's end of a link.
#[derive(Debug)]
pub(super) struct Far {
    commands: Sender<Command>,
    stops: watch::Sender<Asked>,
}

#[derive(Clone, Copy, Debug)]
struct Command {
    machine: MachineId,
    position: Position,
    at: Moment,
}

/// What was last asked of all machines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Asked {
    Nothing,
    Stop,
    Free,
}

impl Far {
    /// Sends a machine off: false when there is no room.
    pub(super) fn send(&self, machine: MachineId, position: Position, at: Moment) -> bool {
        self.commands.try_send(Command { machine, position, at }).is_ok()
    }

    pub(super) fn stop(&self, stop: bool) {
        self.stops.send_replace(if stop { Asked::Stop } else { Asked::Free });
    }
}

/// The task's end of a link.
#[derive(Debug)]
pub(super) struct Talk {
    wire: Wire,
    place: Place,
    commands: Receiver<Command>,
    stops: watch::Receiver<Asked>,
    ear: Ear,
    clock: Clock,
    permits: Permits,
    backoff: Backoff,
}

/// How a talk ended.
enum Ended {
    /// The wire is of no use any more, for this reason.
    Lost(String),
    /// The desk is closed.
    Closed,
}

impl Talk {
    pub(super) fn new(wire: Wire, place: Place, ear: Ear, clock: Clock, permits: Permits) -> (Far, Self) {
        let (to_commands, commands) = channel(COMMANDS_WAITING_MAX);
        let (to_stops, stops) = watch::channel(Asked::Nothing);
        let talk = Self { wire, place, commands, stops, ear, clock, permits, backoff: Backoff::default() };
        (Far { commands: to_commands, stops: to_stops }, talk)
    }

    /// Lives until the desk lets go of its end.
    pub(super) async fn run(mut self) {
        loop {
            let place = self.place.clone();
            let opened = async move { timeout(OPEN_WAIT, place.open()).await };
            let why = match self.apart(opened).await {
                None => return,
                Some(Err(_)) => "it does not answer".to_owned(),
                Some(Ok(Err(error))) => error.to_string(),
                Some(Ok(Ok(stream))) => {
                    let ended = self.talk(stream).await;
                    self.wire.disconnected();
                    match ended {
                        Ended::Closed => return,
                        Ended::Lost(why) => why,
                    }
                }
            };
            let link = self.wire.name().clone();
            self.ear.tell(Event::LinkDown { link: link.clone() }).await;
            self.ear.trouble(&link, why).await;
            let wait = Duration::from_millis(self.backoff.lost(self.clock.now()).0);
            if self.apart(sleep(wait)).await.is_none() {
                return;
            }
        }
    }

    /// Waits for something while there is no wire, and drops what is to be sent meanwhile; none when the desk is closed.
    async fn apart<T>(&mut self, wait: impl Future<Output = T>) -> Option<T> {
        let mut wait = pin!(wait);
        loop {
            tokio::select! {
                biased;
                done = &mut wait => return Some(done),
                command = self.commands.recv() => {
                    let Command { machine, .. } = command?;
                    self.ear.tell(Event::QueueFull { machine }).await;
                }
            }
        }
    }

    async fn talk(&mut self, stream: Stream) -> Ended {
        let (mut reader, mut writer) = tokio::io::split(stream);
        let mut buffer = vec![0; 4_096];
        let mut is_up = false;
        self.wire.connected(self.clock.now());
        loop {
            if self.wire.is_overflowed() {
                return Ended::Lost("it takes less than is to be sent".to_owned());
            }
            let out = self.wire.take();
            if !out.is_empty() {
                match timeout(WRITE_WAIT, writer.write_all(&out)).await {
                    Ok(Ok(())) => sleep(self.place.takes(out.len())).await,
                    Ok(Err(error)) => return Ended::Lost(error.to_string()),
                    Err(_) => return Ended::Lost("it takes nothing that is sent".to_owned()),
                }
            }
            if self.wire.is_ready() && !is_up {
                is_up = true;
                self.be_in_touch().await;
                continue;
            }
            let now = self.clock.now();
            let due = self.wire.next_due().map(|due| Duration::from_millis(due.since(now).0));
            let pause = async {
                match due {
                    Some(due) => sleep(due).await,
                    None => std::future::pending().await,
                }
            };
            tokio::select! {
                // A stop goes before all that waits.
                biased;
                asked = self.stops.changed() => {
                    if asked.is_err() {
                        return Ended::Closed;
                    }
                    self.ask_all().await;
                }
                command = self.commands.recv() => match command {
                    None => return Ended::Closed,
                    Some(command) => self.throw(command).await,
                },
                read = reader.read(&mut buffer) => match read {
                    Ok(0) => return Ended::Lost("its far end closed it".to_owned()),
                    Ok(count) => {
                        for event in self.wire.read(&buffer[..count], self.clock.now()) {
                            self.ear.tell(event).await;
                        }
                    }
                    Err(error) => return Ended::Lost(error.to_string()),
                },
                () = pause => {}
            }
            self.wire.tick(self.clock.now());
        }
    }

    async fn be_in_touch(&mut self) {
        self.backoff.up(self.clock.now());
        if *self.stops.borrow_and_update() == Asked::Stop {
            self.wire.stop(true);
        }
        let link = self.wire.name().clone();
        self.ear.tell(Event::LinkUp { link }).await;
    }

    async fn throw(&mut self, Command { machine, position, at }: Command) {
        let is_late = self.clock.now().since(at) > COMMAND_FRESH;
        // Looked at last, for it may run out while a command waits.
        if is_late || !self.permits.may_drive(machine) || !self.wire.throw(machine, position) {
            self.ear.tell(Event::QueueFull { machine }).await;
        }
    }

    /// Asks all machines for what was last asked of them. What still waits when everything is to stop is not sent.
    async fn ask_all(&mut self) {
        let asked = *self.stops.borrow_and_update();
        match asked {
            Asked::Nothing => {}
            Asked::Free => drop(self.wire.stop(false)),
            Asked::Stop => {
                self.wire.stop(true);
                while let Ok(Command { machine, .. }) = self.commands.try_recv() {
                    self.ear.tell(Event::QueueFull { machine }).await;
                }
            }
        }
    }
}
