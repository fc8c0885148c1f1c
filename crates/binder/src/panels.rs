//! Each panel: its face, what its levers lead to, and what else stands on it; and for each lever what it leads to.

use std::collections::BTreeSet;

use network::{LeverId, Position};
use plan::model::{Device, DeviceKind, Plan};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::drawings::drawing;
use crate::ledger::Ledger;

/// Every panel with a face: `(name, at, kind, part, face, rows, buttons, toggles, lamps)`.
pub(crate) fn panels(ledger: &Ledger<'_>) -> Array {
    let plan = ledger.plan;
    let strips = plan.strips.iter().filter_map(|strip| {
        let rows = (1usize..).zip(&strip.pairs).filter_map(|(pair, lever)| {
            let mut row = leads(ledger, (*lever)?);
            row.insert("pair".into(), pair.into_value());
            Some(row.into_value())
        });
        let mut panel = panel(ledger, &strip.panel, strip.at.as_deref(), rows.collect())?;
        panel.insert("kind".into(), "strip".into_value());
        panel.insert("part".into(), ledger.words(&strip.part));
        Some(panel.into_value())
    });
    let fascias = plan.fascias.iter().filter_map(|fascia| {
        let rows = fascia.levers.iter().map(|&lever| {
            let mut row = leads(ledger, lever);
            row.insert("pair".into(), Value::None);
            row.into_value()
        });
        let mut panel = panel(ledger, &fascia.panel, fascia.at.as_deref(), rows.collect())?;
        let count =
            |kind: DeviceKind| fascia.devices.iter().filter(|device: &&Device| device.kind == kind).count();
        panel.insert("kind".into(), "fascia".into_value());
        panel.insert("buttons".into(), count(DeviceKind::Button).into_value());
        panel.insert("toggles".into(), count(DeviceKind::Toggle).into_value());
        panel.insert("lamps".into(), count(DeviceKind::Lamp).into_value());
        Some(panel.into_value())
    });
    strips.chain(fascias).collect()
}

fn panel(ledger: &Ledger<'_>, name: &str, at: Option<&str>, rows: Array) -> Option<Dict> {
    let face = draw::panel_face(ledger.plan, name)?;
    let alt = format!("Face of panel {name}; its levers stand in the table below");
    Some(dict! {
        "name" => ledger.words(name),
        "at" => ledger.words_if(at),
        "face" => drawing(ledger, face, &alt),
        "rows" => rows,
    })
}

/// What every lever leads to, in the order of the plan.
pub(crate) fn all_leads(ledger: &Ledger<'_>) -> Array {
    ledger.plan.levers.iter().map(|planned| leads(ledger, planned.lever).into_value()).collect()
}

/// What a lever leads to: `(lever, normal, reverse, tracks)`, these the tracks that are named.
fn leads(ledger: &Ledger<'_>, lever: LeverId) -> Dict {
    let ([normal, reverse], tracks) = led_to(ledger.plan, lever);
    dict! {
        "lever" => ledger.lever(lever),
        "normal" => ledger.words(&normal),
        "reverse" => ledger.words(&reverse),
        "tracks" => tracks.iter().map(|track| ledger.words(track)).collect::<Array>(),
    }
}

/// A way through a joint: at each end its track, and which leg of the joint that is.
type Way<'a> = [(&'a str, String); 2];

/// Where a train goes that meets the points of a lever, normal and reverse: the track that only this position leads to, or the
/// ways through where that is not one track. Then every track that is named.
fn led_to(plan: &Plan, lever: LeverId) -> ([String; 2], BTreeSet<String>) {
    let [normal, reverse] = [Position::Normal, Position::Reverse].map(|position| ways(plan, lever, position));
    let only = |these: &[Way<'_>], others: &[Way<'_>]| {
        let known: BTreeSet<&str> = others.iter().flatten().map(|(track, _)| *track).collect();
        let tracks: Vec<&str> =
            these.iter().flatten().map(|(track, _)| *track).filter(|track| !known.contains(track)).collect();
        (these.len() == 1 && tracks.len() == 1).then(|| tracks.concat())
    };
    if let (Some(normal), Some(reverse)) = (only(&normal, &reverse), only(&reverse, &normal)) {
        let named = [normal.clone(), reverse.clone()].into();
        return ([normal, reverse], named);
    }
    let named = normal.iter().chain(&reverse).flatten().map(|(track, _)| (*track).to_owned()).collect();
    let plain = [&normal, &reverse].map(|ways| spelled(ways, |(track, _)| (*track).to_owned()));
    if plain[0] != plain[1] {
        return (plain, named);
    }
    // Both legs are one track, as in a loop.
    ([&normal, &reverse].map(|ways| spelled(ways, |(track, leg)| format!("{track} ({leg})"))), named)
}

fn spelled(ways: &[Way<'_>], end: impl Fn(&(&str, String)) -> String) -> String {
    let ways: Vec<String> =
        ways.iter().map(|[one, other]| format!("{} – {}", end(one), end(other))).collect();
    if ways.is_empty() { "nowhere".to_owned() } else { ways.join("; ") }
}

/// The ways through the joints of a lever that need it so and not the other way, each once.
fn ways(plan: &Plan, lever: LeverId, wanted: Position) -> Vec<Way<'_>> {
    let network = &plan.network;
    let mut joints: Vec<_> =
        network.lever(lever).machines.iter().map(|&machine| network.machine(machine).joint).collect();
    joints.dedup();
    let mut ways = Vec::new();
    for joint in joints.into_iter().map(|joint| network.joint(joint)) {
        for through in &joint.moves {
            let needs = through.needs.iter().filter(|(machine, _)| network.machine(*machine).lever == lever);
            let needs: Vec<Position> = needs.map(|(_, position)| *position).collect();
            if needs.is_empty() || needs.iter().any(|position| *position != wanted) {
                continue;
            }
            let ends = through.ports.map(|port| {
                let track = joint.tracks.get(usize::from(port));
                let name = track.map_or("", |&track| network.track(track).name.as_str());
                (name, crate::tracks::leg(joint.kind, port))
            });
            if !ways.contains(&ends) {
                ways.push(ends);
            }
        }
    }
    ways
}
