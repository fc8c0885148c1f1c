//! The state as rows of text, so that a panel that is opened need not go through years of entries: the state at some entry, and
//! the entries after it, end where all entries do.
//!
//! Rows name machines, levers and routes as entries do. Rows that do not fit a railroad make no state at all, never half of one;
//! then every entry is gone through.
//!
//! ```text
//! machine    commanded  confirmed  awaited since  overdue, contrary or inverted  name
//! waiting    1N,4R
//! held       1N,4R  since  complete, once  by  id
//! ```
//! Columns are divided by tabs; a dash stands for nothing.

use std::str::FromStr;

use network::Position;
use plan::model::LeverNumber;

use crate::row::{read_found, write_found};
use crate::state::{Burst, HeldRoute, Lock, Stop};
use crate::{Entry, Happened, Moment, Railroad, RouteName, Said, Standing, State};

impl State {
    /// The state as rows.
    pub fn write(&self, railroad: &Railroad) -> Vec<String> {
        let mut rows = Vec::new();
        for (id, machine) in railroad.machines() {
            let standing = self.standing(id);
            let flag = |set, letter| if set { letter } else { "-" };
            rows.push(format!(
                "machine\t{}\t{}\t{}\t{}\t{}\t{}",
                letter(standing.commanded),
                letter(standing.confirmed),
                moment(standing.waiting_since),
                flag(standing.overdue, "o"),
                match (standing.contrary, standing.inverted) {
                    (true, true) => "ci",
                    (true, false) => "c",
                    (false, true) => "i",
                    (false, false) => "-",
                },
                machine.name
            ));
        }
        rows.extend(self.waiting.iter().map(|burst| format!("waiting\t{}", levers(burst))));
        rows.extend(self.burst.iter().map(|burst| format!("burst\t{}\t{}", burst.at.0, burst.coils)));
        for held in &self.held {
            // A route that is held is on the railroad.
            let Some(name) = railroad.route_name(held.route) else { continue };
            let complete = match (held.complete, held.once) {
                (true, true) => "complete once",
                (true, false) => "complete",
                (false, true) => "once",
                (false, false) => "-",
            };
            let (levers, since) = (levers(&name.levers), held.since.0);
            rows.push(format!("held\t{levers}\t{since}\t{complete}\t{}\t{}", held.by, name.id));
        }
        for (lever, lock) in &self.locks {
            rows.push(format!("locked\t{lever}\t{}\t{}\t{}", lock.since.0, lock.by, lock.note));
        }
        rows.extend(
            self.throws.iter().map(|(lever, before)| format!("thrown\t{lever}\t{}", letter(*before))),
        );
        rows.extend(self.stopped.iter().map(|stop| format!("stopped\t{}\t{}", stop.since.0, stop.by)));
        rows.extend(self.found.values().map(|found| format!("found\t{}", write_found(found))));
        rows.extend(self.turned.iter().map(|step| format!("turned\t{step}")));
        let said = self.elsewhere_said(railroad).into_iter();
        // Written as an entry of no time.
        let row = |said| Entry { at: Moment(0), what: Happened::Elsewhere(said) }.write();
        rows.extend(said.map(|said| format!("said\t{}", row(said))));
        rows.extend(self.links_down.iter().map(|link| format!("link-down\t{link}")));
        rows
    }

    /// The state that such rows stand for; none when any of them does not fit this railroad.
    pub fn read(railroad: &Railroad, rows: &[String]) -> Option<Self> {
        let mut state = Self::unknown(railroad);
        for row in rows {
            state.take_row(railroad, row)?;
        }
        Some(state)
    }

    /// The same as entries: whoever applies them, whatever was applied before, ends in this state.
    pub fn whole(&self, railroad: &Railroad, why: &str, at: Moment) -> Vec<Entry> {
        let whole = Happened::Whole { why: why.to_owned() };
        let still = self.write(railroad).into_iter().map(|row| Happened::Still { row });
        [whole].into_iter().chain(still).map(|what| Entry { at, what }).collect()
    }

    pub(crate) fn take_row(&mut self, railroad: &Railroad, row: &str) -> Option<()> {
        let (kind, rest) = row.split_once('\t')?;
        if kind == "found" {
            let found = read_found(rest).ok()?;
            self.found.insert(found.step.clone(), found);
            return Some(());
        }
        if kind == "said" {
            return self.apply(railroad, &Entry::read(rest).ok()?).ok();
        }
        let columns = |count| rest.splitn(count, '\t').collect::<Vec<_>>();
        match (kind, &columns(if kind == "machine" { 6 } else { 5 })[..]) {
            ("machine", [commanded, confirmed, since, overdue, contrary, name]) => {
                let id = railroad.machine_named(name)?;
                *self.machines.get_mut(id.index())? = Standing {
                    commanded: read_letter(commanded)?,
                    confirmed: read_letter(confirmed)?,
                    waiting_since: if *since == "-" { None } else { Some(number(since).map(Moment)?) },
                    overdue: *overdue == "o",
                    contrary: contrary.starts_with('c'),
                    inverted: contrary.ends_with('i'),
                };
            }
            ("waiting", [burst]) => self.waiting.push_back(read_levers(railroad, burst)?),
            ("burst", [at, coils]) => {
                self.burst = Some(Burst { at: Moment(number(at)?), coils: number(coils)? });
            }
            ("held", [levers, since, complete, by, id]) => {
                let name = RouteName { id: Said::whole(id), levers: read_levers(railroad, levers)? };
                let (route, since) = (railroad.route_named(&name)?, Moment(number(since)?));
                self.held.push(HeldRoute {
                    route,
                    by: Said::new(by),
                    since,
                    complete: complete.starts_with("complete"),
                    once: complete.ends_with("once"),
                });
            }
            ("locked", [lever, since, by, note]) => {
                let lock = Lock { note: Said::new(note), by: Said::new(by), since: Moment(number(since)?) };
                self.locks.insert(on(railroad, number(lever)?)?, lock);
            }
            ("thrown", [lever, before]) => {
                self.throws.push((on(railroad, number(lever)?)?, read_letter(before)?));
            }
            ("stopped", [since, by]) => {
                self.stopped = Some(Stop { since: Moment(number(since)?), by: Said::new(by) });
            }
            ("turned", [step]) => self.turned = Some(Said::whole(step)),
            ("link-down", [link]) => {
                self.links_down.insert(Said::new(link));
            }
            _ => return None,
        }
        Some(())
    }
}

fn letter(position: Option<Position>) -> &'static str {
    match position {
        Some(Position::Normal) => "N",
        Some(Position::Reverse) => "R",
        None => "-",
    }
}

#[allow(clippy::option_option, reason = "whether it can be read, and whether there is a position")]
fn read_letter(letter: &str) -> Option<Option<Position>> {
    match letter {
        "N" => Some(Some(Position::Normal)),
        "R" => Some(Some(Position::Reverse)),
        "-" => Some(None),
        _ => None,
    }
}

fn moment(at: Option<Moment>) -> String {
    at.map_or("-".to_owned(), |at| at.0.to_string())
}

fn number<T: FromStr>(digits: &str) -> Option<T> {
    digits.parse().ok()
}

fn on(railroad: &Railroad, number: LeverNumber) -> Option<LeverNumber> {
    railroad.lever(number).map(|_| number)
}

fn levers(levers: &[(LeverNumber, Position)]) -> String {
    let each = levers.iter().map(|&(lever, position)| format!("{lever}{}", letter(Some(position))));
    let each: Vec<String> = each.collect();
    if each.is_empty() { "-".to_owned() } else { each.join(",") }
}

fn read_levers(railroad: &Railroad, text: &str) -> Option<Vec<(LeverNumber, Position)>> {
    let read = |each: &str| {
        let (digits, position) = each.split_at_checked(each.len().checked_sub(1)?)?;
        Some((on(railroad, number(digits)?)?, read_letter(position)??))
    };
    if text == "-" { Some(Vec::new()) } else { text.split(',').map(read).collect() }
}
