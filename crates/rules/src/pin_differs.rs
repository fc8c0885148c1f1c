//! A pin that the plan could not keep, because another pin or the strip a lever stands on says otherwise.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
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
    notes
}
