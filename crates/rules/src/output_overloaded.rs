//! Machines that take more from an output than its decoder gives: one too strong for it, or several on one output of a weaker
//! decoder than they were put together for.

use network::MachineId;
use notice::{Diagnostic, code};
use plan::model::Plan;
use std::collections::BTreeMap;

/// The first machine on an output, the amperes that are taken from it, and those that it gives.
type Over = (MachineId, f64, f64);

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    let parts = &network.described.parts;
    // One mistake for each motor on each decoder part, however many machines have it.
    let mut over: BTreeMap<(&str, &str, usize), Vec<Over>> = BTreeMap::new();
    for row in &plan.addresses {
        let Some(decoder) = row.decoder.and_then(|index| plan.decoders.get(index)) else { continue };
        let Some(gives) = parts.get(&decoder.part).and_then(|part| part.gives) else { continue };
        let Some(&first) = row.machines.first() else { continue };
        let motors = row.machines.iter().filter_map(|machine| parts.get(&network.machine(*machine).motor));
        let takes: f64 = motors.filter_map(|motor| motor.draw).map(measure::Current::value).sum();
        if takes > gives.value() + 1e-9 {
            let key = (network.machine(first).motor.as_str(), decoder.part.as_str(), row.machines.len());
            over.entry(key).or_default().push((first, takes, gives.value()));
        }
    }
    let mut notes = lamps(plan);
    notes.extend(machines(plan, over));
    notes
}

/// Signals and lights that take more than their output gives.
fn lamps(plan: &Plan) -> Vec<Diagnostic> {
    let parts = &plan.network.described.parts;
    let over = plan.accessories.iter().filter_map(|planned| {
        let (decoder, _) = plan.output_of(planned)?;
        let part = parts.get(&decoder.part)?;
        let gives = part.gives?.value();
        let accessory = plan.network.accessory(planned.accessory);
        let own = || parts.get(&accessory.part).and_then(|part| part.draw);
        let takes = accessory.draw.or_else(own)?.value();
        (takes > gives + 1e-9).then(|| {
            let (kind, id) = (accessory.kind.word(), &accessory.id);
            let message =
                format!("{kind} `{id}` takes {}, and an output of `{}` gives {}", amps(takes), decoder.part, amps(gives));
            let note = Diagnostic::error(code::OUTPUT_OVERLOADED, accessory.span, message).help(
                "take a decoder whose outputs give more (`gives`), or lamps that take less (`draw`); over a relay the output drives only its coil",
            );
            match part.span {
                Some(span) => note.related(span, "the decoder is described here"),
                None => note,
            }
        })
    });
    over.collect()
}

fn machines(plan: &Plan, over: BTreeMap<(&str, &str, usize), Vec<Over>>) -> Vec<Diagnostic> {
    let network = &plan.network;
    let parts = &network.described.parts;
    over.into_iter()
        .filter_map(|((motor, decoder, count), rows)| {
            let (&(first, takes, gives), more) = rows.split_first()?;
            let machine = network.machine(first);
            let besides = if more.is_empty() { String::new() } else { format!(" (and {} more alike)", more.len()) };
            let asks = match count {
                1 => format!("machine `{}`, a `{motor}`, takes", machine.name),
                _ => format!("machine `{}` and {} more on its output take", machine.name, count - 1),
            };
            let message = format!(
                "{asks} {}, and an output of `{decoder}` gives {}{besides}",
                amps(takes),
                amps(gives)
            );
            let note = Diagnostic::error(code::OUTPUT_OVERLOADED, network.joint(machine.joint).span, message).help(
                "take a decoder whose outputs give more (`gives`), or a motor that takes less (`draw`); over a relay the output drives only its coil",
            );
            Some(match parts.get(decoder).and_then(|part| part.span) {
                Some(span) => note.related(span, "the decoder is described here"),
                None => note,
            })
        })
        .collect()
}

fn amps(amps: f64) -> String {
    if amps < 1.0 { format!("{:.0} mA", amps * 1000.0) } else { format!("{amps:.2} A") }
}
