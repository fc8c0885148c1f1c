//! Wires: their lengths against worked examples, their colours against the table, their pins against the law of pins.

use plan::model::{ANY_COLOUR, CoreAt, Plan, Wire};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use testkit::plan_of;

/// Four turnouts in a row: the first at bay 1, the others at bay 3, so that the decoder goes to bay 3.
fn row(bench: &str, more: &str) -> Plan {
    let mut text = format!("[layout]\nname = \"Tern Harbor Terminal\"\n{bench}\n");
    for (index, bay) in [1, 3, 3, 3].iter().enumerate() {
        write!(
            text,
            "[turnout.{index}]\npoints = \"main {index}\"\nthrough = \"main {}\"\ndiverging = \"spur {index}\"\n\
             hand = \"left\"\nat = \"bay {bay}\"\n[end.\"spur {index}\"]\ntrack = \"spur {index}\"\n",
            index + 1
        )
        .unwrap();
    }
    text += "[end.west]\ntrack = \"main 0\"\n[end.east]\ntrack = \"main 4\"\n";
    plan_of(&format!("{text}{more}\n"))
}

const BENCH: &str = "[bench]\nruns = [\n  { from = \"bay 1\", to = \"bay 2\", length = \"2 m\" },\n  \
                     { from = \"bay 2\", to = \"bay 3\", length = \"150 cm\" },\n]\nslack = \"10 %\"\n";

fn wire<'a>(plan: &'a Plan, key: &str) -> &'a Wire {
    let found = plan.wires.iter().find(|wire| wire.key == key);
    found.unwrap_or_else(|| {
        panic!("no `{key}` among {:?}", plan.wires.iter().map(|wire| &wire.key).collect::<Vec<_>>())
    })
}

fn millimetres(wire: &Wire) -> Option<f64> {
    wire.length.value.map(|length| (length.value() * 1000.0).round())
}

/// By hand. From the decoder at bay 3 to machine 0 at bay 1: 2 m + 1.5 m along the bench is 3.5 m, with 10 % slack 3.85 m, and
/// 30 cm at each end make 4.45 m. To machine 1 at bay 3 only the two ends count: 60 cm.
#[test]
fn a_wire_is_as_long_as_its_way_with_slack_and_drops() {
    let plan = row(&format!("{BENCH}drop = \"30 cm\"\n"), "");
    assert_eq!(plan.decoders[0].at.as_ref().map(|at| at.value.as_str()), Some("bay 3"));
    let far = wire(&plan, "machine 0 motor");
    assert_eq!(millimetres(far), Some(4450.0));
    assert_eq!(far.way, ["bay 3", "bay 2", "bay 1"]);
    assert_eq!(millimetres(wire(&plan, "machine 1 motor")), Some(600.0));
    let spoken: Vec<&str> = far.length.because().map(|because| because.rule.name).collect();
    assert_eq!(spoken, ["length-along-bench", "drop-at-ends"]);
    // Without a drop: 3.85 m and nothing.
    let plain = row(BENCH, "");
    assert_eq!(millimetres(wire(&plain, "machine 0 motor")), Some(3850.0));
    assert_eq!(millimetres(wire(&plain, "machine 1 motor")), Some(0.0));
}

#[test]
fn without_a_bench_no_length_is_made_up() {
    let plan = row("", "");
    assert!(plan.wires.iter().all(|wire| wire.length.value.is_none()));
    assert!(plan.no_ways.is_empty());
}

#[test]
fn a_bench_in_two_parts_is_told_with_its_places() {
    let bench = "[bench]\nruns = [{ from = \"bay 1\", to = \"bay 2\", length = \"2 m\" }, \
                 { from = \"bay 3\", to = \"bay 4\", length = \"1 m\" }]\n";
    let plan = row(bench, "");
    assert_eq!(wire(&plan, "machine 0 motor").length.value, None);
    let [missing] = plan.no_ways.as_slice() else { panic!("{:?}", plan.no_ways) };
    assert_eq!(missing.places, ["bay 3", "bay 1"]);
}

/// The conductors of a wire, by what they do.
fn jobs(wire: &Wire) -> Vec<&'static str> {
    wire.cores.iter().map(|core| core.job.words()).collect()
}

/// # Source
/// Two conductors to a stall motor, three to a coil machine, three to a servo: common practice, no source.
#[test]
fn a_machine_takes_the_conductors_of_its_drive() {
    let with = |motor: &str| row("", &format!("[defaults]\nmotor = \"{motor}\"\n"));
    assert_eq!(jobs(wire(&with("stall motor"), "machine 2 motor")), ["motor one", "motor two"]);
    assert_eq!(
        jobs(wire(&with("coil machine"), "machine 2 motor")),
        ["coil normal", "coil reverse", "coil common"]
    );
    assert_eq!(jobs(wire(&with("servo"), "machine 2 motor")), ["servo signal", "servo plus", "servo minus"]);
}

#[test]
fn a_frog_is_fed_over_the_contact_that_both_rails_lead_to() {
    let plan = row("", "");
    let frog = wire(&plan, "machine 2 frog");
    assert_eq!(frog.ends.each_ref().map(|end| end.what.as_str()), ["contact of machine 2", "2 frog"]);
    assert_eq!(jobs(frog), ["frog"]);
    assert_eq!(jobs(wire(&plan, "machine 2 frog supply")), ["rail a", "rail b"]);
    let dead = row(
        "",
        "[turnout.dead]\npoints = \"x\"\nthrough = \"y\"\ndiverging = \"z\"\nhand = \"left\"\nfrog_feed = \"dead\"\n\
         [end.x]\ntrack = \"x\"\n[end.y]\ntrack = \"y\"\n[end.z]\ntrack = \"z\"\n",
    );
    assert!(dead.wires.iter().all(|wire| !wire.key.starts_with("machine dead frog")));
}

/// By hand. 2.1 m with droppers at most 90 cm apart is 2.33 stretches, so three droppers, one at each of the three places; 1.8 m is
/// two stretches exactly; 40 cm is one. Where no spacing is written it is 6 ft: 2 m is more than that, so two.
#[test]
fn a_track_has_droppers_no_farther_apart_than_its_feeders() {
    let more = "[track.\"main 1\"]\nlength = \"2.1 m\"\nfeeders = \"90 cm\"\nat = [\"bay 1\", \"bay 2\", \"bay 3\"]\n\
                [track.\"main 2\"]\nlength = \"1.8 m\"\nfeeders = \"90 cm\"\nexisting = true\n\
                [track.\"main 3\"]\nlength = \"40 cm\"\nfeeders = \"90 cm\"\n[track.\"spur 0\"]\nlength = \"2 m\"\n";
    let plan = row(BENCH, more);
    let droppers = |track: &str| -> Vec<&Wire> {
        let start = format!("track {track} dropper ");
        plan.wires.iter().filter(|wire| wire.key.starts_with(&start)).collect()
    };
    let places: Vec<_> = droppers("main 1").iter().map(|wire| wire.ends[1].at.clone().unwrap()).collect();
    assert_eq!(places, ["bay 1", "bay 2", "bay 3"]);
    let counts = ["main 1", "main 2", "main 3", "spur 0", "main 4"].map(|track| droppers(track).len());
    assert_eq!(counts, [3, 2, 1, 2, 1]);
    assert!(droppers("main 2").iter().all(|wire| wire.existing));
    assert!(!droppers("main 3").iter().any(|wire| wire.existing));
    // What is there already is not bought: two droppers of two conductors less.
    let feeders = plan
        .wires
        .iter()
        .filter(|wire| !wire.existing && ["0.5 mm²"].contains(&wire.conductor.value.to_string().as_str()));
    let cores: usize = feeders.map(|wire| wire.cores.len()).sum();
    let listed: u32 =
        plan.wire_list.iter().filter(|row| row.strand.to_string() == "0.5 mm²").map(|row| row.cores).sum();
    assert_eq!(usize::try_from(listed).unwrap(), cores);
}

const WIRING: &str = include_str!("../../../../reference/dcc/wiring.json");

/// # Source
/// NEM 605, edition 2014, tables 1 to 3, as `reference/dcc/wiring.json` has them.
#[test]
fn the_preset_has_the_colours_of_the_table() {
    let table: serde_json::Value = serde_json::from_str(WIRING).unwrap();
    let table = &table["nem605_2014"];
    let of_use = |words: &str| -> String {
        let rows = table["table_1"].as_array().unwrap();
        let row = rows.iter().find(|row| row["use"] == words).unwrap_or_else(|| panic!("no use `{words}`"));
        row["colour"].as_str().unwrap().split(" (").next().unwrap().to_owned()
    };
    let turnouts = table["table_2_control"]["turnouts"].as_str().unwrap();
    assert_eq!(turnouts, format!("{} alone", of_use("control of turnouts, signals, other accessories")));
    let expected = BTreeMap::from([
        ("motor one", of_use("control of turnouts, signals, other accessories")),
        ("motor two", of_use("control of turnouts, signals, other accessories")),
        ("button", of_use("control of turnouts, signals, other accessories")),
        ("rail a", of_use("digital, positive pulses")),
        ("rail b", of_use("digital, negative pulses")),
        ("frog", of_use("other")),
        ("common", of_use("DC common return, ground")),
        ("lamp", table["table_3_feedback"]["turnout position"].as_str().unwrap().to_owned()),
    ]);
    let panel = "[panel.west]\nkind = \"fascia\"\nat = \"bay 1\"\n";
    let colours = |preset: &str| -> BTreeMap<&'static str, String> {
        let plan = row("", &format!("{panel}[colours]\n{preset}\n"));
        let cores = plan.wires.iter().flat_map(|wire| &wire.cores);
        cores.map(|core| (core.job.words(), core.colour.value.clone())).collect()
    };
    assert_eq!(colours("preset = \"NEM 605\""), expected);
    let any = |found: BTreeMap<_, String>| found.values().all(|colour| colour == ANY_COLOUR);
    assert!(any(colours("preset = \"none\"")) && any(colours("")));
    let own = colours("preset = \"NEM 605\"\nfrog = \"white\"");
    assert_eq!((own["frog"].as_str(), own["rail b"].as_str()), ("white", "brown"));
}

/// # Source
/// NEM 933/1 CH (2015), section 5: 0.5 mm² to the rails, as `reference/dcc/wiring.json` has it.
#[test]
fn conductors_have_the_size_of_their_use_unless_the_user_says() {
    let table: serde_json::Value = serde_json::from_str(WIRING).unwrap();
    let rails = table["nem933_1_CH_2015_section_5"]["rail_connection_mm2"].as_f64().unwrap();
    let size = |plan: &Plan, key: &str| wire(plan, key).conductor.value.to_string();
    let plan = row("", "");
    assert_eq!(size(&plan, "track main 0 dropper 1"), format!("{rails} mm²"));
    let own = row("", "[conductors]\nfeeder = \"18 AWG\"\nmotor = \"0.34 mm2\"\n");
    assert_eq!(size(&own, "track main 0 dropper 1"), "18 AWG");
    assert_eq!(size(&own, "machine 0 motor"), "0.34 mm²");
}

#[test]
fn wires_from_elsewhere_end_at_a_terminal_and_say_so() {
    let plan = row(BENCH, "");
    let far = wire(&plan, "machine 0 motor");
    let [strip] = plan.terminal_strips.as_slice() else { panic!("{:?}", plan.terminal_strips) };
    assert_eq!((strip.at.as_str(), strip.positions.len()), ("bay 1", 2));
    let labels: Vec<&str> = far.cores.iter().flat_map(|core| &core.labels).map(String::as_str).collect();
    let id = &far.id.value;
    assert_eq!(
        labels,
        [
            format!("{id}a to bay 1 · 1"),
            format!("{id}a from D1 output 1"),
            format!("{id}b to bay 1 · 2"),
            format!("{id}b from D1 output 1")
        ]
    );
    let near = wire(&plan, "machine 1 motor");
    assert!(near.cores.iter().all(|core| core.terminal.is_none()));
}

#[test]
fn what_is_on_the_shelf_is_used_first_and_small_parts_have_spares() {
    let more = "[panel.west]\nkind = \"fascia\"\nbuttons = \"toggle\"\n[part.\"stall motor\"]\ncount = 3\n[part.toggle]\ncount = 1\n\
                [defaults]\nspares = \"20 %\"\n";
    let plan = row(BENCH, more);
    let part = |what: &str| {
        let row = plan.parts_list.iter().find(|row| row.what == what).unwrap();
        (row.needed, row.spares, row.shelf, row.buy.value)
    };
    // By hand: of four motors three are there; 20 % of four toggles is one spare, and one of the five is there.
    assert_eq!(part("stall motor"), (4, 0, 3, 1));
    assert_eq!(part("toggle"), (4, 1, 1, 4));
    // Two lamps to each of four turnouts, each with a resistor; 20 % of eight is 1.6, so two.
    assert_eq!(part("resistor"), (8, 2, 0, 10));
    for row in &plan.parts_list {
        assert_eq!(row.needed + row.spares, row.shelf + row.buy.value, "{}", row.what);
    }
}

/// By hand: one motor wire of two conductors and 3.85 m, and 0 m for the others; 7.7 m and 10 % is 8.47 m, so nine metres.
#[test]
fn wire_is_summed_by_size_and_colour() {
    let plan = row(BENCH, "[conductors]\nmotor = \"0.75 mm2\"\n");
    let [row] =
        plan.wire_list.iter().filter(|row| row.strand.to_string() == "0.75 mm²").collect::<Vec<_>>()[..]
    else {
        panic!("{:?}", plan.wire_list)
    };
    assert_eq!((row.cores, row.unmeasured, row.buy.value), (8, 0, 9));
    assert!((row.length.value() - 7.7).abs() < 1e-9);
}

/// Bays on a tree of benches, each in one of a few modules, and turnouts in a row that stand anywhere on it.
fn modular(bays: &[(usize, usize)], stands: &[usize]) -> String {
    let mut text = "[layout]\nname = \"Tern Harbor Terminal\"\n[bench]\nruns = [\n".to_owned();
    for (bay, (onto, _)) in bays.iter().enumerate().skip(1) {
        let onto = onto % bay;
        writeln!(text, "  {{ from = \"bay {onto}\", to = \"bay {bay}\", length = \"1 m\" }},").unwrap();
    }
    text += "]\n";
    for (bay, (_, module)) in bays.iter().enumerate() {
        writeln!(text, "[place.\"bay {bay}\"]\nmodule = \"{module}\"").unwrap();
    }
    for (index, bay) in stands.iter().enumerate() {
        let bay = bay % bays.len();
        writeln!(
            text,
            "[turnout.{index}]\npoints = \"m{index}\"\nthrough = \"m{}\"\ndiverging = \"s{index}\"\nhand = \"left\"\n\
             at = \"bay {bay}\"\n[end.s{index}]\ntrack = \"s{index}\"",
            index + 1
        )
        .unwrap();
    }
    writeln!(text, "[end.west]\ntrack = \"m0\"\n[end.east]\ntrack = \"m{}\"", stands.len()).unwrap();
    text + "[panel.west]\nkind = \"fascia\"\nat = \"bay 0\"\n"
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// At every joint a pin carries one conductor; a conductor has the same pin at each joint it passes, and exactly those
    /// joints list it that its way crosses; no pin means two things anywhere.
    #[test]
    fn prop_the_same_pin_means_the_same_at_every_joint(
        bays in prop::collection::vec((0usize..6, 0usize..3), 2..7),
        stands in prop::collection::vec(0usize..7, 1..9),
    ) {
        let text = modular(&bays, &stands);
        let plan = plan_of(&text);
        let mut meaning: BTreeMap<u16, CoreAt> = BTreeMap::new();
        let mut listed: BTreeSet<(CoreAt, Vec<String>)> = BTreeSet::new();
        for joint in &plan.module_joints {
            let mut pins = BTreeSet::new();
            for &(pin, core) in &joint.pins {
                prop_assert!(pins.insert(pin), "pin {} twice at {}\n{}", pin, joint.words(), text);
                prop_assert_eq!(*meaning.entry(pin).or_insert(core), core);
                prop_assert_eq!(plan.wires[core.wire].cores[core.core].pin, Some(pin));
                let mut places = joint.places.to_vec();
                places.sort();
                listed.insert((core, places));
            }
        }
        let module = |place: &str| bays[place.strip_prefix("bay ").unwrap().parse::<usize>().unwrap()].1;
        let mut crossed = BTreeSet::new();
        for (index, wire) in plan.wires.iter().enumerate() {
            for step in wire.way.windows(2).filter(|step| module(&step[0]) != module(&step[1])) {
                let mut places = step.to_vec();
                places.sort();
                for core in (0..wire.cores.len()).filter(|_| !wire.kind.has_own_plugs()) {
                    crossed.insert((CoreAt { wire: index, core }, places.clone()));
                }
            }
        }
        prop_assert_eq!(listed, crossed);
        // Keys and ids are what records and labels go by.
        let keys: BTreeSet<&str> = plan.wires.iter().map(|wire| wire.key.as_str()).collect();
        let ids: BTreeSet<&str> = plan.wires.iter().map(|wire| wire.id.value.as_str()).collect();
        prop_assert_eq!((keys.len(), ids.len()), (plan.wires.len(), plan.wires.len()));
    }
}

/// A wire's id, and the terminal and pin of each of its conductors, by its key.
type Given = BTreeMap<String, (String, Option<String>, Vec<Option<u16>>, Vec<Option<u16>>)>;

fn given(plan: &Plan) -> Given {
    let of = |wire: &Wire| {
        let terminals = wire.cores.iter().map(|core| core.terminal.map(|at| at.position)).collect();
        let pins = wire.cores.iter().map(|core| core.pin).collect();
        (wire.key.clone(), (wire.id.value.clone(), wire.ends[1].at.clone(), terminals, pins))
    };
    plan.wires.iter().map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Turnouts added beside a record change no id of a wire, no terminal of one that serves the same place, and no pin of one
    /// that still passes a joint; and nothing new gets what was given.
    #[test]
    fn prop_what_is_wired_stays_as_the_railroad_grows(
        bays in prop::collection::vec((0usize..6, 0usize..3), 2..6),
        stands in prop::collection::vec(0usize..6, 1..6),
        more in prop::collection::vec(0usize..6, 1..3),
    ) {
        let before = plan_of(&modular(&bays, &stands));
        let record = plan::record_of(&before, &description::record::Record::default());
        // What is written is what is read.
        let record = description::record::read(&description::record::write(&record)).value;
        let grown = [stands.clone(), more].concat();
        let text = modular(&bays, &grown);
        let after = testkit::planned_beside(&text, &record);
        prop_assert!(!after.has_errors(), "{}", testkit::list(&text, &after.diagnostics));
        let (was, now) = (given(&before), given(&after.value));
        let mut kept = 0;
        for (key, (id, at, terminals, pins)) in &was {
            let Some((id_now, at_now, terminals_now, pins_now)) = now.get(key) else { continue };
            prop_assert_eq!(id, id_now, "{}", key);
            for ((was, now), (pin, pin_now)) in terminals.iter().zip(terminals_now).zip(pins.iter().zip(pins_now)) {
                prop_assert!(was.is_none() || now.is_none() || at != at_now || was == now, "terminal of {}", key);
                prop_assert!(pin.is_none() || pin_now.is_none() || pin == pin_now, "pin of {}", key);
            }
            kept += 1;
        }
        prop_assert!(kept > stands.len());
        let ids: BTreeSet<&str> = now.values().map(|(id, ..)| id.as_str()).collect();
        prop_assert_eq!(ids.len(), now.len());
        let fresh = now.iter().filter(|(key, _)| !was.contains_key(*key));
        let given: BTreeSet<&str> = was.values().map(|(id, ..)| id.as_str()).collect();
        for (key, (id, ..)) in fresh {
            prop_assert!(!given.contains(id.as_str()), "{} has the id of another", key);
        }
    }
}
