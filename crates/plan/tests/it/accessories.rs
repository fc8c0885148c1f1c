//! Signals and lights, by hand: which number, which address, which pair, and what stays beside a record.

use crate::beside;
use description::record::{Record, Retired, read, write};
use plan::change::{Action, work_order};
use plan::model::Plan;
use testkit::list;

/// Turnouts in a row along one line.
fn piers(count: usize, rest: &str) -> String {
    let mut text = String::from(
        "[layout]\nname = \"Tern Harbor\"\n[numbering]\nspare_per_line = 2\n[end.yard]\ntrack = \"pier 0\"\n",
    );
    for at in 1..=count {
        text.push_str(&format!(
            "[turnout.{at}]\npoints = \"pier {}\"\nthrough = \"pier {at}\"\ndiverging = \"spur {at}\"\nhand = \"left\"\n\
             [end.\"spur {at}\"]\ntrack = \"spur {at}\"\n",
            at - 1
        ));
    }
    text.push_str(&format!(
        "[end.pier]\ntrack = \"pier {count}\"\n[line.piers]\nfrom = \"yard\"\nto = \"pier\"\n{rest}"
    ));
    text
}

fn make(text: &str, record: &Record) -> Plan {
    let outcome = beside(text, record);
    assert!(!outcome.has_errors(), "{}", list(text, &outcome.diagnostics));
    outcome.value
}

/// The record of a plan, there and back as text.
fn keep(plan: &Plan, before: &Record) -> Record {
    let record = plan::record_of(plan, before);
    let outcome = read(&write(&record));
    assert!(outcome.diagnostics.is_empty(), "{:?}\n{}", outcome.diagnostics, write(&record));
    assert_eq!(outcome.value, record);
    record
}

/// Each signal and light: `key: number, address, pair`.
fn rows(plan: &Plan) -> Vec<String> {
    let row = |planned: &plan::model::PlannedAccessory| {
        let key = plan.network.accessory(planned.accessory).key();
        let address = planned.address.as_ref().map_or(0, |address| address.value.number());
        let pair = planned.control.map_or(String::new(), |control| {
            let strip = &plan.strips[control.strip];
            assert_eq!(strip.accessories[usize::from(control.pair - 1)], Some(planned.accessory));
            assert_eq!(strip.first.value.number() + control.pair - 1, address, "{key}");
            format!(", pair {}", control.pair)
        });
        format!("{key}: {}, {address}{pair}", planned.number.value)
    };
    plan.accessories.iter().map(row).collect()
}

fn levers(plan: &Plan) -> Vec<(u16, u16)> {
    plan.levers.iter().map(|lever| (lever.number.value, lever.address.value.number())).collect()
}

/// What it is about, the description, each signal and light, and number and address of each lever.
type Case<'a> = (&'a str, &'a str, &'a [&'a str], &'a [(u16, u16)]);

const BOTH: &str = "[signal.S1]\non = \"pier 1\"\nguards = \"2\"\n[light.depot]\ndraw = \"60 mA\"\n";
const OPEN: &str = "[panel.west]\nkind = \"strip\"\n";

#[test]
fn each_has_the_number_address_and_pair_that_are_its_own() {
    // Three levers on a line have 1 to 3, two numbers are kept spare, so others begin at 6.
    let cases: [Case<'_>; 9] = [
        (
            "behind the eight outputs of the one decoder",
            BOTH,
            &["signal S1: 6, 9", "light depot: 7, 10"],
            &[(1, 1), (2, 2), (3, 3)],
        ),
        (
            "on spare pairs of a strip that names nothing",
            &format!("{BOTH}{OPEN}"),
            &["signal S1: 6, 4, pair 4", "light depot: 7, 5, pair 5"],
            &[(1, 1), (2, 2), (3, 3)],
        ),
        (
            "in the order of controls",
            "[light.depot]\n[panel.west]\nkind = \"strip\"\ncontrols = [\"1\", \"depot\", \"2\", \"3\"]\n",
            &["light depot: 6, 2, pair 2"],
            &[(1, 1), (2, 3), (3, 4)],
        ),
        (
            "a pin past the strip stays off it",
            &format!("[light.depot]\naddress = 40\nnumber = 12\n{OPEN}"),
            &["light depot: 12, 40"],
            &[(1, 1), (2, 2), (3, 3)],
        ),
        (
            "a pin at a spare pair is commanded by it",
            &format!("[light.depot]\naddress = 7\n{OPEN}start = 1\n"),
            &["light depot: 6, 7, pair 7"],
            &[(1, 1), (2, 2), (3, 3)],
        ),
        (
            "a pin of what a strip names says where the strip starts",
            "[light.depot]\naddress = 40\n[panel.west]\nkind = \"strip\"\ncontrols = [\"piers\", \"depot\"]\n",
            &["light depot: 6, 40, pair 4"],
            &[(1, 37), (2, 38), (3, 39)],
        ),
        (
            "a strip that names others keeps its spare pairs",
            "[light.depot]\n[panel.west]\nkind = \"strip\"\ncontrols = [\"piers\"]\n",
            &["light depot: 6, 13"],
            &[(1, 1), (2, 2), (3, 3)],
        ),
        (
            "no lever gets what a light is pinned to, and a decoder starts behind the one that drives the light",
            "[light.depot]\nnumber = 2\naddress = 2\n",
            &["light depot: 2, 2"],
            &[(1, 9), (3, 10), (4, 11)],
        ),
        (
            "kind and id tell two of one id apart",
            "[signal.depot]\n[light.depot]\n[panel.west]\nkind = \"strip\"\ncontrols = [\"piers\", \"light depot\", \"signal depot\"]\n",
            &["signal depot: 6, 5, pair 5", "light depot: 7, 4, pair 4"],
            &[(1, 1), (2, 2), (3, 3)],
        ),
    ];
    for (case, rest, others, moved) in cases {
        let plan = make(&piers(3, rest), &Record::default());
        assert_eq!(
            (rows(&plan), levers(&plan)),
            (others.iter().map(ToString::to_string).collect(), moved.to_vec()),
            "{case}"
        );
    }
}

#[test]
fn every_decision_says_why() {
    let plan = make(&piers(3, &format!("{BOTH}{OPEN}")), &Record::default());
    let depot = &plan.accessories[1];
    let said: Vec<&str> = depot
        .number
        .because()
        .chain(depot.address.as_ref().unwrap().because())
        .map(|why| why.rule.name)
        .collect();
    assert_eq!(said, ["behind-levers", "pair-commands", "spare-pair"]);
}

#[test]
fn what_is_built_stays_when_a_turnout_is_added_and_when_a_name_is_taken_out() {
    let first = make(&piers(3, &format!("{BOTH}{OPEN}")), &Record::default());
    let built = keep(&first, &Record::default());
    assert!(write(&built).contains("\"light depot\" = { number = 7, address = 5 }"), "{}", write(&built));

    // The fourth turnout gets a number that was kept spare for the line, and the first pair that is spare now.
    let more = make(&piers(4, &format!("{BOTH}{OPEN}")), &built);
    assert_eq!(rows(&more), rows(&first));
    assert_eq!(levers(&more), [(1, 1), (2, 2), (3, 3), (4, 6)]);

    // The signal is taken out: its number and address stay out of use, for a new light too.
    let text = piers(3, &format!("[light.depot]\n[light.pier]\n{OPEN}"));
    let outcome = beside(&text, &built);
    let said: Vec<String> =
        outcome.diagnostics.iter().map(|note| format!("{}: {}", note.code.name(), note.message)).collect();
    assert_eq!(
        said,
        ["record-gone: `signal S1` is built with number 6 and address 4, and is described no more"]
    );
    assert_eq!(rows(&outcome.value), ["light depot: 7, 5, pair 5", "light pier: 8, 6, pair 6"]);
    let after = keep(&outcome.value, &built);
    assert_eq!(after.accessories.keys().collect::<Vec<_>>(), ["light depot", "light pier"]);
    for what in [Retired::Number(6), Retired::Address(4)] {
        assert_eq!(after.retired.get(&what).map(|row| row.value.as_str()), Some("signal S1"), "{what:?}");
    }
}

#[test]
fn a_pin_wins_over_the_record_and_the_work_order_says_what_to_do() {
    let old = make(&piers(3, "[light.depot]\nat = \"bay 2\"\n"), &Record::default());
    let built = keep(&old, &Record::default());
    let text = piers(3, "[light.depot]\naddress = 40\nnumber = 20\nat = \"bay 2\"\n[light.pier]\n");
    let outcome = beside(&text, &built);
    let pinned: Vec<&str> = outcome
        .diagnostics
        .iter()
        .filter(|note| note.code.name() == "record-pinned-over")
        .map(|note| note.message.as_str())
        .collect();
    assert_eq!(
        pinned,
        [
            "`light depot` is built with address 9, and pinned to 40",
            "`light depot` is built with number 6, and pinned to 20"
        ]
    );
    let new = outcome.value;
    let order = work_order(&old, &built, &new, &keep(&new, &built));
    let work: Vec<String> = order
        .items
        .iter()
        .map(|item| &item.value)
        .filter(|item| item.action != Action::Keep && item.thing.word() == "accessory")
        .map(|item| {
            let words = |words: &Option<String>| words.clone().unwrap_or_default();
            format!(
                "{}: {:?} {}: {} > {}",
                words(&item.at),
                item.action,
                item.name,
                words(&item.was),
                words(&item.now)
            )
        })
        .collect();
    assert_eq!(
        work,
        [
            "bay 2: Move light depot: output 1 of D2 > output 4 of D3",
            "bay 2: Relabel light depot: number 6 > number 20",
            ": Add light pier:  > address 9 on output 1 of D2",
        ]
    );
}

/// Each wire to a signal or light: its key, its ends, its conductors.
fn wires(plan: &Plan) -> Vec<String> {
    let wires = plan.wires.iter().filter(|wire| wire.kind == plan::model::WireKind::Accessory);
    wires
        .map(|wire| {
            let ends = wire
                .ends
                .each_ref()
                .map(|end| format!("{} at {}", end.what, end.at.as_deref().unwrap_or("nowhere")));
            let cores: Vec<&str> = wire.cores.iter().map(|core| core.job.words()).collect();
            format!("{}: {}: {}", wire.key, ends.join(" to "), cores.join(", "))
        })
        .collect()
}

/// A signal stands at what it guards; its lamps and the light's hang on a decoder that drives lamps, in the bay where the two wires to
/// it are shortest: 2 m from the signal, none from the two lights in bay 3.
#[test]
fn each_gets_an_output_a_wire_and_its_parts() {
    let bench = "[bench]\nruns = [{ from = \"bay 1\", to = \"bay 3\", length = \"2 m\" }]\n\
        [signal.S1]\nguards = \"2\"\n[light.depot]\nat = \"bay 3\"\ndraw = \"60 mA\"\n\
        [light.shed]\nat = \"bay 3\"\npart = \"bulb\"\n";
    let text = piers(3, bench).replace("hand = \"left\"", "hand = \"left\"\nat = \"bay 1\"");
    let plan = make(&text, &Record::default());
    let lamps = plan.decoders.iter().find(|decoder| decoder.part == "eight output lamp decoder").unwrap();
    assert_eq!(lamps.at.as_ref().unwrap().value, "bay 3");
    assert_eq!(
        wires(&plan),
        [
            "signal S1 lamps: D2 output 1 at bay 3 to signal S1 at bay 1: lamp normal, lamp on, lamp common",
            "light depot lamps: D2 output 2 at bay 3 to light depot at bay 3: lamp on, lamp common",
            "light shed lamps: D2 output 3 at bay 3 to light shed at bay 3: lamp on, lamp common",
        ]
    );
    let needed = |what: &str| plan.parts_list.iter().find(|part| part.what == what).map(|part| part.needed);
    // Two lamps in the signal, one in the depot; a bulb needs no resistor.
    assert_eq!(["lamp", "bulb", "resistor"].map(needed), [Some(3), Some(1), Some(3)]);
    let resistors = plan.parts_list.iter().find(|part| part.what == "resistor").unwrap();
    let why: Vec<String> = resistors.buy.because().map(ToString::to_string).collect();
    // By hand: 10 V over 10 mA are 1 kΩ and 0.1 W; over 60 mA 167 Ω, the next of E24 180 Ω, 0.56 W, of which twice is past 1 W.
    let why = why.join(" ");
    assert!(why.contains("2 of 1 kΩ, 0.25 W") && why.contains("1 of 180 Ω, 2 W"), "{why}");
}

/// On a strip the light has the address of its pair, on a board where a decoder of stall motors answers already: another one of the
/// same addresses drives it. Beside a record from before there were outputs for lights, nothing that is built moves.
#[test]
fn a_light_beside_machines_on_a_board_gets_a_decoder_of_its_own() {
    let text = piers(3, &format!("{BOTH}{OPEN}"));
    let plan = make(&text, &Record::default());
    let outputs = |plan: &Plan| -> Vec<Option<(String, u16)>> {
        let of = |planned| plan.output_of(planned).map(|(decoder, at)| (decoder.id.clone(), at));
        plan.accessories.iter().map(of).collect()
    };
    assert_eq!(outputs(&plan), [Some(("D2".to_owned(), 4)), Some(("D2".to_owned(), 5))]);
    // The record as it was written then.
    let mut before = keep(&plan, &Record::default());
    before.decoders.remove("D2");
    before.wires.retain(|key, _| !key.contains("lamps") && !key.contains("D2"));
    let after = make(&text, &before);
    assert_eq!((rows(&after), levers(&after)), (rows(&plan), levers(&plan)));
    assert_eq!(outputs(&after), outputs(&plan));
    for (id, row) in &before.decoders {
        let now = after.decoders.iter().find(|decoder| decoder.id == *id).unwrap();
        assert_eq!((now.first.value.number(), now.outputs), (row.value.first_address, row.value.outputs));
    }
    for (key, row) in &before.wires {
        let now = after.wires.iter().find(|wire| wire.key == *key).unwrap();
        assert_eq!(now.id.value, row.value.id, "{key}");
    }
    assert_eq!(plan::change::work_since(&keep(&after, &before), &after, &keep(&after, &before)).count(), 0);
}

/// A pin to a decoder moves a light, as it does a lever.
#[test]
fn a_light_can_be_pinned_to_a_decoder() {
    let plan = make(&piers(3, "[light.depot]\ndecoder = \"D9\"\n[light.pier]\n"), &Record::default());
    let of = |at: usize| plan.output_of(&plan.accessories[at]).map(|(decoder, at)| (decoder.id.as_str(), at));
    assert_eq!(of(0), Some(("D9", 1)));
    assert_eq!(
        plan.decoders.iter().find(|decoder| decoder.id == "D9").unwrap().part,
        "eight output lamp decoder"
    );
}
