//! CSV read back by Python's csv module, workbooks by openpyxl.
//!
//! # Source
//! RFC 4180 as the csv module of Python reads it, in its strict mode; openpyxl as `tests/tables/requirements.txt` names it.

use description::record::{Entries, Record};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;
use tables::{Cell, Column, Table, Unit};

/// A folder of this test's own, gone when it ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

/// What the readers find in these files, in the order of the files.
fn read_back(paths: &[PathBuf]) -> Vec<Value> {
    let tools = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/tables");
    let python = tools.join(".venv/bin/python");
    let ran = Command::new(&python)
        .arg(tools.join("read_back.py"))
        .args(paths)
        .output()
        .unwrap_or_else(|error| panic!("{}: {error}; `cargo xtask setup` installs it", python.display()));
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let mut found: Value = serde_json::from_slice(&ran.stdout).unwrap();
    paths.iter().map(|path| found[path.to_str().unwrap()].take()).collect()
}

fn table(rows: Vec<Vec<Cell>>) -> Table {
    let column = |member, head, unit| Column { member, head, unit };
    Table {
        name: "hostile",
        title: "Hostile",
        columns: vec![
            column("words", "words, \"quoted\"", Unit::None),
            column("count", "count", Unit::None),
            column("length", "length", Unit::Feet),
        ],
        rows,
        left_out: 0,
    }
}

/// What a reader of CSV should find in a cell.
fn in_csv(cell: &Cell) -> String {
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => {
            let spaced = text.replace('\t', " ");
            if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{spaced}") } else { spaced }
        }
        Cell::Whole(whole) => whole.to_string(),
        Cell::Decimal(number) => number.to_string(),
        Cell::Length(metres) => format!("{}", (metres / 0.3048 * 1000.0).round() / 1000.0),
    }
}

/// Tables of letters that mean something to a reader: commas, quotes, line ends, signs that begin a formula.
fn hostile() -> impl Strategy<Value = Vec<Vec<Cell>>> {
    let words = "[,\"\\n\\r=+@'\t a-cé²线;|-]{1,8}".prop_map(Cell::Text);
    let cell = || prop_oneof![Just(Cell::Empty), words.clone()];
    let row = (
        cell(),
        (-5i64..99_999).prop_map(Cell::Whole),
        (0u32..90_000).prop_map(|mm| Cell::Length(f64::from(mm) / 1000.0)),
    );
    prop::collection::vec(row.prop_map(|(a, b, c)| vec![a, b, c]), 1..12)
}

/// One start of the reader for all tables.
#[test]
fn hostile_words_come_back_as_they_were() {
    let mut runner = TestRunner::deterministic();
    let tables: Vec<_> = (0..64).map(|_| hostile().new_tree(&mut runner).unwrap().current()).collect();
    let folder = Folder::new("hostile");
    let written: Vec<PathBuf> = tables
        .iter()
        .enumerate()
        .map(|(index, rows)| folder.write(&format!("{index}.csv"), tables::csv::write(&table(rows.clone()))))
        .collect();
    for (rows, found) in tables.iter().zip(read_back(&written)) {
        let mut expected =
            vec![vec!["words, \"quoted\"".to_owned(), "count".to_owned(), "length (ft)".to_owned()]];
        expected.extend(rows.iter().map(|row| row.iter().map(in_csv).collect()));
        assert_eq!(found, serde_json::json!(expected), "{rows:?}");
    }
}

/// Words that would be formulas stay words; numbers are numbers; lengths are in the unit of their column.
#[test]
fn a_workbook_holds_words_and_numbers_and_no_formula() {
    let rows = vec![
        vec![Cell::Text("=1+1".into()), Cell::Whole(-3), Cell::Length(0.3048)],
        vec![Cell::Text("@SUM(A1)\nsecond row".into()), Cell::Empty, Cell::Length(1.0)],
        vec![Cell::Text("\u{1}bell".into()), Cell::Whole(2040), Cell::Empty],
    ];
    let folder = Folder::new("workbook");
    let bytes = tables::xlsx::write("Tern Harbor Terminal", &[table(rows)]).unwrap();
    let [found] = read_back(&[folder.write("workbook.xlsx", bytes)]).try_into().unwrap();
    assert_eq!(found["title"], "Tern Harbor Terminal");
    assert_eq!(found["created"], "2000-01-01T00:00:00");
    let sheet = &found["sheets"][0];
    assert_eq!(
        (&sheet["title"], &sheet["frozen"], &sheet["formulas"]),
        (&"Hostile".into(), &"A2".into(), &0.into())
    );
    assert_eq!(
        sheet["rows"],
        serde_json::json!([
            ["words, \"quoted\"", "count", "length (ft)"],
            ["=1+1", -3, 1],
            ["@SUM(A1)\nsecond row", null, 3.281],
            [" bell", 2040, null],
        ])
    );
}

const DEMO: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

/// Every table of the demo, by both readers, cell for cell.
#[test]
fn the_demo_is_the_same_in_every_form() {
    let plan = testkit::plan_of(DEMO);
    let mut tables = tables::all(&plan);
    let kept = plan::record_of(&plan, &Record::default());
    let without = Record { levers: Entries::new(), ..kept.clone() };
    let order = plan::change::work_since(&without, &plan, &kept);
    assert!(order.of(plan::change::Action::Add).count() > 0);
    tables.push(tables::change_order(&answers::changes("Tern Harbor Terminal", &order, Vec::new())));
    let folder = Folder::new("demo");
    let mut files: Vec<PathBuf> = tables
        .iter()
        .map(|table| folder.write(&format!("{}.csv", table.name), tables::csv::write(table)))
        .collect();
    files.push(folder.write("all.xlsx", tables::xlsx::write("Tern Harbor Terminal", &tables).unwrap()));
    let mut found = read_back(&files);
    let workbook = found.pop().unwrap();
    assert_eq!(workbook["sheets"].as_array().unwrap().len(), tables.len());
    for ((table, csv), sheet) in tables.iter().zip(&found).zip(workbook["sheets"].as_array().unwrap()) {
        assert_eq!(sheet["title"], table.title);
        let (csv, sheet) = (csv.as_array().unwrap(), sheet["rows"].as_array().unwrap());
        assert_eq!((csv.len(), sheet.len()), (table.rows.len() + 1, table.rows.len() + 1), "{}", table.name);
        let json = tables::json::write(table);
        assert_eq!(json["rows"].as_array().unwrap().len(), table.rows.len());
        for ((cells, in_csv), in_sheet) in table.rows.iter().zip(&csv[1..]).zip(&sheet[1..]) {
            for (at, cell) in cells.iter().enumerate() {
                let (text, value) = (in_csv[at].as_str().unwrap(), &in_sheet[at]);
                match cell {
                    Cell::Empty => assert!(text.is_empty() && value.is_null()),
                    Cell::Text(words) => assert!(text == words && value == words, "{words} {text} {value}"),
                    Cell::Whole(whole) => {
                        assert!(text == whole.to_string() && value.as_i64() == Some(*whole));
                    }
                    Cell::Decimal(decimal) => {
                        assert!(text == decimal.to_string() && value.as_f64() == Some(*decimal));
                    }
                    Cell::Length(metres) => {
                        let feet: f64 = text.parse().unwrap();
                        assert!((feet * 0.3048 - metres).abs() < 2e-4, "{metres} {feet}");
                        assert!((value.as_f64().unwrap() - feet).abs() < 1e-9);
                    }
                }
            }
        }
    }
}

#[test]
fn two_workbooks_of_one_plan_are_the_same_bytes() {
    let write =
        || tables::xlsx::write("Tern Harbor Terminal", &tables::all(&testkit::plan_of(DEMO))).unwrap();
    assert!(write() == write());
}
