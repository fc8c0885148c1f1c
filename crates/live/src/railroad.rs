//! What of a plan the running panel needs: levers by their numbers, the machines they move, and the routes by their ids.
//!
//! Routes, their locking and the bursts in which their levers are thrown are the plan's; here they are only looked up.

use std::collections::BTreeMap;
use std::sync::Arc;

use description::LinkKind;
use network::{LeverId, MachineId, Position, TrackId};
use packet::UserAddress;
use plan::burst::{coil_count, throw_order};
use plan::model::{LeverNumber, Plan};

use crate::reach::{Reach, reaches};
use crate::{RouteName, Said};

/// The levers, machines and routes of one layout. They do not change while the panel runs.
#[derive(Clone, Debug)]
pub struct Railroad {
    plan: Arc<Plan>,
    levers: BTreeMap<LeverNumber, Lever>,
    machines: Vec<Machine>,
    routes: Vec<Route>,
    by_stop: BTreeMap<TrackId, Vec<RouteId>>,
    by_name: BTreeMap<Said, RouteId>,
    numbers: BTreeMap<LeverId, LeverNumber>,
    reaches: Vec<Reach>,
    /// For each machine, the place of its link in `reaches`.
    links: Vec<Option<usize>>,
}

/// A route of the plan, by its place in the plan's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RouteId(usize);

impl RouteId {
    /// The route at this place.
    pub fn at(index: usize) -> Self {
        Self(index)
    }

    /// Its place in the plan's list.
    pub fn index(self) -> usize {
        self.0
    }
}

/// What the panel has to know of a route.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Route {
    /// The id that the plan's tables give it.
    pub id: String,
    /// The stops at its two ends.
    pub ends: [TrackId; 2],
    /// The levers it holds, each in the position it needs; none where a lever would be needed in both, or points that no
    /// lever moves.
    pub levers: Option<BTreeMap<LeverNumber, Position>>,
}

/// One control on the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lever {
    /// The number on the panel.
    pub number: LeverNumber,
    /// What the description calls it, and with it the drawings.
    pub id: String,
    /// What the plate calls it.
    pub name: String,
    /// What it moves, in natural order.
    pub machines: Vec<MachineId>,
    /// How many coils fire when it is thrown.
    pub coils: usize,
    /// The accessory address that its machines answer.
    pub address: UserAddress,
    /// Whether its commands go out the other way round, and its reports come in so: every machine at its address is inverted by
    /// the record. Where only some are, no command is right for all, and none is turned.
    pub turned: bool,
}

/// One motor under the benchwork.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Machine {
    /// What the wiring sheets call it.
    pub name: String,
    /// The lever that moves it; none where the plan gave it none.
    pub lever: Option<LeverNumber>,
    /// Whether the as-built record says that it moves the other way round than it is told.
    pub inverted: bool,
}

/// Two levers of the plan carry one number, so nobody could say which of them is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("two levers carry the number {number}; `throwbar check` shows both")]
pub struct NumberTwice {
    /// The number.
    pub number: LeverNumber,
}

impl Railroad {
    /// The railroad that a plan describes.
    ///
    /// # Errors
    /// When two levers carry one number.
    pub fn new(plan: impl Into<Arc<Plan>>) -> Result<Self, NumberTwice> {
        let plan: Arc<Plan> = plan.into();
        let mut machines: Vec<Machine> = (plan.network.machines.iter())
            .map(|machine| {
                let found = plan.findings.get(&format!("machine {}", machine.name));
                let inverted = found.is_some_and(|finding| finding.inverted);
                Machine { name: machine.name.clone(), lever: None, inverted }
            })
            .collect();
        let mut levers = BTreeMap::new();
        for planned in &plan.levers {
            let number = planned.number.value;
            let lever = plan.network.lever(planned.lever);
            for id in &lever.machines {
                if let Some(machine) = machines.get_mut(id.index()) {
                    machine.lever = Some(number);
                }
            }
            let is_inverted =
                |id: &MachineId| machines.get(id.index()).is_some_and(|machine| machine.inverted);
            let entry = Lever {
                turned: !lever.machines.is_empty() && lever.machines.iter().all(is_inverted),
                number,
                id: lever.id.clone(),
                name: lever.name.clone(),
                machines: lever.machines.clone(),
                coils: coil_count(&plan.network, planned.lever),
                address: planned.address.value,
            };
            if levers.insert(number, entry).is_some() {
                return Err(NumberTwice { number });
            }
        }
        let routes = routes_of(&plan, &machines);
        let mut by_stop: BTreeMap<TrackId, Vec<RouteId>> = BTreeMap::new();
        for (index, route) in routes.iter().enumerate() {
            for end in route.ends {
                by_stop.entry(end).or_default().push(RouteId(index));
            }
        }
        let by_name = routes
            .iter()
            .enumerate()
            .map(|(index, route)| (Said::whole(&route.id), RouteId(index)))
            .collect();
        let numbers = plan.numbers();
        let reaches = reaches(&plan);
        let mut links = vec![None; machines.len()];
        for (index, reach) in reaches.iter().enumerate() {
            for machine in &reach.machines {
                if let Some(link) = links.get_mut(machine.index()) {
                    *link = Some(index);
                }
            }
        }
        Ok(Self { plan, levers, machines, routes, by_stop, by_name, numbers, reaches, links })
    }

    /// The plan it was made from.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The layout's name.
    pub fn layout(&self) -> &str {
        &self.plan.network.described.layout.name
    }

    /// How many coils may fire at once.
    pub fn coils_at_once(&self) -> usize {
        usize::from(self.plan.coils_at_once.value)
    }

    /// The route of this id.
    pub fn route(&self, id: RouteId) -> Option<&Route> {
        self.routes.get(id.0)
    }

    /// Every route.
    pub fn routes(&self) -> impl Iterator<Item = (RouteId, &Route)> {
        self.routes.iter().enumerate().map(|(index, route)| (RouteId(index), route))
    }

    /// Every route that begins or ends at this stop.
    pub fn routes_at(&self, stop: TrackId) -> &[RouteId] {
        self.by_stop.get(&stop).map_or(&[], Vec::as_slice)
    }

    /// The route that the plan's tables call this.
    pub fn route_called(&self, id: &str) -> Option<RouteId> {
        self.by_name.get(&Said::whole(id)).copied()
    }

    /// How the log names a route; none when it cannot be set.
    pub fn route_name(&self, id: RouteId) -> Option<RouteName> {
        let route = self.route(id)?;
        let levers = route.levers.as_ref()?.iter().map(|(&lever, &position)| (lever, position)).collect();
        Some(RouteName { id: Said::whole(&route.id), levers })
    }

    /// The route that the log names so. One that needs other levers now, because the layout was changed, is another route.
    pub fn route_named(&self, name: &RouteName) -> Option<RouteId> {
        let id = self.by_name.get(&name.id).copied()?;
        self.route_name(id).filter(|own| own.levers == name.levers).map(|_| id)
    }

    /// Whether a route holds a lever.
    pub fn holds(&self, route: RouteId, lever: LeverNumber) -> bool {
        let levers = self.route(route).and_then(|route| route.levers.as_ref());
        levers.is_some_and(|levers| levers.contains_key(&lever))
    }

    /// Every link.
    pub fn links(&self) -> &[Reach] {
        &self.reaches
    }

    /// Whether the machines that this panel moves over its other links are shared with other panels over this one: the first link to a message
    /// broker.
    pub fn shares_over(&self, link: &Reach) -> bool {
        let is_broker = |reach: &&Reach| {
            let described = reach.described.and_then(|at| self.plan.network.described.links.get(at));
            described.is_some_and(|link| matches!(link.kind, LinkKind::Broker { .. }))
        };
        self.reaches.iter().find(is_broker).is_some_and(|first| first.name == link.name)
    }

    /// The place of the link that moves a machine in [`Self::links`]; none where none does.
    pub fn link_index(&self, machine: MachineId) -> Option<usize> {
        self.links.get(machine.index()).copied().flatten()
    }

    /// The link that moves a machine; none where none does.
    pub fn link_of(&self, machine: MachineId) -> Option<&Reach> {
        self.reaches.get(self.link_index(machine)?)
    }

    /// Every machine that the modelled layout moves.
    pub fn modelled(&self) -> impl Iterator<Item = (MachineId, &Machine)> {
        self.machines().filter(|&(id, _)| self.link_of(id).is_some_and(Reach::is_simulated))
    }

    /// Whether all that moves is modelled.
    pub fn is_simulated(&self) -> bool {
        self.reaches.iter().all(Reach::is_simulated)
    }

    /// The levers of a route in the bursts in which the coils' supply can throw them.
    pub fn bursts(&self, id: RouteId) -> Vec<Vec<LeverNumber>> {
        let Some(route) = self.plan.routes.get(id.0) else { return Vec::new() };
        throw_order(&self.plan, &self.numbers, route)
    }

    /// Every lever, by number.
    pub fn levers(&self) -> impl Iterator<Item = &Lever> {
        self.levers.values()
    }

    /// The lever of this number.
    pub fn lever(&self, number: LeverNumber) -> Option<&Lever> {
        self.levers.get(&number)
    }

    /// Every machine with its id.
    pub fn machines(&self) -> impl Iterator<Item = (MachineId, &Machine)> {
        self.machines.iter().enumerate().map(|(index, machine)| (MachineId::at(index), machine))
    }

    /// The machine of this id.
    pub fn machine(&self, id: MachineId) -> Option<&Machine> {
        self.machines.get(id.index())
    }

    /// The machine of this name.
    pub fn machine_named(&self, name: &str) -> Option<MachineId> {
        self.machines().find(|(_, machine)| machine.name == name).map(|(id, _)| id)
    }
}

/// The routes of a plan with the levers they hold.
fn routes_of(plan: &Plan, machines: &[Machine]) -> Vec<Route> {
    let held = |route: &network::Route| {
        let mut levers = BTreeMap::new();
        for &(machine, position) in &route.needs {
            let lever = machines.get(machine.index())?.lever?;
            if *levers.entry(lever).or_insert(position) != position {
                return None;
            }
        }
        Some(levers)
    };
    let ids = plan::route_ids(plan);
    plan.routes
        .iter()
        .zip(ids)
        .map(|(route, id)| Route { id, ends: [route.from(), route.to()], levers: held(route) })
        .collect()
}
