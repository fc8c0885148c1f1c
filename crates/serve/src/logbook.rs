//! The last rows of the operating log, in words that people read.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

use live::{Elsewhere, Entry, Found, Happened, HeldBy, Moment, Said, Stands};

/// How many rows are kept at hand. All of them are in the journal.
pub(crate) const ROWS_AT_HAND_MAX: usize = 200;

/// The last rows, the newest last.
#[derive(Clone, Debug, Default)]
pub(crate) struct Logbook(Arc<Mutex<VecDeque<Row>>>);

/// One row.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) number: u64,
    pub(crate) at: Moment,
    pub(crate) says: String,
}

impl Logbook {
    pub(crate) fn add(&self, number: u64, entry: &Entry) {
        // What is still so is no news.
        if matches!(entry.what, Happened::Still { .. }) {
            return;
        }
        let Ok(mut rows) = self.0.lock() else { return };
        if rows.len() >= ROWS_AT_HAND_MAX {
            rows.pop_front();
        }
        rows.push_back(Row { number, at: entry.at, says: words(&entry.what) });
    }

    /// The newest rows, the newest first.
    pub(crate) fn newest(&self) -> Vec<Row> {
        self.0.lock().map(|rows| rows.iter().rev().cloned().collect()).unwrap_or_default()
    }
}

/// What happened, as a sentence without its full stop.
pub(crate) fn words(what: &Happened) -> String {
    match what {
        Happened::Thrown { lever, position, by } => {
            format!("Lever {lever} thrown to {}{}", position.word(), of(by))
        }
        Happened::Waits { lever, position, by } => {
            format!("Lever {lever} to be thrown to {}{}, when the supply is ready", position.word(), of(by))
        }
        Happened::Fired { lever, position } => format!("Lever {lever} thrown to {}", position.word()),
        Happened::Undone { lever, position, by } => {
            format!("Last throw undone{}: lever {lever} thrown back to {}", of(by), position.word())
        }
        Happened::Dropped => "What waited for the supply is not thrown any more".to_owned(),
        Happened::Confirmed { machine, position } => format!("Machine {machine} reports {}", position.word()),
        Happened::Inverted { machine, inverted: true } => {
            format!("Machine {machine} is inverted now, by the record; where it stands is not known")
        }
        Happened::Inverted { machine, inverted: false } => {
            format!("Machine {machine} is inverted no more, by the record; where it stands is not known")
        }
        Happened::Overdue { machine } => format!("Machine {machine} has not reported in time"),
        Happened::NotSent { machine } => {
            format!("Nothing was sent to machine {machine}: its link had no room or was out of touch")
        }
        Happened::Asked { route, by } => format!("Route {} asked for{}", route.id, of(by)),
        Happened::AskedOnce { route, by } => {
            format!("Route {} asked for{}, to be set once", route.id, of(by))
        }
        Happened::Set { route } => format!("Route {} is set", route.id),
        Happened::Released { route, by } => format!("Route {} released{}", route.id, of(by)),
        Happened::Locked { lever, by, note } => format!("Lever {lever} locked{}: “{note}”", of(by)),
        Happened::Unlocked { lever, by } => format!("Lever {lever} unlocked{}", of(by)),
        Happened::Stopped { by } => format!("Everything stopped{}", of(by)),
        Happened::Resumed { by } => format!("Everything may go on{}", of(by)),
        Happened::Found(found) => found_words(found),
        Happened::Turned { step, by } => format!("Commissioning turned{} to: {step}", of(by)),
        Happened::LinkUp { link } => format!("The {link} is in touch"),
        Happened::LinkDown { link } => format!("The {link} is out of touch"),
        Happened::Whole { why } => why.clone(),
        Happened::Still { row } => format!("Still so: {}", row.replace('\t', " ")),
        Happened::Elsewhere(said) => elsewhere(said),
    }
}

fn elsewhere(said: &Elsewhere) -> String {
    match said {
        Elsewhere::Reached { machine, over } => format!("Machine {machine} is in touch, over the {over}"),
        Elsewhere::Lost { machine, why, .. } => format!("Machine {machine} is out of touch: {why}"),
        Elsewhere::Stands { machine, stands } => match stands {
            Stands::Unknown => format!("Another panel does not know where machine {machine} stands"),
            Stands::At(position) => {
                format!("Another panel says that machine {machine} is {}", position.word())
            }
            Stands::Moving(to) => format!("Another panel sent machine {machine} to {}", to.word()),
            Stands::Sent(to) => {
                format!("Another panel sent machine {machine} to {}; it cannot report", to.word())
            }
            Stands::Overdue(to) => {
                format!("Another panel sent machine {machine} to {}, no report", to.word())
            }
        },
        Elsewhere::Held { machine, hold, .. } => format!("Machine {machine} is {}", hold.words()),
        Elsewhere::LetGo { machine, by, .. } => {
            let what = match by {
                HeldBy::Lock => "locked",
                HeldBy::Route => "held by a route",
            };
            format!("Machine {machine} is no more {what} on another panel")
        }
        Elsewhere::Declined { machine, why } => format!("Machine {machine} was not thrown: {why}"),
    }
}

fn found_words(found: &Found) -> String {
    let mut says = format!("{} tried {}: {}", found.who, found.step, found.verdict.word());
    for more in [&found.reading, &found.saw, &found.note].into_iter().filter(|more| !more.is_empty()) {
        says.push_str(", ");
        says.push_str(more.as_str());
    }
    says
}

fn of(by: &Said) -> String {
    if by.is_empty() { String::new() } else { format!(" by {by}") }
}
