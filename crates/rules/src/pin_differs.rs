//! A pin that the plan could not keep, because another pin or the strip a lever stands on says otherwise.

use notice::{Diagnostic, code};
use plan::model::{Plan, PlannedLever};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut notes: Vec<Diagnostic> =
        crate::placed(plan).flat_map(|lever| decoder_differs(plan, lever)).collect();
    for lever in &plan.levers {
        let id = &plan.network.lever(lever.lever).id;
        for pin in crate::pins_of(plan, lever, |pins| pins.number) {
            if pin.value != lever.number.value {
                let message =
                    format!("`{id}` is pinned to number {} and to {}", lever.number.value, pin.value);
                let mut note = Diagnostic::error(code::PIN_DIFFERS, pin.span, message)
                    .help("machines that move together share one number: leave one of the two pins out");
                if let Some(first) = plan.network.pin(lever.lever, |pins| pins.number) {
                    note = note.related(first.span, "the other pin");
                }
                notes.push(note);
            }
        }
        for pin in crate::pins_of(plan, lever, |pins| pins.address) {
            let address = lever.address.value.number();
            if pin.value != address {
                let other = if lever.control.is_some() { "its pair commands" } else { "another pin says" };
                let message = format!("`{id}` is pinned to address {}, but {other} {address}", pin.value);
                let note = Diagnostic::error(code::PIN_DIFFERS, pin.span, message);
                notes.push(match lever.control {
                    Some(control) => {
                        let strip = &plan.strips[control.strip];
                        let note = note.help(format!(
                            "pair {} commands {address}: move the lever to another pair, change the strip's `start`, or leave the pin out",
                            control.pair
                        ));
                        let starts = format!("strip `{}` starts at {}", strip.panel, strip.first.value.number());
                        crate::beside_start(plan, strip, note.related(strip.span, starts))
                    }
                    None => {
                        let note = note.help(
                            "machines that move together share one address: leave one of the two pins out",
                        );
                        match plan.network.pin(lever.lever, |pins| pins.address) {
                            Some(first) => note.related(first.span, "the other pin"),
                            None => note,
                        }
                    }
                });
            }
        }
    }
    notes.extend(accessories(plan));
    notes.extend(accessories_elsewhere(plan));
    notes
}

/// Pins of a lever to decoders that do not drive it.
fn decoder_differs(plan: &Plan, lever: &PlannedLever) -> Vec<Diagnostic> {
    let id = &plan.network.lever(lever.lever).id;
    let rows = || plan.addresses.iter().filter(|row| row.lever == lever.lever);
    let drive = |name: &str| {
        let mut decoders = rows().filter_map(|row| plan.decoders.get(row.decoder?));
        decoders.any(|decoder| decoder.id == name)
    };
    let pins = crate::pins_of(plan, lever, |pins| pins.decoder.clone());
    let differing = pins.iter().filter(|pin| !drive(&pin.value));
    differing
        .map(|pin| {
            let name = &pin.value;
            let address = lever.address.value.number();
            let decoder = plan.decoders.iter().find(|decoder| decoder.id == *name);
            let first = decoder.map_or(0, |decoder| decoder.first.value.number());
            let last = decoder.map_or(0, |decoder| first.saturating_add(decoder.outputs.max(1) - 1));
            let other = pins.iter().find(|other| drive(&other.value));
            let (why, help) = if rows().all(|row| row.inside) {
                ("its motor has a decoder inside".to_owned(), "leave `decoder` out".to_owned())
            } else if let Some(other) = other {
                let why = format!("another pin says {}", other.value);
                (why, "machines that move together have one decoder: leave one of the two pins out".to_owned())
            } else if decoder.is_none() {
                (
                    "no block of outputs that drives it is free for that".to_owned(),
                    format!("free some addresses, or write another `decoder` than {name}: one that is out of use in the as-built record stays so"),
                )
            } else if (first..=last).contains(&address) {
                let why = format!("that does not drive it at address {address}");
                (why, "pin it to a decoder that drives its kind of motor, or leave `decoder` out".to_owned())
            } else {
                (
                    format!("its address {address} is not one of {first}–{last}, which that has"),
                    format!("give it a free address of {first}–{last}, pin it to another decoder if none is left, or leave `decoder` out"),
                )
            };
            let mut note =
                Diagnostic::error(code::PIN_DIFFERS, pin.span, format!("`{id}` is pinned to decoder {name}, but {why}"))
                    .help(help);
            if let Some(other) = other {
                return note.related(other.span, "the other pin");
            }
            let own = crate::address_span(plan, lever);
            if own != plan.network.lever(lever.lever).span {
                note = note.related(own, format!("this gives it address {address}"));
            }
            for row in plan.addresses.iter().filter(|row| {
                row.decoder.and_then(|index| plan.decoders.get(index)).is_some_and(|decoder| decoder.id == *name)
            }) {
                if let Some(pin) = plan.network.pin(row.lever, |pins| pins.decoder.clone()).filter(|pin| pin.value == *name) {
                    let other = &plan.network.lever(row.lever).id;
                    note = note.related(pin.span, format!("`{other}` has address {} of it", row.address.number()));
                }
            }
            note
        })
        .collect()
}

/// A signal or light that is pinned to a decoder that does not drive it.
fn accessories_elsewhere(plan: &Plan) -> impl Iterator<Item = Diagnostic> {
    plan.accessories.iter().filter_map(|planned| {
        let accessory = plan.network.accessory(planned.accessory);
        let pin = accessory.pins.decoder.as_ref()?;
        let drives = planned.decoder.and_then(|index| plan.decoders.get(index));
        if drives.is_some_and(|decoder| decoder.id == pin.value) {
            return None;
        }
        let address = planned.address.as_ref()?.value.number();
        let (id, name) = (&accessory.id, &pin.value);
        let message =
            format!("`{id}` is pinned to decoder {name}, but that does not drive it at address {address}");
        Some(
            Diagnostic::error(code::PIN_DIFFERS, pin.span, message)
                .help("pin it to a decoder that drives lamps and has its address, or leave `decoder` out"),
        )
    })
}

/// A signal or light whose pair commands another address than it is pinned to.
fn accessories(plan: &Plan) -> impl Iterator<Item = Diagnostic> {
    plan.accessories.iter().filter_map(|planned| {
        let accessory = plan.network.accessory(planned.accessory);
        let pin = accessory.pins.address?;
        let address = planned.address.as_ref()?.value.number();
        let control = planned.control.filter(|_| pin.value != address)?;
        let strip = &plan.strips[control.strip];
        let message =
            format!("`{}` is pinned to address {}, but its pair commands {address}", accessory.id, pin.value);
        let help = format!(
            "pair {} commands {address}: give it another pair, change the strip's `start`, or leave the pin out",
            control.pair
        );
        let start = strip.first.value.number();
        Some(
            Diagnostic::error(code::PIN_DIFFERS, pin.span, message)
                .help(help)
                .related(strip.span, format!("strip `{}` starts at {start}", strip.panel)),
        )
    })
}
