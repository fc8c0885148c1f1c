//! Supplies and buses: dead, weak, interrupted, badly joined, shorted.

use super::{Answer, Building, Check, Fault, HOLDS, Point, Shows, VOLTS};
use crate::mode::Mode;
use plan::model::power::{PlannedBus, Reading};
use std::collections::BTreeSet;

pub(super) fn add(building: &mut Building<'_>) {
    for bus in 0..building.plan.network.buses.len() {
        one_bus(building, bus);
    }
    undescribed(building, Point::Rails, "the supply of the rails");
    undescribed(building, Point::Motors, "the supply of decoders and motors");
}

/// What hangs on no described bus hangs on something all the same.
fn undescribed(building: &mut Building<'_>, point: Point, what: &str) {
    let Some(fed) = building.fed.get(&point).cloned() else { return };
    let check = building.check(Check {
        key: format!("volts of {what}"),
        words: &VOLTS,
        symptom: false,
        how: format!("measure at the terminals of {what}, nothing connected"),
        at: None,
        under: false,
        minutes: 1.5,
    });
    let all = |dead: bool, own: Answer| {
        let fed = fed.iter().map(|fed| (fed.check, if dead { fed.dead } else { fed.low }));
        let shown: Shows = fed.filter(|(_, answer)| *answer > 0).collect();
        shown.with(check, own).0
    };
    let faults =
        [(Mode::SupplyDead, "gives nothing", true, 2), (Mode::SupplyWeak, "gives too little", false, 1)];
    let faults = faults.map(|(mode, says, dead, own)| Fault {
        what: format!("{what} {says}"),
        mend: "look for its switch, its fuse and its plug; else change it".into(),
        mode,
        at: None,
        shows: all(dead, own),
    });
    for fault in faults {
        building.fault(fault);
    }
}

/// The checks of one bus.
struct Checks {
    supplies: Vec<usize>,
    volts: Vec<usize>,
    breaker: usize,
    cuts: Vec<usize>,
}

fn one_bus(building: &mut Building<'_>, index: usize) {
    let bus = &building.plan.network.buses[index];
    let checks = checks(building, index);
    let name = &bus.name;
    let every: BTreeSet<usize> = (0..bus.places.len()).collect();
    for (at, &(_, point)) in bus.sources.iter().enumerate() {
        let place = &bus.places[point];
        // The others go on feeding; what they cannot carry alone is low.
        let level = if bus.sources.len() == 1 { Level::Dead } else { Level::Low };
        for (mode, says, level, own) in [
            (Mode::SupplyDead, "gives nothing", level, 2),
            (Mode::SupplyWeak, "gives too little", Level::Low, 1),
        ] {
            let shows = lost(building, index, &checks, &every, level).with(checks.supplies[at], own).0;
            building.fault(Fault {
                what: format!("the supply of bus {name} at {place} {says}"),
                mend: "look for its switch, its fuse and its setting; else change it".into(),
                mode,
                at: Some(place.clone()),
                shows,
            });
        }
    }
    let left: Vec<BTreeSet<usize>> = (0..bus.runs.len()).map(|cut| reached(bus, Some(cut))).collect();
    for (at, run) in bus.runs.iter().enumerate() {
        let (from, to) = (&bus.places[run.from], &bus.places[run.to]);
        let behind: BTreeSet<usize> = every.difference(&left[at]).copied().collect();
        let what = |says: &str| format!("the run of bus {name} from {from} to {to} {says}");
        let place = Some(to.clone());
        if !behind.is_empty() {
            for (mode, says, level) in [
                (Mode::RunOpen, "is interrupted", Level::Dead),
                (Mode::RunJoint, "has a bad joint", Level::Low),
            ] {
                let shows = lost(building, index, &checks, &behind, level).0;
                let mend = "make its joints anew, at both ends".into();
                building.fault(Fault { what: what(says), mend, mode, at: place.clone(), shows });
            }
        }
        let mut shows = lost(building, index, &checks, &every, Level::Dead).with(checks.breaker, 1);
        for &check in building.breakers.get(&Some(index)).into_iter().flatten() {
            shows.add(check, 1);
        }
        for (cut, &check) in checks.cuts.iter().enumerate() {
            if cut != at && (left[cut].contains(&run.from) || left[cut].contains(&run.to)) {
                shows.add(check, 1);
            }
        }
        let mend = "find where its conductors touch, at joints first, and insulate them".into();
        building.fault(Fault {
            what: what("is shorted"),
            mend,
            mode: Mode::RunShort,
            at: place,
            shows: shows.0,
        });
    }
}

/// How much is missing.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Level {
    Low,
    Dead,
}

/// What is seen where these points of a bus have lost their voltage.
fn lost(
    building: &Building<'_>,
    bus: usize,
    checks: &Checks,
    points: &BTreeSet<usize>,
    level: Level,
) -> Shows {
    let mut shown: Vec<(usize, Answer)> = Vec::new();
    for &point in points {
        shown.push((checks.volts[point], if level == Level::Dead { 2 } else { 1 }));
        for fed in building.fed.get(&Point::On(bus, point)).into_iter().flatten() {
            let answer = if level == Level::Dead { fed.dead } else { fed.low };
            if answer > 0 {
                shown.push((fed.check, answer));
            }
        }
    }
    shown.into_iter().collect()
}

/// The points that a supply reaches, one run taken out.
fn reached(bus: &network::Bus, without: Option<usize>) -> BTreeSet<usize> {
    let mut reached: BTreeSet<usize> = bus.sources.iter().map(|&(_, point)| point).collect();
    loop {
        let before = reached.len();
        for (at, run) in bus.runs.iter().enumerate() {
            if Some(at) != without && (reached.contains(&run.from) || reached.contains(&run.to)) {
                reached.extend([run.from, run.to]);
            }
        }
        // Each round reaches a point more or is the last.
        if reached.len() == before {
            return reached;
        }
    }
}

fn checks(building: &mut Building<'_>, index: usize) -> Checks {
    let bus = &building.plan.network.buses[index];
    let planned = building.plan.buses.iter().find(|planned| planned.bus == index);
    let name = &bus.name;
    let mut supplies = Vec::new();
    for (rank, &(_, point)) in bus.sources.iter().enumerate() {
        let place = &bus.places[point];
        let key = if bus.sources.len() == 1 {
            format!("supply of {name}")
        } else {
            format!("supply of {name} at {place}")
        };
        let how =
            format!("{}at the supply of bus {name}, {place}", meter(reading_of(planned, Some(rank), point)));
        let check = Check {
            key,
            words: &VOLTS,
            symptom: false,
            how,
            at: Some(place.clone()),
            under: true,
            minutes: 2.0,
        };
        supplies.push(building.check(check));
    }
    let mut volts = Vec::new();
    for (point, place) in bus.places.iter().enumerate() {
        let how = format!("{}on bus {name}, {place}", meter(reading_of(planned, None, point)));
        let key = format!("volts of {name} at {place}");
        volts.push(building.check(Check {
            key,
            words: &VOLTS,
            symptom: false,
            how,
            at: Some(place.clone()),
            under: true,
            minutes: 1.5,
        }));
    }
    let source = bus.sources.first().map(|&(_, point)| bus.places[point].clone());
    let breaker = building.check(Check {
        key: format!("breaker of {name}"),
        words: &HOLDS,
        symptom: true,
        how: format!("switch bus {name} on, no train moving and no lever thrown, and look at its breaker"),
        at: source,
        under: false,
        minutes: 0.5,
    });
    let mut cuts = Vec::new();
    for run in &bus.runs {
        let (from, to) = (&bus.places[run.from], &bus.places[run.to]);
        cuts.push(building.check(Check {
            key: format!("breaker of {name} cut at {from} – {to}"),
            words: &HOLDS, symptom: false,
            how: format!(
                "switch off, take the run of bus {name} from {from} to {to} off at {from}, switch on and look at the breaker"
            ),
            at: Some(from.clone()),
            under: true,
            minutes: 3.0,
        }));
    }
    Checks { supplies, volts, breaker, cuts }
}

/// The reading of a supply, by its rank, or of a point of the built bus.
fn reading_of(planned: Option<&PlannedBus>, supply: Option<usize>, point: usize) -> Option<&Reading> {
    let planned = planned?;
    match supply {
        Some(rank) => planned.readings.iter().take(planned.supplies.len()).nth(rank),
        None => planned.readings.iter().skip(planned.supplies.len()).find(|reading| reading.point == point),
    }
}

fn meter(reading: Option<&Reading>) -> String {
    match reading {
        None => "measure ".into(),
        Some(reading) => format!(
            "measure {}, good from {:.2} to {:.2}; {}; ",
            reading.meter, reading.low, reading.high, reading.with
        ),
    }
}
