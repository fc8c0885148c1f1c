//! Rails: droppers, reversing sections with their units, frogs with their contacts, gaps.

use super::{Building, Check, Fault, HOLDS, LEADS, Point, Shows, THERE};
use crate::fault::machine::trips;
use crate::mode::Mode;
use network::{MachineId, TrackId};
use plan::model::{Feed, Frog, Wire, WireKind};
use std::collections::BTreeMap;

const RUNS: [&str; 3] = ["runs", "runs weakly", "is dead"];
const FROG: [&str; 2] = ["runs", "is dead"];
const CONTACT: [&str; 3] = ["good", "stuck", "swapped"];
const GAP: [&str; 2] = ["open", "closed"];

pub(super) fn add(building: &mut Building<'_>) {
    let mut droppers: BTreeMap<&str, Vec<&Wire>> = BTreeMap::new();
    for wire in building.plan.wires.iter().filter(|wire| wire.kind == WireKind::Dropper) {
        let track = wire.key.strip_prefix("track ").and_then(|key| key.rsplit_once(" dropper "));
        if let Some((track, _)) = track {
            droppers.entry(track).or_default().push(wire);
        }
    }
    for index in 0..building.plan.network.tracks.len() {
        let track = TrackId::at(index);
        let name = building.plan.network.track(track).name.as_str();
        one_track(building, track, droppers.get(name).map(Vec::as_slice).unwrap_or_default());
    }
    for index in 0..building.plan.reversing.len() {
        section(building, index);
    }
    gaps(building);
    for frog in &building.plan.frogs {
        one_frog(building, frog);
    }
}

fn track_check(building: &mut Building<'_>, track: TrackId) -> usize {
    let name = &building.plan.network.track(track).name;
    let place = building
        .plan
        .network
        .track(track)
        .ends
        .iter()
        .find_map(|end| building.plan.network.joint(end.joint).at.clone());
    building.check(Check {
        key: format!("track {name}"),
        words: &RUNS,
        symptom: true,
        how: format!("run an engine along track {name}, or measure between its rails"),
        at: place,
        under: false,
        minutes: 1.0,
    })
}

fn one_track(building: &mut Building<'_>, track: TrackId, droppers: &[&Wire]) {
    let name = building.plan.network.track(track).name.clone();
    let district = building
        .plan
        .districts
        .get(track.index())
        .and_then(Option::as_ref)
        .map(|district| district.value.clone());
    let check = track_check(building, track);
    let in_section = building.plan.reversing.iter().any(|section| section.tracks.value.contains(&track));
    let mut at_points: BTreeMap<Point, usize> = BTreeMap::new();
    for wire in droppers {
        let place = wire.ends[1].at.clone();
        let id = &wire.id.value;
        let leads = building.check(Check {
            key: format!("dropper {id}"),
            words: &LEADS,
            symptom: false,
            how: format!(
                "switch off; measure through dropper {id} from the bus to the rails of {name}, each conductor"
            ),
            at: place.clone(),
            under: true,
            minutes: 2.0,
        });
        // Joiners of rails are not counted on: they rust.
        let seen = if droppers.len() == 1 { 2 } else { 1 };
        building.fault(Fault {
            what: format!("dropper {id} of track {name} is off"),
            mend: "solder it anew, at the rails first".into(),
            mode: Mode::DropperOpen,
            at: place.clone(),
            shows: Shows::default().with(check, seen).with(leads, 1).0,
        });
        *at_points.entry(building.rails_at(place.as_deref(), district.as_deref())).or_default() += 1;
    }
    if in_section {
        return;
    }
    if at_points.is_empty() {
        at_points.insert(building.rails_at(None, district.as_deref()), 0);
    }
    for (point, count) in at_points {
        building.feeds(point, check, 1, if count == droppers.len() { 2 } else { 1 });
    }
}

/// What turns the polarity of a reversing section over.
fn section(building: &mut Building<'_>, index: usize) {
    let plan = building.plan;
    let section = &plan.reversing[index];
    if section.tracks.value.is_empty() {
        return;
    }
    let key = format!("section {} feed", section.name);
    let wire = building.wire(WireKind::Section, &key);
    let place = wire.and_then(|wire| wire.ends[1].at.clone());
    let behind = building.check(Check {
        key: format!("volts behind the polarity unit of {}", section.name),
        words: &THERE,
        symptom: false,
        how: format!("measure volts AC behind the polarity unit of {}", section.name),
        at: place.clone(),
        under: true,
        minutes: 1.5,
    });
    let point = building.rails_at(place.as_deref(), None);
    building.feeds(point, behind, 0, 1);
    let mut shows = Shows::default().with(behind, 1);
    for &track in &section.tracks.value {
        let check = track_check(building, track);
        building.feeds(point, check, 1, 2);
        shows.add(check, 2);
    }
    building.fault(Fault {
        what: format!("the polarity unit of {} gives nothing, or its feed is off", section.name),
        mend: "make its ends anew; else change it".into(),
        mode: Mode::UnitDead,
        at: place,
        shows: shows.0,
    });
}

fn gaps(building: &mut Building<'_>) {
    let plan = building.plan;
    for gap in &plan.gaps {
        let place = gap.at.and_then(|port| plan.network.joint(port.joint).at.clone());
        let cut = building.check(Check {
            key: format!("gap of {}, {}", gap.track, gap.end),
            words: &GAP,
            symptom: false,
            how: format!("switch off; measure across the gap in each rail of {}, {}", gap.track, gap.end),
            at: place.clone(),
            under: false,
            minutes: 1.5,
        });
        let mut shows = Shows::default().with(cut, 1);
        for section in gap.sections.iter().filter_map(|&section| plan.reversing.get(section)) {
            let train = building.check(Check {
                key: format!("breaker with a train through {}", section.name),
                words: &HOLDS,
                symptom: true,
                how: format!("run an engine right through {} and look at the breakers", section.name),
                at: place.clone(),
                under: false,
                minutes: 1.5,
            });
            shows.add(train, 1);
        }
        building.fault(Fault {
            what: format!("the gap of {}, {}, is not cut or has closed", gap.track, gap.end),
            mend: "cut both rails there and fill the gaps".into(),
            mode: Mode::GapMissing,
            at: place,
            shows: shows.0,
        });
    }
}

fn one_frog(building: &mut Building<'_>, frog: &Frog) {
    if frog.feed.value == Feed::Dead {
        return;
    }
    let plan = building.plan;
    let joint = plan.network.joint(frog.joint);
    let (name, place) = (format!("{} {}", joint.id, frog.name), joint.at.clone());
    let wire = plan.wires.iter().find(|wire| wire.kind == WireKind::Frog && wire.ends[1].what == name);
    let id = wire.map_or_else(|| format!("the wire to {name}"), |wire| format!("wire {}", wire.id.value));
    let check = building.check(Check {
        key: format!("frog {name}"),
        words: &FROG,
        symptom: true,
        how: format!("run a short engine over {name}, both ways through it"),
        at: place.clone(),
        under: false,
        minutes: 1.0,
    });
    let leads = building.check(Check {
        key: id.clone(),
        words: &LEADS,
        symptom: false,
        how: format!("switch off; measure through {id} to {name}"),
        at: place.clone(),
        under: true,
        minutes: 2.0,
    });
    let point = building.rails_at(place.as_deref(), None);
    building.feeds(point, check, 0, 1);
    building.fault(Fault {
        what: format!("{id} to {name} is interrupted"),
        mend: "make its ends anew".into(),
        mode: Mode::FrogOpen,
        at: place.clone(),
        shows: Shows::default().with(check, 1).with(leads, 1).0,
    });
    if let Feed::Contact(Some(machine)) = frog.feed.value {
        contact(building, &name, machine, point);
    }
}

/// What feeds a frog by the position of its points.
fn contact(building: &mut Building<'_>, name: &str, machine: MachineId, point: Point) {
    let (plan, place) = (building.plan, building.place_of(machine));
    let contact = building.check(Check {
        key: format!("contact of {name}"),
        words: &CONTACT,
        symptom: false,
        how: format!(
            "switch off; measure from {name} to each rail with machine {} normal, then reverse",
            plan.network.machine(machine).name
        ),
        at: place.clone(),
        under: false,
        minutes: 2.0,
    });
    let [normal, reverse] = trips(building, plan.network.machine(machine).lever);
    if let Point::On(bus, _) = point {
        building.breakers.entry(Some(bus)).or_default().extend([normal, reverse].into_iter().flatten());
    }
    let stuck: Shows = reverse.map(|check| (check, 1)).into_iter().collect();
    let swapped: Shows = [normal, reverse].into_iter().flatten().map(|check| (check, 1)).collect();
    for (says, mend, mode, shows) in [
        (
            "stays as it is in normal",
            "set it so that it changes with the points",
            Mode::ContactStuck,
            stuck.with(contact, 1),
        ),
        (
            "has its two rails swapped",
            "swap the two feeds of the contact",
            Mode::ContactSwapped,
            swapped.with(contact, 2),
        ),
    ] {
        building.fault(Fault {
            what: format!("the contact that feeds {name} {says}"),
            mend: mend.into(),
            mode,
            at: place.clone(),
            shows: shows.0,
        });
    }
}
