//! Everything that is tried, each thing with what has to be tried before it.

use super::{Phase, Step};
use crate::fault::System;
use network::{LeverId, MachineId};
use plan::model::power::{PlannedBus, Reading, Trip};
use plan::model::{DeviceKind, Feed, Plan};
use std::collections::BTreeMap;

/// A step before it has its rank.
pub(super) struct Task {
    pub(super) step: Step,
    /// The tasks that come before it.
    pub(super) after: Vec<usize>,
    /// Tasks of one group at one place are done in one go.
    pub(super) group: usize,
    /// The bus it belongs to.
    pub(super) bus: Option<usize>,
}

struct Tasks<'p> {
    plan: &'p Plan,
    system: &'p System,
    all: Vec<Task>,
    numbers: BTreeMap<LeverId, u16>,
    /// The bus tasks by bus and point.
    buses: BTreeMap<(usize, usize), Vec<usize>>,
    /// The task of each decoder.
    decoders: Vec<usize>,
    /// The task of each lever.
    levers: BTreeMap<LeverId, usize>,
}

/// All tasks of a plan.
pub(super) fn tasks(plan: &Plan, system: &System) -> Vec<Task> {
    let numbers = plan.numbers();
    let mut tasks = Tasks {
        plan,
        system,
        all: Vec::new(),
        numbers,
        buses: BTreeMap::new(),
        decoders: Vec::new(),
        levers: BTreeMap::new(),
    };
    tasks.undescribed();
    for bus in 0..plan.network.buses.len() {
        tasks.bus(bus);
    }
    tasks.decoders();
    tasks.loaded();
    tasks.levers();
    tasks.gaps();
    tasks.rails();
    tasks.frogs();
    tasks.panels();
    tasks.rest();
    tell_apart(&mut tasks.all);
    tasks.all
}

/// Two supplies of one bus at one place, or a light called like something else, still have keys of their own.
fn tell_apart(tasks: &mut [Task]) {
    let mut count: BTreeMap<String, usize> = BTreeMap::new();
    for task in tasks {
        let of_key = count.entry(task.step.key.clone()).or_default();
        *of_key += 1;
        if *of_key > 1 {
            task.step.key = format!("{} ({of_key})", task.step.key);
        }
    }
}

impl Tasks<'_> {
    fn keys(&self, keys: impl IntoIterator<Item = String>) -> Vec<usize> {
        keys.into_iter().filter_map(|key| self.system.by_key.get(&key).copied()).collect()
    }

    fn add(&mut self, group: usize, bus: Option<usize>, step: Step, after: Vec<usize>) -> usize {
        self.all.push(Task { step, after, group, bus });
        self.all.len() - 1
    }

    fn phase(&self, phases: &[Phase]) -> Vec<usize> {
        (0..self.all.len()).filter(|&task| phases.contains(&self.all[task].step.phase)).collect()
    }

    /// Supplies that nobody described.
    fn undescribed(&mut self) {
        for what in ["the supply of the rails", "the supply of decoders and motors"] {
            let checks = self.keys([format!("volts of {what}")]);
            if checks.is_empty() {
                continue;
            }
            let mut step =
                step(Phase::Supply, None, format!("switch {what} on alone and measure at its terminals"));
            "its label says the volts: within 5 % of them".clone_into(&mut step.expect);
            what.clone_into(&mut step.key);
            step.by_label = true;
            step.checks = checks;
            self.add(0, None, step, Vec::new());
        }
    }

    fn bus(&mut self, index: usize) {
        let bus = &self.plan.network.buses[index];
        let planned = self.plan.buses.iter().find(|planned| planned.bus == index);
        let name = &bus.name;
        let mut supplies = Vec::new();
        for (rank, &(_, point)) in bus.sources.iter().enumerate() {
            let place = &bus.places[point];
            let mut step = step(Phase::Supply, Some(place), format!("read the supply of bus {name} alone"));
            step.under = true;
            step.key = format!("supply of {name} at {place}");
            step.checks = self.keys([format!("supply of {name}"), format!("supply of {name} at {place}")]);
            read(&mut step, planned.and_then(|planned| planned.readings.get(rank)).cloned());
            supplies.push(self.add(0, Some(index), step, Vec::new()));
        }
        for (point, before) in outwards(bus) {
            let place = &bus.places[point];
            let mut step = step(Phase::Bus, Some(place), format!("read bus {name}"));
            step.under = true;
            step.key = format!("bus {name} at {place}");
            let breaker = if before.is_none() { Some(format!("breaker of {name}")) } else { None };
            step.checks = self.keys([format!("volts of {name} at {place}")].into_iter().chain(breaker));
            // The rails are read with a test load, anything else with nothing connected.
            step.least = if bus.kind == description::BusKind::Track { 1 } else { 2 };
            read(&mut step, planned.and_then(|planned| alone(planned, point)));
            let mut after = supplies.clone();
            after.extend(before.and_then(|before| self.buses.get(&(index, before))).into_iter().flatten());
            let task = self.add(0, Some(index), step, after);
            self.buses.entry((index, point)).or_default().push(task);
            if let Some(planned) = planned.filter(|planned| planned.kind == description::BusKind::Track) {
                let coin = self.add(0, Some(index), coin(planned, point, name), vec![task]);
                self.buses.entry((index, point)).or_default().push(coin);
            }
        }
    }

    /// The tasks of all buses at a place.
    fn buses_at(&self, place: Option<&str>) -> Vec<usize> {
        let here = |&(bus, point): &(usize, usize)| {
            self.plan.network.buses[bus].places.get(point).map(String::as_str) == place
        };
        let tasks: Vec<usize> = self
            .buses
            .iter()
            .filter(|(at, _)| here(at))
            .flat_map(|(_, tasks)| tasks.iter().copied())
            .collect();
        // What no bus passes is fed from somewhere on one, whichever it is.
        if tasks.is_empty() { self.phase(&[Phase::Supply, Phase::Bus, Phase::Coin]) } else { tasks }
    }

    fn decoders(&mut self) {
        for decoder in &self.plan.decoders {
            let at = decoder.at.as_ref().map(|at| at.value.as_str());
            let (id, first) = (&decoder.id, decoder.first.value.number());
            let does = format!(
                "connect decoder {id}, program it as its sheet says and write its label: {id}, first address {first}"
            );
            let mut step = step(Phase::Decoder, at, does);
            step.under = true;
            step.key = format!("decoder {id}");
            step.expect = format!("read back, it answers with its address; its first output is {first}");
            step.checks = self.keys([format!("signal at {id}"), format!("address of {id}")]);
            let after = self.buses_at(at);
            let task = self.add(1, None, step, after);
            self.decoders.push(task);
        }
    }

    /// Readings with everything connected.
    fn loaded(&mut self) {
        for planned in
            self.plan.buses.iter().filter(|planned| planned.kind == description::BusKind::Accessory)
        {
            let name = &self.plan.network.buses[planned.bus].name;
            for reading in planned.readings.iter().skip(planned.supplies.len()) {
                let place = &planned.points[reading.point].place;
                let mut step = step(Phase::Loaded, Some(place), format!("read bus {name} again"));
                step.under = true;
                step.key = format!("bus {name} at {place} under load");
                step.checks = self.keys([format!("volts of {name} at {place}")]);
                read(&mut step, Some(reading.clone()));
                let here = self.buses.get(&(planned.bus, reading.point)).into_iter().flatten();
                let after = self.decoders.iter().chain(here).copied().collect();
                self.add(2, None, step, after);
            }
        }
    }

    fn levers(&mut self) {
        let plan = self.plan;
        for planned in &plan.levers {
            let lever = plan.network.lever(planned.lever);
            let name = |machine: &MachineId| plan.network.machine(*machine).name.clone();
            let names: Vec<String> = lever.machines.iter().map(name).collect();
            let joint = lever
                .machines
                .first()
                .map(|&machine| plan.network.joint(plan.network.machine(machine).joint));
            let number = planned.number.value;
            let does = format!(
                "throw address {} from a cab, normal and reverse, twice, and watch {}",
                planned.address.value.number(),
                names.join(" and ")
            );
            let mut step = step(Phase::Machine, joint.and_then(|joint| joint.at.as_deref()), does);
            step.expect = format!(
                "{} lies normal at normal and reverse at reverse, moves at once and all the way, no slower than its like, and nothing else moves",
                lever.name
            );
            step.key = format!("lever {number}");
            step.lever = Some(planned.lever);
            let keys = names.iter().map(|name| format!("machine {name} from a cab"));
            step.checks = self.keys(keys.chain([format!("others with lever {number}")]));
            let rows = plan.addresses.iter().filter(|row| row.lever == planned.lever);
            let mut after: Vec<usize> =
                rows.filter_map(|row| self.decoders.get(row.decoder?).copied()).collect();
            if after.is_empty() {
                after = self.buses_at(step.at.as_deref());
            }
            let task = self.add(3, None, step, after);
            self.levers.insert(planned.lever, task);
        }
    }

    fn frogs(&mut self) {
        let plan = self.plan;
        for frog in plan.frogs.iter().filter(|frog| frog.feed.value != Feed::Dead) {
            let joint = plan.network.joint(frog.joint);
            let name = format!("{} {}", joint.id, frog.name);
            let mut keys = vec![format!("frog {name}"), format!("contact of {name}")];
            let mut after = self.buses_at(joint.at.as_deref());
            if let Feed::Contact(Some(machine)) = frog.feed.value {
                let lever = plan.network.machine(machine).lever;
                let number = self.numbers.get(&lever).copied().unwrap_or_default();
                keys.extend(
                    ["normal", "reverse"].map(|position| format!("breaker with lever {number} {position}")),
                );
                after.extend(self.levers.get(&lever).copied());
            }
            after.extend(
                self.phase(&[Phase::Rails]).into_iter().filter(|&task| self.all[task].step.at == joint.at),
            );
            let does = format!(
                "measure from {name} to each rail, both ways of its points; then run an engine over it, both ways"
            );
            let mut step = step(Phase::Frog, joint.at.as_deref(), does);
            "it has the polarity of the rail that it lies in, both ways; the engine does not stall and no breaker opens"
                .clone_into(&mut step.expect);
            step.key = format!("frog {name}");
            step.checks = self.keys(keys);
            self.add(3, None, step, after);
        }
    }

    fn gaps(&mut self) {
        let plan = self.plan;
        for gap in &plan.gaps {
            let at = gap.at.and_then(|port| plan.network.joint(port.joint).at.as_deref());
            let does =
                format!("switch off and measure across the gap in each rail of {}, {}", gap.track, gap.end);
            let mut step = step(Phase::Gap, at, does);
            "neither rail leads across".clone_into(&mut step.expect);
            step.key = format!("gap of {}, {}", gap.track, gap.end);
            step.checks = self.keys([step.key.clone()]);
            let after = self.buses_at(at);
            self.add(6, None, step, after);
        }
    }

    /// The rails, place by place.
    fn rails(&mut self) {
        let mut by_place: BTreeMap<Option<String>, Vec<&str>> = BTreeMap::new();
        for track in &self.plan.network.tracks {
            let place = self.system.by_key.get(&format!("track {}", track.name));
            let place = place.and_then(|&check| self.system.checks[check].at.clone());
            by_place.entry(place).or_default().push(&track.name);
        }
        let sections = || self.plan.reversing.iter().map(|section| section.name.as_str());
        let gaps = self.phase(&[Phase::Gap]);
        for (place, tracks) in by_place {
            let coin = if self.trips_at(place.as_deref()) {
                "lay a coin across the rails farthest from the bus, which has to open the breaker; then "
            } else {
                ""
            };
            let does = format!("connect the droppers; {coin}run an engine along {}", tracks.join(", "));
            let mut step = step(Phase::Rails, place.as_deref(), does);
            "it runs from end to end of each at the same speed, and no breaker opens under it"
                .clone_into(&mut step.expect);
            step.key = place.as_ref().map_or_else(|| "rails".to_owned(), |place| format!("rails at {place}"));
            let units = sections().map(|name| format!("volts behind the polarity unit of {name}"));
            let trains = sections().map(|name| format!("breaker with a train through {name}"));
            let tracks = tracks.iter().map(|track| format!("track {track}"));
            step.checks = self.keys(tracks.chain(units).chain(trains));
            let mut after = self.buses_at(place.as_deref());
            after.extend(&gaps);
            self.add(3, None, step, after);
        }
    }

    /// Whether a short at a place opens the breaker of a track bus that passes it.
    fn trips_at(&self, place: Option<&str>) -> bool {
        let rails = self.plan.buses.iter().filter(|planned| planned.kind == description::BusKind::Track);
        let mut points = rails.flat_map(|planned| &planned.points);
        points.any(|at| Some(at.place.as_str()) == place && matches!(at.trip, Trip::Surely | Trip::Late))
    }

    /// What people push and look at.
    fn panels(&mut self) {
        let plan = self.plan;
        let tried = self.phase(&[Phase::Machine, Phase::Frog, Phase::Gap, Phase::Rails, Phase::Loaded]);
        let machines = |lever: LeverId| {
            let machines = plan.network.lever(lever).machines.iter();
            machines.map(|&machine| format!("machine {}", plan.network.machine(machine).name))
        };
        for strip in &plan.strips {
            let does = format!("push both buttons of each pair of strip {} and watch its lever", strip.panel);
            let mut step = step(Phase::Strip, strip.at.as_deref(), does);
            "each pair throws the lever whose number stands beside it, and each button the way its plate says".clone_into(&mut step.expect);
            step.key = format!("strip {}", strip.panel);
            let keys = strip.pairs.iter().flatten().flat_map(|&lever| machines(lever));
            let lamps =
                strip.accessories.iter().flatten().map(|&accessory| plan.network.accessory(accessory).key());
            step.checks = self.keys(keys.chain(lamps).chain([format!("socket of strip {}", strip.panel)]));
            self.add(4, None, step, tried.clone());
        }
        for fascia in &plan.fascias {
            let does = format!("push every button of panel {} and watch what it throws", fascia.panel);
            let mut pushed = step(Phase::Strip, fascia.at.as_deref(), does);
            "each throws what its plate says, and nothing else".clone_into(&mut pushed.expect);
            pushed.key = format!("buttons of panel {}", fascia.panel);
            pushed.checks = self.keys(fascia.levers.iter().flat_map(|&lever| machines(lever)));
            self.add(4, None, pushed, tried.clone());
            let lamps: Vec<String> = fascia
                .devices
                .iter()
                .filter(|device| device.kind == DeviceKind::Lamp)
                .map(|device| format!("lamp {} {}", fascia.panel, device.id))
                .collect();
            if !lamps.is_empty() {
                let does =
                    format!("throw every lever of panel {} both ways and look at its lamps", fascia.panel);
                let mut lit = step(Phase::Lamp, fascia.at.as_deref(), does);
                "the lamp of the way that is open shines, and no other at that turnout"
                    .clone_into(&mut lit.expect);
                lit.key = format!("lamps of panel {}", fascia.panel);
                lit.checks = self.keys(lamps);
                self.add(4, None, lit, tried.clone());
            }
        }
        for planned in &plan.accessories {
            let what = plan.network.accessory(planned.accessory);
            let mut lit = step(Phase::Lamp, what.at.as_deref(), format!("switch {} on and off", what.key()));
            "it shines, and it goes out".clone_into(&mut lit.expect);
            lit.key = what.key();
            lit.checks = self.keys([what.key()]);
            self.add(4, None, lit, tried.clone());
        }
    }

    /// What needs all the rest.
    fn rest(&mut self) {
        let mut last: Vec<usize> = (0..self.all.len()).collect();
        let mut screen = step(Phase::Screen, None, "throw every lever once on the screen".into());
        "its link is up, and what moves on the screen moves on the railroad".clone_into(&mut screen.expect);
        let all = self
            .plan
            .network
            .machines
            .iter()
            .map(|machine| format!("machine {} from the screen", machine.name));
        "screen".clone_into(&mut screen.key);
        screen.checks = self.keys(all.chain(["link of the screen".into()]));
        last.push(self.add(5, None, screen, last.clone()));
        let routes = match (self.plan.named.len(), self.plan.routes.len()) {
            (0, routes) => format!("set each of the {routes} routes once and run an engine over it"),
            (named, _) => format!("set each of the {named} named routes once and run an engine over it"),
        };
        let mut set = step(Phase::Routes, None, routes);
        "every lever on the way lies as the sheet of routes says".clone_into(&mut set.expect);
        "routes".clone_into(&mut set.key);
        set.otherwise =
            vec!["a diode or button that sets the wrong lever: compare with the sheet of routes".into()];
        last.push(self.add(5, None, set, last.clone()));
        let mut hour = step(
            Phase::Hour,
            None,
            "operate for an hour, as on an evening with guests; then feel every supply, booster and decoder"
                .into(),
        );
        "nothing is too hot to touch, no breaker has opened, every lever still moves as quickly"
            .clone_into(&mut hour.expect);
        "operating hour".clone_into(&mut hour.key);
        hour.otherwise = vec!["what fails only when warm: supplies and boosters too small, decoders without air, joints that heat".into()];
        self.add(5, None, hour, last);
    }
}

fn step(phase: Phase, at: Option<&str>, does: String) -> Step {
    Step {
        key: String::new(),
        lever: None,
        phase,
        at: at.map(str::to_owned),
        under: false,
        does,
        expect: String::new(),
        reading: None,
        by_label: false,
        checks: Vec::new(),
        least: 1,
        faults: Vec::new(),
        otherwise: Vec::new(),
    }
}

/// A step with its reading; the plan has none where a bus comes to no steady state.
fn read(step: &mut Step, reading: Option<Reading>) {
    match &reading {
        Some(reading) => {
            step.does = format!("{}: {}", step.does, reading.with);
            step.expect = format!(
                "{:.2} V, good from {:.2} to {:.2} V ({})",
                reading.expect, reading.low, reading.high, reading.meter
            );
            step.otherwise = vec![reading.outside.clone()];
        }
        None => "volts as the supply's label says, within 5 %".clone_into(&mut step.expect),
    }
    step.by_label = reading.is_none();
    step.reading = reading;
}

/// The reading of a bus before anything hangs on it: on the rails with its test load; elsewhere the supply's own.
fn alone(planned: &PlannedBus, point: usize) -> Option<Reading> {
    let count = planned.supplies.len();
    if planned.kind == description::BusKind::Track {
        return planned.readings.iter().skip(count).find(|reading| reading.point == point).cloned();
    }
    let own = planned
        .readings
        .iter()
        .take(count)
        .reduce(|most, other| if other.expect > most.expect { other } else { most })?;
    Some(Reading {
        point,
        with: "its supply on, no decoder connected yet; leads on the bus".into(),
        outside: "lower or nothing: the run before this place is open, or something is connected already"
            .into(),
        ..own.clone()
    })
}

/// A dead short, on purpose.
fn coin(planned: &PlannedBus, point: usize, name: &str) -> Step {
    let at = &planned.points[point];
    let does = format!(
        "short the ends of the feeder of bus {name} with a coin; part them at once if nothing happens"
    );
    let mut step = step(Phase::Coin, Some(&at.place), does);
    step.under = true;
    step.expect = match at.trip {
        Trip::Surely => "the breaker opens at once, and closes again when the coin is off".into(),
        Trip::Late => {
            "the breaker opens, though late: more copper or a lower trip current would be safer".into()
        }
        Trip::Never => "by the plan the breaker will NOT open: do not try it; mend the bus first".into(),
        Trip::NoBreaker => "there is no breaker: do not try it; put a fuse or a breaker in first".into(),
    };
    step.key = format!("coin test of {name} at {}", at.place);
    step.otherwise = vec![
        "the breaker is set too high, or runs, joints and feeders are longer or thinner than planned".into(),
    ];
    step
}

/// The points of a bus from its supplies outwards, each with the one before it.
fn outwards(bus: &network::Bus) -> Vec<(usize, Option<usize>)> {
    let mut points: Vec<(usize, Option<usize>)> = Vec::new();
    for &(_, point) in &bus.sources {
        if points.iter().all(|(other, _)| *other != point) {
            points.push((point, None));
        }
    }
    let mut at = 0;
    while at < points.len() {
        let from = points[at].0;
        for run in &bus.runs {
            let to = if run.from == from { run.to } else { run.from };
            if (run.from == from || run.to == from) && points.iter().all(|(other, _)| *other != to) {
                points.push((to, Some(from)));
            }
        }
        at += 1;
    }
    points
}
