//! What can be wrong with a railroad, and what each wrong part does to everything that can be seen or measured.
//!
//! A [`Check`] is a question with a few answers, from good to worst: does machine 5 move, what does the meter show in bay 2.
//! A [`Fault`] is one way in which one part fails, with the answer that it brings about at each check it reaches. Where
//! several faults reach one check, the worst answer is what is seen: [`System::predict`] is the whole physics of it, and
//! diagnosis needs no other. Two faults never cancel, so each part is wrong the wrong way round in one way only.
//!
//! What the model leaves out: faults that come and go, rails that feed one another over their joiners, two shorts in series.

mod device;
mod machine;
mod power;
mod track;

use crate::mode::Mode;
use description::BusKind;
use network::{LeverId, MachineId};
use plan::model::{Plan, Wire, WireKind};
use std::collections::BTreeMap;

/// Minutes it takes to get under the bench at another place and out again (common practice, no source).
pub const CRAWL_MINUTES: f64 = 4.0;

/// An answer to a check: 0 is good, higher is worse, and indexes the words of the check.
pub type Answer = u8;

/// No check has more answers.
pub const ANSWERS_MAX: usize = 4;

/// A question that a look or a meter answers.
#[derive(Clone, Debug)]
pub struct Check {
    /// What is looked at, in the words that a person writes: `machine 5`, `volts of motors at bay 2`.
    pub key: String,
    /// Its answers, good one first, worst last.
    pub words: &'static [&'static str],
    /// Whether operators see it when it is bad, without looking for a fault.
    pub symptom: bool,
    /// What to do.
    pub how: String,
    /// The place where it is done.
    pub at: Option<String>,
    /// Whether one has to get under the bench there.
    pub under: bool,
    /// Minutes of work, the way there not counted.
    pub minutes: f64,
}

impl Check {
    /// The sentence that says this was seen: what a person writes and the tool reads.
    pub fn sentence(&self, answer: Answer) -> String {
        format!("{} {}", self.key, self.words.get(usize::from(answer)).copied().unwrap_or_default())
    }

    /// Minutes for someone who is under the bench at this place, or nowhere.
    pub fn minutes_from(&self, here: Option<&str>) -> f64 {
        let crawls = self.under && (self.at.is_none() || self.at.as_deref() != here);
        self.minutes + if crawls { CRAWL_MINUTES } else { 0.0 }
    }
}

/// One way in which one part is wrong.
#[derive(Clone, Debug)]
pub struct Fault {
    /// The part and what is wrong with it, in words.
    pub what: String,
    /// What mends it.
    pub mend: String,
    /// How parts of its kind fail.
    pub mode: Mode,
    /// The place where the part is.
    pub at: Option<String>,
    /// The answer that it brings about, check by check; checks that it does not reach are not there.
    pub shows: BTreeMap<usize, Answer>,
}

/// Everything that can be wrong and everything that can be looked at.
#[derive(Clone, Debug, Default)]
pub struct System {
    /// Faults, part by part.
    pub faults: Vec<Fault>,
    /// Checks.
    pub checks: Vec<Check>,
    /// Other words for checks: `lever 3` for both machines of a crossover.
    pub alias: BTreeMap<String, Vec<usize>>,
    /// The check of each key.
    pub by_key: BTreeMap<String, usize>,
    /// In how many of a thousand a failure is there, where the description says so.
    pub likelihood: BTreeMap<&'static str, u16>,
}

impl System {
    /// What can be wrong with the railroad of a plan.
    ///
    /// # Example
    /// ```
    /// let text = "[layout]\nname = \"Tern Harbor\"\n[turnout.1]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
    ///     [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n";
    /// let plan = description::read(text).then(network::resolve).then(plan::make).value;
    /// let system = commission::fault::System::of(&plan);
    /// assert!(system.faults.iter().any(|fault| fault.what == "the motor of machine 1 does not move"));
    /// ```
    pub fn of(plan: &Plan) -> Self {
        let mut building = Building::new(plan);
        machine::add(&mut building);
        track::add(&mut building);
        device::add(&mut building);
        // Last: what a bus feeds is known when all that hangs on it is there.
        power::add(&mut building);
        // What shows nowhere cannot be told from a railroad in order.
        building.system.likelihood.clone_from(&plan.network.described.likelihood);
        building.system.faults.retain(|fault| !fault.shows.is_empty());
        building.system
    }

    /// The odds of a fault against its part being good: as the description states them, else as is usual.
    pub fn odds(&self, fault: &Fault) -> f64 {
        let stated = self.likelihood.get(fault.mode.key()).copied();
        crate::mode::odds(stated.unwrap_or_else(|| fault.mode.in_thousand()))
    }

    /// What a check answers while these faults are there.
    pub fn predict(&self, faults: &[usize], check: usize) -> Answer {
        faults.iter().filter_map(|&fault| self.faults[fault].shows.get(&check)).copied().max().unwrap_or(0)
    }
}

/// A system while it is built from a plan.
struct Building<'p> {
    plan: &'p Plan,
    system: System,
    /// What hangs on each point of a bus.
    fed: BTreeMap<Point, Vec<Fed>>,
    /// The checks that trip with each bus.
    breakers: BTreeMap<Option<usize>, Vec<usize>>,
    /// What moves each lever: its machines' checks at the panel, from a cab and from the screen.
    moves: BTreeMap<LeverId, Vec<[usize; 3]>>,
}

/// A bus and a point of it; no bus where none is described that could feed it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Point {
    On(usize, usize),
    /// The rails, fed by what nobody described.
    Rails,
    /// The motors, the same.
    Motors,
}

/// A check of something that hangs on a bus: its answers where the bus is low, and where it is dead.
#[derive(Clone, Copy, Debug)]
struct Fed {
    check: usize,
    low: Answer,
    dead: Answer,
}

impl<'p> Building<'p> {
    fn new(plan: &'p Plan) -> Self {
        Self {
            plan,
            system: System::default(),
            fed: BTreeMap::new(),
            breakers: BTreeMap::new(),
            moves: BTreeMap::new(),
        }
    }

    /// Adds a check; one of the same key is the same check.
    fn check(&mut self, check: Check) -> usize {
        if let Some(&there) = self.system.by_key.get(&check.key) {
            return there;
        }
        let index = self.system.checks.len();
        self.system.by_key.insert(check.key.clone(), index);
        self.system.checks.push(check);
        index
    }

    fn alias(&mut self, words: String, check: usize) {
        let named = self.system.alias.entry(words).or_default();
        if !named.contains(&check) {
            named.push(check);
        }
    }

    fn fault(&mut self, fault: Fault) {
        self.system.faults.push(fault);
    }

    /// The lever's number as it is painted.
    fn number(&self, lever: LeverId) -> String {
        let planned = self.plan.levers.iter().find(|planned| planned.lever == lever);
        planned.map_or_else(
            || self.plan.network.lever(lever).id.clone(),
            |planned| planned.number.value.to_string(),
        )
    }

    fn place_of(&self, machine: MachineId) -> Option<String> {
        let network = &self.plan.network;
        network.joint(network.machine(machine).joint).at.clone()
    }

    /// The point that feeds the rails, or a decoder's signal, at a place: of the bus called like the district where there is
    /// one, else of the first that passes.
    fn rails_at(&self, place: Option<&str>, district: Option<&str>) -> Point {
        let named = |bus: &network::Bus| Some(bus.name.as_str()) == district;
        let found = self.point(place, |bus| bus.kind == BusKind::Track && named(bus));
        found.or_else(|| self.point(place, |bus| bus.kind == BusKind::Track)).unwrap_or(Point::Rails)
    }

    /// The point that feeds decoders and their motors at a place: an accessory bus, or a track bus where there is no other.
    fn motors_at(&self, place: Option<&str>) -> Point {
        let only_rails = self.plan.network.buses.iter().all(|bus| bus.kind == BusKind::Track);
        let found = self.point(place, |bus| only_rails || bus.kind == BusKind::Accessory);
        found.unwrap_or(if only_rails { Point::Rails } else { Point::Motors })
    }

    fn point(&self, place: Option<&str>, takes: impl Fn(&network::Bus) -> bool) -> Option<Point> {
        let buses = || self.plan.network.buses.iter().enumerate().filter(|(_, bus)| takes(bus));
        let at = |bus: &network::Bus| bus.places.iter().position(|other| Some(other.as_str()) == place);
        let passing = buses().find_map(|(index, bus)| Some(Point::On(index, at(bus)?)));
        // Whatever no bus passes hangs on the nearest supply, as far as anyone can tell.
        passing.or_else(|| buses().find_map(|(index, bus)| Some(Point::On(index, bus.sources.first()?.1))))
    }

    fn feeds(&mut self, point: Point, check: usize, low: Answer, dead: Answer) {
        self.fed.entry(point).or_default().push(Fed { check, low, dead });
    }

    fn wire(&self, kind: WireKind, key: &str) -> Option<&'p Wire> {
        self.plan.wires.iter().find(|wire| wire.kind == kind && wire.key == key)
    }

    /// The id on a wire's labels, where the plan has that wire.
    fn wire_id(&self, kind: WireKind, key: &str) -> String {
        self.wire(kind, key).map_or_else(|| "the wire".to_owned(), |wire| format!("wire {}", wire.id.value))
    }
}

/// Answers of breakers.
const HOLDS: [&str; 2] = ["holds", "trips"];
/// Answers of a meter where there should be volts.
const VOLTS: [&str; 3] = ["good", "low", "none"];
/// Answers of a meter where there is something or nothing.
const THERE: [&str; 2] = ["good", "none"];
/// Answers of what should lead.
const LEADS: [&str; 3] = ["good", "open", "shorted"];
/// Answers of what lights.
const LIGHTS: [&str; 2] = ["lights", "is dark"];

/// What is seen of a fault, gathered.
#[derive(Clone, Debug, Default)]
struct Shows(BTreeMap<usize, Answer>);

impl Shows {
    fn add(&mut self, check: usize, answer: Answer) {
        let shown = self.0.entry(check).or_insert(answer);
        *shown = (*shown).max(answer);
    }

    fn with(mut self, check: usize, answer: Answer) -> Self {
        self.add(check, answer);
        self
    }
}

impl FromIterator<(usize, Answer)> for Shows {
    fn from_iter<I: IntoIterator<Item = (usize, Answer)>>(pairs: I) -> Self {
        let mut pairs: Vec<(usize, Answer)> = pairs.into_iter().collect();
        // In order, so that the map is built at one go; of one check the worst answer comes last, and stays.
        pairs.sort_unstable();
        Self(pairs.into_iter().collect())
    }
}
