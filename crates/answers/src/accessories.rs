//! Signals and lights, as part of `plan`.

use crate::because;
use network::{Guarded, Network};
use plan::model::{Plan, PlannedAccessory};
use serde::Serialize;

/// A signal or a light.
#[derive(Debug, Serialize)]
pub struct AccessoryRow {
    /// The number on the panel.
    pub number: u16,
    /// `signal` or `light`.
    pub kind: &'static str,
    /// What the description calls it.
    pub id: String,
    /// What plates call it.
    pub name: String,
    /// The track that a signal stands on.
    pub on: Option<String>,
    /// The turnout, lever or machine that a signal guards.
    pub guards: Option<String>,
    /// The place it stands at.
    pub at: Option<String>,
    /// What it draws, in amperes.
    pub draw_amps: Option<f64>,
    /// The strip that has its buttons.
    pub panel: Option<String>,
    /// Its pair there, counted from 1.
    pub pair: Option<u16>,
    /// Its accessory address; null where none was free.
    pub address: Option<u16>,
    /// The decoder that drives it; null where no output can answer its address.
    pub decoder: Option<String>,
    /// Its output there, counted from 1.
    pub output: Option<u16>,
    /// The part that its lamps are.
    pub part: String,
    /// Why this number, and why this address.
    pub because: Vec<String>,
}

pub(crate) fn accessories(plan: &Plan) -> Vec<AccessoryRow> {
    let mut rows: Vec<AccessoryRow> = plan.accessories.iter().map(|planned| row(plan, planned)).collect();
    rows.sort_by_key(|row| row.number);
    rows
}

fn row(plan: &Plan, planned: &PlannedAccessory) -> AccessoryRow {
    let network = &plan.network;
    let accessory = network.accessory(planned.accessory);
    let strip = planned.control.and_then(|control| plan.strips.get(control.strip));
    AccessoryRow {
        number: planned.number.value,
        kind: accessory.kind.word(),
        id: accessory.id.clone(),
        name: accessory.name.clone(),
        on: accessory.on.map(|track| network.track(track).name.clone()),
        guards: accessory.guards.map(|guarded| name_of(network, guarded)),
        at: accessory.at.clone(),
        draw_amps: accessory.draw.map(measure::Current::value),
        panel: strip.map(|strip| strip.panel.clone()),
        pair: planned.control.map(|control| control.pair),
        address: planned.address.as_ref().map(|address| address.value.number()),
        decoder: plan.output_of(planned).map(|(decoder, _)| decoder.id.clone()),
        output: plan.output_of(planned).map(|(_, output)| output),
        part: accessory.part.clone(),
        because: because(&planned.number)
            .into_iter()
            .chain(planned.address.iter().flat_map(because))
            .collect(),
    }
}

fn name_of(network: &Network, guarded: Guarded) -> String {
    match guarded {
        Guarded::Joint(joint) => network.joint(joint).id.clone(),
        Guarded::Lever(lever) => network.lever(lever).id.clone(),
        Guarded::Machine(machine) => network.machine(machine).name.clone(),
    }
}
