//! Plans beside an as-built record: by hand, what a builder would expect to stay and what to be told.

use description::record::{Record, read, write};
use notice::{Outcome, Severity};
use plan::model::Plan;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use testkit::{list, planned_beside};

/// A line of turnouts with these ids, each with a spur of its own.
fn line(name: &str, ids: &[&str]) -> String {
    let mut text = format!("[end.\"{name} west\"]\ntrack = \"{name} 0\"\n");
    for (at, id) in ids.iter().enumerate() {
        write!(
            text,
            "[turnout.\"{id}\"]\npoints = \"{name} {at}\"\nthrough = \"{name} {}\"\ndiverging = \"{id} spur\"\nhand = \"left\"\n\
             #{id}#\n[end.\"{id} spur\"]\ntrack = \"{id} spur\"\n",
            at + 1
        )
        .unwrap();
    }
    let last = ids.len();
    write!(
        text,
        "[end.\"{name} east\"]\ntrack = \"{name} {last}\"\n[line.\"{name}\"]\nfrom = \"{name} west\"\nto = \"{name} east\"\n"
    )
    .unwrap();
    text
}

fn layout(rest: &str) -> String {
    format!("[layout]\nname = \"Tern Harbor\"\n{rest}")
}

/// Adds a key to a turnout.
fn with(text: &str, id: &str, key: &str) -> String {
    let mark = format!("#{id}#");
    assert!(text.contains(&mark), "{id}");
    text.replace(&mark, key)
}

fn make(text: &str, record: &Record) -> Outcome<Plan> {
    let outcome = planned_beside(text, record);
    assert!(!outcome.has_errors(), "{}", list(text, &outcome.diagnostics));
    outcome
}

/// What is written down when a layout is built from nothing, there and back as text.
fn built(text: &str) -> Record {
    keep(&make(text, &Record::default()).value, &Record::default())
}

fn keep(plan: &Plan, before: &Record) -> Record {
    let record = plan::record_of(plan, before);
    let outcome = read(&write(&record));
    assert!(outcome.diagnostics.is_empty(), "{:?}\n{}", outcome.diagnostics, write(&record));
    assert_eq!(outcome.value, record);
    outcome.value
}

/// Number and address of every lever.
fn figures(plan: &Plan) -> BTreeMap<String, (u16, u16)> {
    plan.levers
        .iter()
        .map(|lever| {
            let id = plan.network.lever(lever.lever).id.clone();
            (id, (lever.number.value, lever.address.value.number()))
        })
        .collect()
}

fn codes(outcome: &Outcome<Plan>) -> Vec<&'static str> {
    assert!(outcome.diagnostics.iter().all(|note| note.severity == Severity::Warning));
    outcome
        .diagnostics
        .iter()
        .map(|note| note.code.name())
        .filter(|code| code.starts_with("record"))
        .collect()
}

/// What is said of the record, decoders left out: where they go is decided and tested elsewhere.
fn says(outcome: &Outcome<Plan>) -> String {
    let of_record = outcome.diagnostics.iter().filter(|note| note.code.name().starts_with("record"));
    of_record
        .filter(|note| !note.message.starts_with("decoder"))
        .map(|note| note.message.clone() + "\n")
        .collect()
}

#[test]
fn what_is_built_as_planned_gives_the_same_plan_and_no_word() {
    let text = layout(&(line("main", &["a", "b"]) + "[panel.west]\nkind = \"strip\"\n"));
    let record = built(&text);
    let again = make(&text, &record);
    assert_eq!(codes(&again), [""; 0]);
    assert_eq!(keep(&again.value, &record), record);
    let because = again.value.levers[0].number.because().next().unwrap().to_string();
    assert_eq!(because, "number 1 is kept from the as-built record (kept-as-built)");
}

/// A turnout in the middle of a line: those behind it keep their numbers and pairs.
#[test]
fn a_new_turnout_moves_nobody() {
    for (panel, address) in [("", 4), ("[panel.west]\nkind = \"strip\"\nstart = 5\n", 8)] {
        let before = layout(&(line("main", &["a", "b", "c"]) + panel));
        let after = layout(&(line("main", &["a", "new", "b", "c"]) + panel));
        let first = make(&before, &Record::default()).value;
        let plan = make(&after, &built(&before)).value;
        let mut expected = figures(&first);
        expected.insert("new".into(), (4, address));
        assert_eq!(figures(&plan), expected);
    }
}

/// The numbers that were kept spare behind a line are for it; when they are used up, the next is behind all others, and
/// behind what is kept spare there.
#[test]
fn spare_numbers_serve_their_line() {
    let rest = "[numbering]\nspare_per_line = 2\n";
    let text = |main: &[&str], yard: &[&str]| layout(&(line("main", main) + &line("yard", yard) + rest));
    let mut record = built(&text(&["a", "b"], &["y", "z"]));
    let mut main = vec!["a", "b"];
    for (id, number) in [("c", 3), ("d", 4), ("e", 9)] {
        main.push(id);
        let plan = make(&text(&main, &["y", "z"]), &record).value;
        assert_eq!(figures(&plan)[id].0, number, "{id}");
        assert_eq!(figures(&plan)["y"].0, 5);
        record = keep(&plan, &record);
    }
}

#[test]
fn what_is_taken_out_is_retired_until_its_row_is_deleted() {
    let before = layout(&line("main", &["a", "b", "c"]));
    let without = layout(&line("main", &["a", "c"]));
    let record = built(&before);
    let outcome = make(&without, &record);
    assert_eq!(says(&outcome), "lever `b` is built with number 2 and address 2, and is described no more\n");
    let record = keep(&outcome.value, &record);
    assert!(write(&record).contains("[retired]\n\"address 2\" = \"lever b\"\n\"number 2\" = \"lever b\"\n"));
    let grown = layout(&line("main", &["a", "d", "c"]));
    let plan = make(&grown, &record);
    assert_eq!(codes(&plan), [""; 0]);
    assert_eq!(figures(&plan.value)["d"], (4, 4));
    // The user frees it.
    let mut freed = record;
    freed.retired.clear();
    assert_eq!(figures(&make(&grown, &freed).value)["d"], (2, 2));
}

#[test]
fn a_turnout_under_another_id_keeps_what_it_has() {
    let before = layout(&line("main", &["a", "b", "c"]));
    let record = built(&before);
    // Its tracks keep their names.
    let after = before.replace("[turnout.\"b\"]", "[turnout.harbor]");
    let outcome = make(&after, &record);
    assert_eq!(says(&outcome), "lever `b` is called `harbor` now, and keeps what it has\n");
    assert_eq!(figures(&outcome.value)["harbor"], (2, 2));
    let kept = keep(&outcome.value, &record);
    assert!(kept.retired.is_empty());
    assert!(kept.machines.contains_key("harbor") && !kept.machines.contains_key("b"));
    assert_eq!(codes(&make(&after, &kept)), [""; 0]);
}

#[test]
fn a_lever_under_another_id_is_known_by_its_machines() {
    let lever = |id: &str| format!("[lever.\"{id}\"]\nmoves = [\"a\", \"b\"]\n");
    let before = layout(&(line("main", &["a", "b", "c"]) + &lever("gate")));
    let after = layout(&(line("main", &["a", "b", "c"]) + &lever("harbor gate")));
    let outcome = make(&after, &built(&before));
    assert_eq!(says(&outcome), "lever `gate` is called `harbor gate` now, and keeps what it has\n");
    assert_eq!(figures(&outcome.value)["harbor gate"], (1, 1));
}

/// Two levers become one: it takes the place of the one that it is called by or shares more with; the other is retired.
#[test]
fn levers_that_are_joined_or_parted_keep_as_much_as_they_can() {
    let apart = layout(&line("main", &["a", "b", "c"]));
    let joined = layout(&(line("main", &["a", "b", "c"]) + "[lever.gate]\nmoves = [\"a\", \"b\", \"c\"]\n"));
    let record = built(&apart);
    let outcome = make(&joined, &record);
    assert_eq!(figures(&outcome.value)["gate"], (1, 1));
    let record = keep(&outcome.value, &record);
    let retired: Vec<String> = record.retired.keys().map(description::record::Retired::words).collect();
    assert_eq!(retired, ["number 2", "number 3", "address 2", "address 3"]);
    // And parted again: two machines together keep the place, rather than the one alone.
    let parted = layout(&(line("main", &["a", "b", "c"]) + "[lever.pair]\nmoves = [\"b\", \"c\"]\n"));
    let plan = make(&parted, &record).value;
    assert_eq!(figures(&plan)["pair"], (1, 1));
    assert_eq!(figures(&plan)["a"], (4, 4));
}

#[test]
fn a_pin_wins_over_the_record_and_both_are_named() {
    let before = layout(&line("main", &["a", "b"]));
    let record = built(&before);
    let outcome = make(&with(&before, "a", "number = 9\naddress = 2"), &record);
    assert_eq!(
        says(&outcome),
        "lever `a` is built with number 1, and pinned to 9\n\
         lever `a` is built with address 1, and pinned to 2\n\
         lever `b` is built with address 2, which `a` is pinned to; it gets 1\n"
    );
    assert_eq!(figures(&outcome.value)["a"], (9, 2));
    assert_eq!(figures(&outcome.value)["b"].0, 2);
    let pinned_over: Vec<_> =
        outcome.diagnostics.iter().filter(|note| note.code.name() == "record-pinned-over").collect();
    for note in pinned_over {
        assert_eq!(note.span.file, notice::File::Layout);
        assert_eq!(note.related[0].span.file, notice::File::AsBuilt);
    }
    let next = keep(&outcome.value, &record);
    assert!(next.retired.is_empty(), "what moved is not retired: {:?}", next.retired);
}

#[test]
fn a_pin_frees_what_is_retired() {
    let record = built(&layout(&line("main", &["a", "b"])));
    let gone = layout(&line("main", &["a"]));
    let record = keep(&make(&gone, &record).value, &record);
    let text = with(&layout(&line("main", &["a", "c"])), "c", "number = 2");
    let outcome = make(&text, &record);
    assert_eq!(says(&outcome), "lever `c` is pinned to number 2, which is retired: it was of lever b\n");
    let record = keep(&outcome.value, &record);
    assert_eq!(codes(&make(&text, &record)), [""; 0]);
    assert!(record.is_address_retired(2) && !record.is_number_retired(2));
}

#[test]
fn an_address_that_cannot_stay_says_why() {
    let text = layout(&line("main", &["a", "b", "c"]));
    let record = built(&text);
    let taken = make(&(text.clone() + "[system]\ntaken = [\"2\"]\n"), &record);
    assert_eq!(
        says(&taken),
        "lever `b` is built with address 2, which something else has taken; it gets 4\n"
    );
    assert_eq!(figures(&taken.value)["a"].1, 1);
    let mut high = record.clone();
    high.levers.get_mut("c").unwrap().value.address = Some(40);
    let last = make(&(text + "[system]\nlast_address = 30\n"), &high);
    assert_eq!(
        says(&last),
        "lever `c` is built with address 40, which is past the last address 30; it gets 3\n"
    );
}

/// Strips stay where they are set to, whatever else comes; a new one follows on its chain.
#[test]
fn strips_keep_their_starts_chains_and_cab_addresses() {
    let strip = |name: &str, rest: &str| format!("[panel.{name}]\nkind = \"strip\"\n{rest}\n");
    let lines = line("main", &["a", "b"]) + &line("yard", &["y", "z"]);
    let before = layout(
        &(lines.clone() + &strip("main", "controls = [\"main\"]") + &strip("zed", "controls = [\"yard\"]")),
    );
    let record = built(&before);
    let panels = |plan: &Plan| -> Vec<(String, u16, u16)> {
        let cab = |chain| plan.chains.iter().find(|other| other.number == chain).unwrap().cab.value;
        plan.strips
            .iter()
            .map(|strip| (strip.panel.clone(), strip.first.value.number(), cab(strip.chain)))
            .collect()
    };
    // A panel whose name comes first in every order, and a cab address that somebody else took in between.
    let extra = line("ark", &["k"]) + &strip("ark", "controls = [\"ark\"]") + "[system]\ncabs_in_use = [7]\n";
    let outcome = make(&(before.clone() + &extra), &record);
    assert_eq!(codes(&outcome), [""; 0]);
    assert_eq!(panels(&outcome.value), [("main".into(), 1, 2), ("zed".into(), 13, 3), ("ark".into(), 25, 8)]);
    // Under another name it is known again by its levers.
    let renamed = make(&before.replace("[panel.zed]", "[panel.able]"), &record);
    assert_eq!(says(&renamed), "strip `zed` is called `able` now, and keeps what it has\n");
    assert_eq!(panels(&renamed.value), [("main".into(), 1, 2), ("able".into(), 13, 3)]);
    // Pinned elsewhere it takes its levers along: each pair stays the pair it is.
    let pinned = make(&before.replace("[panel.main]", "[panel.main]\nstart = 101"), &record);
    assert_eq!(
        says(&pinned),
        "strip `main` is built to start at 1, and pinned to 101\n\
         lever `a` is built with address 1, which no pair of strip `main` commands; it gets 101\n\
         lever `b` is built with address 2, which no pair of strip `main` commands; it gets 102\n"
    );
}

/// Two of three strips on one chain: what stands behind has to move up, or what stands before down; never both.
#[test]
fn a_chain_that_loses_a_strip_moves_the_fewer_levers() {
    let strip =
        |name: &str| format!("[panel.{name}]\nkind = \"strip\"\nchain = 1\ncontrols = [\"{name}\"]\n");
    let text = |lines: &[(&str, &[&str])]| {
        layout(&lines.iter().map(|(name, ids)| line(name, ids) + &strip(name)).collect::<String>())
    };
    let (one, two, three): (&[&str], &[&str], &[&str]) = (&["a"], &["b"], &["c", "d", "e"]);
    let record = built(&text(&[("one", one), ("two", two), ("zoo", three)]));
    let outcome = make(&text(&[("one", one), ("zoo", three)]), &record);
    let figures = figures(&outcome.value);
    assert_eq!((figures["c"].1, figures["d"].1, figures["e"].1), (25, 26, 27));
    // Pair 1 would be 13, which is retired with `b`.
    assert_eq!(figures["a"].1, 14, "{}", says(&outcome));
}

#[test]
fn a_record_of_another_layout_is_refused() {
    let text = layout(&line("main", &["a", "b"]));
    let mut record = built(&text);
    record.levers.get_mut("a").unwrap().value.number = 9;
    record.layout.as_mut().unwrap().value = "Gull Point".into();
    let outcome = planned_beside(&text, &record);
    assert!(outcome.has_errors());
    assert_eq!(figures(&outcome.value)["a"].0, 1);
}

/// Rows about wires and findings follow the machine that they are about.
#[test]
fn wires_and_findings_follow_their_machine() {
    let before = layout(&line("main", &["a", "b"]));
    let mut text = write(&built(&before));
    let id = &built(&before).wires["machine b motor"].value.id;
    text = text.replace(&format!("id = \"{id}\""), "id = \"W700\"");
    text = text.replace("[findings]\n", "[findings]\n\"machine b\" = { inverted = true }\n");
    let record = read(&text).value;
    let after = before.replace("[turnout.\"b\"]", "[turnout.\"the wharf\"]");
    let kept = keep(&make(&after, &record).value, &record);
    assert_eq!(kept.wires["machine the wharf motor"].value.id, "W700");
    // Its frog goes with it.
    let frog = |record: &Record, name: &str| record.wires[&format!("machine {name} frog")].value.id.clone();
    assert_eq!(frog(&kept, "the wharf"), frog(&record, "b"));
    assert!(kept.findings["machine the wharf"].value.inverted);
}

/// A strip whose last spare pair is retired says which row would free it.
#[test]
fn a_full_strip_says_what_is_retired_on_it() {
    let strip = "[part.two]\nrole = \"strip\"\npairs = 2\n[panel.west]\nkind = \"strip\"\npart = \"two\"\ncontrols = [\"main\"]\n";
    let record = built(&layout(&(line("main", &["a", "b"]) + strip)));
    let gone = make(&layout(&(line("main", &["a"]) + strip)), &record);
    let record = keep(&gone.value, &record);
    let outcome = planned_beside(&layout(&(line("main", &["a", "c"]) + strip)), &record);
    let note = outcome.diagnostics.iter().find(|note| note.code.name() == "strip-full").unwrap();
    assert!(note.help.as_ref().unwrap().starts_with("free one of its retired addresses"), "{note:?}");
    assert_eq!(note.related[0].message, "address 2 is retired: it was of lever b");
    assert_eq!(note.related[0].span.file, notice::File::AsBuilt);
}

/// Nine levers: eight on D1, the ninth on D2. The first is pinned over to D2 by its id: it takes the lowest free output there.
/// The same with a decoder that is not built yet, whose block begins past what is built.
#[test]
fn a_pin_to_another_decoder_wins_over_the_address_that_is_built() {
    let ids = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];
    let plain = layout(&line("main", &ids));
    let record = built(&plain);
    assert_eq!(record.levers["a"].value.address, Some(1));
    for (decoder, address) in [("D2", 10), ("D7", 17)] {
        let text = with(&plain, "a", &format!("decoder = \"{decoder}\""));
        let outcome = make(&text, &record);
        let plan = &outcome.value;
        let at = |id: &str| {
            let lever = plan.levers.iter().find(|lever| plan.network.lever(lever.lever).id == id).unwrap();
            let row = plan.addresses.iter().find(|row| row.lever == lever.lever).unwrap();
            (lever.address.value.number(), plan.decoders[row.decoder.unwrap()].id.as_str())
        };
        assert_eq!(at("a"), (address, decoder));
        for (id, built) in ids[1..].iter().zip(2..) {
            assert_eq!(at(id).0, built, "{id}");
        }
        let notes = list(&text, &outcome.diagnostics);
        let says = format!(
            "lever `a` is built with address 1, and pinned to decoder {decoder}, where it gets {address}"
        );
        assert!(notes.contains("warning[record-pinned-over]") && notes.contains(&says), "{notes}");
        // Nothing else is said but that no panel is described.
        assert_eq!(outcome.diagnostics.len(), 2, "{notes}");
        // Once it is kept, it stays there.
        let again = make(&text, &keep(plan, &record));
        assert_eq!(again.diagnostics.len(), 1, "{}", list(&text, &again.diagnostics));
        assert_eq!(again.value.levers[0].address.value.number(), address);
    }
}
