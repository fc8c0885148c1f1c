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
            "no lever gets what a light is pinned to, and a decoder starts on a board with nothing else on it",
            "[light.depot]\nnumber = 2\naddress = 2\n",
            &["light depot: 2, 2"],
            &[(1, 5), (3, 6), (4, 7)],
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
    assert_eq!(said, ["behind-levers", "pair-commands", "spare-pair", "output-not-placed"]);
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
            "bay 2: Relabel light depot: number 6 > number 20",
            "bay 2: Reprogram light depot: address 9 > address 40",
            ": Add light pier:  > address 9",
        ]
    );
}
