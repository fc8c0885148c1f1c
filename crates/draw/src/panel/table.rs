//! The table of a fascia's holes: for each its id, what it is and does, its diameter, and where its middle lies from the
//! panel's lower left corner.

use super::fit::Fitted;
use super::parts::{facts, outline};
use crate::fonts::Fonts;
use crate::sheet::Um;
use plan::model::{Device, DeviceKind, Does, Fascia, Plan};

/// One hole of a fascia.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoleRow {
    /// What the template calls it.
    pub id: String,
    /// What goes into it.
    pub part: String,
    /// What that does, in words.
    pub does: String,
    /// How wide the hole is.
    pub diameter: Um,
    /// From the panel's left edge, seen from the front.
    pub x: Um,
    /// From the panel's lower edge.
    pub y: Um,
}

/// Every hole of a fascia: buttons, toggles and lamps in the order of the plan, then the holes that it is fixed by. None when
/// no fascia has this name.
///
/// # Units
/// Micrometres.
pub fn hole_rows(plan: &Plan, panel: &str) -> Option<Vec<HoleRow>> {
    let fascia = super::fascia(plan, panel)?;
    Some(rows(plan, fascia, &super::fitted(plan, fascia, &Fonts::read())))
}

pub(super) fn rows(plan: &Plan, fascia: &Fascia, fitted: &Fitted) -> Vec<HoleRow> {
    let numbers = crate::schematic::numbers_of(plan);
    let number = |lever: network::LeverId| numbers[lever.index()].as_str();
    let devices = fascia.devices.iter().zip(&fitted.places).zip(&fitted.sizes);
    let mut rows: Vec<HoleRow> = devices
        .map(|((device, at), size)| HoleRow {
            id: device.id.clone(),
            part: device.part.clone(),
            does: words(plan, device, &number),
            diameter: size.hole,
            x: at.x,
            y: fitted.height - at.y,
        })
        .collect();
    let fixing = outline(facts(plan, fascia)).fixing;
    rows.extend(fitted.fixings.iter().zip(1..).map(|(at, count)| HoleRow {
        id: format!("F{count}"),
        part: "screw".to_owned(),
        does: "fixes the panel".to_owned(),
        diameter: fixing,
        x: at.x,
        y: fitted.height - at.y,
    }));
    rows
}

fn words<'a>(plan: &Plan, device: &Device, number: &impl Fn(network::LeverId) -> &'a str) -> String {
    let stand = |(lever, position): &(network::LeverId, network::Position)| {
        format!("{} {}", number(*lever), position.word())
    };
    match &device.does.value {
        Does::Holds(lever) => format!("holds {} {}", number(*lever), plan.network.lever(*lever).name),
        Does::Shines(levers) => {
            format!("shines: {}", levers.iter().map(stand).collect::<Vec<_>>().join(", "))
        }
        Does::Throws(bursts) => {
            let bursts: Vec<String> =
                bursts.iter().map(|burst| burst.iter().map(stand).collect::<Vec<_>>().join(", ")).collect();
            let throws = bursts.join("; then ");
            match device.stands {
                plan::model::Stand::Track(track) => {
                    format!("to {}: {throws}", plan.network.track(track).name)
                }
                plan::model::Stand::Leg(..) | plan::model::Stand::Machine(_) => format!("throws {throws}"),
            }
        }
    }
}

/// The letter of the ids of a kind, for the key of the table.
pub(super) fn letter(kind: DeviceKind) -> &'static str {
    match kind {
        DeviceKind::Button => "B: button",
        DeviceKind::Toggle => "T: toggle",
        DeviceKind::Lamp => "L: lamp",
    }
}
