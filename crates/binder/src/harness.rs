//! The harness: wires by the place they serve, terminals place by place, joints between modules pin by pin.

use std::collections::BTreeMap;

use notice::natural;
use plan::model::{ANY_COLOUR, Core, CoreAt, ModuleJoint, Strand, TerminalStrip, Wire, WireEnd};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// The most wires that are printed; the rest is counted, and stands in the tables.
pub const HARNESS_PRINTED_MAX: usize = 1_500;

/// The harness: `(places, left_out, unmeasured, uncounted, coloured, terminals, joints)`.
pub(crate) fn harness(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    let mut by_place: BTreeMap<Option<&str>, Vec<&Wire>> = BTreeMap::new();
    for wire in plan.wires.iter().take(HARNESS_PRINTED_MAX) {
        let [from, to] = wire.ends.each_ref().map(|end| end.at.as_deref());
        by_place.entry(to.or(from)).or_default().push(wire);
    }
    let mut places: Vec<(Option<&str>, Vec<&Wire>)> = by_place.into_iter().collect();
    // Where no place is written comes last.
    places.sort_by(|(a, _), (b, _)| {
        let by_name = natural(a.unwrap_or_default(), b.unwrap_or_default());
        a.is_none().cmp(&b.is_none()).then(by_name)
    });
    let places = places.into_iter().map(|(at, wires)| {
        dict! {
            "at" => ledger.words_if(at),
            "wires" => wires.into_iter().map(|wire| one_wire(ledger, wire).into_value()).collect::<Array>(),
        }
        .into_value()
    });
    let lengths = || plan.wires.iter().map(|wire| wire.length.value);
    dict! {
        "places" => places.collect::<Array>(),
        "left_out" => plan.wires.len().saturating_sub(HARNESS_PRINTED_MAX),
        "unmeasured" => lengths().filter(Option::is_none).count(),
        "uncounted" => lengths().flatten().filter(|length| length.value() <= 0.0).count(),
        "coloured" => plan.wires.iter().flat_map(|wire| &wire.cores).any(|core| core.colour.value != ANY_COLOUR),
        "terminals" => plan.terminal_strips.iter().map(|strip| terminals(ledger, strip).into_value()).collect::<Array>(),
        "joints" => plan.module_joints.iter().map(|joint| joint_of(ledger, joint).into_value()).collect::<Array>(),
    }
}

/// One wire: `(id, from, to, size, length, existing, cores)`.
fn one_wire(ledger: &Ledger<'_>, wire: &Wire) -> Dict {
    let units = ledger.plan.network.described.layout.units;
    let length = wire.length.value.filter(|length| length.value() > 0.0).map(|length| length.print(units));
    let [from, to] = wire.ends.each_ref().map(|end| end_of(ledger, end));
    dict! {
        "id" => ledger.words(&wire.id.value),
        "from" => from,
        "to" => to,
        "size" => match wire.conductor.value {
            Strand::Size(size, _) => size.to_string().into_value(),
            Strand::ReadyMade => "ready-made".into_value(),
        },
        "length" => length,
        "existing" => wire.existing,
        "cores" => wire.cores.iter().map(|core| core_of(ledger, wire, core).into_value()).collect::<Array>(),
    }
}

/// One end: `(what, at)`.
fn end_of(ledger: &Ledger<'_>, end: &WireEnd) -> Dict {
    dict! { "what" => ledger.words(&end.what), "at" => ledger.words_if(end.at.as_deref()) }
}

/// One conductor: `(id, letter, does, colour, terminal, pin)`; the letter is none where it is the wire's only one. The
/// terminal is a position at the place that the wire serves.
fn core_of(ledger: &Ledger<'_>, wire: &Wire, core: &Core) -> Dict {
    let letter = core.id.strip_prefix(wire.id.value.as_str()).filter(|letter| !letter.is_empty());
    let terminal = core.terminal.map(|at| at.position);
    dict! {
        "id" => ledger.words(&core.id),
        "letter" => letter,
        "does" => core.job.words(),
        "colour" => colour(ledger, core),
        "terminal" => terminal,
        "pin" => core.pin,
    }
}

/// A conductor's colour; none where any will do.
fn colour(ledger: &Ledger<'_>, core: &Core) -> Value {
    ledger.words_if(Some(core.colour.value.as_str()).filter(|colour| *colour != ANY_COLOUR))
}

fn at<'a>(ledger: &Ledger<'a>, at: CoreAt) -> (&'a Wire, &'a Core) {
    let wire = &ledger.plan.wires[at.wire];
    (wire, &wire.cores[at.core])
}

/// The terminals of one place: `(at, positions)`, each position `(position, run, colour, from, to, does)` or free.
fn terminals(ledger: &Ledger<'_>, strip: &TerminalStrip) -> Dict {
    let positions = (1u32..).zip(&strip.positions).map(|(position, core)| {
        let Some((wire, core)) = core.map(|core| at(ledger, core)) else {
            return dict! { "position" => position, "run" => Value::None }.into_value();
        };
        dict! {
            "position" => position,
            "run" => ledger.words(&core.id),
            "colour" => colour(ledger, core),
            "from" => end_of(ledger, &wire.ends[0]),
            "to" => ledger.words(&wire.ends[1].what),
            "does" => core.job.words(),
        }
        .into_value()
    });
    dict! {
        "at" => ledger.words(&strip.at),
        "positions" => positions.collect::<Array>(),
    }
}

/// A joint between modules: `(places, modules, plugs, pins)`, each pin `(pin, plug, run, colour, means)`.
fn joint_of(ledger: &Ledger<'_>, joint: &ModuleJoint) -> Dict {
    let pins = joint.pins.iter().map(|&(pin, core)| {
        let (wire, core) = at(ledger, core);
        dict! {
            "pin" => pin,
            "plug" => plan::wire::plug_of(&ledger.plan.network, pin),
            "run" => ledger.words(&core.id),
            "colour" => colour(ledger, core),
            "means" => ledger.words(&format!("{}, {}", wire.ends[1].what, core.job.words())),
        }
        .into_value()
    });
    let named = |names: &[String; 2]| names.iter().map(|name| ledger.words(name)).collect::<Array>();
    dict! {
        "places" => named(&joint.places),
        "modules" => named(&joint.modules),
        "plugs" => joint.plugs.iter().map(|plug| (*plug).into_value()).collect::<Array>(),
        "pins" => pins.collect::<Array>(),
    }
}
