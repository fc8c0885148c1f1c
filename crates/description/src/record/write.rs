//! The record as text: every thing on one row, in natural order, the same record always as the same bytes.

use super::{Entries, HEADINGS, Record, SCHEMA};
use notice::{natural, quoted};
use std::fmt::Write as _;

/// What stands above everything in a record, so that whoever opens it knows what it is.
pub(super) const HEADER: [&str; 3] = [
    "What is built, as `throwbar plan --keep` wrote it. Keep it beside layout.toml, and commit both.",
    "Numbers, addresses, wires and places in it stay as they are in later plans.",
    "What is retired is not used again; to free it, delete its row.",
];

/// The text of a record.
///
/// # Example
/// ```
/// use description::record::{self, Entry, Record};
/// let record = Record { layout: Some(Entry::new("Tern Harbor".into())), ..Record::default() };
/// let text = record::write(&record);
/// assert!(text.contains("layout = \"Tern Harbor\"\n"));
/// assert_eq!(record::read(&text).value, record);
/// ```
pub fn write(record: &Record) -> String {
    let mut text = String::new();
    remarks(&mut text, HEADER);
    above(&mut text, record, "");
    // Writing to a string cannot fail.
    let _ = writeln!(text, "\nschema = {SCHEMA}");
    if let Some(layout) = &record.layout {
        remarks(&mut text, layout.remarks.iter().map(String::as_str));
        let _ = writeln!(text, "layout = {}", quoted(&layout.value));
    }
    for heading in HEADINGS {
        text.push('\n');
        above(&mut text, record, heading);
        let _ = writeln!(text, "[{heading}]");
        rows_of(&mut text, record, heading);
    }
    above(&mut text, record, ".");
    text
}

fn rows_of(text: &mut String, record: &Record, heading: &str) {
    match heading {
        "levers" => rows(text, &record.levers, |lever| {
            vec![
                Some(format!("number = {}", lever.number)),
                lever.address.map(|address| format!("address = {address}")),
                Some(format!("moves = {}", list(&lever.moves))),
            ]
        }),
        "accessories" => {
            rows(text, &record.accessories, |other| {
                let number = other.number.map(|number| format!("number = {number}"));
                vec![number, Some(format!("address = {}", other.address))]
            });
        }
        "strips" => rows(text, &record.strips, |strip| {
            vec![
                Some(format!("first_address = {}", strip.first_address)),
                Some(format!("chain = {}", strip.chain)),
                strip.cab.map(|cab| format!("cab = {cab}")),
            ]
        }),
        "decoders" => rows(text, &record.decoders, |decoder| {
            vec![
                Some(format!("part = {}", quoted(&decoder.part))),
                name("at", decoder.at.as_deref()),
                Some(format!("first_address = {}", decoder.first_address)),
                Some(format!("outputs = {}", decoder.outputs)),
            ]
        }),
        "machines" => rows(text, &record.machines, |machine| {
            vec![
                name("decoder", machine.decoder.as_deref()),
                machine.address.map(|address| format!("address = {address}")),
                Some(format!("tracks = {}", list(&machine.tracks))),
            ]
        }),
        "wires" => rows(text, &record.wires, |wire| {
            vec![
                Some(format!("id = {}", quoted(&wire.id))),
                name("from", wire.from.as_deref()),
                name("to", wire.to.as_deref()),
                numbers("terminals", &wire.terminals),
                numbers("pins", &wire.pins),
            ]
        }),
        "findings" => rows(text, &record.findings, |finding| {
            let tried = finding.tried.as_ref();
            vec![
                finding.inverted.then(|| "inverted = true".to_owned()),
                name("verdict", tried.map(|tried| tried.verdict.word())),
                name("who", tried.map(|tried| tried.who.as_str())),
                name("when", tried.map(|tried| tried.when.as_str())),
                name("reading", tried.and_then(|tried| tried.reading.as_deref())),
                name("saw", tried.and_then(|tried| tried.saw.as_deref())),
                name("note", finding.note.as_deref()),
            ]
        }),
        "retired" => {
            let mut retired: Vec<_> = record.retired.iter().map(|(what, was)| (what.words(), was)).collect();
            retired.sort_by(|a, b| natural(&a.0, &b.0).then_with(|| a.0.cmp(&b.0)));
            for (what, was) in retired {
                remarks(text, was.remarks.iter().map(String::as_str));
                let _ = writeln!(text, "{} = {}", quoted(&what), quoted(&was.value));
            }
        }
        _ => text.push_str("whole = true\n"),
    }
}

fn rows<T>(text: &mut String, entries: &Entries<T>, members: impl Fn(&T) -> Vec<Option<String>>) {
    let mut order: Vec<_> = entries.iter().collect();
    order.sort_by(|a, b| natural(a.0, b.0).then_with(|| a.0.cmp(b.0)));
    for (key, entry) in order {
        remarks(text, entry.remarks.iter().map(String::as_str));
        let members: Vec<String> = members(&entry.value).into_iter().flatten().collect();
        let _ = writeln!(text, "{} = {{ {} }}", quoted(key), members.join(", "));
    }
}

fn name(key: &str, value: Option<&str>) -> Option<String> {
    value.map(|value| format!("{key} = {}", quoted(value)))
}

fn numbers(key: &str, numbers: &[u16]) -> Option<String> {
    let written: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    (!written.is_empty()).then(|| format!("{key} = [{}]", written.join(", ")))
}

fn list(names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
    format!("[{}]", names.join(", "))
}

fn above(text: &mut String, record: &Record, heading: &str) {
    let rows = record.remarks.get(heading).map(Vec::as_slice).unwrap_or_default();
    remarks(text, rows.iter().map(String::as_str));
}

fn remarks<'a>(text: &mut String, rows: impl IntoIterator<Item = &'a str>) {
    for row in rows {
        let _ = writeln!(text, "{}", format!("# {row}").trim_end());
    }
}
