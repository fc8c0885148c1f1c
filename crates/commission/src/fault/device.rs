//! What people push and look at: pairs of buttons, strips, the link of the screen, lamps, signals and lights.

use super::{Answer, Building, Check, Fault, LEADS, LIGHTS, Shows, THERE};
use crate::mode::Mode;
use network::AccessoryId;
use plan::model::{DeviceKind, WireKind};
use std::collections::BTreeSet;

/// Points that do not move.
const DEAD: Answer = 3;
const LINK: [&str; 2] = ["up", "down"];

pub(super) fn add(building: &mut Building<'_>) {
    signals(building);
    for index in 0..building.plan.strips.len() {
        socket(building, index);
    }
    for index in 0..building.plan.strips.len() {
        strip(building, index);
    }
    buttons(building);
    link(building);
    lamps(building);
}

fn signal_check(building: &mut Building<'_>, accessory: AccessoryId) -> usize {
    let what = building.plan.network.accessory(accessory);
    building.check(Check {
        key: what.key(),
        words: &LIGHTS,
        symptom: true,
        how: format!("switch {} on and off from its pair", what.key()),
        at: what.at.clone(),
        under: false,
        minutes: 0.5,
    })
}

fn by_hand(building: &mut Building<'_>, key: &str, at: Option<String>, under: bool) -> usize {
    building.check(Check {
        key: format!("{key} fed by hand"),
        words: &LIGHTS,
        symptom: false,
        how: format!("feed {key} from a supply of its own voltage, its resistor in series"),
        at,
        under,
        minutes: 1.5,
    })
}

fn signals(building: &mut Building<'_>) {
    for planned in &building.plan.accessories {
        let what = building.plan.network.accessory(planned.accessory);
        let (key, at) = (what.key(), what.at.clone());
        let check = signal_check(building, planned.accessory);
        let alone = by_hand(building, &key, at.clone(), false);
        let shown = Shows::default().with(check, 1);
        for (says, mend, mode, shows) in [
            ("has a lamp out", "change its lamp", Mode::LampOut, shown.clone().with(alone, 1)),
            ("is not connected", "make its wires anew", Mode::LampOpen, shown),
        ] {
            building.fault(Fault {
                what: format!("{key} {says}"),
                mend: mend.into(),
                mode,
                at: at.clone(),
                shows: shows.0,
            });
        }
    }
}

/// What the pairs of a strip do, pair by pair.
fn pairs(building: &mut Building<'_>, index: usize) -> Vec<(usize, Shows)> {
    let strip = &building.plan.strips[index];
    let mut pairs = Vec::new();
    for pair in 0..strip.pairs.len().max(strip.accessories.len()) {
        let mut shows = Shows::default();
        if let Some(lever) = strip.pairs.get(pair).copied().flatten() {
            for [panel, ..] in building.moves.get(&lever).into_iter().flatten() {
                shows.add(*panel, DEAD);
            }
        }
        if let Some(accessory) = strip.accessories.get(pair).copied().flatten() {
            let check = signal_check(building, accessory);
            shows.add(check, 1);
        }
        if !shows.0.is_empty() {
            pairs.push((pair + 1, shows));
        }
    }
    pairs
}

/// Whether the cab bus gets as far as a strip.
fn socket(building: &mut Building<'_>, index: usize) -> usize {
    let strip = &building.plan.strips[index];
    building.check(Check {
        key: format!("socket of strip {}", strip.panel),
        words: &THERE,
        symptom: false,
        how: format!("plug a cab into the socket of strip {}, or measure there", strip.panel),
        at: strip.at.clone(),
        under: false,
        minutes: 1.5,
    })
}

fn strip(building: &mut Building<'_>, index: usize) {
    let plan = building.plan;
    let strip = &plan.strips[index];
    let (panel, at) = (&strip.panel, strip.at.clone());
    let alive = socket(building, index);
    let mut all = Shows::default();
    for (pair, shows) in pairs(building, index) {
        for (&check, &answer) in &shows.0 {
            all.add(check, answer);
        }
        building.fault(Fault {
            what: format!("pair {pair} of strip {panel} does nothing"),
            mend: "clean or change its buttons".into(),
            mode: Mode::PairDead,
            at: at.clone(),
            shows: shows.0,
        });
    }
    building.fault(Fault {
        what: format!("strip {panel} is dead"),
        mend: "look at its jumpers and its cab address; else change it".into(),
        mode: Mode::StripDead,
        at: at.clone(),
        shows: all.0,
    });
    let Some(chain) = plan.chains.iter().find(|chain| chain.strips.contains(&index)) else { return };
    let behind = chain.strips.iter().copied().skip_while(|&other| other != index);
    let mut shows = Shows::default().with(alive, 1);
    for other in behind {
        shows.add(socket(building, other), 1);
        for (_, pair) in pairs(building, other) {
            for (&check, &answer) in &pair.0 {
                shows.add(check, answer);
            }
        }
    }
    let cable = building.wire_id(WireKind::CabBus, &format!("strip {panel} cab bus"));
    building.fault(Fault {
        what: format!("{cable}, the cab bus cable to strip {panel}, is interrupted"),
        mend: "plug it anew; else change it".into(),
        mode: Mode::CableOpen,
        at,
        shows: shows.0,
    });
}

/// Buttons and toggles of fascias, lever by lever.
fn buttons(building: &mut Building<'_>) {
    for fascia in &building.plan.fascias {
        let levers: BTreeSet<_> = fascia.levers.iter().copied().collect();
        for lever in levers {
            let on_strip = building
                .plan
                .levers
                .iter()
                .any(|planned| planned.lever == lever && planned.control.is_some());
            if on_strip {
                continue;
            }
            let shows: Shows =
                building.moves.get(&lever).into_iter().flatten().map(|[panel, ..]| (*panel, DEAD)).collect();
            building.fault(Fault {
                what: format!(
                    "the buttons of lever {} on panel {} do nothing",
                    building.number(lever),
                    fascia.panel
                ),
                mend: "look at their wires and change the button".into(),
                mode: Mode::PairDead,
                at: fascia.at.clone(),
                shows: shows.0,
            });
        }
    }
}

fn link(building: &mut Building<'_>) {
    let up = building.check(Check {
        key: "link of the screen".into(),
        words: &LINK,
        symptom: false,
        how: "look at the live page: it says whether its link to the system is up".into(),
        at: None,
        under: false,
        minutes: 0.25,
    });
    let screens = building.moves.values().flatten().map(|[_, _, screen]| (*screen, DEAD));
    let shows: Shows = screens.collect();
    building.fault(Fault {
        what: "the link from the screen to the system is lost".into(),
        mend: "plug its cable anew and start the live page again".into(),
        mode: Mode::LinkLost,
        at: None,
        shows: shows.with(up, 1).0,
    });
}

fn lamps(building: &mut Building<'_>) {
    for fascia in &building.plan.fascias {
        for device in fascia.devices.iter().filter(|device| device.kind == DeviceKind::Lamp) {
            let key = format!("lamp {} {}", fascia.panel, device.id);
            let check = building.check(Check {
                key: key.clone(),
                words: &LIGHTS,
                symptom: true,
                how: format!("throw levers so that {key} shines, and look"),
                at: fascia.at.clone(),
                under: false,
                minutes: 0.5,
            });
            let alone = by_hand(building, &key, fascia.at.clone(), false);
            let shown = Shows::default().with(check, 1);
            building.fault(Fault {
                what: format!("{key} is out"),
                mend: "change it".into(),
                mode: Mode::LampOut,
                at: fascia.at.clone(),
                shows: shown.clone().with(alone, 1).0,
            });
            let prefix = format!("panel {} {}", fascia.panel, device.id);
            let own = |key: &str| {
                key == prefix || key.strip_prefix(&prefix).is_some_and(|rest| rest.starts_with(" lever "))
            };
            let wires =
                building.plan.wires.iter().filter(|wire| wire.kind == WireKind::Lamp && own(&wire.key));
            for wire in wires {
                let id = format!("wire {}", wire.id.value);
                let leads = building.check(Check {
                    key: id.clone(),
                    words: &LEADS,
                    symptom: false,
                    how: format!("switch off; measure through {id} to {key}"),
                    at: wire.ends[0].at.clone(),
                    under: true,
                    minutes: 2.0,
                });
                building.fault(Fault {
                    what: format!("{id} to {key} is interrupted"),
                    mend: "make its ends anew".into(),
                    mode: Mode::LampOpen,
                    at: wire.ends[0].at.clone(),
                    shows: shown.clone().with(leads, 1).0,
                });
            }
        }
    }
}
