//! What stands in the tables, by hand or from a standard.

use serde_json::Value;
use tables::{Cell, Table};

const DEMO: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

fn all(text: &str) -> Vec<Table> {
    tables::all(&testkit::plan_of(text))
}

/// The cell of a column, by its member.
fn cell<'a>(table: &Table, row: &'a [Cell], member: &str) -> &'a Cell {
    let at = table.columns.iter().position(|column| column.member == member);
    &row[at.unwrap_or_else(|| panic!("no `{member}` in {}", table.name))]
}

#[test]
fn every_table_has_a_name_a_short_title_and_full_rows() {
    let tables = all(DEMO);
    let names: Vec<&str> = tables.iter().map(|table| table.name).collect();
    assert_eq!(
        names,
        [
            "levers",
            "routes",
            "locking",
            "addresses",
            "decoders",
            "programming",
            "gaps",
            "wires",
            "terminal-strips",
            "connectors",
            "parts",
            "wire-to-buy"
        ]
    );
    for table in &tables {
        // A tab of a workbook holds 31 letters.
        assert!(table.title.chars().count() <= 31, "{}", table.title);
        assert!(table.rows.iter().all(|row| row.len() == table.columns.len()), "{}", table.name);
        // The demo has something of everything.
        assert!(!table.rows.is_empty(), "{}", table.name);
    }
}

const CV: &str = include_str!("../../../../reference/dcc/cv.json");

/// # Source
/// NMRA S-9.2.2 (July 2012), table 3: the address of a board in CV 1 and CV 9, as `reference/dcc/cv.json` works it out.
#[test]
fn a_decoder_is_programmed_with_the_board_of_its_first_address() {
    let reference: Value = serde_json::from_str(CV).unwrap();
    let mut tried = 0;
    for row in reference["decoder_address_method"].as_array().unwrap() {
        let Some(first) = row["first_user_of_board"].as_u64().filter(|first| *first <= 2037) else {
            continue;
        };
        let text = format!(
            "[layout]\nname = \"Tern Harbor Terminal\"\n[turnout.a]\npoints = \"w\"\nthrough = \"m\"\ndiverging = \"d\"\n\
             hand = \"left\"\naddress = {first}\n[end.w]\ntrack = \"w\"\n[end.m]\ntrack = \"m\"\n[end.d]\ntrack = \"d\"\n"
        );
        let tables = all(&text);
        let table = tables.iter().find(|table| table.name == "programming").unwrap();
        let found: Vec<(&Cell, &Cell)> =
            table.rows.iter().map(|row| (cell(table, row, "cv"), cell(table, row, "value"))).collect();
        let value = |name: &str| Cell::Whole(row[name].as_i64().unwrap());
        let expected = [(&Cell::Whole(1), &value("CV1")), (&Cell::Whole(9), &value("CV9"))];
        assert_eq!(found, expected, "{row}");
        tried += 1;
    }
    assert!(tried >= 5, "{tried} rows tried");
}

#[test]
fn a_table_of_json_says_metres() {
    let tables = all(DEMO);
    let wires = tables::json::write(tables.iter().find(|table| table.name == "wires").unwrap());
    let first = wires["rows"][0].as_object().unwrap();
    assert!(first.contains_key("length_m") && first.contains_key("colour"), "{first:?}");
}
