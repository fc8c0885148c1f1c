//! A machine that no decoder drives: said once for each way of driving that no part knows, and once for each lever that found no output.

use description::{Drive, Role};
use network::MachineId;
use notice::{Diagnostic, code};
use plan::model::Plan;
use std::collections::BTreeMap;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut undriven: BTreeMap<Drive, Vec<MachineId>> = BTreeMap::new();
    let mut notes = Vec::new();
    for row in plan.addresses.iter().filter(|row| row.decoder.is_none() && !row.inside) {
        for &machine in &row.machines {
            // A motor that is no part of the library is an error of its own.
            let Some(motor) = plan.network.described.parts.get(&plan.network.machine(machine).motor) else {
                continue;
            };
            let drive = motor.drive.unwrap_or(Drive::Stall);
            if is_driven(plan, drive) {
                notes.push(no_output(plan, machine, row.address.number(), drive));
            } else {
                undriven.entry(drive).or_default().push(machine);
            }
        }
    }
    notes.extend(lamps(plan));
    notes.extend(undriven.into_iter().filter_map(|(drive, machines)| no_part(plan, drive, &machines)));
    notes
}

/// Signals and lights that no output answers. It may be that they are driven by something that is not described.
fn lamps(plan: &Plan) -> impl Iterator<Item = Diagnostic> {
    let undriven = plan.accessories.iter().filter(|planned| planned.decoder.is_none());
    undriven.filter_map(|planned| {
        let accessory = plan.network.accessory(planned.accessory);
        let address = planned.address.as_ref()?.value.number();
        let message = format!(
            "no output of a decoder that drives `lamp` can answer address {address} for {} `{}`",
            accessory.kind.word(),
            accessory.id
        );
        let note = Diagnostic::warning(code::MACHINE_NO_DECODER, accessory.span, message);
        Some(note.help("write another `address`, or a decoder whose block (`outputs`, `aligned`) reaches it and whose `drives` holds \"lamp\""))
    })
}

fn is_driven(plan: &Plan, drive: Drive) -> bool {
    let mut parts = plan.network.described.parts.values();
    parts.any(|part| part.role == Role::Decoder && part.drives.contains(&drive))
}

fn word(drive: Drive) -> &'static str {
    match drive {
        Drive::Stall => "stall",
        Drive::Coil => "coil",
        Drive::Servo => "servo",
        Drive::Lamp => "lamp",
    }
}

fn no_part(plan: &Plan, drive: Drive, machines: &[MachineId]) -> Option<Diagnostic> {
    let network = &plan.network;
    let (first, more) = machines.split_first()?;
    let machine = network.machine(*first);
    let drive = word(drive);
    let besides = if more.is_empty() { String::new() } else { format!(" and {} more like it", more.len()) };
    let message = format!(
        "machine `{}`{besides} is a `{}`, driven as `{drive}`, and no decoder drives that",
        machine.name, machine.motor
    );
    let usual = &network.described.defaults.decoder.value;
    Some(Diagnostic::error(code::MACHINE_NO_DECODER, network.joint(machine.joint).span, message).help(format!(
        "describe a decoder that does: [part.\"{drive} decoder\"] with role = \"decoder\", outputs = 8 and drives = [\"{drive}\"]; \
         add \"{drive}\" to the `drives` of `{usual}` if it can; or write another `motor`"
    )))
}

fn no_output(plan: &Plan, machine: MachineId, address: u16, drive: Drive) -> Diagnostic {
    let network = &plan.network;
    let machine = network.machine(machine);
    let message = format!(
        "no output of a decoder that drives `{}` can answer address {address} for machine `{}`",
        word(drive),
        machine.name
    );
    Diagnostic::error(code::MACHINE_NO_DECODER, network.joint(machine.joint).span, message)
        .help("write another `address`, a decoder whose block (`outputs`, `aligned`) reaches it, or a motor with decoder = \"inside\"")
}
