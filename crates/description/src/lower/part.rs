//! `[part.*]`, the built-in generic parts and `[defaults]`.

use super::system::ADDRESS_SCHEMES;
use super::table::Table;
use crate::model::{Defaults, Description, Drive, Name, Part, Role};
use indexmap::IndexMap;
use measure::{Current, Length, Share, Voltage};
use notice::{Confidence, Diagnostic, Span, Spanned, code, quoted, suggest};

const ROLES: [(&str, Role); 13] = [
    ("motor", Role::Motor),
    ("decoder", Role::Decoder),
    ("strip", Role::Strip),
    ("supply", Role::Supply),
    ("booster", Role::Booster),
    ("button", Role::Button),
    ("lamp", Role::Lamp),
    ("toggle", Role::Toggle),
    ("terminal strip", Role::TerminalStrip),
    ("connector", Role::Connector),
    ("polarity unit", Role::PolarityUnit),
    ("resistor", Role::Resistor),
    ("diode", Role::Diode),
];

/// How motors are driven.
const MOTOR_DRIVES: [(&str, Drive); 3] =
    [("stall", Drive::Stall), ("coil", Drive::Coil), ("servo", Drive::Servo)];

/// What outputs drive.
const DRIVES: [(&str, Drive); 4] =
    [("stall", Drive::Stall), ("coil", Drive::Coil), ("servo", Drive::Servo), ("lamp", Drive::Lamp)];

/// The generic parts that every layout may name: functions, never products.
///
/// # Source
/// Common practice, no source. Stall motors take 15–20 mA, coil machines 0.5–1.2 A; a stall motor carries two changeover
/// contacts, a bare coil machine or servo none; an LED takes 10 mA behind a resistor, a small bulb 60 mA without. Holes, nuts and depths of what
/// stands in a panel: usual sizes of small panel parts; measure yours and write them in `[part.*]`.
pub(super) fn library() -> IndexMap<String, Part> {
    let blank = Part {
        role: Role::Motor,
        outputs: None,
        aligned: None,
        drives: Vec::new(),
        drive: None,
        decoder_inside: false,
        contacts: None,
        pairs: None,
        positions: None,
        pins: None,
        draw: None,
        volts: None,
        gives: None,
        hole: None,
        nut: None,
        depth: None,
        resistor: true,
        counts: None,
        count: None,
        span: None,
    };
    let motor = |drive, amps| Part { drive: Some(drive), draw: Some(Current::new(amps)), ..blank.clone() };
    let decoder = |outputs, drives: &[Drive]| Part {
        role: Role::Decoder,
        outputs: Some(outputs),
        aligned: Some(4),
        drives: drives.to_vec(),
        ..blank.clone()
    };
    let other = |role| Part { role, ..blank.clone() };
    let in_panel = |role, [hole, nut, depth]: [f64; 3]| {
        let mm = |mm| Some(Spanned::new(Length::from_mm(mm), Span::default()));
        Part { hole: mm(hole), nut: mm(nut), depth: mm(depth), ..other(role) }
    };
    IndexMap::from([
        ("stall motor".into(), Part { contacts: Some(2), ..motor(Drive::Stall, 0.018) }),
        ("coil machine".into(), motor(Drive::Coil, 1.0)),
        ("servo".into(), motor(Drive::Servo, 0.2)),
        ("four output decoder".into(), decoder(4, &[Drive::Stall, Drive::Coil])),
        ("eight output decoder".into(), decoder(8, &[Drive::Stall])),
        ("eight output servo decoder".into(), decoder(8, &[Drive::Servo])),
        ("eight output lamp decoder".into(), decoder(8, &[Drive::Lamp])),
        ("twelve pair strip".into(), Part { pairs: Some(12), ..other(Role::Strip) }),
        ("accessory supply".into(), other(Role::Supply)),
        ("booster".into(), other(Role::Booster)),
        ("push button".into(), in_panel(Role::Button, [7.0, 11.0, 25.0])),
        ("lamp".into(), Part { draw: Some(Current::new(0.01)), ..in_panel(Role::Lamp, [4.5, 6.0, 15.0]) }),
        (
            "bulb".into(),
            Part {
                draw: Some(Current::new(0.06)),
                resistor: false,
                ..in_panel(Role::Lamp, [6.0, 8.0, 20.0])
            },
        ),
        ("toggle".into(), in_panel(Role::Toggle, [6.5, 13.0, 28.0])),
        ("terminal strip".into(), Part { positions: Some(12), ..other(Role::TerminalStrip) }),
        ("connector".into(), Part { pins: Some(25), ..other(Role::Connector) }),
        ("polarity unit".into(), other(Role::PolarityUnit)),
        ("resistor".into(), other(Role::Resistor)),
        ("diode".into(), other(Role::Diode)),
    ])
}

pub(super) fn read(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let known = description.parts.get(&id.value).cloned();
    let role = match (table.has("role"), &known) {
        (false, Some(part)) => {
            let _ = table.choice("role", &ROLES);
            Some(part.role)
        }
        (false, None) => {
            let near = suggest(table.found(), &id.value, description.parts.keys().map(String::as_str))
                .map(str::to_owned);
            let _ = table.choice("role", &ROLES);
            table.need("role");
            if let Some(near) = near {
                let message = format!("`{}` is not in the generic library", id.value);
                let note = Diagnostic::warning(code::PART_UNKNOWN, id.span, message)
                    .help(format!("did you mean to change `{near}`?"))
                    .replace(quoted(&near), Confidence::Ask);
                table.note(note);
            }
            None
        }
        (true, _) => table.choice("role", &ROLES),
    };
    let outputs = table.number("outputs", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    let aligned = table.number("aligned", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    let drives = drives(&mut table);
    let drive = table.choice("drive", &MOTOR_DRIVES);
    let inside = table.choice("decoder", &[("inside", true), ("apart", false)]);
    let contacts = table.number("contacts", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    let pairs = table.number("pairs", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    let positions = table.number("positions", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    let pins = table.number("pins", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    let draw = table.quantity("draw", Current::read).map(|draw| draw.value);
    let volts = table.quantity("volts", Voltage::read).map(|volts| volts.value);
    let gives = table.quantity("gives", Current::read).map(|gives| gives.value);
    let mut size = |key| table.quantity(key, Length::read);
    let (hole, nut, depth) = (size("hole"), size("nut"), size("depth"));
    let resistor = table.flag("resistor");
    let counts = table.choice("counts", &ADDRESS_SCHEMES);
    let counts = counts.map(|scheme| Spanned::new(scheme, table.place_of("counts")));
    let count = table.number("count", code::NUMBER_OUT_OF_RANGE).map(|n| n.value);
    table.close();
    let Some(role) = role else {
        description.unread.ids.insert(id.value);
        return;
    };
    // Whoever names a button without measuring it has one of the usual size.
    let usual = description.parts.values().find(|part| part.role == role && part.hole.is_some()).cloned();
    let sized = known.as_ref().or(usual.as_ref());
    let part = Part {
        role,
        outputs: outputs.or(known.as_ref().and_then(|part| part.outputs)),
        aligned: aligned.or(known.as_ref().and_then(|part| part.aligned)),
        drives: drives.or(known.as_ref().map(|part| part.drives.clone())).unwrap_or_default(),
        drive: drive.or(known.as_ref().and_then(|part| part.drive)),
        decoder_inside: inside.or(known.as_ref().map(|part| part.decoder_inside)).unwrap_or_default(),
        contacts: contacts.or(known.as_ref().and_then(|part| part.contacts)),
        pairs: pairs.or(known.as_ref().and_then(|part| part.pairs)),
        positions: positions.or(known.as_ref().and_then(|part| part.positions)),
        pins: pins.or(known.as_ref().and_then(|part| part.pins)),
        volts: volts.or(known.as_ref().and_then(|part| part.volts)),
        draw: draw.or(known.as_ref().and_then(|part| part.draw)),
        gives: gives.or(known.as_ref().and_then(|part| part.gives)),
        hole: hole.or(sized.and_then(|part| part.hole)),
        nut: nut.or(sized.and_then(|part| part.nut)),
        depth: depth.or(sized.and_then(|part| part.depth)),
        resistor: resistor.or(known.as_ref().map(|part| part.resistor)).unwrap_or(true),
        counts: counts.or(known.as_ref().and_then(|part| part.counts)),
        count,
        span: Some(id.span),
    };
    description.parts.insert(id.value, part);
}

fn drives(table: &mut Table<'_, '_>) -> Option<Vec<Drive>> {
    let names = table.names("drives")?;
    let mut drives = Vec::new();
    for name in names {
        match DRIVES.iter().find(|(word, _)| *word == name.value) {
            Some((_, drive)) => drives.push(*drive),
            None => {
                let message = format!("`drives` cannot hold `{}`", name.value);
                let note = Diagnostic::error(code::CHOICE_UNKNOWN, name.span, message)
                    .help("write \"stall\", \"coil\", \"servo\" or \"lamp\"");
                table.note(note);
            }
        }
    }
    Some(drives)
}

pub(super) fn defaults(mut table: Table<'_, '_>) -> Defaults {
    let usual = Defaults::default();
    let defaults = Defaults {
        motor: table.name("motor").unwrap_or(usual.motor),
        decoder: table.name("decoder").unwrap_or(usual.decoder),
        supply: table.name("supply").unwrap_or(usual.supply),
        spares: table.quantity("spares", Share::read).unwrap_or(usual.spares),
    };
    table.close();
    defaults
}
