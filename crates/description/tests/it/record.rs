//! The as-built record: what it says comes back as it was written, and what is damaged is refused with a place.

use description::record::{
    AccessoryBuilt, DecoderBuilt, Entry, Finding, HEADINGS, LeverBuilt, MachineBuilt, Record, Retired,
    StripBuilt, WireBuilt, read, write,
};
use description::record::{Tried, Verdict};
use notice::File;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::collections::BTreeMap;

/// The same cases every time; a failing one prints its input.
fn fixed() -> ProptestConfig {
    ProptestConfig { rng_seed: RngSeed::Fixed(1), failure_persistence: None, ..ProptestConfig::default() }
}

/// By hand: every kind of row, each remark above what it is about, natural order.
const WHOLE: &str = r#"# What is built, as `throwbar plan --keep` wrote it. Keep it beside layout.toml, and commit both.
# Numbers, addresses, wires and places in it stay as they are in later plans.
# What is retired is not used again; to free it, delete its row.
# Wired in the winter.

schema = 1
layout = "Tern Harbor"

# From the west.
[levers]
"2" = { number = 1, address = 1, moves = ["2"] }
# The "long" one.
"10" = { number = 2, address = 2, moves = ["10A", "10B"] }
"by hand" = { number = 3, moves = ["old # 3"] }

[accessories]
"light depot" = { address = 40 }

[strips]
"west" = { first_address = 1, chain = 1, cab = 4 }

[decoders]
"D1" = { part = "eight output decoder", at = "bay 1", first_address = 1, outputs = 8 }

[machines]
"2" = { decoder = "D1", address = 1, tracks = ["a", "b", "c"] }

[wires]
"machine 2 motor" = { id = "W1", from = "bay 1", to = "bay 2" }

[findings]
"bus motors at bay 2" = { verdict = "bad", who = "Ruth", when = "2026-05-01T19:04:00Z", reading = "9.8 V", saw = "volts of motors at bay 2 low" }
"machine 2" = { inverted = true, note = "crossed leads" }

[retired]
"address 14" = "lever cannery"
"decoder D3" = "eight output decoder at bay 4"
"number 7" = "lever cannery"
"wire W12" = "machine cannery motor"

[end]
whole = true
# No more.
"#;

#[test]
fn a_record_comes_back_letter_for_letter() {
    let outcome = read(WHOLE);
    assert!(outcome.diagnostics.is_empty(), "{:?}", outcome.diagnostics);
    assert_eq!(write(&outcome.value), WHOLE);
    let lever = &outcome.value.levers["10"];
    assert_eq!(lever.remarks, ["The \"long\" one."]);
    assert_eq!(lever.span.file, File::AsBuilt);
    assert_eq!(
        &WHOLE[lever.span.start..lever.span.end],
        "\"10\" = { number = 2, address = 2, moves = [\"10A\", \"10B\"] }"
    );
}

#[test]
fn remarks_behind_a_row_move_above_it() {
    let text = WHOLE.replace("moves = [\"2\"] }", "moves = [\"2\"] } # the first");
    let again = write(&read(&text).value);
    assert!(again.contains("# the first\n\"2\" = { number = 1"), "{again}");
    assert_eq!(write(&read(&again).value), again);
}

/// Every beginning of the text that is not the text is refused at a place within it; cut anywhere, also within a letter.
#[test]
fn a_record_cut_short_anywhere_is_refused() {
    let end = WHOLE.find("\n# No more.").unwrap();
    for at in (0..end).filter(|&at| WHOLE.is_char_boundary(at)) {
        let cut = &WHOLE[..at];
        let outcome = read(cut);
        assert!(outcome.has_errors(), "cut at {at}: {cut}");
        for note in &outcome.diagnostics {
            assert_eq!(note.span.file, File::AsBuilt);
            assert!(cut.get(note.span.start..note.span.end).is_some(), "{note:?}");
            assert!(note.help.is_some(), "{note:?}");
        }
    }
}

/// A row that is missing, twice or out of order never goes unnoticed where the text can tell.
#[test]
fn damaged_rows_are_named() {
    let cases = [
        ("schema = 1", "", "key-missing"),
        ("schema = 1", "schema = 9", "record-schema-unknown"),
        ("layout = \"Tern Harbor\"", "layout = 3", "value-wrong-kind"),
        ("number = 1", "numbr = 1", "key-unknown"),
        ("number = 1,", "", "key-missing"),
        ("number = 1,", "number = 2,", "record-used-twice"),
        ("address = 40", "address = 2", "record-used-twice"),
        ("address = 40", "address = 2049", "number-out-of-range"),
        ("\"number 7\"", "\"number 2\"", "record-used-twice"),
        ("\"number 7\"", "\"number +7\"", "record-row-unreadable"),
        ("\"wire W12\"", "\"wire W1\"", "record-used-twice"),
        ("[findings]", "[findngs]", "key-unknown"),
        ("\"10\" =", "\"2\" =", "key-twice"),
        ("\"D1\" = {", "\"D1\" = 1 # {", "value-wrong-kind"),
        ("whole = true", "whole = false", "record-cut-short"),
        ("[wires]", "<<<<<<< ours\n[wires]", "record-merge-open"),
        ("[wires]", "[wires", "text-syntax"),
    ];
    for (was, is, code) in cases {
        let text = WHOLE.replacen(was, is, 1);
        assert_ne!(text, WHOLE, "{was}");
        let outcome = read(&text);
        let codes: Vec<_> = outcome.diagnostics.iter().map(|note| note.code.name()).collect();
        assert!(outcome.has_errors() && codes.contains(&code), "{was} → {is}: {codes:?}");
    }
}

/// Any bytes at all: never a panic, and every place lies within the text.
#[test]
fn prop_any_damage_has_a_place() {
    proptest!(fixed(), |(at in 0..WHOLE.len(), with in "[ -~\n]{0,6}", cut in 0usize..20)| {
        let mut text = WHOLE.to_owned();
        let end = (at + cut).min(text.len());
        prop_assume!(text.is_char_boundary(at) && text.is_char_boundary(end));
        text.replace_range(at..end, &with);
        for note in read(&text).diagnostics {
            prop_assert!(text.get(note.span.start..note.span.end).is_some(), "{note:?}");
        }
    });
}

fn word() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z0-9]{1,4}", "[ -~äé\u{1}\t]{0,6}[a-z]"]
        .prop_filter("a name", |name| !name.trim().is_empty())
}

fn entry<T: std::fmt::Debug>(value: impl Strategy<Value = T>) -> impl Strategy<Value = Entry<T>> {
    let remark = "([!-~ä]([ -~ä]{0,8}[!-~ä])?)?";
    (value, prop::collection::vec(remark, 0..2))
        .prop_map(|(value, remarks)| Entry { remarks, ..Entry::new(value) })
}

fn rows<T: std::fmt::Debug>(
    value: impl Strategy<Value = T>,
) -> impl Strategy<Value = BTreeMap<String, Entry<T>>> {
    prop::collection::btree_map(word(), entry(value), 0..4)
}

fn records() -> impl Strategy<Value = Record> {
    let words = || prop::collection::vec(word(), 0..3);
    let some = prop::option::of::<BoxedStrategy<String>>;
    let address = || 1u16..=2048;
    let levers = rows(
        (any::<u16>(), prop::option::of(address()), words())
            .prop_map(|(number, address, moves)| LeverBuilt { number, address, moves }),
    );
    let strips = rows(
        (address(), any::<u16>(), prop::option::of(any::<u16>()))
            .prop_map(|(first_address, chain, cab)| StripBuilt { first_address, chain, cab }),
    );
    let decoders = rows(
        (word(), some(word().boxed()), address(), any::<u16>())
            .prop_map(|(part, at, first_address, outputs)| DecoderBuilt { part, at, first_address, outputs }),
    );
    let machines = rows(
        (some(word().boxed()), prop::option::of(address()), words())
            .prop_map(|(decoder, address, tracks)| MachineBuilt { decoder, address, tracks }),
    );
    let numbers = || prop::collection::vec(1u16..10_000, 0..3);
    let wires = rows(
        (word(), some(word().boxed()), some(word().boxed()), numbers(), numbers())
            .prop_map(|(id, from, to, terminals, pins)| WireBuilt { id, from, to, terminals, pins }),
    );
    let findings = rows(
        (any::<bool>(), prop::option::of(tried()), some(word().boxed()))
            .prop_map(|(inverted, tried, note)| Finding { inverted, tried, note }),
    );
    let retired = prop_oneof![
        any::<u16>().prop_map(Retired::Number),
        any::<u16>().prop_map(Retired::Address),
        word().prop_map(Retired::Wire),
        word().prop_map(Retired::Decoder),
    ];
    let retired = prop::collection::btree_map(retired, entry(word()), 0..4);
    let accessories = rows(
        (address(), proptest::option::of(address()))
            .prop_map(|(address, number)| AccessoryBuilt { address, number }),
    );
    let above = prop::collection::btree_map(
        prop::sample::select(HEADINGS.into_iter().chain(["", "."]).map(str::to_owned).collect::<Vec<_>>()),
        prop::collection::vec("[!-~]{1,9}", 1..3),
        0..3,
    );
    (entry(word()), (levers, accessories, strips, decoders), (machines, wires, findings), retired, above)
        .prop_map(
            |(
                layout,
                (levers, accessories, strips, decoders),
                (machines, wires, findings),
                retired,
                remarks,
            )| {
                Record {
                    layout: Some(layout),
                    levers,
                    accessories,
                    strips,
                    decoders,
                    machines,
                    wires,
                    findings,
                    retired,
                    remarks,
                }
            },
        )
}

/// Whatever is kept comes back the same, and its text is the same once more; what two rows claim is all that is said.
#[test]
fn prop_a_written_record_is_read_as_it_was() {
    proptest!(fixed(), |(record in records())| {
        let text = write(&record);
        let outcome = read(&text);
        for note in &outcome.diagnostics {
            prop_assert_eq!(note.code.name(), "record-used-twice", "{:?}\n{}", note, text);
        }
        prop_assert_eq!(&outcome.value, &record, "{}", text);
        prop_assert_eq!(write(&outcome.value), text);
    });
}

/// Adding a thing adds its rows and changes no other.
#[test]
fn prop_one_more_lever_is_one_more_row() {
    proptest!(fixed(), |(record in records(), id in word())| {
        prop_assume!(!record.levers.contains_key(&id));
        let before = write(&record);
        let mut record = record;
        record.levers.insert(id, Entry::new(LeverBuilt { number: 1, address: None, moves: Vec::new() }));
        let after = write(&record);
        let mut rows = after.lines();
        prop_assert!(before.lines().all(|row| rows.any(|other| other == row)));
        prop_assert_eq!(after.lines().count(), before.lines().count() + 1);
    });
}

/// What a step came to.
fn tried() -> impl Strategy<Value = Tried> {
    let when = (1970u16..2100, 1u8..13, 1u8..32, 0u8..24)
        .prop_map(|(year, month, day, hour)| format!("{year}-{month:02}-{day:02}T{hour:02}:04:59Z"));
    let reading =
        (0u32..100_000).prop_map(|millivolts| format!("{}.{:03} V", millivolts / 1000, millivolts % 1000));
    let verdict = prop::sample::select(Verdict::ALL.map(|(_, verdict)| verdict).to_vec());
    (verdict, word(), when, prop::option::of(reading), prop::option::of(word()))
        .prop_map(|(verdict, who, when, reading, saw)| Tried { verdict, who, when, reading, saw })
}

/// A finding that is damaged is refused with a place, and says what is missing.
#[test]
fn a_damaged_finding_is_refused_at_its_place() {
    let good = "\"lever 4\" = { verdict = \"good\", who = \"Ruth\", when = \"2026-05-01T19:04:00Z\" }";
    let text = |row: &str| {
        format!("schema = 1\nlayout = \"Tern Harbor\"\n\n[findings]\n{row}\n\n[end]\nwhole = true\n")
    };
    assert!(read(&text(good)).diagnostics.is_empty());
    for (was, becomes, code, at) in [
        ("\"good\"", "\"fine\"", "choice-unknown", "\"fine\""),
        ("who = \"Ruth\", ", "", "key-missing", "\"lever 4\""),
        (", when = \"2026-05-01T19:04:00Z\"", "", "key-missing", "\"lever 4\""),
        ("T19:04:00Z", " evening", "record-row-unreadable", "\"2026-05-01 evening\""),
        ("\"good\"", "\"bad\", reading = \"9.8\"", "unit-missing", "\"9.8\""),
        ("\"good\"", "\"bad\", reading = 9.8", "unit-missing", "9.8"),
        ("\"good\"", "\"bad\", reading = \"9.8 A\"", "unit-unknown", "\"9.8 A\""),
        ("\"good\"", "\"good\", seen = \"x\"", "key-unknown", "seen"),
    ] {
        let text = text(&good.replace(was, becomes));
        let outcome = read(&text);
        let notes: Vec<(&str, &str)> = (outcome.diagnostics.iter())
            .map(|note| (note.code.name(), &text[note.span.start..note.span.end]))
            .collect();
        assert_eq!(notes.len(), 1, "{becomes}: {notes:?}");
        assert!(notes[0].0 == code && notes[0].1.starts_with(at), "{becomes}: {notes:?}");
    }
}

/// Adding what was found loses nothing that is there, in whichever order two people's findings come.
#[test]
fn findings_are_added_and_nothing_is_lost() {
    let tried = |when: &str, verdict| {
        let when = when.to_owned();
        Some(Tried { verdict, who: "Ruth".into(), when, reading: None, saw: None })
    };
    let early = Finding {
        inverted: true,
        tried: tried("2026-05-01T19:04:00Z", Verdict::Bad),
        note: Some("crossed".into()),
    };
    let late = Finding { inverted: false, tried: tried("2026-05-02T08:00:00Z", Verdict::Good), note: None };
    let both = Finding { inverted: true, note: Some("crossed".into()), ..late.clone() };
    for order in [[&early, &late], [&late, &early]] {
        let mut record = read(WHOLE).value;
        let before = record.clone();
        for finding in order {
            record.add_finding("lever 4", finding.clone());
        }
        assert_eq!(record.findings["lever 4"].value, both);
        record.findings.remove("lever 4");
        assert_eq!(record, before);
    }
    // By hand: what is added to a row with a remark leaves the remark, and a trial leaves the note.
    let mut record = read(WHOLE).value;
    record.add_finding("machine 2", late.clone());
    let merged = &record.findings["machine 2"].value;
    assert_eq!((merged.inverted, merged.note.as_deref()), (true, Some("crossed leads")));
    assert_eq!(merged.tried, late.tried);
}
