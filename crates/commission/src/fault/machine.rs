//! Machines with all that moves them: decoders, outputs, wires, motors.

use super::{Building, Check, Fault, HOLDS, LEADS, Shows, THERE, VOLTS};
use crate::mode::Mode;
use description::Drive;
use network::{LeverId, MachineId};
use plan::model::{PlannedAddress, WireKind};

/// Answers of points that are thrown.
const MOVES: [&str; 4] = ["moves", "moves slowly", "moves the wrong way", "does not move"];
const DEAD: u8 = 3;
const OTHERS: [&str; 2] = ["stay", "move too"];
const AT_MOTOR: [&str; 4] = ["good", "low", "swapped", "none"];
const BY_HAND: [&str; 3] = ["moves", "moves slowly", "does not move"];
const ADDRESS: [&str; 3] = ["right", "wrong", "no answer"];

pub(super) fn add(building: &mut Building<'_>) {
    for index in 0..building.plan.network.machines.len() {
        thrown(building, MachineId::at(index));
    }
    for index in 0..building.plan.network.levers.len() {
        beside(building, LeverId::at(index));
    }
    for index in 0..building.plan.decoders.len() {
        decoder(building, index);
    }
    for row in &building.plan.addresses {
        for &machine in &row.machines {
            if row.inside {
                inside(building, machine);
            } else {
                driven(building, row, machine);
            }
        }
    }
    for index in 0..building.plan.network.machines.len() {
        motor(building, MachineId::at(index));
    }
}

fn name(building: &Building<'_>, machine: MachineId) -> String {
    building.plan.network.machine(machine).name.clone()
}

/// The checks of one machine: at its panel, from a cab, from the screen.
fn ways(building: &Building<'_>, machine: MachineId) -> [usize; 3] {
    let name = name(building, machine);
    ["", " from a cab", " from the screen"]
        .map(|way| building.system.by_key.get(&format!("machine {name}{way}")).copied().unwrap_or_default())
}

/// Throws one machine, from wherever it can be thrown.
fn thrown(building: &mut Building<'_>, machine: MachineId) {
    let plan = building.plan;
    let lever = plan.network.machine(machine).lever;
    let (name, number, at) = (name(building, machine), building.number(lever), building.place_of(machine));
    let planned = plan.levers.iter().find(|planned| planned.lever == lever);
    let pair = planned
        .and_then(|planned| planned.control)
        .map(|control| format!(" (pair {} of panel {})", control.pair, plan.strips[control.strip].panel));
    let address = planned.map_or_else(String::new, |planned| planned.address.value.number().to_string());
    let ways = [
        ("", format!("throw lever {number}{} both ways", pair.unwrap_or_default()), 0.5),
        (" from a cab", format!("call accessory address {address} on a cab and throw it both ways"), 0.75),
        (" from the screen", format!("throw lever {number} both ways on the screen"), 0.75),
    ];
    let checks = ways.map(|(way, how, minutes)| {
        let check = building.check(Check {
            key: format!("machine {name}{way}"),
            words: &MOVES,
            symptom: way.is_empty(),
            how: format!("{how}, and watch machine {name}"),
            at: at.clone(),
            under: false,
            minutes,
        });
        building.alias(format!("lever {number}{way}"), check);
        check
    });
    building.moves.entry(lever).or_default().push(checks);
}

/// What else happens when a lever is thrown: other machines that move too, and breakers that trip.
fn beside(building: &mut Building<'_>, lever: LeverId) {
    let number = building.number(lever);
    let at =
        building.plan.network.lever(lever).machines.first().and_then(|&machine| building.place_of(machine));
    building.check(Check {
        key: format!("others with lever {number}"),
        words: &OTHERS,
        symptom: true,
        how: format!("throw lever {number} and listen whether machines of other levers move too"),
        at: at.clone(),
        under: false,
        minutes: 1.0,
    });
    for position in ["normal", "reverse"] {
        building.check(Check {
            key: format!("breaker with lever {number} {position}"),
            words: &HOLDS,
            symptom: true,
            how: format!("throw lever {number} {position}, run an engine over it and look at the breakers"),
            at: at.clone(),
            under: false,
            minutes: 1.0,
        });
    }
}

/// The breaker's checks of a lever, normal and reverse.
pub(super) fn trips(building: &Building<'_>, lever: LeverId) -> [Option<usize>; 2] {
    let number = building.number(lever);
    ["normal", "reverse"].map(|position| {
        building.system.by_key.get(&format!("breaker with lever {number} {position}")).copied()
    })
}

fn decoder(building: &mut Building<'_>, index: usize) {
    let plan = building.plan;
    let decoder = &plan.decoders[index];
    let id = &decoder.id;
    let at = decoder.at.as_ref().map(|at| at.value.clone());
    let feed = building.wire_id(WireKind::Decoder, &format!("decoder {id} feed"));
    let under = |key: String, words, how, minutes| Check {
        key,
        words,
        symptom: false,
        how,
        at: at.clone(),
        under: true,
        minutes,
    };
    let signal = building.check(under(
        format!("signal at {id}"),
        &THERE,
        format!("measure volts AC where {feed} ends at {id}"),
        1.5,
    ));
    let address = building.check(under(
        format!("address of {id}"),
        &ADDRESS,
        format!("read the address of {id} back: its first is {}", decoder.first.value.number()),
        3.0,
    ));
    let (rails, motors) = (building.rails_at(at.as_deref(), None), building.motors_at(at.as_deref()));
    building.feeds(rails, signal, 0, 1);
    building.feeds(rails, address, 0, 2);
    building.feeds(motors, address, 0, 2);
    let mut all = Shows::default();
    for row in plan.addresses.iter().filter(|row| row.decoder == Some(index)) {
        let output = output_check(building, index, row);
        building.feeds(rails, output, 0, 2);
        building.feeds(motors, output, 1, 2);
        all.add(output, 2);
        for &machine in &row.machines {
            let volts = motor_volts(building, machine);
            building.feeds(rails, volts, 0, DEAD);
            building.feeds(motors, volts, 1, DEAD);
            all.add(volts, DEAD);
            for check in ways(building, machine) {
                building.feeds(rails, check, 0, DEAD);
                building.feeds(motors, check, 1, DEAD);
                all.add(check, DEAD);
            }
        }
    }
    let fault = |what: String, mend: &str, mode, shows: Shows| Fault {
        what,
        mend: mend.into(),
        mode,
        at: at.clone(),
        shows: shows.0,
    };
    building.fault(fault(
        format!("decoder {id} is dead"),
        "change it, and program the new one as its sheet says",
        Mode::DecoderDead,
        all.clone().with(address, 2),
    ));
    building.fault(fault(
        format!("{feed} from the track bus to {id} is interrupted"),
        "make its ends anew",
        Mode::FeedOpen,
        all.clone().with(address, 2).with(signal, 1),
    ));
    misprogrammed(building, index, &all.with(address, 1));
}

/// A decoder that listens to other addresses than its own: to none that is sent, or to the board beside its own.
fn misprogrammed(building: &mut Building<'_>, index: usize, shown: &Shows) {
    let decoder = &building.plan.decoders[index];
    let (id, first) = (&decoder.id, decoder.first.value.number());
    let mut wrong = vec![(
        format!("decoder {id} is programmed to an address that no lever sends"),
        Mode::AddressUnused,
        shown.clone(),
    )];
    for (says, shift) in [("after", 4_i32), ("before", -4)] {
        if i32::from(first) + shift < 1 {
            continue;
        }
        let mut shows = shown.clone();
        for lever in answered(building, index, shift) {
            let key = format!("others with lever {}", building.number(lever));
            if let Some(&check) = building.system.by_key.get(&key) {
                shows.add(check, 1);
            }
        }
        let what = format!("decoder {id} is programmed to the board {says} its own, off by four");
        wrong.push((what, Mode::OffByFour, shows));
    }
    for (what, mode, shows) in wrong {
        let mend = format!("program it again as its sheet says: first address {first}");
        let at = decoder.at.as_ref().map(|at| at.value.clone());
        building.fault(Fault { what, mend, mode, at, shows: shows.0 });
    }
}

/// The levers that move machines of a decoder whose addresses are shifted.
fn answered(building: &Building<'_>, decoder: usize, shift: i32) -> Vec<LeverId> {
    let rows = &building.plan.addresses;
    let heard: Vec<i32> = rows
        .iter()
        .filter(|row| row.decoder == Some(decoder))
        .map(|row| i32::from(row.address.number()) + shift)
        .collect();
    rows.iter().filter(|row| heard.contains(&i32::from(row.address.number()))).map(|row| row.lever).collect()
}

/// Where a row's output is: `D1 output 5`.
fn output_name(building: &Building<'_>, decoder: usize, row: &PlannedAddress) -> String {
    let decoder = &building.plan.decoders[decoder];
    let output = u32::from(row.address.number()) + 1 - u32::from(decoder.first.value.number());
    format!("{} output {output}", decoder.id)
}

fn output_check(building: &mut Building<'_>, decoder: usize, row: &PlannedAddress) -> usize {
    let name = output_name(building, decoder, row);
    let lever = building.number(row.lever);
    let at = building.plan.decoders[decoder].at.as_ref().map(|at| at.value.clone());
    building.check(Check {
        key: format!("volts at {name}"),
        words: &VOLTS,
        symptom: false,
        how: format!(
            "take the motor wire off {name} and measure there while lever {lever} is thrown from a cab"
        ),
        at,
        under: true,
        minutes: 2.0,
    })
}

fn motor_volts(building: &mut Building<'_>, machine: MachineId) -> usize {
    let (name, lever) = (name(building, machine), building.plan.network.machine(machine).lever);
    let (number, at) = (building.number(lever), building.place_of(machine));
    building.check(Check {
        key: format!("volts at machine {name}"),
        words: &AT_MOTOR, symptom: false,
        how: format!("measure at the motor of machine {name} while lever {number} is thrown from a cab: which way, how much"),
        at,
        under: true,
        minutes: 1.5,
    })
}

/// An output, and the wires from it to a motor.
fn driven(building: &mut Building<'_>, row: &PlannedAddress, machine: MachineId) {
    let Some(decoder) = row.decoder else { return };
    let output = output_check(building, decoder, row);
    let volts = motor_volts(building, machine);
    let (name, at) = (name(building, machine), building.place_of(machine));
    let wire = building.wire_id(WireKind::Motor, &format!("machine {name} motor"));
    let continuity = building.check(Check {
        key: if wire == "the wire" { format!("motor wire of machine {name}") } else { wire.clone() },
        words: &LEADS,
        symptom: false,
        how: format!(
            "take {wire} off at both ends; measure through each conductor, and from one to the other"
        ),
        at: at.clone(),
        under: true,
        minutes: 3.0,
    });
    let moving =
        |answer: u8| ways(building, machine).into_iter().map(|check| (check, answer)).collect::<Shows>();
    let dead = moving(DEAD).with(volts, DEAD);
    let mut short = dead.clone().with(continuity, 2);
    let motor = building.plan.network.described.parts.get(&building.plan.network.machine(machine).motor);
    // An output for coils gives its whole charge into a short; one for stall motors has a resistor in it.
    if motor.and_then(|motor| motor.drive) == Some(Drive::Coil) {
        for check in trips(building, row.lever).into_iter().flatten() {
            short.add(check, 1);
        }
    }
    let swapped = moving(2).with(volts, 2);
    let wire_to = format!("{wire} to machine {name}");
    let mut faults = vec![
        (
            format!("{wire_to} is interrupted"),
            "make its ends anew, or draw it anew",
            Mode::MotorOpen,
            dead.clone().with(continuity, 1),
        ),
        (
            format!("{wire_to} is shorted"),
            "find where its conductors touch and insulate them",
            Mode::MotorShort,
            short,
        ),
        (
            format!("{wire_to} is connected the wrong way round"),
            "swap its two conductors at the motor",
            Mode::MotorSwapped,
            swapped,
        ),
    ];
    let output_name = output_name(building, decoder, row);
    if row.machines.first() == Some(&machine) {
        let mut shows = Shows::default().with(output, 2);
        for &machine in &row.machines {
            let volts = motor_volts(building, machine);
            shows.add(volts, DEAD);
            for check in ways(building, machine) {
                shows.add(check, DEAD);
            }
        }
        let mend = "move the machine to a free output, or change the decoder";
        faults.push((format!("{output_name} is dead"), mend, Mode::OutputDead, shows));
    }
    let decoder_at = building.plan.decoders[decoder].at.as_ref().map(|at| at.value.clone());
    for (what, mend, mode, shows) in faults {
        let at = if mode == Mode::OutputDead { decoder_at.clone() } else { at.clone() };
        building.fault(Fault { what, mend: mend.into(), mode, at, shows: shows.0 });
    }
}

/// A machine with its decoder inside.
fn inside(building: &mut Building<'_>, machine: MachineId) {
    let (name, at) = (name(building, machine), building.place_of(machine));
    let feed = building.wire_id(WireKind::Decoder, &format!("machine {name} feed"));
    let signal = building.check(Check {
        key: format!("signal at machine {name}"),
        words: &THERE,
        symptom: false,
        how: format!("measure volts AC where {feed} ends at machine {name}"),
        at: at.clone(),
        under: true,
        minutes: 1.5,
    });
    let address = building.check(Check {
        key: format!("address of machine {name}"),
        words: &ADDRESS,
        symptom: false,
        how: format!("read the address of machine {name} back"),
        at: at.clone(),
        under: true,
        minutes: 3.0,
    });
    let point = building.rails_at(at.as_deref(), None);
    building.feeds(point, signal, 0, 1);
    building.feeds(point, address, 0, 2);
    let ways = ways(building, machine);
    for check in ways {
        building.feeds(point, check, 0, DEAD);
    }
    let dead: Shows = ways.into_iter().map(|check| (check, DEAD)).collect();
    let wrong: Shows = ways.into_iter().map(|check| (check, 2)).collect();
    for (what, mend, mode, shows) in [
        (
            format!("the decoder inside machine {name} is dead"),
            "change the machine",
            Mode::DecoderDead,
            dead.clone().with(address, 2),
        ),
        (
            format!("{feed} from the track bus to machine {name} is interrupted"),
            "make its ends anew",
            Mode::FeedOpen,
            dead.clone().with(address, 2).with(signal, 1),
        ),
        (
            format!("machine {name} is programmed to an address that no lever sends"),
            "program it again as its sheet says",
            Mode::AddressUnused,
            dead.with(address, 1),
        ),
        (
            format!("machine {name} is set the wrong way round"),
            "turn it over in its settings",
            Mode::MotorSwapped,
            wrong,
        ),
    ] {
        building.fault(Fault { what, mend: mend.into(), mode, at: at.clone(), shows: shows.0 });
    }
}

/// The motor itself.
fn motor(building: &mut Building<'_>, machine: MachineId) {
    let (name, at) = (name(building, machine), building.place_of(machine));
    let by_hand = building.check(Check {
        key: format!("machine {name} fed by hand"),
        words: &BY_HAND, symptom: false,
        how: format!("take the wires off the motor of machine {name} and feed it from a supply of its own voltage, both ways"),
        at: at.clone(),
        under: true,
        minutes: 2.5,
    });
    for (what, mend, mode, moves, alone) in [
        ("does not move", "free its linkage and its blades; else change it", Mode::MotorStuck, DEAD, 2),
        ("is worn and moves slowly", "clean and ease its linkage; else change it", Mode::MotorWorn, 1, 1),
    ] {
        let shows: Shows = ways(building, machine).into_iter().map(|check| (check, moves)).collect();
        building.fault(Fault {
            what: format!("the motor of machine {name} {what}"),
            mend: mend.into(),
            mode,
            at: at.clone(),
            shows: shows.with(by_hand, alone).0,
        });
    }
}
