//! The harness: every wire with its id, way, length, size, colours, labels, terminals and pins.
//!
//! Which wires there are is found by `end`; this puts the rest on them. A wire goes the shortest way along the bench runs
//! and is cut to that length, with the user's slack, and a drop at each end. A wire that comes from another place ends at a
//! terminal of the place it serves, so that it can be tested there and what hangs on it can be taken out. Where a bench run
//! joins two modules, every conductor that passes has a pin there.
//!
//! # Source
//! Terminals at the place that is served, labels at both ends: common practice, no source.

mod bus;
mod colour;
mod end;
mod id;
mod pin;
mod size;
mod terminal;

pub(crate) use bus::joints_of;
pub(crate) use end::diodes_of;
pub(crate) use pin::pins_of;
pub use pin::plug_of;

use crate::distance::Distances;
use crate::model::{Core, NoWay, Plan, Strand, Wire, WireEnd, WireKind};
use crate::reason::{
    DROP_AT_ENDS, LENGTH_ALONG_BENCH, NO_BENCH, NO_DROP, NO_PLACE, NO_WAY, READY_MADE, SAME_PLACE,
    SAME_PLACE_BARE,
};
use end::Wanted;
use measure::Length;
use network::Network;
use notice::{Because, Decided};
use std::collections::BTreeMap;

/// Ids and positions that were given before, by the words of what has them: `machine 3 motor` is `W12`.
pub type Kept = BTreeMap<String, String>;

/// What the terminal of a wire's conductor is kept under; conductors count from 0.
pub(crate) fn terminal_key(at: &str, wire: &str, core: usize) -> String {
    format!("terminal {at}: {wire} {core}")
}

/// What the pin of a wire's conductor is kept under.
pub(crate) fn pin_key(wire: &str, core: usize) -> String {
    format!("pin {wire} {core}")
}

/// Lays every wire of a plan. What `kept` holds stays as it is; what is new gets what is free.
pub(crate) fn lay_wires(plan: &mut Plan, distances: &Distances, kept: &Kept) {
    let wanted = end::wanted_wires(plan);
    let ids = id::name_wires(&wanted, kept);
    let mut ways = Ways::of(&plan.network, distances);
    let wires = wanted.into_iter().zip(ids).map(|(wanted, id)| ways.lay(wanted, id)).collect();
    plan.wires = wires;
    plan.no_ways = ways.missing;
    plan.terminal_strips = terminal::land(&mut plan.wires, kept);
    plan.module_joints = pin::join(&plan.network, &mut plan.wires, kept);
    bus::own_plugs(&mut plan.wires, &plan.module_joints);
    label(plan);
}

/// The ways along the bench, each looked for once.
struct Ways<'a> {
    network: &'a Network,
    distances: &'a Distances,
    /// The places between two, and the length with slack; none where there is no way.
    found: BTreeMap<[String; 2], Option<(Vec<String>, Length)>>,
    missing: Vec<NoWay>,
}

/// What is known of how a wire goes: the places it passes, and its length.
type Laid = (Vec<String>, Decided<Option<Length>>);

impl<'a> Ways<'a> {
    fn of(network: &'a Network, distances: &'a Distances) -> Self {
        Self { network, distances, found: BTreeMap::new(), missing: Vec::new() }
    }

    fn lay(&mut self, wanted: Wanted, id: Decided<String>) -> Wire {
        let Wanted { key, kind, size, ends, jobs, existing, why, known } = wanted;
        let conductor = match (known.size, size) {
            (Some(known), _) => known,
            (None, Some(size)) => size::size_of(&self.network.described, size),
            (None, None) => Decided::new(Strand::ReadyMade, Because::new(&READY_MADE, [])),
        };
        let alone = jobs.len() == 1;
        let cores = jobs.into_iter().zip('a'..).map(|(job, letter)| Core {
            id: if alone { id.value.clone() } else { format!("{}{letter}", id.value) },
            job,
            colour: colour::colour_of(&self.network.described, job),
            terminal: None,
            pin: None,
            labels: [String::new(), String::new()],
        });
        let cores = cores.collect();
        let (way, length) = self.way(&ends);
        let length = known.length.unwrap_or(length);
        Wire { key, id, kind, ends, conductor, cores, way, length, existing, why }
    }

    fn way(&mut self, ends: &[WireEnd; 2]) -> Laid {
        let described = &self.network.described;
        let unknown = |because| (Vec::new(), Decided::new(None, because));
        let [Some(from), Some(to)] = ends.each_ref().map(|end| end.at.as_deref()) else {
            let lost = ends.iter().find(|end| end.at.is_none()).map_or("", |end| end.what.as_str());
            return unknown(Because::new(&NO_PLACE, [lost.into()]));
        };
        let Some(bench) = &described.bench else {
            let way = if from == to { vec![from.to_owned()] } else { Vec::new() };
            return (way, Decided::new(None, Because::new(&NO_BENCH, [])));
        };
        let drop = bench.drop.map(|drop| drop.value);
        let units = described.layout.units;
        let drops = Length::new(2.0 * drop.map_or(0.0, Length::value));
        if from == to {
            let why = match drop {
                Some(drop) => Because::new(&SAME_PLACE, [from.into(), drop.print(units).into()]),
                None => Because::new(&SAME_PLACE_BARE, [from.into()]),
            };
            return (vec![from.to_owned()], Decided::new(Some(drops), why));
        }
        let Some((way, along)) = self.between(from, to) else {
            let why = Because::new(&NO_WAY, [from.into(), to.into()]);
            self.miss(ends, from, to);
            return unknown(why);
        };
        let slack = bench.slack.map_or(0.0, |slack| slack.value.value());
        let saw = [
            along.print(units).into(),
            way.join(", ").into(),
            format!("{} %", (slack * 1000.0).round() / 10.0).into(),
        ];
        let length =
            Decided::new(Some([along, drops].into_iter().sum()), Because::new(&LENGTH_ALONG_BENCH, saw));
        let length = match drop {
            Some(drop) => length.and(Because::new(&DROP_AT_ENDS, [drop.print(units).into()])),
            None => length.and(Because::new(&NO_DROP, [])),
        };
        (way, length)
    }

    /// The places from one to another, and the length along them with slack.
    fn between(&mut self, from: &str, to: &str) -> Option<(Vec<String>, Length)> {
        let key = [from.to_owned(), to.to_owned()];
        if let Some(found) = self.found.get(&key) {
            return found.clone();
        }
        let way = self.distances.way(from, to);
        let found = way.and_then(|way| {
            let way = way.into_iter().map(str::to_owned).collect();
            Some((way, self.distances.between(from, to)?))
        });
        self.found.insert(key, found.clone());
        found
    }

    /// Remembers two places of the bench that no runs join. A place that is on no run at all is another matter.
    fn miss(&mut self, ends: &[WireEnd; 2], from: &str, to: &str) {
        let places = self.distances.places();
        if ![from, to].iter().all(|place| places.iter().any(|known| known == place)) {
            return;
        }
        let known = self.missing.iter_mut().find(|missing| {
            let [one, other] = missing.places.each_ref().map(String::as_str);
            [one, other] == [from, to] || [one, other] == [to, from]
        });
        match known {
            Some(known) => known.wires += 1,
            None => self.missing.push(NoWay {
                places: [from.to_owned(), to.to_owned()],
                spans: ends.each_ref().map(|end| end.span),
                wires: 1,
            }),
        }
    }
}

/// Writes on both ends of every conductor what it is and where it goes from there.
fn label(plan: &mut Plan) {
    let strips = &plan.terminal_strips;
    for wire in &mut plan.wires {
        for core in &mut wire.cores {
            // Both ends of a bus's run are called alike, so its labels say the place.
            let [here, there] = wire.ends.each_ref().map(|end| match (wire.kind, &end.at) {
                (WireKind::Bus, Some(at)) => format!("{}, {at}", end.what),
                (_, _) => end.what.clone(),
            });
            let there = core.terminal.map_or(there, |terminal| terminal.words(strips));
            core.labels = [format!("{} to {there}", core.id), format!("{} from {here}", core.id)];
        }
    }
}
