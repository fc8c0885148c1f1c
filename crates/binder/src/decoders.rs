//! The decoder list: what each decoder is, where it sits, which addresses it answers and what its outputs drive.

use std::collections::BTreeMap;

use plan::model::{Decoder, PlannedAccessory, PlannedAddress};
use plan::program;
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;
use crate::letters::SENTENCE_LETTERS_MAX;

/// Every decoder in the order of the plan, each with what it is programmed with.
pub(crate) fn decoders(ledger: &Ledger<'_>) -> Array {
    let sheets = program::sheets(ledger.plan);
    ledger
        .plan
        .decoders
        .iter()
        .enumerate()
        .map(|(index, decoder)| {
            let used = ledger.plan.addresses.iter().filter(|planned| planned.decoder == Some(index));
            let used = used.map(|planned| (planned.address.number(), planned)).collect();
            let others = ledger
                .plan
                .accessories_of(index)
                .filter_map(|planned| Some((planned.address.as_ref()?.value.number(), planned)));
            let mut card = card(ledger, decoder, &used, &others.collect());
            let turn = sheets.iter().position(|sheet| sheet.decoder == index);
            let program = turn.and_then(|turn| Some(programmed(ledger, turn + 1, sheets.get(turn)?)));
            card.insert("program".into(), program.into_value());
            card.into_value()
        })
        .collect()
}

/// What one decoder is programmed with: `(turn, method, label, steps, other)`; its turn is in bench order.
fn programmed(ledger: &Ledger<'_>, turn: usize, sheet: &program::Sheet) -> Dict {
    let steps = |held: &[program::Step]| -> Array {
        let rows = held.iter().map(|step| {
            dict! {
                "cv" => step.cv,
                "value" => step.value.value,
                "why" => ledger.reasons(step.value.because()),
                "check" => ledger.reasons(step.check.iter()),
                "if_wrong" => ledger.reasons(step.if_wrong.iter()),
                "on_main" => step.on_main.map(|bytes| bytes.to_string()),
            }
            .into_value()
        });
        rows.collect()
    };
    dict! {
        "turn" => turn,
        "method" => sheet.method.word(),
        "label" => ledger.words_up_to(&sheet.label, SENTENCE_LETTERS_MAX),
        "steps" => steps(&sheet.steps),
        "other" => steps(&sheet.other),
    }
}

/// The ids of the wires to the machines of an address.
fn wires(ledger: &Ledger<'_>, planned: &PlannedAddress) -> Array {
    let network = &ledger.plan.network;
    let keys =
        planned.machines.iter().map(|&machine| format!("machine {} motor", network.machine(machine).name));
    let wires = keys.filter_map(|key| ledger.plan.wires.iter().find(|wire| wire.key == key));
    wires.map(|wire| ledger.words(&wire.id.value)).collect()
}

/// The wire to a signal or light, by its id.
fn wires_to(ledger: &Ledger<'_>, planned: &PlannedAccessory) -> Array {
    let key = format!("{} lamps", ledger.plan.network.accessory(planned.accessory).key());
    let wires = ledger.plan.wires.iter().filter(|wire| wire.key == key);
    wires.map(|wire| ledger.words(&wire.id.value)).collect()
}

/// A signal or light in the place of a machine: `(name, motor, at)`, its part as the motor.
fn lamps(ledger: &Ledger<'_>, planned: &PlannedAccessory) -> Array {
    let described = ledger.plan.network.accessory(planned.accessory);
    let lamps = dict! {
        "name" => ledger.words(&described.key()),
        "motor" => ledger.words(&described.part),
        "at" => ledger.words_if(described.at.as_deref()),
    };
    [lamps.into_value()].into_iter().collect()
}

/// One decoder: `(id, part, at, first, last, used, outputs)`.
fn card(
    ledger: &Ledger<'_>,
    decoder: &Decoder,
    used: &BTreeMap<u16, &PlannedAddress>,
    others: &BTreeMap<u16, &PlannedAccessory>,
) -> Dict {
    let first = u32::from(decoder.first.value.number());
    let outputs: Array = (1..=decoder.outputs)
        .map(|output| {
            let address = first + u32::from(output) - 1;
            let number = u16::try_from(address).ok();
            let planned = number.and_then(|address| used.get(&address));
            if let Some(other) = number.and_then(|address| others.get(&address)).filter(|_| planned.is_none())
            {
                return dict! {
                    "output" => output,
                    "address" => address,
                    "lever" => ledger.accessory(other.accessory),
                    "machines" => lamps(ledger, other),
                    "wires" => wires_to(ledger, other),
                }
                .into_value();
            }
            dict! {
                "output" => output,
                "address" => address,
                "lever" => planned.map_or(Value::None, |planned| ledger.lever(planned.lever).into_value()),
                "machines" => planned.map(|planned| ledger.machines(&planned.machines)).unwrap_or_default(),
                "wires" => planned.map(|planned| wires(ledger, planned)).unwrap_or_default(),
            }
            .into_value()
        })
        .collect();
    dict! {
        "id" => ledger.words(&decoder.id),
        "part" => ledger.words(&decoder.part),
        "at" => ledger.words_if(decoder.at.as_ref().map(|at| at.value.as_str())),
        "first" => first,
        "last" => first + u32::from(decoder.outputs.saturating_sub(1)),
        "used" => used.len() + others.len(),
        "outputs" => outputs,
    }
}
