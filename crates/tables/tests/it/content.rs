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

/// The light has the pair behind the one turnout's, and the number behind its.
#[test]
fn a_light_has_a_row_among_the_addresses_and_a_pair_in_the_answer() {
    let text = "[layout]\nname = \"Tern Harbor\"\n[turnout.wharf]\npoints = \"a\"\nthrough = \"b\"\n\
        diverging = \"c\"\nhand = \"left\"\n[end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n\
        [panel.west]\nkind = \"strip\"\n[light.depot]\nname = \"Depot lamps\"\ndraw = \"60 mA\"\n\
        [signal.S1]\non = \"a\"\nguards = \"wharf\"\n";
    let tables = all(text);
    let addresses = tables.iter().find(|table| table.name == "addresses").unwrap();
    let members = ["address", "for", "lever", "number", "decoder"];
    let rows: Vec<Vec<String>> = addresses
        .rows
        .iter()
        .map(|row| members.iter().map(|member| format!("{:?}", cell(addresses, row, member))).collect())
        .collect();
    let says =
        |address: u16, what: &str, lever: Option<u16>, number: u16, decoder: Option<&str>| -> Vec<String> {
            let cells: [Cell; 5] = [
                address.into(),
                what.to_owned().into(),
                lever.into(),
                Some(number).into(),
                decoder.map(str::to_owned).into(),
            ];
            cells.iter().map(|cell| format!("{cell:?}")).collect()
        };
    assert_eq!(
        rows,
        [
            says(1, "machine wharf", Some(1), 1, Some("D1")),
            says(2, "signal S1", None, 2, Some("D2")),
            says(3, "light depot", None, 3, Some("D2")),
        ]
    );

    let answer = serde_json::to_value(answers::plan(&testkit::plan_of(text))).unwrap();
    let pair = &answer["strips"][0]["pairs"][2];
    assert_eq!((&pair["lever"], &pair["accessory"]), (&Value::Null, &Value::from("light depot")));
    assert_eq!((&pair["number"], &answer["levers"].as_array().unwrap().len()), (&Value::from(3), &1));
    let (signal, light) = (&answer["accessories"][0], &answer["accessories"][1]);
    assert_eq!((&signal["on"], &signal["guards"]), (&Value::from("a"), &Value::from("wharf")));
    assert_eq!((&light["name"], &light["draw_amps"]), (&Value::from("Depot lamps"), &Value::from(0.06)));
    assert_eq!(
        (&light["panel"], &light["pair"], &light["decoder"]),
        (&Value::from("west"), &Value::from(3), &Value::from("D2"))
    );
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
        // 128 is `basic, decoder address` in `cv29_values` there.
        let expected = [
            (&Cell::Whole(1), &value("CV1")),
            (&Cell::Whole(9), &value("CV9")),
            (&Cell::Whole(29), &Cell::Whole(128)),
        ];
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
