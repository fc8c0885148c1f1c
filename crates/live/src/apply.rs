//! How one entry changes the state: the only way in which it does.

use description::record::Verdict;
use network::Position;
use plan::model::LeverNumber;

use crate::state::{Burst, FOUND_MAX, HeldRoute, Lock, Stop, UNDO_MAX};
use crate::{Entry, Found, Happened, Moment, Railroad, RouteId, RouteName, Said, Sight, Standing, State};

/// An entry speaks of something that this railroad does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotOnRailroad {
    /// No such lever.
    #[error("there is no lever {0}")]
    Lever(LeverNumber),
    /// No such machine.
    #[error("there is no machine {0}")]
    Machine(String),
    /// No such route, or it needs other levers now.
    #[error("there is no route {0} with these levers")]
    Route(Said),
    /// Something that was so then, and cannot be here.
    #[error("`{}` was so, and cannot be on this railroad", .0.replace('\t', " "))]
    Still(String),
}

impl State {
    /// Takes in one entry that has been written down. This is the only way in which the state changes.
    ///
    /// # Errors
    /// When the entry speaks of something that is not on this railroad; the state is then as before.
    pub fn apply(&mut self, railroad: &Railroad, entry: &Entry) -> Result<(), NotOnRailroad> {
        match &entry.what {
            Happened::Thrown { lever, position, .. } => {
                self.remember(railroad, *lever)?;
                self.throw(railroad, *lever, *position, entry.at)?;
            }
            Happened::Waits { lever, position, .. } => {
                self.remember(railroad, *lever)?;
                self.wait_no_more(*lever);
                self.waiting.push_back(vec![(*lever, *position)]);
            }
            Happened::Fired { lever, position } => self.throw(railroad, *lever, *position, entry.at)?,
            Happened::Undone { lever, position, .. } => {
                self.throw(railroad, *lever, *position, entry.at)?;
                self.throws.pop();
            }
            Happened::Dropped => self.waiting.clear(),
            Happened::Confirmed { machine, position } => self.report(railroad, machine, *position)?,
            Happened::Overdue { machine } | Happened::NotSent { machine } => {
                self.named(railroad, machine)?.overdue = true;
            }
            Happened::Inverted { machine, inverted } => {
                *self.named(railroad, machine)? = Standing { inverted: *inverted, ..Standing::default() };
            }
            Happened::Asked { route, by } => self.ask(railroad, named(railroad, route)?, by, entry.at, false),
            Happened::AskedOnce { route, by } => {
                self.ask(railroad, named(railroad, route)?, by, entry.at, true);
            }
            Happened::Set { route } => {
                let route = named(railroad, route)?;
                self.held.iter_mut().filter(|held| held.route == route).for_each(|held| held.complete = true);
            }
            Happened::Released { route, .. } => self.release(railroad, named(railroad, route)?),
            Happened::Locked { lever, by, note } => {
                railroad.lever(*lever).ok_or(NotOnRailroad::Lever(*lever))?;
                let lock = Lock { note: note.clone(), by: by.clone(), since: entry.at };
                self.locks.insert(*lever, lock);
            }
            Happened::Unlocked { lever, .. } => {
                self.locks.remove(lever);
            }
            Happened::Stopped { by } => {
                self.waiting.clear();
                self.stopped = Some(Stop { by: by.clone(), since: entry.at });
            }
            Happened::Resumed { .. } => self.stopped = None,
            Happened::Found(found) => self.find(found),
            Happened::Turned { step, .. } => self.turned = Some(step.clone()),
            Happened::LinkUp { link } => {
                self.links_down.remove(link);
            }
            Happened::LinkDown { link } => {
                self.links_down.insert(link.clone());
            }
            Happened::Whole { .. } => *self = Self::unknown(railroad),
            Happened::Still { row } => {
                self.take_row(railroad, row).ok_or_else(|| NotOnRailroad::Still(row.clone()))?;
            }
            Happened::Elsewhere(said) => self.hear_elsewhere(railroad, said, entry.at)?,
        }
        Ok(())
    }

    /// What is not as it should be stays in sight until somebody turns from it; else one goes on.
    fn find(&mut self, found: &Found) {
        let goes_on = matches!(found.verdict, Verdict::Good | Verdict::Skipped);
        self.turned = if goes_on { None } else { Some(found.step.clone()) };
        if self.found.len() < FOUND_MAX || self.found.contains_key(&found.step) {
            self.found.insert(found.step.clone(), found.clone());
        }
    }

    fn report(&mut self, railroad: &Railroad, machine: &str, at: Position) -> Result<(), NotOnRailroad> {
        let standing = self.named(railroad, machine)?;
        standing.confirmed = Some(at);
        // A report of the old position while it is on its way is no arrival.
        if standing.commanded.is_none_or(|commanded| commanded == at) {
            standing.waiting_since = None;
            standing.overdue = false;
            standing.contrary = false;
        } else if standing.waiting_since.is_some() {
            standing.contrary = true;
        }
        Ok(())
    }

    fn named(&mut self, railroad: &Railroad, machine: &str) -> Result<&mut Standing, NotOnRailroad> {
        railroad
            .machine_named(machine)
            .and_then(|id| self.machines.get_mut(id.index()))
            .ok_or_else(|| NotOnRailroad::Machine(machine.to_owned()))
    }

    /// Sends the machines of a lever off.
    fn throw(
        &mut self,
        railroad: &Railroad,
        number: LeverNumber,
        to: Position,
        at: Moment,
    ) -> Result<(), NotOnRailroad> {
        let lever = railroad.lever(number).ok_or(NotOnRailroad::Lever(number))?;
        self.wait_no_more(number);
        for &machine in &lever.machines {
            let reports = railroad.link_of(machine).is_none_or(|link| link.reports);
            self.declined.remove(&machine);
            if let Some(standing) = self.machines.get_mut(machine.index()) {
                standing.commanded = Some(to);
                standing.waiting_since = reports.then_some(at);
                if !reports {
                    // What it said under another link is no longer so, and nobody will say what is.
                    standing.confirmed = None;
                }
                standing.overdue = false;
                standing.contrary = false;
            }
        }
        if lever.coils > 0 {
            let fired = if self.supply_rested(at) { 0 } else { self.burst.map_or(0, |burst| burst.coils) };
            self.burst = Some(Burst { at, coils: fired + lever.coils });
        }
        Ok(())
    }

    /// Keeps where a lever stands before someone throws it.
    fn remember(&mut self, railroad: &Railroad, number: LeverNumber) -> Result<(), NotOnRailroad> {
        let lever = railroad.lever(number).ok_or(NotOnRailroad::Lever(number))?;
        let before = match self.sight(lever) {
            Sight::At(position) | Sight::Waiting(position) | Sight::Sent(position) => Some(position),
            Sight::NotKnown | Sight::Moving(_) | Sight::Overdue(_) | Sight::Apart => self.commanded(lever),
        };
        if self.throws.len() >= UNDO_MAX {
            self.throws.remove(0);
        }
        self.throws.push((number, before));
        Ok(())
    }

    fn wait_no_more(&mut self, lever: LeverNumber) {
        for burst in &mut self.waiting {
            burst.retain(|waiting| waiting.0 != lever);
        }
        self.waiting.retain(|burst| !burst.is_empty());
    }

    fn ask(&mut self, railroad: &Railroad, route: RouteId, by: &Said, at: Moment, once: bool) {
        let to_throw = self.to_throw(railroad, route);
        for &(lever, _) in &to_throw {
            self.wait_no_more(lever);
            // Where a lever stood before someone threw it is of no use once a route has moved it.
            self.throws.retain(|thrown| thrown.0 != lever);
        }
        for burst in railroad.bursts(route) {
            let is_in = |number: LeverNumber| to_throw.iter().find(|throw| throw.0 == number).copied();
            let burst: Vec<_> = burst.into_iter().filter_map(is_in).collect();
            if !burst.is_empty() {
                self.waiting.push_back(burst);
            }
        }
        match self.held.iter_mut().find(|held| held.route == route) {
            Some(held) => {
                held.complete = false;
                // Who asked for it to be held still counts on it.
                held.once &= once;
            }
            None => self.held.push(HeldRoute { route, by: by.clone(), since: at, complete: false, once }),
        }
    }

    fn release(&mut self, railroad: &Railroad, route: RouteId) {
        self.held.retain(|held| held.route != route);
        let waiting: Vec<LeverNumber> = self.waiting.iter().flatten().map(|waiting| waiting.0).collect();
        for lever in waiting {
            if railroad.holds(route, lever) && self.holder(railroad, lever).is_none() {
                self.wait_no_more(lever);
            }
        }
    }

    /// The levers of a route that do not stand right and are not on their way there, each with where it has to go.
    pub fn to_throw(&self, railroad: &Railroad, route: RouteId) -> Vec<(LeverNumber, Position)> {
        let levers = railroad.route(route).and_then(|route| route.levers.as_ref());
        let stands_right = |number: LeverNumber, position| {
            let sight = railroad.lever(number).map(|lever| self.sight(lever));
            let held = || self.holder(railroad, number).is_some_and(|held| held.route != route);
            match sight {
                Some(Sight::At(at)) => at == position,
                Some(Sight::Moving(to)) => to == position,
                // Another route throws it there already.
                Some(Sight::Waiting(to)) => to == position && held(),
                // What nobody has seen arrive is thrown once more rather than trusted.
                Some(Sight::NotKnown | Sight::Sent(_) | Sight::Overdue(_) | Sight::Apart) | None => false,
            }
        };
        levers
            .into_iter()
            .flatten()
            .filter(|&(&number, &position)| !stands_right(number, position))
            .map(|(&number, &position)| (number, position))
            .collect()
    }
}

fn named(railroad: &Railroad, name: &RouteName) -> Result<RouteId, NotOnRailroad> {
    railroad.route_named(name).ok_or_else(|| NotOnRailroad::Route(name.id.clone()))
}
