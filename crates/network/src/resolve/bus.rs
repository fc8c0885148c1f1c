//! Buses: every place on the bench, every run as long as the shortest way along it.

use crate::bus::{Bus, BusRun};
use crate::model::Network;
use description::{BusShape, Description, Name, Role};
use measure::Length;
use notice::{Confidence, Diagnostic, code, quoted, suggest};
use std::collections::BTreeMap;

/// The bench as a graph: for each place, its neighbours with metres.
type Bench<'a> = BTreeMap<&'a str, Vec<(&'a str, f64)>>;

pub(super) fn resolve_buses(description: &Description, network: &mut Network, notes: &mut Vec<Diagnostic>) {
    let mut bench: Bench<'_> = BTreeMap::new();
    for run in description.bench.iter().flat_map(|bench| &bench.runs) {
        let metres = run.length.value.value();
        bench.entry(&run.from.value).or_default().push((&run.to.value, metres));
        bench.entry(&run.to.value).or_default().push((&run.from.value, metres));
    }
    let slack =
        description.bench.as_ref().and_then(|bench| bench.slack).map_or(0.0, |slack| slack.value.value());
    for (index, described) in description.buses.iter().enumerate() {
        let before = notes.len();
        check_sources(description, described, notes);
        let mut bus = Bus {
            described: index,
            name: described.id.value.clone(),
            span: described.id.span,
            kind: described.kind,
            shape: described.shape,
            places: Vec::new(),
            runs: Vec::new(),
            sources: Vec::new(),
        };
        let mut laid = Laid { bench: &bench, slack, bus: &mut bus, notes };
        laid.path(&described.path, described.shape);
        described.branches.iter().for_each(|branch| laid.branch(branch));
        laid.sources(&described.sources);
        if notes.len() == before {
            network.buses.push(bus);
        }
    }
}

/// A source is a booster or a supply.
fn check_sources(description: &Description, bus: &description::Bus, notes: &mut Vec<Diagnostic>) {
    for name in bus.sources.iter().filter_map(|source| source.part.as_ref()) {
        match description.parts.get(&name.value) {
            Some(part) if [Role::Booster, Role::Supply].contains(&part.role) => {}
            Some(_) => {
                let message = format!("`{}` is neither a booster nor a supply", name.value);
                notes.push(
                    Diagnostic::error(code::PART_WRONG_ROLE, name.span, message)
                        .help("name a part that feeds, such as \"booster\" or \"accessory supply\""),
                );
            }
            None if description.unread.ids.contains(&name.value) => {}
            None => {
                let message = format!("there is no part `{}`", name.value);
                let note = Diagnostic::error(code::PART_UNKNOWN, name.span, message);
                let near = suggest(notes.len(), &name.value, description.parts.keys().map(String::as_str));
                notes.push(match near {
                    Some(near) => {
                        note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask)
                    }
                    None => note.help(format!(
                        "name \"booster\" or \"accessory supply\", or describe it in [part.\"{}\"]",
                        name.value
                    )),
                });
            }
        }
    }
}

/// A bus while it is laid.
struct Laid<'a, 'n> {
    bench: &'a Bench<'a>,
    slack: f64,
    bus: &'n mut Bus,
    notes: &'n mut Vec<Diagnostic>,
}

impl Laid<'_, '_> {
    /// The index of a place, if the bench has it.
    fn place(&mut self, name: &Name) -> Option<usize> {
        if let Some(at) = self.bus.places.iter().position(|place| *place == name.value) {
            return Some(at);
        }
        if self.bench.contains_key(name.value.as_str()) {
            self.bus.places.push(name.value.clone());
            return Some(self.bus.places.len() - 1);
        }
        let message = format!("no bench run leads to `{}`, so this bus has no length there", name.value);
        let note = Diagnostic::error(code::BUS_PLACE_UNKNOWN, name.span, message);
        self.notes.push(match suggest(self.notes.len(), &name.value, self.bench.keys().copied()) {
            Some(near) => note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask),
            None => note.help(format!(
                "add to [bench] runs such as {{ from = \"{}\", to = \"{}\", length = \"4 ft\" }}",
                self.bench.keys().next().unwrap_or(&"bay 1"),
                name.value
            )),
        });
        None
    }

    fn path(&mut self, path: &[Name], shape: BusShape) {
        let mut before: Option<(&Name, usize)> = None;
        for name in path {
            let known = self.bus.places.len();
            let Some(at) = self.place(name) else { continue };
            if at < known {
                // A ring may be written with its first place again at its end.
                let closes =
                    shape == BusShape::Ring && at == 0 && std::ptr::eq(name, &raw const path[path.len() - 1]);
                if !closes {
                    self.twice(name);
                }
                continue;
            }
            if let Some((from, from_at)) = before {
                self.run(from, from_at, name, at);
            }
            before = Some((name, at));
        }
        if let (BusShape::Ring, Some((last, last_at)), Some(first)) = (shape, before, path.first())
            && last_at > 0
            && self.bus.places.first() == Some(&first.value)
        {
            self.run(last, last_at, first, 0);
        }
    }

    fn branch(&mut self, branch: &[Name]) {
        let mut before: Option<(&Name, usize)> = None;
        for name in branch {
            let known = self.bus.places.len();
            let Some(at) = self.place(name) else { return };
            match before {
                None if at == known => {
                    self.bus.places.pop();
                    let message =
                        format!("this branch begins at `{}`, which the bus does not pass", name.value);
                    self.notes.push(
                        Diagnostic::error(code::BUS_BRANCH_LOOSE, name.span, message)
                            .help(format!("begin it at one of {}", listed(&self.bus.places))),
                    );
                    return;
                }
                Some(_) if at < known => self.twice(name),
                Some((from, from_at)) => self.run(from, from_at, name, at),
                None => {}
            }
            before = Some((name, at));
        }
    }

    fn twice(&mut self, name: &Name) {
        let message = format!("the bus passes `{}` twice", name.value);
        self.notes.push(
            Diagnostic::error(code::BUS_PLACE_TWICE, name.span, message)
                .help("name each place once; a bus that comes back to its first place is shape = \"ring\""),
        );
    }

    fn run(&mut self, from: &Name, from_at: usize, to: &Name, to_at: usize) {
        match shortest(self.bench, &from.value, &to.value) {
            Some(metres) => {
                let length = Length::new(metres * (1.0 + self.slack));
                self.bus.runs.push(BusRun { from: from_at, to: to_at, length });
            }
            None => {
                let message = format!("no bench runs lead from `{}` to `{}`", from.value, to.value);
                self.notes.push(
                    Diagnostic::error(code::BUS_NO_WAY, to.span, message)
                        .help("add the missing runs to [bench], or name the places between")
                        .related(from.span, "from here"),
                );
            }
        }
    }

    fn sources(&mut self, sources: &[description::BusSource]) {
        for (index, source) in sources.iter().enumerate() {
            match self.bus.places.iter().position(|place| *place == source.at.value) {
                Some(at) => self.bus.sources.push((index, at)),
                None => {
                    let message = format!("the bus does not pass `{}`, where it is fed", source.at.value);
                    let note = Diagnostic::error(code::BUS_SOURCE_OFF_PATH, source.at.span, message);
                    let places = self.bus.places.iter().map(String::as_str);
                    self.notes.push(match suggest(self.notes.len(), &source.at.value, places) {
                        Some(near) => note
                            .help(format!("did you mean `{near}`?"))
                            .replace(quoted(near), Confidence::Ask),
                        None => note.help(format!(
                            "add it to `path`, or feed the bus at {}",
                            listed(&self.bus.places)
                        )),
                    });
                }
            }
        }
    }
}

fn listed(places: &[String]) -> String {
    let quoted: Vec<String> = places.iter().take(12).map(|place| format!("`{place}`")).collect();
    quoted.join(", ")
}

/// Metres of the shortest way along the bench: Dijkstra's, on a bench of some dozens of places.
fn shortest(bench: &Bench<'_>, from: &str, to: &str) -> Option<f64> {
    let mut reached: BTreeMap<&str, f64> = BTreeMap::new();
    let mut open: Vec<(f64, &str)> = vec![(0.0, from)];
    while let Some(next) = (0..open.len()).min_by(|&a, &b| open[a].0.total_cmp(&open[b].0)) {
        let (metres, place) = open.swap_remove(next);
        if place == to {
            return Some(metres);
        }
        if reached.contains_key(place) {
            continue;
        }
        reached.insert(place, metres);
        for &(other, length) in bench.get(place).into_iter().flatten() {
            if !reached.contains_key(other) {
                open.push((metres + length, other));
            }
        }
    }
    None
}
