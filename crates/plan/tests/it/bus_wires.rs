//! The conductors of buses in the wire list: as thick and as long as the bus was reckoned with.

use plan::model::{Plan, Strand, Wire, WireKind};

/// Two bays on two modules, a decoder at the second, and buses.
fn layout(rest: &str) -> String {
    format!(
        r#"
[layout]
name = "Tern Harbor"
[turnout.1]
points = "lead"
through = "a"
diverging = "a spur"
hand = "left"
at = "bay 2"
[end.lead]
track = "lead"
[end.a]
track = "a"
[end."a spur"]
track = "a spur"
[panel.fascia]
kind = "strip"
[bench]
runs = [{{ from = "bay 1", to = "bay 2", length = "10 m" }}]
slack = "10 %"
drop = "0.4 m"
[place."bay 1"]
module = "west"
[place."bay 2"]
module = "east"
decoders = 1
{rest}
"#
    )
}

const TRACK: &str = r#"
[bus.track]
kind = "track"
source = { at = "bay 1", part = "booster", volts = "15 V", trip = "5 A" }
conductor = "2.5 mm2"
path = ["bay 1", "bay 2"]
load = "3 A"
"#;

const MOTORS: &str = r#"
[bus.motors]
kind = "accessory"
source = { at = "bay 1", part = "accessory supply", volts = "12 V", trip = "2 A" }
path = ["bay 1", "bay 2"]
feeder = "0.5 mm2"
feeder_length = "30 cm"
"#;

fn buses(plan: &Plan) -> Vec<&Wire> {
    plan.wires.iter().filter(|wire| wire.kind == WireKind::Bus).collect()
}

fn named<'p>(plan: &'p Plan, key: &str) -> &'p Wire {
    let keys: Vec<&str> = plan.wires.iter().map(|wire| wire.key.as_str()).collect();
    plan.wires.iter().find(|wire| wire.key == key).unwrap_or_else(|| panic!("no {key} in {keys:?}"))
}

fn because(wire: &Wire) -> String {
    wire.why.because().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

#[test]
fn every_run_of_a_bus_is_laid_as_it_was_reckoned() {
    let plan = testkit::plan_of(&layout(&format!("{TRACK}{MOTORS}")));
    let keys: Vec<&str> = buses(&plan).iter().map(|wire| wire.key.as_str()).collect();
    let wanted =
        ["bus track bay 1 to bay 2", "bus track lead 1", "bus motors bay 1 to bay 2", "bus motors lead 1"];
    assert_eq!(keys, wanted);
    for planned in &plan.buses {
        let name = &plan.network.buses[planned.bus].name;
        let wire = named(&plan, &format!("bus {name} bay 1 to bay 2"));
        let Strand::Size(size, _) = wire.conductor.value else { panic!("a bus is not bought ready-made") };
        assert_eq!(size, planned.runs[0].conductor.value);
        // 10 m and a tenth of slack; the drops at its ends belong to what hangs on it.
        let length = wire.length.value.unwrap().value();
        assert!((length - 11.0).abs() < 1e-9 && (planned.runs[0].length.value() - 11.0).abs() < 1e-9);
        assert_eq!(wire.way, ["bay 1", "bay 2"]);
        assert_eq!(wire.cores.len(), 2);
        let label = &wire.cores[0].labels[0];
        assert!(label.ends_with(&format!("to bus {name}, bay 2")), "{label}");
    }
    let lead = named(&plan, "bus track lead 1");
    assert_eq!(lead.ends.each_ref().map(|end| end.what.as_str()), ["booster of bus track", "bus track"]);
    assert_eq!(lead.conductor.value.to_string(), "2.5 mm²");
}

#[test]
fn a_bus_has_plugs_of_its_own_between_modules_and_no_pins() {
    let plan = testkit::plan_of(&layout(&format!("{TRACK}{MOTORS}")));
    for wire in buses(&plan) {
        assert!(wire.cores.iter().all(|core| core.pin.is_none() && core.terminal.is_none()), "{}", wire.key);
    }
    let text = because(named(&plan, "bus track bay 1 to bay 2"));
    assert!(text.contains("it passes bay 1 – bay 2 on a two-pole plug of its own"), "{text}");
    let plugs = plan.parts_list.iter().find(|part| part.what.starts_with("bus connector")).unwrap();
    assert_eq!(plugs.needed, 2);
}

#[test]
fn wire_to_buy_holds_both_conductors_of_a_bus() {
    let with = testkit::plan_of(&layout(TRACK));
    let metres: f64 = with
        .wire_list
        .iter()
        .filter(|listed| listed.strand.to_string() == "2.5 mm²")
        .map(|listed| listed.length.value())
        .sum();
    // The run twice, and the lead of two drops twice.
    assert!((metres - 2.0 * (11.0 + 0.8)).abs() < 1e-9, "{metres}");
}

#[test]
fn a_bus_that_is_there_is_named_and_not_bought() {
    let plan = testkit::plan_of(&layout(&format!("{TRACK}existing = true\n")));
    assert!(buses(&plan).iter().all(|wire| wire.existing));
    let text = because(named(&plan, "bus track bay 1 to bay 2"));
    assert!(text.contains("is there already"), "{text}");
    assert!(plan.wire_list.iter().all(|listed| listed.strand.to_string() != "2.5 mm²"));
    assert!(plan.parts_list.iter().all(|part| !part.what.starts_with("bus connector")));
}

#[test]
fn a_decoder_takes_the_signal_from_the_track_bus_and_its_supply_from_a_plain_accessory_bus() {
    let plan = testkit::plan_of(&layout(&format!("{TRACK}{MOTORS}")));
    let supply = named(&plan, "decoder D1 supply");
    assert_eq!(supply.ends[0].what, "bus motors");
    assert_eq!(supply.conductor.value.to_string(), "0.5 mm²");
    assert!((supply.length.value.unwrap().value() - 0.3).abs() < 1e-9);
    assert_eq!(named(&plan, "decoder D1 feed").ends[0].what, "track bus");
    // A booster's bus carries both.
    let boosted = MOTORS.replace("accessory supply", "booster");
    let plan = testkit::plan_of(&layout(&format!("{TRACK}{boosted}")));
    assert_eq!(named(&plan, "decoder D1 feed").ends[0].what, "bus motors");
    assert!(plan.wires.iter().all(|wire| wire.key != "decoder D1 supply"));
}

#[test]
fn the_record_keeps_the_ids_of_runs() {
    let text = layout(TRACK);
    let first = testkit::plan_of(&text);
    let id = named(&first, "bus track bay 1 to bay 2").id.value.clone();
    let mut record = plan::record_of(&first, &description::record::Record::default());
    let row = record.wires.get_mut("bus track bay 1 to bay 2").unwrap();
    assert_eq!(row.value.id, id);
    row.value.id = "W77".to_owned();
    let record = description::record::read(&description::record::write(&record)).value;
    let again = description::read(&layout(&format!("{TRACK}{MOTORS}"))).then(network::resolve);
    let again = again.then(|network| plan::make_kept(network, &record)).value;
    assert_eq!(named(&again, "bus track bay 1 to bay 2").id.value, "W77");
    let mut ids: Vec<&str> = again.wires.iter().map(|wire| wire.id.value.as_str()).collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count);
}
