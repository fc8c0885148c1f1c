//! The work order between two plans, by hand: what a builder would do, where, in which order, and how long it takes.

use crate::beside;
use description::record::{Entry, Record, WireBuilt};
use plan::change::{Action, WorkOrder, work_order, work_since};
use plan::model::Plan;
use std::fmt::Write as _;
use testkit::list;

/// Turnouts at places, on a bench of three bays named from east to west.
fn layout(turnouts: &[(&str, &str)], rest: &str) -> String {
    let mut text = String::from(
        "[layout]\nname = \"Tern Harbor\"\n[bench]\nruns = [\n\
         { from = \"bay 3\", to = \"bay 2\", length = \"4 ft\" },\n{ from = \"bay 2\", to = \"bay 1\", length = \"4 ft\" },\n]\n",
    );
    for (id, at) in turnouts {
        write!(
            text,
            "[turnout.{id}]\npoints = \"lead {id}\"\nthrough = \"main {id}\"\ndiverging = \"spur {id}\"\nhand = \"left\"\nat = \"{at}\"\n"
        )
        .unwrap();
        for track in ["lead", "main", "spur"] {
            write!(text, "[end.\"{track} {id}\"]\ntrack = \"{track} {id}\"\n").unwrap();
        }
    }
    text + rest
}

fn make(text: &str, record: &Record) -> Plan {
    let outcome = beside(text, record);
    assert!(!outcome.has_errors(), "{}", list(text, &outcome.diagnostics));
    outcome.value
}

fn order(old: &str, new: &str) -> WorkOrder {
    let old = make(old, &Record::default());
    let built = plan::record_of(&old, &Record::default());
    let new = make(new, &built);
    work_order(&old, &built, &new, &plan::record_of(&new, &built))
}

/// What is to be done, a row each: place, action, thing, from and to, minutes. Decoders and wires are left out: where they go
/// is decided and tested elsewhere.
fn rows(order: &WorkOrder) -> Vec<String> {
    rows_without(order, "wire")
}

fn rows_without(order: &WorkOrder, left_out: &str) -> Vec<String> {
    order
        .items
        .iter()
        .map(|item| &item.value)
        .filter(|item| item.action != Action::Keep && !["decoder", left_out].contains(&item.thing.word()))
        .map(|item| {
            let words = |text: &Option<String>| text.clone().unwrap_or_default();
            let (at, was, now) = (words(&item.at), words(&item.was), words(&item.now));
            let (thing, minutes) = (item.thing.word(), item.seconds / 60);
            format!("{at}: {:?} {thing} {}: {was} > {now}, {minutes}", item.action, item.name)
        })
        .collect()
}

#[test]
fn nothing_leads_to_itself() {
    let text = layout(&[("a", "bay 1"), ("b", "bay 3")], "[panel.west]\nkind = \"strip\"\nat = \"bay 1\"\n");
    let order = order(&text, &text);
    assert_eq!((order.count(), order.seconds()), (0, 0));
    // Two levers, two machines, a strip, and whatever decoders drive them.
    assert!(order.of(Action::Keep).count() >= 5);
}

/// A turnout out, one in, one moved along the bench; its place on the bench decides the order, not its name.
#[test]
fn work_is_in_bench_order_and_takes_the_usual_time() {
    let strip = "[panel.west]\nkind = \"strip\"\nat = \"bay 1\"\n";
    let old = layout(&[("a", "bay 1"), ("b", "bay 3"), ("c", "bay 2")], strip);
    let new = layout(&[("a", "bay 1"), ("c", "bay 3"), ("d", "bay 2")], strip);
    let order = order(&old, &new);
    let rows = rows(&order);
    let machines: Vec<&String> = rows.iter().filter(|row| row.contains(" machine ")).collect();
    // Usual times: 45 minutes to fit a machine, half of it to take one out: common practice, no source.
    assert!(machines[0].starts_with("bay 3: Remove machine b: "), "{machines:#?}");
    assert!(machines[0].ends_with(", 22"), "{machines:#?}");
    assert_eq!(machines[1], "bay 3: Move machine c: bay 2 > bay 3, 67");
    assert!(machines.last().unwrap().starts_with("bay 2: Add machine d: "), "{machines:#?}");
    assert!(machines.last().unwrap().ends_with(", 45"), "{machines:#?}");
    let levers: Vec<&String> = rows.iter().filter(|row| row.contains(" lever ")).collect();
    assert_eq!(
        levers,
        [
            "bay 1: Remove lever b: number 2 on pair 2 of west > , 2",
            "bay 1: Add lever d:  > number 4 on pair 4 of west, 5"
        ]
    );
}

#[test]
fn times_are_as_the_user_says() {
    let work = "[work]\nmachine = \"20 min\"\nlever = \"90 s\"\ntake_out = \"100 %\"\n";
    let old = layout(&[("a", "bay 1"), ("b", "bay 3")], "");
    let new = layout(&[("a", "bay 1")], work);
    let order = order(&old, &new);
    let of = |word: &str| -> Vec<u32> {
        let items = order.items.iter().map(|item| &item.value);
        items
            .filter(|item| item.thing.word() == word && item.action == Action::Remove)
            .map(|item| item.seconds)
            .collect()
    };
    assert_eq!((of("machine"), of("lever")), (vec![1_200], vec![90]));
    for item in &order.items {
        let because: Vec<String> = item.because().map(ToString::to_string).collect();
        assert!(because.iter().all(|because| because.ends_with(')')), "{because:?}");
        assert_eq!(because.len() > 1, item.value.action != Action::Keep, "{because:?}");
    }
}

/// A pin changes a plate and a pair; another start sets the strip and moves no plate; a chain changes the cab address.
#[test]
fn pins_relabel_move_and_reprogram() {
    let strip = |rest: &str| format!("[panel.west]\nkind = \"strip\"\nat = \"bay 1\"\n{rest}");
    let turnouts = [("a", "bay 1"), ("b", "bay 1")];
    let old = layout(&turnouts, &strip(""));
    let numbered = old.replacen("[turnout.a]", "[turnout.a]\nnumber = 9\naddress = 5", 1);
    let levers = |rows: Vec<String>| -> Vec<String> {
        rows.into_iter().filter(|row| !row.contains(" machine ")).collect()
    };
    assert_eq!(
        levers(rows(&order(&old, &numbered))),
        [
            "bay 1: Move lever a: pair 1 of west > pair 5 of west, 7",
            "bay 1: Relabel lever a: number 1 > number 9, 2"
        ]
    );
    let started = layout(&turnouts, &strip("start = 33\n"));
    assert_eq!(
        levers(rows(&order(&old, &started))),
        ["bay 1: Reprogram strip west: start 1, cab-bus address 2 > start 33, cab-bus address 2, 5"]
    );
}

/// Another motor is one thing out and another in; a turnout under another id is a label; a lever under another id too.
#[test]
fn motors_are_replaced_and_names_relabelled() {
    let old = layout(&[("a", "bay 1"), ("b", "bay 2")], "[lever.gate]\nmoves = [\"b\"]\n");
    let new = old.replacen("[turnout.a]", "[turnout.a]\nmotor = \"coil machine\"", 1);
    let new_rows = rows(&order(&old, &new));
    let of_a: Vec<&str> = new_rows.iter().filter_map(|row| row.strip_prefix("bay 1: ")).collect();
    assert!(of_a[0].starts_with("Remove machine a: `stall motor` > , 22"), "{of_a:?}");
    assert!(of_a[1].starts_with("Add machine a:  > `coil machine`"), "{of_a:?}");
    let new = old.replacen("[turnout.a]", "[turnout.z]", 1).replacen("[lever.gate]", "[lever.harbor]", 1);
    assert_eq!(
        rows(&order(&old, &new)),
        [
            "bay 1: Relabel machine z: a > z, 2",
            ": Relabel lever harbor: gate > harbor, 2",
            ": Relabel lever z: a > z, 2"
        ]
    );
}

/// Wires are known by their ids, and else by what they are for.
#[test]
fn wires_are_kept_moved_laid_and_relabelled() {
    let text = layout(&[("a", "bay 1")], "");
    let plan = make(&text, &Record::default());
    let record = |wires: &[(&str, &str, &str, &str)]| {
        let mut record = plan::record_of(&plan, &Record::default());
        record.wires.clear();
        for (about, id, from, to) in wires {
            let (from, to) = (Some((*from).into()), Some((*to).into()));
            let wire = WireBuilt { id: (*id).into(), from, to, ..WireBuilt::default() };
            record.wires.insert((*about).into(), Entry::new(wire));
        }
        record
    };
    let built = record(&[
        ("machine a motor", "W1", "bay 1", "bay 2"),
        ("machine a frog", "W2", "bay 1", "bay 2"),
        ("bus", "W3", "bay 1", "bay 3"),
        ("lamp", "W4", "bay 1", "bay 1"),
    ]);
    let next = record(&[
        ("machine a motor", "W1", "bay 1", "bay 2"),
        ("machine a frog", "W2", "bay 1", "bay 3"),
        ("bus", "W9", "bay 1", "bay 3"),
        ("feeder", "W5", "bay 2", "bay 2"),
    ]);
    let order = work_order(&plan, &built, &plan, &next);
    assert_eq!(
        rows_without(&order, "lever"),
        [
            "bay 2: Add wire W5:  > feeder, bay 2 to bay 2, 10",
            "bay 1: Remove wire W4: lamp, bay 1 to bay 1 > , 5",
            "bay 1: Move wire W2: bay 1 to bay 2 > bay 1 to bay 3, 15",
            "bay 1: Relabel wire W9: W3 > W9, 2"
        ]
    );
}

/// Where motors, parts of strips and names stay as they are, the record alone says as much as the plan that it was made of.
#[test]
fn the_record_alone_leads_to_the_same_work() {
    let strip = "[panel.west]\nkind = \"strip\"\nat = \"bay 1\"\n[light.depot]\nat = \"bay 2\"\n";
    let old = layout(&[("a", "bay 1"), ("b", "bay 3"), ("c", "bay 2")], strip);
    let pinned = old.replacen("[turnout.a]", "[turnout.a]\nnumber = 9\naddress = 5", 1);
    let moved = layout(&[("a", "bay 1"), ("c", "bay 3"), ("d", "bay 2")], strip);
    let started = old.replacen("kind = \"strip\"", "kind = \"strip\"\nstart = 33", 1);
    let without = old.replace("[light.depot]\nat = \"bay 2\"\n", "");
    let mut counts = Vec::new();
    for new in [&old, &pinned, &moved, &started, &without] {
        let was = make(&old, &Record::default());
        let built = plan::record_of(&was, &Record::default());
        let plan = make(new, &built);
        let next = plan::record_of(&plan, &built);
        let mut by_plan = work_order(&was, &built, &plan, &next);
        let mut by_record = work_since(&built, &plan, &next);
        // What is taken out is told in fewer words, and where only the old plan knew its place, at none.
        for item in by_plan.items.iter_mut().chain(&mut by_record.items) {
            if item.value.action == Action::Remove {
                (item.value.was, item.value.at) = (None, None);
            }
        }
        let sorted = |order: &WorkOrder| {
            let mut rows = rows_without(order, "nothing");
            rows.sort();
            rows
        };
        assert_eq!(sorted(&by_record), sorted(&by_plan));
        assert_eq!(by_record.of(Action::Keep).count(), by_plan.of(Action::Keep).count());
        counts.push(by_record.count());
        // Once it is kept, nothing is left to do.
        let kept = make(new, &next);
        assert_eq!(work_since(&next, &kept, &plan::record_of(&kept, &next)).count(), 0);
    }
    assert_eq!(counts[0], 0);
    assert!(counts[1..].iter().all(|count| *count > 0), "{counts:?}");
}
