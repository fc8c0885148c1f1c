//! What to have and what to buy: parts that the plan needs beyond those already counted, less what is on the shelf, with
//! spares; and wire by size and colour.
//!
//! Spares are of what is small and breaks or gets lost: buttons, toggles, lamps, resistors, diodes, and wire. Their share is
//! `spares` of `[defaults]`, 10 % where that is not written, rounded up.
//!
//! # Source
//! Ten per cent of spares; one resistor to a lamp (`lamp` says which): common practice, no source.

use crate::decoder::lamp_amps;
use crate::lamp::{lamp_resistors, print_resistor};
use crate::model::{Feed, ListedPart, ListedWire, PartNeed, Plan, Strand, WireKind};
use crate::reason::{
    CABLE_BY_PIECE, COUNTED, LESS_SHELF, NOTHING_ON_SHELF, SPARES_ADDED, SPARES_NONE, WIRE_SUMMED,
    WIRE_UNMEASURED,
};
use crate::wire::{diodes_of, joints_of, pins_of};
use description::{AccessoryKind, Role};
use electric::{LedString, SeriesResistor};
use measure::{Length, Units};
use notice::{Because, Decided, natural};
use std::collections::BTreeMap;

/// What a bus has between modules (common practice, no source).
const BUS_PLUG: &str = "bus connector";

/// The positions of a terminal strip whose part does not say.
const POSITIONS_USUAL: u16 = 12;

/// Counts what is left to count, then lists all parts and all wire.
pub(crate) fn list_purchases(plan: &mut Plan) {
    let more = further_parts(plan);
    for need in more {
        // Lamps stand on fascias and in signals and lights.
        match plan.parts.iter_mut().find(|known| known.what == need.what) {
            Some(known) => known.count = together(&known.count, &need.count),
            None => plan.parts.push(need),
        }
    }
    plan.parts_list = plan.parts.iter().map(|need| listed(plan, need)).collect();
    plan.wire_list = wire_list(plan);
}

/// Two counts of one part.
fn together(one: &Decided<u32>, other: &Decided<u32>) -> Decided<u32> {
    let mut because = one.because().chain(other.because()).cloned();
    let sum = one.value.saturating_add(other.value);
    match because.next() {
        Some(first) => because.fold(Decided::new(sum, first), Decided::and),
        None => one.clone(),
    }
}

/// What feeds buses, machines, polarity units, lamps of signals and lights, resistors, diodes, terminal strips and connectors.
fn further_parts(plan: &Plan) -> Vec<PartNeed> {
    let network = &plan.network;
    let mut needs = Vec::new();
    let mut add = |what: &str, count: usize, words: String| {
        if let Ok(count @ 1..) = u32::try_from(count) {
            let count = Decided::new(count, Because::new(&COUNTED, [words.into()]));
            needs.push(PartNeed { what: what.to_owned(), count });
        }
    };
    let mut sources: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for bus in &network.described.buses {
        for part in bus.sources.iter().filter_map(|source| source.part.as_ref()) {
            sources.entry(&part.value).or_default().push(&bus.id.value);
        }
    }
    for (part, buses) in sources {
        add(part, buses.len(), format!("bus {} to feed", buses.join(", bus ")));
    }
    let mut motors: BTreeMap<&str, usize> = BTreeMap::new();
    for machine in &network.machines {
        *motors.entry(&machine.motor).or_default() += 1;
    }
    for (motor, count) in motors {
        let words = counted(count, "machine", "machines").unwrap_or_default();
        add(motor, count, format!("{words} of this kind"));
    }
    let frogs = plan.frogs.iter().filter(|frog| frog.feed.value == Feed::PolarityUnit).count();
    let sections = plan.wires.iter().filter(|wire| wire.kind == WireKind::Section).count();
    let kinds =
        [counted(frogs, "frog", "frogs"), counted(sections, "reversing section", "reversing sections")];
    let kinds: Vec<String> = kinds.into_iter().flatten().collect();
    add("polarity unit", frogs + sections, format!("{} to turn over", kinds.join(" and ")));
    let devices = || plan.fascias.iter().flat_map(|fascia| &fascia.devices);
    let of_accessories = lamps_of_accessories(plan);
    for (part, (count, words)) in &of_accessories.parts {
        add(part, *count, words.join(" and "));
    }
    let resistors = resistors(plan, of_accessories.resistors);
    let sorts: Vec<String> = resistors.iter().map(|(sort, count)| format!("{count} of {sort}")).collect();
    let words = format!("{}, one before each lamp", sorts.join("; "));
    add("resistor", resistors.values().sum(), words);
    let diodes: usize = devices().map(diodes_of).sum();
    add("diode", diodes, format!("{diodes} crossings in the diode matrices of its fascias"));
    let described = |what: &str| network.described.parts.get(what);
    let per_strip = described("terminal strip").and_then(|part| part.positions);
    let per_strip = usize::from(per_strip.unwrap_or(POSITIONS_USUAL).max(1));
    let strips = plan.terminal_strips.iter();
    let count: usize = strips.map(|strip| strip.positions.len().div_ceil(per_strip)).sum();
    let places = plan.terminal_strips.len();
    let words = counted(places, "place", "places").unwrap_or_default();
    add("terminal strip", count, format!("terminals at {words}, {per_strip} positions to a strip"));
    let plugs: usize = plan.module_joints.iter().map(|joint| joint.plugs.len()).sum();
    let joints = plan.module_joints.iter().filter(|joint| !joint.plugs.is_empty()).count();
    let words = counted(joints, "joint", "joints").unwrap_or_default();
    add(
        "connector",
        plugs,
        format!("{words} between modules that wires pass, {} pins to a plug", pins_of(network)),
    );
    let runs = plan.wires.iter().filter(|wire| wire.kind == WireKind::Bus && !wire.existing);
    let count: usize = runs.map(|wire| joints_of(wire, &plan.module_joints).count()).sum();
    let words = counted(count, "time", "times").unwrap_or_default();
    add(
        BUS_PLUG,
        count,
        format!("buses pass from one module to another {words}; two poles that bear the trip current"),
    );
    needs
}

/// What the lamps of fascias are put behind, added to what those of signals and lights are: how many of each sort, in words.
fn resistors(plan: &Plan, mut sorts: BTreeMap<String, usize>) -> BTreeMap<String, usize> {
    for lamps in lamp_resistors(plan) {
        let part = plan.network.described.parts.get(&lamps.part);
        if part.is_none_or(|part| part.resistor) {
            *sorts.entry(resistor_in_words(lamps.resistor.value)).or_default() += lamps.lamps;
        }
    }
    sorts
}

/// The lamps of signals and lights.
#[derive(Default)]
struct Lamps<'a> {
    /// By part: how many, and for how many signals and lights, in words.
    parts: BTreeMap<&'a str, (usize, Vec<String>)>,
    /// By ohms and watts, in words: how many.
    resistors: BTreeMap<String, usize>,
}

/// Two lamps to a signal, one for each side of its output; one to a light, which stands for however many it has.
fn lamps_of_accessories(plan: &Plan) -> Lamps<'_> {
    let network = &plan.network;
    let mut lamps = Lamps::default();
    for (kind, each, one, many) in
        [(AccessoryKind::Signal, 2, "signal", "signals"), (AccessoryKind::Light, 1, "light", "lights")]
    {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for planned in &plan.accessories {
            let accessory = network.accessory(planned.accessory);
            let part = network.described.parts.get(&accessory.part);
            if accessory.kind != kind || planned.decoder.is_none() {
                continue;
            }
            *counts.entry(&accessory.part).or_default() += 1;
            if part.is_none_or(|part| part.resistor) {
                let words = resistor_for(lamp_amps(network, planned.accessory));
                *lamps.resistors.entry(words).or_default() += each;
            }
        }
        for (part, count) in counts {
            let (sum, words) = lamps.parts.entry(part).or_default();
            *sum += each * count;
            let of = counted(count, one, many).unwrap_or_default();
            words.push(if each == 1 { of } else { format!("{of}, {each} each") });
        }
    }
    lamps
}

/// The resistor in front of an LED at 12 V that takes so much.
fn resistor_for(amps: f64) -> String {
    let led = LedString { supply_volts: 12.0, other_drop_volts: 0.0, led_volts: 2.0, led_count: 1, amps };
    resistor_in_words(led.resistor())
}

/// `1 kΩ, 0.25 W`.
fn resistor_in_words(resistor: Option<SeriesResistor>) -> String {
    resistor.map_or_else(
        || "a value that no voltage leaves room for".to_owned(),
        |resistor| format!("{}, {} W", print_resistor(resistor.ohms), resistor.rated_watts),
    )
}

/// So many of something, in words; none where there are none.
fn counted(count: usize, one: &str, many: &str) -> Option<String> {
    (count > 0).then(|| if count == 1 { format!("1 {one}") } else { format!("{count} {many}") })
}

/// Whether spares of it are bought.
fn is_small(role: Role) -> bool {
    match role {
        Role::Button | Role::Lamp | Role::Toggle | Role::Resistor | Role::Diode => true,
        Role::Motor
        | Role::Decoder
        | Role::Strip
        | Role::Supply
        | Role::Booster
        | Role::TerminalStrip
        | Role::Connector
        | Role::PolarityUnit => false,
    }
}

fn listed(plan: &Plan, need: &PartNeed) -> ListedPart {
    let described = &plan.network.described;
    let part = described.parts.get(&need.what);
    let needed = need.count.value;
    let share = described.defaults.spares.value.value();
    let spares = match part {
        Some(part) if is_small(part.role) => whole(f64::from(needed) * share),
        Some(_) | None => 0,
    };
    let wanted = needed.saturating_add(spares);
    let there = part.and_then(|part| part.count).map(u32::from);
    let shelf = there.unwrap_or(0).min(wanted);
    let first = match there {
        Some(there) => Because::new(&LESS_SHELF, [there.into(), shelf.into()]),
        None => Because::new(&NOTHING_ON_SHELF, []),
    };
    let spare = if spares > 0 {
        Because::new(&SPARES_ADDED, [percent(share).into(), spares.into()])
    } else {
        Because::new(&SPARES_NONE, [])
    };
    let mut buy = Decided::new(wanted - shelf, first).and(spare);
    for because in need.count.because() {
        buy = buy.and(because.clone());
    }
    ListedPart { what: need.what.clone(), needed, shelf, spares, buy }
}

/// Wire that is not there already, by size and colour.
fn wire_list(plan: &Plan) -> Vec<ListedWire> {
    struct Sum {
        strand: Strand,
        cores: u32,
        metres: f64,
        unmeasured: u32,
    }
    let mut sums: BTreeMap<(String, &str), Sum> = BTreeMap::new();
    for wire in plan.wires.iter().filter(|wire| !wire.existing) {
        let strand = wire.conductor.value;
        for core in &wire.cores {
            let sum = sums.entry((strand.to_string(), core.colour.value.as_str())).or_insert(Sum {
                strand,
                cores: 0,
                metres: 0.0,
                unmeasured: 0,
            });
            sum.cores += 1;
            match wire.length.value {
                Some(length) => sum.metres += length.value(),
                None => sum.unmeasured += 1,
            }
        }
    }
    let share = plan.network.described.defaults.spares.value.value();
    let units = plan.network.described.layout.units;
    let mut list: Vec<ListedWire> = sums
        .into_iter()
        .map(|((_, colour), sum)| {
            let length = Length::new(sum.metres);
            let buy = match sum.strand {
                Strand::ReadyMade => {
                    Decided::new(sum.cores, Because::new(&CABLE_BY_PIECE, [sum.cores.into()]))
                }
                Strand::Size(..) => {
                    let saw = [sum.cores.into(), length.print(units).into(), percent(share).into()];
                    let units = match units {
                        Units::Metric => 1.0,
                        Units::Imperial => 0.3048,
                    };
                    let buy = whole(sum.metres * (1.0 + share) / units);
                    Decided::new(buy, Because::new(&WIRE_SUMMED, saw))
                }
            };
            let buy = match sum.unmeasured {
                0 => buy,
                unmeasured => buy.and(Because::new(&WIRE_UNMEASURED, [unmeasured.into()])),
            };
            let (cores, unmeasured) = (sum.cores, sum.unmeasured);
            ListedWire { strand: sum.strand, colour: colour.to_owned(), cores, length, unmeasured, buy }
        })
        .collect();
    list.sort_by(|a, b| {
        natural(&a.strand.to_string(), &b.strand.to_string()).then_with(|| natural(&a.colour, &b.colour))
    });
    list
}

/// A share in per cent, to one decimal.
fn percent(share: f64) -> String {
    format!("{} %", (share * 1000.0).round() / 10.0)
}

/// The next whole number, where a billionth is only rounding; far more than a railroad holds is cut.
fn whole(amount: f64) -> u32 {
    const AMOUNT_MAX: f64 = 1e9;
    let amount = (amount - 1e-9).ceil().clamp(0.0, AMOUNT_MAX);
    // Within the range of the type, and whole.
    format!("{amount:.0}").parse().unwrap_or(0)
}
