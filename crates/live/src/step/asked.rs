//! What people ask for, and what keeps it from being done.

use description::record::Verdict;
use network::Position;
use plan::model::LeverNumber;

use super::{Doing, Effect, WAITING_MAX};
use crate::refusal::shared;
use crate::{Found, Happened, HeldBy, Hold, Lever, Refusal, RouteId, RouteSight, Said};

impl Doing<'_> {
    pub(super) fn throw(
        &mut self,
        number: LeverNumber,
        position: Position,
        by: &Said,
        server: Option<&Said>,
    ) -> Result<(), Refusal> {
        let lever = self.lever(number)?;
        let coils = lever.coils;
        self.may_be_thrown(lever, server)?;
        let by = by.clone();
        let ready =
            self.state.waiting.is_empty() || self.state.waiting.iter().flatten().all(|w| w.0 == number);
        if coils == 0 || (ready && self.state.supply_bears(self.railroad, coils, self.at)) {
            self.record(Happened::Thrown { lever: number, position, by });
            self.send(number, position);
            return Ok(());
        }
        if self.state.waiting.len() >= WAITING_MAX {
            return Err(Refusal::SupplyBusy);
        }
        self.record(Happened::Waits { lever: number, position, by });
        self.announce(number);
        self.panel = true;
        Ok(())
    }

    pub(super) fn undo(&mut self, by: &Said) -> Result<(), Refusal> {
        let (number, before) = self.state.last_throw().ok_or(Refusal::NothingToUndo)?;
        let lever = self.lever(number)?;
        let coils = lever.coils;
        self.may_be_thrown(lever, None)?;
        let position = before.ok_or(Refusal::UndoNotKnown(number))?;
        if !self.state.supply_bears(self.railroad, coils, self.at) {
            return Err(Refusal::SupplyBusy);
        }
        self.record(Happened::Undone { lever: number, position, by: by.clone() });
        self.send(number, position);
        self.panel = true;
        Ok(())
    }

    /// Whether anything at all keeps a lever from being thrown by hand. What another panel holds does not keep that panel itself.
    fn may_be_thrown(&self, lever: &Lever, server: Option<&Said>) -> Result<(), Refusal> {
        self.not_stopped()?;
        let number = lever.number;
        if let Some(held) = self.state.holder(self.railroad, number) {
            let route = self.id_of(held.route);
            return Err(Refusal::LeverHeld { lever: number, route, by: held.by.clone() });
        }
        if let Some(lock) = self.state.lock(number) {
            return Err(Refusal::LeverLocked { lever: number, note: lock.note.clone(), by: lock.by.clone() });
        }
        for &machine in &lever.machines {
            if let Some(hold) = self.state.held_elsewhere(machine, server).next() {
                return Err(Refusal::HeldElsewhere { lever: number, hold: hold.words() });
            }
        }
        self.can_be_reached(lever)
    }

    /// Sets a route: to be held until someone releases it, or once.
    pub(super) fn set_route(&mut self, route: RouteId, by: &Said, once: bool) -> Result<(), Refusal> {
        self.may_be_set(route, once)?;
        let name = self.railroad.route_name(route).ok_or(Refusal::RouteUnknown)?;
        let levers: Vec<LeverNumber> = name.levers.iter().map(|lever| lever.0).collect();
        let by = by.clone();
        self.record(if once {
            Happened::AskedOnce { route: name, by }
        } else {
            Happened::Asked { route: name, by }
        });
        self.fire();
        self.find_set();
        for lever in levers {
            self.announce(lever);
        }
        self.panel = true;
        Ok(())
    }

    /// Whether anything keeps a route from being set, held or once.
    pub(super) fn may_be_set(&self, route: RouteId, once: bool) -> Result<(), Refusal> {
        let asked = self.railroad.route(route).ok_or(Refusal::RouteUnknown)?;
        let id = || asked.id.clone();
        self.not_stopped()?;
        let levers = asked.levers.as_ref().ok_or_else(|| Refusal::RouteWithoutLevers(id()))?;
        for held in &self.state.held {
            if held.route == route {
                if held.once && !once {
                    // It is being set already; now someone wants it held as well.
                    continue;
                }
                match self.state.route_sight(self.railroad, held) {
                    RouteSight::Set | RouteSight::Setting(_) | RouteSight::Unproven(_) => {
                        return Err(Refusal::RouteSetAlready(id()));
                    }
                    // What stands wrong is thrown again.
                    RouteSight::NoReport(_)
                    | RouteSight::Strayed(_)
                    | RouteSight::NotThrown(_)
                    | RouteSight::OutOfTouch(_)
                    | RouteSight::Disputed(_) => {}
                }
            } else if let Some(why) = self.in_the_way(route, held.route) {
                return Err(Refusal::RouteInTheWay { route: id(), other: self.id_of(held.route), why });
            }
        }
        self.not_in_the_way_elsewhere(route, levers.keys().copied())?;
        for (number, position) in self.state.to_throw(self.railroad, route) {
            if let Some(lock) = self.state.lock(number) {
                let note = lock.note.clone();
                return Err(Refusal::RouteNeedsLocked { route: id(), lever: number, position, note });
            }
            self.can_be_reached(self.lever(number)?)?;
        }
        let room = WAITING_MAX.saturating_sub(self.state.waiting.len());
        if levers.len() > room && self.railroad.bursts(route).len() > room {
            return Err(Refusal::SupplyBusy);
        }
        Ok(())
    }

    /// Whether a route that is set on another panel, or a lever locked there, keeps this one from being set.
    fn not_in_the_way_elsewhere(
        &self,
        route: RouteId,
        levers: impl Iterator<Item = LeverNumber>,
    ) -> Result<(), Refusal> {
        let id = || self.id_of(route);
        for ((_, _, by), hold) in &self.state.elsewhere {
            let other = self.railroad.route_called(hold.note.as_str()).filter(|_| *by == HeldBy::Route);
            if let Some(why) =
                other.filter(|other| *other != route).and_then(|other| self.in_the_way(route, other))
            {
                let other = format!("{} on the panel {}", hold.note, hold.panel);
                return Err(Refusal::RouteInTheWay { route: id(), other, why });
            }
        }
        let to_throw = self.state.to_throw(self.railroad, route);
        for number in levers {
            // A locked lever that stands right is of use, as it is on one panel.
            let is_thrown = to_throw.iter().any(|(lever, _)| *lever == number);
            let in_the_way = |hold: &&Hold| hold.held_by == HeldBy::Route || is_thrown;
            for &machine in &self.lever(number)?.machines {
                if let Some(hold) = self.state.held_elsewhere(machine, None).find(in_the_way) {
                    return Err(Refusal::HeldElsewhere { lever: number, hold: hold.words() });
                }
            }
        }
        Ok(())
    }

    /// Why a route cannot be set beside another: what the locking says, or one lever that moves machines of both.
    fn in_the_way(&self, route: RouteId, other: RouteId) -> Option<String> {
        shared(self.railroad, route, other).or_else(|| {
            let levers = |route| self.railroad.route(route).and_then(|route| route.levers.as_ref());
            let (own, held) = (levers(route)?, levers(other)?);
            let (lever, _) = own
                .iter()
                .find(|(lever, position)| held.get(lever).is_some_and(|needed| needed != *position))?;
            Some(format!("both need lever {lever}, in different positions"))
        })
    }

    pub(super) fn release_route(&mut self, route: RouteId, by: &Said) -> Result<(), Refusal> {
        self.railroad.route(route).ok_or(Refusal::RouteUnknown)?;
        let name = self.railroad.route_name(route).ok_or(Refusal::RouteUnknown)?;
        if !self.state.held.iter().any(|held| held.route == route) {
            return Err(Refusal::RouteNotSet(self.id_of(route)));
        }
        let levers: Vec<LeverNumber> = name.levers.iter().map(|lever| lever.0).collect();
        self.record(Happened::Released { route: name, by: by.clone() });
        for lever in levers {
            self.announce(lever);
        }
        self.panel = true;
        Ok(())
    }

    pub(super) fn lock(&mut self, number: LeverNumber, note: &Said, by: &Said) -> Result<(), Refusal> {
        self.lever(number)?;
        if let Some(lock) = self.state.lock(number) {
            return Err(Refusal::LockedAlready { lever: number, note: lock.note.clone() });
        }
        if note.is_empty() {
            return Err(Refusal::NoteMissing(number));
        }
        // What still waits for the supply would be thrown after the lock, but not under a route that holds it.
        if self.state.waits_for(number).is_some() {
            return Err(Refusal::SupplyBusy);
        }
        self.record(Happened::Locked { lever: number, by: by.clone(), note: note.clone() });
        self.announce(number);
        Ok(())
    }

    pub(super) fn unlock(&mut self, number: LeverNumber, by: &Said) -> Result<(), Refusal> {
        self.lever(number)?;
        if self.state.lock(number).is_none() {
            return Err(Refusal::NotLocked(number));
        }
        self.record(Happened::Unlocked { lever: number, by: by.clone() });
        self.announce(number);
        Ok(())
    }

    pub(super) fn find(&mut self, found: &Found) -> Result<(), Refusal> {
        if found.who.is_empty() {
            return Err(Refusal::FinderMissing);
        }
        if found.verdict == Verdict::Skipped && found.note.is_empty() {
            return Err(Refusal::SkipNoteMissing);
        }
        self.record(Happened::Found(found.clone()));
        self.panel = true;
        Ok(())
    }

    /// A stop is never refused, and one more is asked of the links each time.
    pub(super) fn stop(&mut self, by: &Said) {
        let waiting: Vec<LeverNumber> = self.state.waiting.iter().flatten().map(|w| w.0).collect();
        self.record(Happened::Stopped { by: by.clone() });
        self.moves.push(Effect::StopLinks);
        for lever in waiting {
            self.announce(lever);
        }
        self.panel = true;
    }

    pub(super) fn resume(&mut self, by: &Said) -> Result<(), Refusal> {
        self.state.stopped().ok_or(Refusal::NotStopped)?;
        self.record(Happened::Resumed { by: by.clone() });
        self.moves.push(Effect::ResumeLinks);
        self.panel = true;
        Ok(())
    }

    fn lever(&self, number: LeverNumber) -> Result<&'_ Lever, Refusal> {
        self.railroad.lever(number).ok_or(Refusal::LeverUnknown(number))
    }

    fn not_stopped(&self) -> Result<(), Refusal> {
        match self.state.stopped() {
            Some(stop) => Err(Refusal::Stopped { by: stop.by.clone() }),
            None => Ok(()),
        }
    }

    fn can_be_reached(&self, lever: &Lever) -> Result<(), Refusal> {
        for &machine in &lever.machines {
            let link = self.railroad.link_of(machine).ok_or(Refusal::LinkMissing(lever.number))?;
            let over = self.state.over(machine).map_or(link.name.as_str(), Said::as_str);
            if !self.state.reaches(over) {
                return Err(Refusal::LinkDown { link: Said::whole(over) });
            }
            if let Some(why) = self.state.away(machine) {
                return Err(Refusal::OutOfTouch { lever: lever.number, why: why.clone() });
            }
        }
        Ok(())
    }

    fn id_of(&self, route: RouteId) -> String {
        self.railroad.route(route).map(|route| route.id.clone()).unwrap_or_default()
    }
}
