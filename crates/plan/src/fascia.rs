//! What stands on each fascia: which levers it has, which buttons, toggles and lamps, where on the diagram each belongs and
//! what it does. Where on the panel that is in millimetres is for the drawing.
//!
//! A panel of pairs has a button on each leg of each turnout; one of toggles has one at each lever; a one-push panel has a button on
//! each track that a train can be sent to over its levers. What a one-push button throws are levers of this panel that lie
//! next to that track without another panel's between them: beyond those another operator decides. Of these it throws what
//! every way to that track needs alike, so that a push never undoes what another push has set without need; where a named
//! route leads there, it sets that.

use crate::burst::in_bursts;
use crate::model::{Device, DeviceKind, Does, Fascia, LeverNumber, Plan, Stand};
use crate::number::levers_along;
use crate::reason::{
    ALIKE_THERE, BUTTON_ON_LEG, FEWEST_THERE, LAMP_ON_LEG, NAMED_ROUTE, NOT_BOTH_WAYS, THREEWAY_BY_LEG,
    TOGGLE_AT_LEVER,
};
use description::{Buttons, PanelKind};
use network::{
    Control, Controlled, JointId, JointKind, LeverId, MachineId, Network, Position, Route, TrackId,
};
use notice::{Because, Decided};
use std::collections::{BTreeMap, BTreeSet};

/// Levers with the positions they are wanted in.
type Wanted = BTreeMap<LeverId, Position>;

/// The part that lamps are, which a layout may describe in its own way.
const LAMP: &str = "lamp";

/// The levers that fascias name.
pub(crate) fn named_on_fascias(network: &Network) -> BTreeSet<LeverId> {
    let controls = fascias(network).filter_map(|(_, controls)| controls).flatten();
    controls.flat_map(|control| named(network, *control)).collect()
}

/// The fascias of a network: the index of each in the description, and what it names; none when it takes what is left.
fn fascias(network: &Network) -> impl Iterator<Item = (usize, Option<&[Control]>)> {
    let panels = network.panels.iter().map(|panel| (panel.described, panel.controls.as_deref()));
    panels.filter(|&(index, _)| network.described.panels[index].kind == PanelKind::Fascia)
}

fn named(network: &Network, control: Control) -> Vec<LeverId> {
    match control.what {
        Controlled::Line(line) => levers_along(network, line),
        Controlled::Lever(lever) => vec![lever],
        Controlled::Accessory(_) => Vec::new(),
    }
}

/// Every fascia with what stands on it.
pub(crate) fn furnish(plan: &Plan) -> Vec<Fascia> {
    let network = &plan.network;
    let mut has_panel = named_on_fascias(network);
    has_panel.extend(plan.levers.iter().filter(|lever| lever.control.is_some()).map(|lever| lever.lever));
    let mut furnished = Vec::new();
    for (index, controls) in fascias(network) {
        let levers: Vec<LeverId> = match controls {
            Some(controls) => {
                let mut seen = BTreeSet::new();
                let all = controls.iter().flat_map(|control| named(network, *control));
                all.filter(|lever| seen.insert(*lever)).collect()
            }
            None => {
                plan.levers.iter().map(|lever| lever.lever).filter(|lever| has_panel.insert(*lever)).collect()
            }
        };
        let described = &network.described.panels[index];
        furnished.push(Fascia {
            panel: described.id.value.clone(),
            span: described.id.span,
            described: index,
            at: described.at.as_ref().map(|at| at.value.clone()),
            devices: Furnished::new(plan, &levers).all(index),
            levers,
        });
    }
    furnished
}

/// A fascia being furnished.
struct Furnished<'a> {
    plan: &'a Plan,
    network: &'a Network,
    levers: &'a [LeverId],
    own: BTreeSet<LeverId>,
    numbers: BTreeMap<LeverId, LeverNumber>,
    devices: Vec<Device>,
    /// How many there are of each kind so far.
    counts: BTreeMap<DeviceKind, usize>,
}

impl<'a> Furnished<'a> {
    fn new(plan: &'a Plan, levers: &'a [LeverId]) -> Self {
        let own = levers.iter().copied().collect();
        let numbers = plan.numbers();
        let (devices, counts) = (Vec::new(), BTreeMap::new());
        Self { plan, network: &plan.network, levers, own, numbers, devices, counts }
    }

    fn all(mut self, described: usize) -> Vec<Device> {
        let described = &self.network.described.panels[described];
        let part = described.part.as_ref().map(|part| part.value.clone());
        let button = part.clone().unwrap_or_else(|| "push button".to_owned());
        match described.fascia.buttons {
            Buttons::Pair => self.add_pairs(self.levers, &button, None),
            Buttons::Toggle => self.add_toggles(&part.unwrap_or_else(|| "toggle".to_owned())),
            Buttons::OnePush => {
                let left_over = self.add_one_push(&button);
                self.add_pairs(&left_over, &button, Some(&NOT_BOTH_WAYS));
            }
        }
        if !described.fascia.dark {
            self.add_lamps();
        }
        self.devices
    }

    fn add(&mut self, kind: DeviceKind, part: &str, stands: Stand, does: Decided<Does>) {
        let letter = match kind {
            DeviceKind::Button => 'B',
            DeviceKind::Toggle => 'T',
            DeviceKind::Lamp => 'L',
        };
        let number = self.counts.entry(kind).or_default();
        *number += 1;
        let id = format!("{letter}{number}");
        self.devices.push(Device { id, kind, part: part.to_owned(), stands, does });
    }

    /// What a lever is called in a reason.
    fn called(&self, lever: LeverId) -> &'a str {
        &self.network.lever(lever).id
    }

    /// Levers thrown together, burst by burst.
    fn throws(&self, wanted: &Wanted) -> Does {
        let by_number: BTreeMap<LeverNumber, (LeverId, Position)> = wanted
            .iter()
            .filter_map(|(&lever, &position)| Some((*self.numbers.get(&lever)?, (lever, position))))
            .collect();
        let bursts = in_bursts(self.plan, &by_number);
        let with_position = |number: LeverNumber| by_number.get(&number).copied();
        Does::Throws(
            bursts.into_iter().map(|burst| burst.into_iter().filter_map(with_position).collect()).collect(),
        )
    }

    /// A button on each leg that these levers decide.
    fn add_pairs(&mut self, levers: &[LeverId], part: &str, besides: Option<&'static notice::Rule>) {
        let mut by_leg = BTreeSet::new();
        for &lever in levers {
            if let Some((joint, [left, right])) = self.threeway(lever) {
                if by_leg.insert(joint) {
                    self.add_threeway(joint, [left, right], part);
                }
                continue;
            }
            let Some(&machine) = self.network.lever(lever).machines.first() else { continue };
            for position in [Position::Normal, Position::Reverse] {
                let saw = [self.called(lever).into(), position.word().into()];
                let throws = self.throws(&Wanted::from([(lever, position)]));
                let mut does = Decided::new(throws, Because::new(&BUTTON_ON_LEG, saw));
                if let Some(rule) = besides {
                    does = does.and(Because::new(rule, [self.called(lever).into()]));
                }
                self.add(DeviceKind::Button, part, Stand::Leg(machine, position), does);
            }
        }
    }

    /// The three-way that a lever is one half of, when this panel has both halves and they move nothing else.
    fn threeway(&self, lever: LeverId) -> Option<(JointId, [MachineId; 2])> {
        let [machine] = self.network.lever(lever).machines.as_slice() else { return None };
        let joint = self.network.machine(*machine).joint;
        let described = self.network.joint(joint);
        let [left, right] = described.machines.as_slice() else { return None };
        let alone = |machine: &MachineId| {
            let lever = self.network.machine(*machine).lever;
            self.own.contains(&lever) && self.network.lever(lever).machines.len() == 1
        };
        (described.kind == JointKind::Threeway && alone(left) && alone(right))
            .then_some((joint, [*left, *right]))
    }

    fn add_threeway(&mut self, joint: JointId, [left, right]: [MachineId; 2], part: &str) {
        let name = self.network.joint(joint).id.as_str();
        for (stands, positions) in threeway_legs([left, right]) {
            let wanted = self.wanted_of(&positions);
            let why = Because::new(&THREEWAY_BY_LEG, [name.into()]);
            let does = Decided::new(self.throws(&wanted), why);
            self.add(DeviceKind::Button, part, stands, does);
        }
    }

    fn wanted_of(&self, needs: &[(MachineId, Position)]) -> Wanted {
        needs.iter().map(|&(machine, position)| (self.network.machine(machine).lever, position)).collect()
    }

    fn add_toggles(&mut self, part: &str) {
        for &lever in self.levers {
            let Some(&machine) = self.network.lever(lever).machines.first() else { continue };
            let why = Because::new(&TOGGLE_AT_LEVER, [self.called(lever).into()]);
            let does = Decided::new(Does::Holds(lever), why);
            self.add(DeviceKind::Toggle, part, Stand::Machine(machine), does);
        }
    }

    /// A button on each track that trains are sent to; returns the levers that these do not throw both ways.
    fn add_one_push(&mut self, part: &str) -> Vec<LeverId> {
        let mut thrown: BTreeSet<(LeverId, Position)> = BTreeSet::new();
        for (track, ways) in self.ways_there() {
            let Some((wanted, why)) = self.way_to_set(&ways) else { continue };
            thrown.extend(wanted.iter().map(|(&lever, &position)| (lever, position)));
            let does = Decided::new(self.throws(&wanted), why);
            self.add(DeviceKind::Button, part, Stand::Track(track), does);
        }
        let both = |lever: &LeverId| {
            [Position::Normal, Position::Reverse].iter().all(|&position| thrown.contains(&(*lever, position)))
        };
        self.levers.iter().copied().filter(|lever| !both(lever)).collect()
    }

    /// For each track that this panel's levers lead to: what each route there wants of them, and the route's index.
    fn ways_there(&self) -> BTreeMap<TrackId, Vec<(Wanted, usize)>> {
        let mut ways: BTreeMap<TrackId, Vec<(Wanted, usize)>> = BTreeMap::new();
        for (index, route) in self.plan.routes.iter().enumerate() {
            for (tracks, wanted) in self.stretches(route) {
                for track in tracks {
                    ways.entry(track).or_default().push((wanted.clone(), index));
                }
            }
        }
        ways
    }

    /// The stretches of a route that no other panel's levers interrupt: the tracks at both ends of each, and what it wants of
    /// this panel's levers. A stretch that wants nothing, or one lever both ways, is left out.
    fn stretches(&self, route: &Route) -> Vec<([TrackId; 2], Wanted)> {
        let mut found = Vec::new();
        let mut start = 0;
        let mut wanted = Some(Wanted::new());
        for step in 0..=route.passes.len() {
            let needs = route
                .passes
                .get(step)
                .map(|pass| &self.network.joint(pass.joint).moves[usize::from(pass.move_index)].needs);
            let lever = |&(machine, _): &(MachineId, Position)| self.network.machine(machine).lever;
            let own = needs.filter(|needs| needs.iter().all(|need| self.own.contains(&lever(need))));
            let Some(needs) = own else {
                found.extend(
                    wanted
                        .filter(|wanted| !wanted.is_empty())
                        .map(|wanted| ([route.tracks[start], route.tracks[step]], wanted)),
                );
                (start, wanted) = (step + 1, Some(Wanted::new()));
                continue;
            };
            for need in needs {
                wanted = wanted.filter(|wanted| wanted.get(&lever(need)).is_none_or(|was| *was == need.1));
                if let Some(wanted) = &mut wanted {
                    wanted.insert(lever(need), need.1);
                }
            }
        }
        found
    }

    /// What a button for a track throws: the way of a named route; else what all ways there need alike; else the way that
    /// reverses the fewest levers.
    fn way_to_set(&self, ways: &[(Wanted, usize)]) -> Option<(Wanted, Because)> {
        for named in &self.plan.named {
            if let Some((wanted, _)) = ways.iter().find(|(_, route)| *route == named.route.value) {
                let why = Because::new(&NAMED_ROUTE, [named.name.as_str().into()]);
                return Some((wanted.clone(), why));
            }
        }
        let (first, _) = ways.first()?;
        let mut alike = first.clone();
        alike.retain(|lever, position| ways.iter().all(|(wanted, _)| wanted.get(lever) == Some(position)));
        if !alike.is_empty() {
            return Some((alike, Because::new(&ALIKE_THERE, [ways.len().into()])));
        }
        let reversed =
            |wanted: &Wanted| wanted.values().filter(|position| **position == Position::Reverse).count();
        // Of those that reverse as few, the one that says most about the way: it leaves least to chance.
        let cost = |wanted: &Wanted| (reversed(wanted), usize::MAX - wanted.len());
        let (best, _) = ways.iter().min_by_key(|(wanted, route)| (cost(wanted), *route))?;
        let why = Because::new(&FEWEST_THERE, [ways.len().into(), reversed(best).into()]);
        Some((best.clone(), why))
    }

    /// A lamp on each leg.
    fn add_lamps(&mut self) {
        let mut by_leg = BTreeSet::new();
        for &lever in self.levers {
            if let Some((joint, machines)) = self.threeway(lever) {
                if by_leg.insert(joint) {
                    for (stands, positions) in threeway_legs(machines) {
                        let shines = self.wanted_of(&positions).into_iter().collect();
                        self.add_lamp(stands, shines);
                    }
                }
                continue;
            }
            let mut linked = BTreeSet::new();
            for &machine in &self.network.lever(lever).machines {
                // Where two machines share the leg between them, one lamp on it is enough.
                let first_there = linked.insert(self.network.machine(machine).joint);
                self.add_lamp(Stand::Leg(machine, Position::Normal), vec![(lever, Position::Normal)]);
                if first_there {
                    self.add_lamp(Stand::Leg(machine, Position::Reverse), vec![(lever, Position::Reverse)]);
                }
            }
        }
    }

    fn add_lamp(&mut self, stands: Stand, shines: Vec<(LeverId, Position)>) {
        let does = Decided::new(Does::Shines(shines), Because::new(&LAMP_ON_LEG, []));
        self.add(DeviceKind::Lamp, LAMP, stands, does);
    }
}

/// The legs of a three-way, each with what it needs of both machines.
fn threeway_legs([left, right]: [MachineId; 2]) -> [(Stand, [(MachineId, Position); 2]); 3] {
    use Position::{Normal, Reverse};
    [
        (Stand::Leg(left, Reverse), [(left, Reverse), (right, Normal)]),
        (Stand::Leg(left, Normal), [(left, Normal), (right, Normal)]),
        (Stand::Leg(right, Reverse), [(left, Normal), (right, Reverse)]),
    ]
}
