//! Machines that get slow, or miss reports, before they fail: a rule over the rows of the operating log.
//!
//! Of every machine the times from a throw to its report are kept, the last few of them. It gets slow when the middle one of the
//! latest is much longer than the middle one of those before; it misses reports when several of the latest throws had none. The
//! thresholds are named here (common practice, no source: they are guesses that leave out a single bad throw).

use std::collections::{BTreeMap, VecDeque};

use network::Position;
use plan::model::LeverNumber;

use crate::{Elsewhere, Entry, Happened, Moment, Railroad, Wait};

/// How many of a machine's throws are kept.
pub const THROWS_KEPT: usize = 40;

/// How many of them, the latest, say how it is now.
pub const LATEST: usize = 5;

/// How many before those it takes to say what is usual.
pub const USUAL_LEAST: usize = 8;

/// How many times as long as usual is slow: 3 halves.
pub const SLOW_TIMES: (u64, u64) = (3, 2);

/// A difference below this is none: it may be the wire's, or the clock's.
pub const SLOW_LEAST: Wait = Wait(200);

/// How many of the latest ten throws may be without a report; one can be a train on the points.
pub const MISSES_MOST: usize = 1;

/// A report that takes longer had a row before it that says it is overdue: the panel looks for those every second.
const TICKED_LATEST: Wait = Wait(crate::CONFIRM_WAIT.0 + 2_000);

/// Of how many throws misses are counted.
pub const MISSES_OF: usize = 10;

/// What is noticed of a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sign {
    /// It takes much longer than it used to.
    Slow {
        /// Its name.
        machine: String,
        /// What it used to take.
        usual: Wait,
        /// What it takes now.
        now: Wait,
    },
    /// It has not reported after several throws.
    Misses {
        /// Its name.
        machine: String,
        /// After how many.
        missed: usize,
        /// Of how many.
        of: usize,
    },
}

impl Sign {
    /// The machine.
    pub fn machine(&self) -> &str {
        match self {
            Self::Slow { machine, .. } | Self::Misses { machine, .. } => machine,
        }
    }
}

impl std::fmt::Display for Sign {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let seconds = |wait: &Wait| format!("{}.{} s", wait.0 / 1_000, wait.0 % 1_000 / 100);
        match self {
            Self::Slow { machine, usual, now } => write!(
                f,
                "Machine {machine} gets slow: it takes {} now, and used to take {}. Look at its linkage, its motor and its volts.",
                seconds(now),
                seconds(usual)
            ),
            Self::Misses { machine, missed, of } => write!(
                f,
                "Machine {machine} did not report after {missed} of its last {of} throws. Look at its points and its wires."
            ),
        }
    }
}

/// What the rows so far say of each machine.
#[derive(Clone, Debug, Default)]
pub struct Signs {
    /// Throws that have yet to be reported, by machine.
    awaited: BTreeMap<String, (Moment, Position)>,
    /// How long each throw took, the latest last; none where no report came in time.
    took: BTreeMap<String, VecDeque<Option<Wait>>>,
}

impl Signs {
    /// Takes in one more row.
    pub fn take(&mut self, railroad: &Railroad, entry: &Entry) {
        match &entry.what {
            Happened::Thrown { lever, position, .. }
            | Happened::Fired { lever, position }
            | Happened::Undone { lever, position, .. } => self.throw(railroad, *lever, *position, entry.at),
            Happened::Confirmed { machine, position } => {
                let awaited = self.awaited.get(machine).filter(|(_, to)| to == position);
                if let Some(&(at, _)) = awaited {
                    self.awaited.remove(machine);
                    let took = entry.at.since(at);
                    // It would have been overdue before: then the throw was another machine's, whose lever had this number, or the
                    // clock was set.
                    if took < TICKED_LATEST {
                        self.add(machine, Some(took));
                    }
                }
            }
            Happened::Overdue { machine } => {
                if self.awaited.remove(machine).is_some() {
                    self.add(machine, None);
                }
            }
            // What was awaited on the railroad as it was is not awaited on it as it is.
            Happened::Whole { .. } => self.awaited.clear(),
            // Nothing went out, so nothing is to be held against the machine.
            Happened::NotSent { machine }
            | Happened::Inverted { machine, .. }
            // Nor when another panel drives it: how long it takes is noticed there.
            | Happened::Elsewhere(
                Elsewhere::Stands { machine, .. }
                | Elsewhere::Lost { machine, .. }
                | Elsewhere::Declined { machine, .. },
            ) => drop(self.awaited.remove(machine)),
            Happened::Waits { .. }
            | Happened::Dropped
            | Happened::Asked { .. }
            | Happened::AskedOnce { .. }
            | Happened::Set { .. }
            | Happened::Released { .. }
            | Happened::Locked { .. }
            | Happened::Unlocked { .. }
            | Happened::Stopped { .. }
            | Happened::Resumed { .. }
            | Happened::Found(_)
            | Happened::Turned { .. }
            | Happened::LinkUp { .. }
            | Happened::LinkDown { .. }
            | Happened::Elsewhere(
                Elsewhere::Reached { .. } | Elsewhere::Held { .. } | Elsewhere::LetGo { .. },
            )
            | Happened::Still { .. } => {}
        }
    }

    fn throw(&mut self, railroad: &Railroad, number: LeverNumber, to: Position, at: Moment) {
        let machines = railroad.lever(number).map_or(&[][..], |lever| &lever.machines);
        for machine in machines.iter().filter_map(|&machine| railroad.machine(machine)) {
            self.awaited.insert(machine.name.clone(), (at, to));
        }
    }

    fn add(&mut self, machine: &str, took: Option<Wait>) {
        let all = self.took.entry(machine.to_owned()).or_default();
        if all.len() >= THROWS_KEPT {
            all.pop_front();
        }
        all.push_back(took);
    }

    /// What is noticed now, machine by machine.
    pub fn noticed(&self) -> Vec<Sign> {
        let of = |(machine, took): (&String, &VecDeque<Option<Wait>>)| {
            [misses(machine, took), slow(machine, took)].into_iter().flatten().collect::<Vec<_>>()
        };
        self.took.iter().flat_map(of).collect()
    }
}

fn misses(machine: &str, took: &VecDeque<Option<Wait>>) -> Option<Sign> {
    let of = took.len().min(MISSES_OF);
    let missed = took.iter().rev().take(MISSES_OF).filter(|took| took.is_none()).count();
    (missed > MISSES_MOST).then(|| Sign::Misses { machine: machine.to_owned(), missed, of })
}

fn slow(machine: &str, took: &VecDeque<Option<Wait>>) -> Option<Sign> {
    let reported: Vec<Wait> = took.iter().flatten().copied().collect();
    let before = reported.len().checked_sub(LATEST).filter(|before| *before >= USUAL_LEAST)?;
    let (usual, now) = (middle(&reported[..before])?, middle(&reported[before..])?);
    let is_slow = now.0 * SLOW_TIMES.1 > usual.0 * SLOW_TIMES.0 && now.0 >= usual.0 + SLOW_LEAST.0;
    is_slow.then(|| Sign::Slow { machine: machine.to_owned(), usual, now })
}

/// The middle one of these.
fn middle(waits: &[Wait]) -> Option<Wait> {
    let mut sorted = waits.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).copied()
}
