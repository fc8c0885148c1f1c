//! The railroad is changed while the panel runs: what stays keeps its state, by name, and what goes is said.
//!
//! Machines are known by their names, levers by what the description calls them (their numbers may change), routes by their ids and by
//! the levers they hold. A route stays set only when it holds the very same levers in the same positions and the new railroad's locking
//! lets it stand beside those that stay before it; any other is released. What waits for the supply is not thrown any more: it was
//! asked for on another railroad.
//!
//! The new state goes into the journal whole ([`State::whole`]), so that no later reader needs the old railroad.

use std::collections::{BTreeMap, BTreeSet};

use plan::model::LeverNumber;

use crate::refusal::shared;
use crate::state::HeldRoute;
use crate::{Entry, Happened, Lever, Moment, Railroad, RouteId, RouteName, Said, State};

/// How many changes are said one by one.
pub const CHANGES_SAID_MAX: usize = 40;

/// How many letters of them the log's row holds: names may be long, and the journal takes no row without bound.
const WHY_LETTERS_MAX: usize = 8_000;

/// A changed railroad, seen from the one before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// What is so on the new railroad.
    pub state: State,
    /// What is different, each in a sentence without its full stop; at most [`CHANGES_SAID_MAX`] and one more.
    pub says: Vec<String>,
    /// The ids of routes that were released.
    pub released: Vec<String>,
    /// What is to be written down, in order: all or nothing.
    pub entries: Vec<Entry>,
}

/// What becomes of a state when its railroad is changed.
pub fn change(old: &Railroad, state: &State, new: &Railroad, by: &Said, at: Moment) -> Changed {
    let renumbered: BTreeMap<LeverNumber, LeverNumber> =
        old.levers().filter_map(|lever| Some((lever.number, lever_called(new, &lever.id)?.number))).collect();
    let mut says = Vec::new();
    say_machines(old, new, &mut says);
    say_levers(old, new, &mut says);
    say_routes(old, new, &renumbered, &mut says);

    let mut kept = State::unknown(new);
    for (id, machine) in new.machines() {
        if let (Some(before), Some(standing)) =
            (old.machine_named(&machine.name), kept.machines.get_mut(id.index()))
        {
            *standing = state.standing(before);
        }
    }
    kept.burst = state.burst;
    kept.stopped.clone_from(&state.stopped);
    // What was tried is told by the keys of the steps: a finding whose step is gone waits for it to come back.
    kept.found.clone_from(&state.found);
    kept.turned.clone_from(&state.turned);
    let is_link = |name: &&Said| new.links().iter().any(|link| Said::whole(&link.name) == **name);
    kept.links_down = state.links_down.iter().filter(is_link).cloned().collect();
    kept.throws =
        state.throws.iter().filter_map(|(lever, before)| Some((*renumbered.get(lever)?, *before))).collect();
    for (lever, lock) in &state.locks {
        match renumbered.get(lever) {
            Some(&now) => drop(kept.locks.insert(now, lock.clone())),
            None => says.push(format!("the lock of lever {lever} (“{}”) is gone with its lever", lock.note)),
        }
    }
    let mut entries = Vec::new();
    let mut released = Vec::new();
    for held in &state.held {
        match route_now(old, new, &renumbered, held.route).and_then(|route| stands_beside(new, &kept, route))
        {
            Some(route) => kept.held.push(HeldRoute { route, ..held.clone() }),
            None => {
                let Some(route) = old.route_name(held.route) else { continue };
                let id = route.id.to_string();
                says.push(format!(
                    "the route {id} was set and is released: it is not on this railroad as it was"
                ));
                released.push(id);
                entries.push(Happened::Released { route, by: Said::new("a change of the layout") });
            }
        }
    }
    if !state.waiting.is_empty() {
        entries.push(Happened::Dropped);
    }
    let more = says.len().saturating_sub(CHANGES_SAID_MAX);
    says.truncate(CHANGES_SAID_MAX);
    if more > 0 {
        says.push(format!("and {more} more"));
    }
    let mut entries: Vec<Entry> = entries.into_iter().map(|what| Entry { at, what }).collect();
    entries.extend(kept.whole(new, &why(&says, by), at));
    Changed { state: kept, says, released, entries }
}

fn why(says: &[String], by: &Said) -> String {
    let whose = if by.is_empty() { String::new() } else { format!(" by {by}") };
    let what =
        if says.is_empty() { "nothing that is thrown is different".to_owned() } else { says.join("; ") };
    let why = format!("The layout was read anew{whose}: {what}");
    why.chars().take(WHY_LETTERS_MAX).collect()
}

fn lever_called<'a>(railroad: &'a Railroad, id: &str) -> Option<&'a Lever> {
    railroad.levers().find(|lever| lever.id == id)
}

fn say_machines(old: &Railroad, new: &Railroad, says: &mut Vec<String>) {
    let names = |railroad: &Railroad| -> BTreeSet<String> {
        railroad.machines().map(|(_, machine)| machine.name.clone()).collect()
    };
    let (before, now) = (names(old), names(new));
    says.extend(
        now.difference(&before).map(|name| format!("machine {name} is new; where it stands is not known")),
    );
    says.extend(before.difference(&now).map(|name| format!("machine {name} is gone")));
    let link = |railroad: &Railroad, name: &str| {
        let machine = railroad.machine_named(name)?;
        railroad.link_of(machine).map(|link| link.name.clone())
    };
    for name in now.intersection(&before) {
        let (was, is) = (link(old, name), link(new, name));
        if was != is {
            let is = is.map_or("no link".to_owned(), |is| format!("the {is}"));
            let was = was.map_or("none before".to_owned(), |was| format!("the {was} before"));
            says.push(format!("machine {name} is moved by {is}, by {was}"));
        }
    }
}

fn say_levers(old: &Railroad, new: &Railroad, says: &mut Vec<String>) {
    for lever in old.levers() {
        match lever_called(new, &lever.id) {
            None => says.push(format!("lever {} ({}) is gone", lever.number, lever.id)),
            Some(now) => {
                if now.number != lever.number {
                    says.push(format!(
                        "what was lever {} is lever {} now ({})",
                        lever.number, now.number, lever.id
                    ));
                }
                if now.address != lever.address {
                    says.push(format!(
                        "lever {} answers address {} now, {} before",
                        now.number,
                        now.address.number(),
                        lever.address.number()
                    ));
                }
            }
        }
    }
    let is_new = |lever: &&Lever| lever_called(old, &lever.id).is_none();
    says.extend(
        new.levers().filter(is_new).map(|lever| format!("lever {} ({}) is new", lever.number, lever.id)),
    );
}

fn say_routes(
    old: &Railroad,
    new: &Railroad,
    renumbered: &BTreeMap<LeverNumber, LeverNumber>,
    says: &mut Vec<String>,
) {
    let stay = old.routes().filter(|&(id, _)| route_now(old, new, renumbered, id).is_some()).count();
    let (gone, fresh) = (old.routes().count() - stay, new.routes().count().saturating_sub(stay));
    if gone + fresh > 0 {
        says.push(format!("{fresh} routes are new or throw otherwise, {gone} are gone"));
    }
}

/// The same route on the new railroad: the same id, the same levers, the same positions.
fn route_now(
    old: &Railroad,
    new: &Railroad,
    renumbered: &BTreeMap<LeverNumber, LeverNumber>,
    route: RouteId,
) -> Option<RouteId> {
    let RouteName { id, levers } = old.route_name(route)?;
    let levers: Option<BTreeMap<_, _>> =
        levers.into_iter().map(|(lever, position)| Some((*renumbered.get(&lever)?, position))).collect();
    new.route_named(&RouteName { id, levers: levers?.into_iter().collect() })
}

/// A route, when the locking lets it be set beside those that are set.
fn stands_beside(new: &Railroad, kept: &State, route: RouteId) -> Option<RouteId> {
    let is_free =
        kept.held.iter().all(|held| held.route != route && shared(new, route, held.route).is_none());
    is_free.then_some(route)
}
