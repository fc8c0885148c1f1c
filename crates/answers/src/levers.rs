//! `show levers`.

use crate::{SCHEMA, because};
use plan::model::{Plan, PlannedLever};
use serde::Serialize;

/// `show levers`: every control.
#[derive(Debug, Serialize)]
pub struct LeversAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// In the order of the numbers.
    pub levers: Vec<LeverRow>,
}

/// One lever.
#[derive(Debug, Serialize)]
pub struct LeverRow {
    /// Its number on the panel.
    pub number: u16,
    /// What plates and tables call it.
    pub name: String,
    /// The machines it moves.
    pub machines: Vec<String>,
    /// The line it stands on.
    pub line: Option<String>,
    /// The panel its buttons are on.
    pub panel: Option<String>,
    /// The pair of buttons there, from 1.
    pub pair: Option<u16>,
    /// The accessory addresses its machines answer.
    pub addresses: Vec<u16>,
    /// Why this number, and why this address.
    pub because: Vec<String>,
}

/// Answers `show levers`.
pub fn levers(plan: &Plan) -> LeversAnswer {
    LeversAnswer { schema: SCHEMA, levers: plan.levers.iter().map(|lever| row(plan, lever)).collect() }
}

fn row(plan: &Plan, lever: &PlannedLever) -> LeverRow {
    let network = &plan.network;
    let described = network.lever(lever.lever);
    LeverRow {
        number: lever.number.value,
        name: described.name.clone(),
        machines: described.machines.iter().map(|machine| network.machine(*machine).name.clone()).collect(),
        line: lever.line.map(|line| network.line(line).name.clone()),
        panel: match lever.control {
            Some(control) => Some(plan.strips[control.strip].panel.clone()),
            None => plan.fascia_of(lever.lever).map(|fascia| fascia.panel.clone()),
        },
        pair: lever.control.map(|control| control.pair),
        addresses: vec![lever.address.value.number()],
        because: because(&lever.number).into_iter().chain(because(&lever.address)).collect(),
    }
}
