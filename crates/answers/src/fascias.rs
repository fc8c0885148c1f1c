//! What stands on fascias, as part of `plan`.

use crate::because;
use network::{LeverId, Position};
use plan::model::{Device, DeviceKind, Does, Fascia, Plan};
use serde::Serialize;

/// A fascia.
#[derive(Debug, Serialize)]
pub struct FasciaRow {
    /// The panel's name.
    pub panel: String,
    /// The place it stands at.
    pub at: Option<String>,
    /// The numbers of the levers that it controls.
    pub levers: Vec<u16>,
    /// Buttons, toggles and lamps.
    pub devices: Vec<DeviceRow>,
}

/// A button, toggle or lamp.
#[derive(Debug, Serialize)]
pub struct DeviceRow {
    /// What the hole table calls it.
    pub id: String,
    /// `button`, `toggle` or `lamp`.
    pub kind: &'static str,
    /// The part.
    pub part: String,
    /// What it throws, holds or shows; a button's bursts in order.
    pub does: Vec<Vec<DoesRow>>,
    /// Why.
    pub because: Vec<String>,
}

/// A lever, and the position that a device gives it or shows; none for a toggle, which gives it either.
#[derive(Debug, Serialize)]
pub struct DoesRow {
    /// The lever's number.
    pub number: u16,
    /// The position.
    pub position: Option<&'static str>,
}

pub(crate) fn fascias(plan: &Plan) -> Vec<FasciaRow> {
    let numbers = plan.numbers();
    let number = |lever: LeverId| numbers.get(&lever).copied().unwrap_or_default();
    plan.fascias.iter().map(|fascia| row(fascia, &number)).collect()
}

fn row(fascia: &Fascia, number: &impl Fn(LeverId) -> u16) -> FasciaRow {
    FasciaRow {
        panel: fascia.panel.clone(),
        at: fascia.at.clone(),
        levers: fascia.levers.iter().map(|&lever| number(lever)).collect(),
        devices: fascia.devices.iter().map(|device| device_row(device, number)).collect(),
    }
}

fn device_row(device: &Device, number: &impl Fn(LeverId) -> u16) -> DeviceRow {
    let all = |levers: &Vec<(LeverId, Position)>| {
        let stands = |&(lever, position): &(LeverId, Position)| DoesRow {
            number: number(lever),
            position: Some(position.word()),
        };
        levers.iter().map(stands).collect()
    };
    DeviceRow {
        id: device.id.clone(),
        kind: match device.kind {
            DeviceKind::Button => "button",
            DeviceKind::Toggle => "toggle",
            DeviceKind::Lamp => "lamp",
        },
        part: device.part.clone(),
        does: match &device.does.value {
            Does::Throws(bursts) => bursts.iter().map(all).collect(),
            Does::Shines(levers) => vec![all(levers)],
            Does::Holds(lever) => vec![vec![DoesRow { number: number(*lever), position: None }]],
        },
        because: because(&device.does),
    }
}
