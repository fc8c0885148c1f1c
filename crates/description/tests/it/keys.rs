//! The rows from which the reference is printed are those that the reader goes by: whatever they say can be written is read, what
//! they leave out is refused.

use description::keys::{Key, Kind, TABLES, TableKeys, Without, reference};
use expect_test::expect_file;
use std::fmt::Write as _;

/// The rows that a table needs beside one key, for the first kind that has it.
fn beside(table: &TableKeys, with: &Key) -> String {
    let kind = with.only.first().copied();
    let needed = table.keys.iter().filter(|key| {
        let fits = kind.map_or(key.only.is_empty(), |kind| key.only.is_empty() || key.only.contains(&kind));
        key.without == Without::Needed && fits && key.name != with.name
    });
    let mut rows = String::new();
    for key in needed {
        let value = match (key.name, kind) {
            ("kind", Some(kind)) => format!("\"{kind}\""),
            _ => key.example.to_owned(),
        };
        let _ = writeln!(rows, "{} = {value}", key.name);
    }
    // A size that is there already is a size, a sheet has rows and columns, and a part has a role.
    let also = match (table.name, with.name) {
        ("bus", "existing") => "conductor = \"14 AWG\"\n",
        ("labels", "columns") => "rows = 8\n",
        ("labels", "rows") => "columns = 3\n",
        ("part", name) if name != "role" => "role = \"lamp\"\n",
        ("turnout", name) if name != "hand" => "hand = \"left\"\n",
        _ => "",
    };
    rows + also
}

/// What the reader says of a table with this value for one key.
fn read(table: &TableKeys, key: &Key, value: &str) -> Vec<String> {
    let heading = if table.many { format!("[{}.T]", table.name) } else { format!("[{}]", table.name) };
    let layout = if table.name == "layout" { "" } else { "[layout]\nname = \"Tern Harbor\"\n" };
    let text = format!("{layout}{heading}\n{}{} = {value}\n", beside(table, key), key.name);
    let read = description::read(&text);
    read.diagnostics.iter().map(|note| format!("{}: {}\n{text}", note.code, note.message)).collect()
}

fn taken(table: &TableKeys, key: &Key, value: &str) {
    let mut said = read(table, key, value);
    // A screen is read and not used yet, which is said.
    said.retain(|note| !note.starts_with("table-not-used"));
    assert!(said.is_empty(), "{} {} = {value}: {}", table.heading(), key.name, said.join("\n"));
}

fn refused(table: &TableKeys, key: &Key, value: &str) {
    let said = read(table, key, value);
    assert!(!said.is_empty(), "{} {} = {value} is taken", table.heading(), key.name);
}

/// Every table, and those within keys with the way to write them there.
fn every_key(mut each: impl FnMut(&TableKeys, &Key)) {
    for table in TABLES {
        for key in table.keys {
            each(table, key);
        }
    }
}

#[test]
fn every_example_is_read() {
    let mut count = 0;
    every_key(|table, key| {
        taken(table, key, key.example);
        count += 1;
    });
    assert!(count > 200, "{count}");
}

#[test]
fn every_word_of_a_choice_is_read_and_no_other() {
    every_key(|table, key| {
        if let Kind::Choice(words) = key.kind {
            for word in words {
                // Another kind needs other keys.
                if key.name != "kind" || table.name != "link" {
                    taken(table, key, &format!("\"{word}\""));
                }
            }
            refused(table, key, "\"otherwise\"");
        }
        if let Kind::Choices(words) = key.kind {
            taken(table, key, &format!("{words:?}"));
            refused(table, key, "[\"otherwise\"]");
        }
    });
}

#[test]
fn numbers_are_read_from_end_to_end_and_not_beyond() {
    every_key(|table, key| {
        if let Kind::Whole(low, high) = key.kind {
            taken(table, key, &low.to_string());
            taken(table, key, &high.to_string());
            refused(table, key, &(i64::from(low) - 1).to_string());
            refused(table, key, &(high + 1).to_string());
        }
        if let Kind::Wholes(low, high) = key.kind {
            taken(table, key, &format!("[{low}, {high}]"));
            refused(table, key, &format!("[{}]", u32::from(high) + 1));
        }
    });
}

#[test]
fn what_is_usual_can_be_written_out() {
    every_key(|table, key| {
        if let Without::Usual(value) = key.without {
            let bare = matches!(key.kind, Kind::Whole(..) | Kind::Flag);
            let value = if bare { value.to_owned() } else { format!("\"{value}\"") };
            // Nothing, and what another key says, are no values of their own.
            if value != "\"0\"" && !value.contains('`') {
                taken(table, key, &value);
            }
        }
    });
}

#[test]
fn what_is_needed_is_missed_and_what_is_not_is_not() {
    for table in TABLES {
        for key in table.keys.iter().filter(|key| key.without == Without::Needed) {
            let rows = beside(table, key);
            let kind = if key.only.is_empty() && key.name != "kind" { "" } else { rows.as_str() };
            let heading =
                if table.many { format!("[{}.T]", table.name) } else { format!("[{}]", table.name) };
            let text = format!("{heading}\n{}", if kind.is_empty() { rows.as_str() } else { kind });
            let read = description::read(&text);
            let missed = format!("has no `{}`: {}", key.name, key.says);
            let is_missed = read.diagnostics.iter().any(|note| note.message.contains(&missed));
            assert!(is_missed, "{heading} without {}: {:?}", key.name, read.diagnostics);
        }
    }
}

#[test]
fn a_key_of_one_kind_is_refused_in_another() {
    for (table, kind, key) in [("panel", "strip", "width = \"400 mm\""), ("link", "simulator", "baud = 9600")]
    {
        let text = format!("[layout]\nname = \"Pier\"\n[{table}.T]\nkind = \"{kind}\"\n{key}\n");
        let codes: Vec<_> =
            description::read(&text).diagnostics.iter().map(|note| note.code.name()).collect();
        assert_eq!(codes, ["key-unknown"], "{text}");
    }
}

/// `UPDATE_EXPECT=1` writes the page anew.
#[test]
fn the_reference_of_the_handbook_is_printed_from_the_rows() {
    expect_file!["../../../../docs/description.md"].assert_eq(&reference(None));
}

/// The examples of the page, as they can be pasted: each table on its own.
#[test]
fn the_examples_of_the_reference_can_be_pasted() {
    let page = reference(None);
    let mut count = 0;
    for block in page.split("```toml\n").skip(1) {
        let rows = block.split("```").next().unwrap_or_default();
        let layout = if rows.starts_with("[layout]") { "" } else { "[layout]\nname = \"Tern Harbor\"\n" };
        let read = description::read(&format!("{layout}{rows}"));
        let codes: Vec<_> = read.diagnostics.iter().map(|note| note.message.clone()).collect();
        assert!(codes.is_empty(), "{rows}: {codes:?}");
        count += 1;
    }
    assert_eq!(count, TABLES.len());
}
