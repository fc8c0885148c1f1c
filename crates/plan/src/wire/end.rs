//! Which ends wires have: everything that needs a wire, one kind after another, before anything is known of ways, sizes,
//! colours or ids.
//!
//! # Source
//! A stall motor takes two conductors, a coil machine three, a servo three; a frog's contact is fed from both rails and its common
//! leads to the frog; a signal of two lamps takes three, a light two; a button leads to its decoder's input; every track has droppers no farther apart than its `feeders`
//! or, where that is not written, than the widest usual spacing of 6 ft: common practice, no source.

use super::bus;
use crate::model::{
    Decoder, Device, DeviceKind, Does, Fascia, Feed, Plan, PlannedAccessory, PlannedAddress, Strand,
    StripFeed, WireEnd, WireKind,
};
use crate::power::{accessory_bus_at, track_bus_at};
use crate::reason::{
    BUS_FEEDS_DECODER, BUTTON_AT_INPUT, BUTTON_IN_MATRIX, CONTACT_FED, DROPPER_ONE, DROPPERS_SPACED,
    FED_FROM_BUS, FROG_FED, LAMP_AT_CONTACT, LAMP_AT_OUTPUT, LIGHT_CONDUCTORS, MATRIX_AT_INPUT,
    MOTOR_CONDUCTORS, SIGNAL_CONDUCTORS, STRIP_FED, STRIP_FOLLOWS,
};
use description::{AccessoryKind, Drive, Job, TrackFacts, WireUse};
use measure::Length;
use network::{JointId, LeverId, MachineId, Network, Position, Track, TrackId};
use notice::{Because, Decided, Span};
use std::collections::{BTreeMap, BTreeSet};

/// How far apart droppers are where a track does not say.
///
/// # Source
/// Droppers every 3 to 6 ft: common practice, no source.
const SPACING_USUAL_M: f64 = 6.0 * 0.3048;

/// The most droppers of one track; a track that asks for more is described as several.
pub(crate) const DROPPERS_MAX: usize = 200;

/// A wire before its way, size, colours and id are decided.
pub(crate) struct Wanted {
    pub(crate) key: String,
    pub(crate) kind: WireKind,
    /// None for a cable that is bought as it is.
    pub(crate) size: Option<WireUse>,
    pub(crate) ends: [WireEnd; 2],
    pub(crate) jobs: Vec<Job>,
    pub(crate) existing: bool,
    pub(crate) why: Decided<()>,
    pub(crate) known: Known,
}

/// What is known of a wire before it is laid, because something else hangs on it; the rest goes by its use and the bench.
#[derive(Default)]
pub(crate) struct Known {
    pub(crate) size: Option<Decided<Strand>>,
    pub(crate) length: Option<Decided<Option<Length>>>,
}

impl Wanted {
    pub(super) fn new(
        key: String,
        (kind, size): (WireKind, WireUse),
        ends: [WireEnd; 2],
        jobs: &[Job],
        why: Because,
    ) -> Self {
        let (jobs, why) = (jobs.to_vec(), Decided::new((), why));
        Self { key, kind, size: Some(size), ends, jobs, existing: false, why, known: Known::default() }
    }
}

/// Both conductors of a feed.
const RAILS: [Job; 2] = [Job::RailA, Job::RailB];
const ONE_LAMP: [Job; 2] = [Job::Lamp, Job::PanelCommon];
const ONE_BUTTON: [Job; 2] = [Job::Button, Job::PanelCommon];

/// Every wire that a plan needs, kind by kind.
pub(crate) fn wanted_wires(plan: &Plan) -> Vec<Wanted> {
    let ends = Ends::of(plan);
    let mut wires = ends.motors();
    wires.extend(ends.frogs());
    for fascia in &plan.fascias {
        wires.extend(ends.devices(fascia));
    }
    wires.extend(ends.strips());
    wires.extend(ends.decoders());
    wires.extend(ends.droppers());
    wires.extend(bus::bus_wires(plan));
    wires.extend(ends.accessories());
    wires
}

struct Ends<'a> {
    plan: &'a Plan,
    network: &'a Network,
    /// What answers each lever: where several do, the first.
    answers: BTreeMap<LeverId, (&'a PlannedAddress, &'a Decoder)>,
    /// What drives each machine.
    drives: BTreeMap<MachineId, (&'a PlannedAddress, &'a Decoder)>,
}

impl<'a> Ends<'a> {
    fn of(plan: &'a Plan) -> Self {
        let mut ends =
            Self { plan, network: &plan.network, answers: BTreeMap::new(), drives: BTreeMap::new() };
        for planned in &plan.addresses {
            let Some(decoder) = planned.decoder.and_then(|index| plan.decoders.get(index)) else { continue };
            ends.answers.entry(planned.lever).or_insert((planned, decoder));
            ends.drives.extend(planned.machines.iter().map(|machine| (*machine, (planned, decoder))));
        }
        ends
    }

    fn end(what: impl Into<String>, at: Option<&str>, span: Span) -> WireEnd {
        WireEnd { what: what.into(), at: at.map(str::to_owned), span }
    }

    fn joint_end(&self, what: impl Into<String>, joint: JointId) -> WireEnd {
        let joint = self.network.joint(joint);
        Self::end(what, joint.at.as_deref(), joint.span)
    }

    fn bus(at: &WireEnd) -> WireEnd {
        WireEnd { what: "track bus".to_owned(), ..at.clone() }
    }

    /// An output or input of the decoder that answers a lever.
    fn at_decoder(&self, lever: LeverId, side: &str) -> Option<WireEnd> {
        self.port(self.answers.get(&lever)?, side)
    }

    fn port(&self, (planned, decoder): &(&PlannedAddress, &Decoder), side: &str) -> Option<WireEnd> {
        let number = planned.address.number().checked_sub(decoder.first.value.number())? + 1;
        let at = decoder.at.as_ref().map(|at| at.value.as_str());
        Some(Self::end(format!("{} {side} {number}", decoder.id), at, self.network.lever(planned.lever).span))
    }

    fn drive(&self, machine: MachineId) -> Drive {
        let part = self.network.described.parts.get(&self.network.machine(machine).motor);
        part.and_then(|part| part.drive).unwrap_or(Drive::Stall)
    }

    fn motors(&self) -> Vec<Wanted> {
        let machines = (0..self.network.machines.len()).map(MachineId::at);
        let wire = |id: MachineId| {
            let machine = self.network.machine(id);
            if self.network.described.parts.get(&machine.motor).is_some_and(|motor| motor.decoder_inside) {
                return Some(self.decoder_inside(id));
            }
            let from = self.port(self.drives.get(&id)?, "output")?;
            let to = self.joint_end(format!("machine {}", machine.name), machine.joint);
            let (jobs, size): (&[Job], WireUse) = match self.drive(id) {
                // No motor is driven as a lamp is: the description refuses it.
                Drive::Stall | Drive::Lamp => (&[Job::MotorOne, Job::MotorTwo], WireUse::Motor),
                Drive::Coil => (&[Job::CoilNormal, Job::CoilReverse, Job::CoilCommon], WireUse::Coil),
                Drive::Servo => (&[Job::ServoSignal, Job::ServoPlus, Job::ServoMinus], WireUse::Motor),
            };
            let why = Because::new(&MOTOR_CONDUCTORS, [machine.motor.as_str().into(), jobs.len().into()]);
            let key = format!("machine {} motor", machine.name);
            Some(Wanted::new(key, (WireKind::Motor, size), [from, to], jobs, why))
        };
        machines.filter_map(wire).collect()
    }

    /// A motor with its decoder inside hangs on the bus itself.
    fn decoder_inside(&self, id: MachineId) -> Wanted {
        let machine = self.network.machine(id);
        let to = self.joint_end(format!("machine {}", machine.name), machine.joint);
        let key = format!("machine {} feed", machine.name);
        self.fed(key, WireKind::Decoder, to)
    }

    /// What needs the signal: from an accessory bus that carries it, or else from the track bus.
    fn fed(&self, key: String, kind: WireKind, to: WireEnd) -> Wanted {
        let place = to.at.as_deref();
        let signal = place.and_then(|place| accessory_bus_at(self.plan, place));
        let size = (kind, WireUse::Feeder);
        if let Some((bus, true)) = signal.filter(|_| kind == WireKind::Decoder) {
            let words = bus::bus_words(self.plan, bus);
            let why = Because::new(&BUS_FEEDS_DECODER, [words.as_str().into(), to.what.as_str().into()]);
            let from = WireEnd { what: words, ..to.clone() };
            return bus::fed_from(self.plan, Wanted::new(key, size, [from, to], &RAILS, why), bus);
        }
        let why = Because::new(&FED_FROM_BUS, [to.what.as_str().into()]);
        let track = place.and_then(|place| track_bus_at(self.plan, place));
        let wanted = Wanted::new(key, size, [Self::bus(&to), to], &RAILS, why);
        match track {
            Some(bus) => bus::fed_from(self.plan, wanted, bus),
            None => wanted,
        }
    }

    /// For each live frog the wire to it, and the one that feeds its contact or unit.
    fn frogs(&self) -> Vec<Wanted> {
        let mut wires = Vec::new();
        for frog in &self.plan.frogs {
            let joint = self.network.joint(frog.joint);
            let name = format!("{} {}", joint.id, frog.name);
            // A frog goes by its joint's first machine, as that one's motor does: it is known again when the joint is renamed.
            let key = match joint.machines.first() {
                Some(&machine) => format!("machine {} {}", self.network.machine(machine).name, frog.name),
                None => format!("crossing {name}"),
            };
            let from = match frog.feed.value {
                Feed::Dead => continue,
                Feed::Contact(Some(machine)) => {
                    let machine = self.network.machine(machine);
                    self.joint_end(format!("contact of machine {}", machine.name), machine.joint)
                }
                Feed::Contact(None) => self.joint_end("contact of a turnout beside it", frog.joint),
                Feed::PolarityUnit => self.joint_end(format!("polarity unit of {name}"), frog.joint),
            };
            let to = self.joint_end(name.clone(), frog.joint);
            let fed = Because::new(&FROG_FED, [from.what.as_str().into()]);
            let both = Because::new(&CONTACT_FED, [from.what.as_str().into()]);
            let supply = [Self::bus(&from), from.clone()];
            wires.push(Wanted::new(
                key.clone(),
                (WireKind::Frog, WireUse::Frog),
                [from, to],
                &[Job::Frog],
                fed,
            ));
            let key = format!("{key} supply");
            wires.push(Wanted::new(key, (WireKind::FrogSupply, WireUse::Frog), supply, &RAILS, both));
        }
        wires
    }

    fn devices(&self, fascia: &Fascia) -> Vec<Wanted> {
        let mut wires = Vec::new();
        let mut lines: BTreeSet<(LeverId, Position)> = BTreeSet::new();
        let at = fascia.at.as_deref();
        let matrix = || Self::end(format!("diode matrix of {}", fascia.panel), at, fascia.span);
        for device in &fascia.devices {
            let here = Self::end(format!("{} {}", fascia.panel, device.id), at, fascia.span);
            let key = format!("panel {} {}", fascia.panel, device.id);
            match &device.does.value {
                Does::Shines(levers) => wires.extend(self.lamp(&key, &here, levers)),
                Does::Holds(lever) => wires.extend(self.button(key, here, *lever)),
                Does::Throws(bursts) => {
                    let thrown: Vec<(LeverId, Position)> = bursts.iter().flatten().copied().collect();
                    if let [(lever, _)] = thrown.as_slice() {
                        wires.extend(self.button(key, here, *lever));
                        continue;
                    }
                    let why = Because::new(&BUTTON_IN_MATRIX, [thrown.len().into()]);
                    let kind = (WireKind::Button, WireUse::Panel);
                    wires.push(Wanted::new(key, kind, [matrix(), here], &ONE_BUTTON, why));
                    lines.extend(thrown);
                }
            }
        }
        for (lever, position) in lines {
            let Some(input) = self.at_decoder(lever, "input") else { continue };
            let id = self.network.lever(lever).id.as_str();
            let key = format!("panel {} line {id} {}", fascia.panel, position.word());
            let why = Because::new(&MATRIX_AT_INPUT, [id.into(), position.word().into()]);
            let kind = (WireKind::Button, WireUse::Panel);
            wires.push(Wanted::new(key, kind, [input, matrix()], &[Job::Button], why));
        }
        wires
    }

    fn button(&self, key: String, here: WireEnd, lever: LeverId) -> Option<Wanted> {
        let input = self.at_decoder(lever, "input")?;
        let why = Because::new(&BUTTON_AT_INPUT, [self.network.lever(lever).id.as_str().into()]);
        Some(Wanted::new(key, (WireKind::Button, WireUse::Panel), [input, here], &ONE_BUTTON, why))
    }

    /// A lamp of one lever with stall motors hangs across their output, which holds its polarity; any other one is fed over
    /// contacts of the machines, one after another.
    fn lamp(&self, key: &str, here: &WireEnd, levers: &[(LeverId, Position)]) -> Vec<Wanted> {
        let kind = (WireKind::Lamp, WireUse::Panel);
        let machines_of = |lever: LeverId| &self.network.lever(lever).machines;
        if let [(lever, _)] = levers
            && machines_of(*lever).iter().all(|&machine| self.drive(machine) == Drive::Stall)
            && let Some(output) = self.at_decoder(*lever, "output")
        {
            let why = Because::new(&LAMP_AT_OUTPUT, [output.what.as_str().into()]);
            return vec![Wanted::new(key.to_owned(), kind, [output, here.clone()], &ONE_LAMP, why)];
        }
        let mut wires = Vec::new();
        for &(lever, _) in levers {
            let Some(&machine) = machines_of(lever).first() else { continue };
            let machine = self.network.machine(machine);
            let contact = self.joint_end(format!("contact of machine {}", machine.name), machine.joint);
            let why = Because::new(&LAMP_AT_CONTACT, [machine.name.as_str().into()]);
            let key = format!("{key} lever {}", self.network.lever(lever).id);
            wires.push(Wanted::new(key, kind, [contact, here.clone()], &ONE_LAMP, why));
        }
        wires
    }

    /// From its output to each signal and light: a signal has a lamp for each side of the output, a light hangs on the one of
    /// reverse.
    fn accessories(&self) -> Vec<Wanted> {
        let wire = |planned: &PlannedAccessory| {
            let (decoder, output) = self.plan.output_of(planned)?;
            let accessory = self.network.accessory(planned.accessory);
            let at = decoder.at.as_ref().map(|at| at.value.as_str());
            let from = Self::end(format!("{} output {output}", decoder.id), at, accessory.span);
            let to = Self::end(accessory.key(), accessory.at.as_deref(), accessory.span);
            let (jobs, why): (&[Job], Because) = match accessory.kind {
                AccessoryKind::Signal => (
                    &[Job::LampNormal, Job::LampOn, Job::LampCommon],
                    Because::new(&SIGNAL_CONDUCTORS, [accessory.part.as_str().into()]),
                ),
                AccessoryKind::Light => (
                    &[Job::LampOn, Job::LampCommon],
                    Because::new(&LIGHT_CONDUCTORS, [accessory.part.as_str().into()]),
                ),
            };
            let key = format!("{} lamps", accessory.key());
            let kind = (WireKind::Accessory, WireUse::Panel);
            Some(Wanted::new(key, kind, [from, to], jobs, why))
        };
        self.plan.accessories.iter().filter_map(wire).collect()
    }

    fn strips(&self) -> Vec<Wanted> {
        let mut wires = Vec::new();
        for chain in &self.plan.chains {
            for (rank, &index) in chain.strips.iter().enumerate() {
                let strip = &self.plan.strips[index];
                let here = |what: &str| Self::end(what, strip.at.as_deref(), strip.span);
                let to = here(&format!("strip {}", strip.panel));
                let before = rank.checked_sub(1).and_then(|before| chain.strips.get(before));
                let from = match before.map(|&before| &self.plan.strips[before]) {
                    Some(last) => Self::end(format!("strip {}", last.panel), last.at.as_deref(), last.span),
                    // Where the bus has its sockets is not described.
                    None => Self::end("nearest socket of the cab bus", None, strip.span),
                };
                let why = Because::new(&STRIP_FOLLOWS, [from.what.as_str().into()]);
                let key = format!("strip {} cab bus", strip.panel);
                let kind = (WireKind::CabBus, WireUse::Supply);
                let cable = Wanted::new(key, kind, [from, to.clone()], &[Job::CabBus], why);
                wires.push(Wanted { size: None, ..cable });
                if strip.feed.value == StripFeed::OwnSupply {
                    let why = Because::new(&STRIP_FED, [strip.panel.as_str().into()]);
                    let key = format!("strip {} supply", strip.panel);
                    let jobs = [Job::SupplyPlus, Job::SupplyMinus];
                    let kind = (WireKind::StripSupply, WireUse::Supply);
                    wires.push(Wanted::new(key, kind, [here("regulated supply"), to], &jobs, why));
                }
            }
        }
        wires
    }

    fn decoders(&self) -> Vec<Wanted> {
        let mut wires = Vec::new();
        for decoder in &self.plan.decoders {
            let at = decoder.at.as_ref().map(|at| at.value.as_str());
            let to = Self::end(decoder.id.clone(), at, Span::default());
            let supply = bus::decoder_supply(self.plan, &to);
            wires.push(self.fed(format!("decoder {} feed", decoder.id), WireKind::Decoder, to));
            wires.extend(supply);
        }
        wires
    }

    /// Droppers to every track, and the feed of each reversing section's unit, from which its tracks' droppers come.
    fn droppers(&self) -> Vec<Wanted> {
        let described = &self.network.described;
        let facts: BTreeMap<&str, &TrackFacts> =
            described.tracks.iter().map(|facts| (facts.id.value.as_str(), facts)).collect();
        let mut unit_of: BTreeMap<TrackId, WireEnd> = BTreeMap::new();
        let mut wires = Vec::new();
        for section in &self.plan.reversing {
            let Some(&first) = section.tracks.value.first() else { continue };
            let track = self.network.track(first);
            let facts = facts.get(track.name.as_str()).copied();
            let what = format!("polarity unit of {}", section.name);
            let unit = self.rail(track, facts, (1, 1), &what);
            unit_of.extend(section.tracks.value.iter().map(|&track| (track, unit.clone())));
            wires.push(self.fed(format!("section {} feed", section.name), WireKind::Section, unit));
        }
        for (index, track) in self.network.tracks.iter().enumerate() {
            let facts = facts.get(track.name.as_str()).copied();
            let (count, why) = self.dropper_count(track, facts);
            for number in 1..=count {
                let to = self.rail(track, facts, (number, count), &format!("rails of {}", track.name));
                let unit = unit_of.get(&TrackId::at(index)).cloned();
                let track_bus = to.at.as_deref().filter(|_| unit.is_none());
                let track_bus = track_bus.and_then(|place| track_bus_at(self.plan, place));
                let from = unit.unwrap_or_else(|| Self::bus(&to));
                let key = format!("track {} dropper {number}", track.name);
                let kind = (WireKind::Dropper, WireUse::Feeder);
                let wire = Wanted::new(key, kind, [from, to], &RAILS, why.clone());
                let wire = match track_bus {
                    Some(bus) => bus::fed_from(self.plan, wire, bus),
                    None => wire,
                };
                wires.push(Wanted { existing: facts.is_some_and(|facts| facts.existing), ..wire });
            }
        }
        wires
    }

    fn dropper_count(&self, track: &Track, facts: Option<&TrackFacts>) -> (usize, Because) {
        let units = self.network.described.layout.units;
        let name = track.name.as_str();
        let Some(length) = track.length else {
            return (1, Because::new(&DROPPER_ONE, [name.into()]));
        };
        let written = facts.and_then(|facts| facts.feeders).map(|feeders| feeders.value);
        let spacing = written.unwrap_or_else(|| Length::new(SPACING_USUAL_M));
        let count = count_of(length, spacing);
        let says = if written.is_some() { "its `feeders`" } else { "the usual spacing" };
        let saw =
            [name.into(), length.print(units).into(), count.into(), says.into(), spacing.print(units).into()];
        (count, Because::new(&DROPPERS_SPACED, saw))
    }

    /// The rails of a track where its dropper of this number goes, counted along it from 1: at the place of its `at` that
    /// lies there, or of the joint at the nearer end.
    fn rail(
        &self,
        track: &Track,
        facts: Option<&TrackFacts>,
        (number, count): (usize, usize),
        what: &str,
    ) -> WireEnd {
        let places = facts.map(|facts| facts.at.as_slice()).unwrap_or_default();
        if let Some(place) = places.get((2 * number - 1) * places.len() / (2 * count)) {
            return Self::end(what, Some(&place.value), place.span);
        }
        let [one, other] = track.ends.map(|end| self.network.joint(end.joint));
        let [near, far] = if 2 * number <= count + 1 { [one, other] } else { [other, one] };
        Self::end(what, near.at.as_deref().or(far.at.as_deref()), track.span)
    }
}

/// How many droppers a track takes so that none is farther than `spacing` from the next.
fn count_of(length: Length, spacing: Length) -> usize {
    // Lengths come in sixteenths of an inch or millimetres, so a billionth of a metre is only rounding.
    let times = ((length.value() - 1e-9) / spacing.value()).ceil();
    (1..DROPPERS_MAX).find(|&count| count_as_f64(count) >= times).unwrap_or(DROPPERS_MAX)
}

fn count_as_f64(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::INFINITY, f64::from)
}

/// Whether a device is a button that throws several levers, over diodes.
pub(crate) fn diodes_of(device: &Device) -> usize {
    match (&device.does.value, device.kind) {
        (Does::Throws(bursts), DeviceKind::Button) => {
            let thrown = bursts.iter().map(Vec::len).sum();
            if thrown > 1 { thrown } else { 0 }
        }
        (Does::Throws(_) | Does::Holds(_) | Does::Shines(_), _) => 0,
    }
}
