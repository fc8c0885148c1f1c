//! The diode matrix: what its picture says is what the plan says.

use crate::layouts::{DEMO, OPEN, network};
use draw::scene::{Scene, Shape};
use draw::sheet::{MATRIX_ROOM, MATRIX_ROW_PITCH};
use plan::diode::{DiodeMatrix, Wire, wire_diodes};
use plan::model::Plan;
use std::collections::BTreeSet;

fn plan_of(text: &str) -> Plan {
    plan::make(network(text)).value
}

/// The diodes as someone reads them off the picture: from the name at the left of a diode to the name above it.
fn read_off(sheet: &Scene) -> BTreeSet<(String, String)> {
    let names = |class: &str| sheet.words.iter().filter(|words| words.tag.class == class).collect::<Vec<_>>();
    let (rows, columns) = (names("row-number"), names("column"));
    let diodes = sheet.marks.iter().filter(|mark| mark.shape == Shape::Diode);
    diodes
        .map(|diode| {
            let row = rows.iter().find(|row| (row.at.y - diode.at.y).abs() < MATRIX_ROW_PITCH / 2);
            let column = columns.iter().find(|column| column.at.x == diode.at.x);
            (row.expect("a row").text.clone(), column.expect("a column").text.clone())
        })
        .collect()
}

fn named(matrix: &DiodeMatrix) -> BTreeSet<(String, String)> {
    matrix.diodes.iter().map(|(from, to)| (from.label(), to.label())).collect()
}

#[test]
fn every_diode_stands_where_its_row_and_its_column_meet() {
    for text in [DEMO, OPEN[0].1] {
        let plan = plan_of(text);
        let matrix = wire_diodes(&plan);
        let drawn = draw::matrix(&plan, &matrix);
        assert_eq!(drawn.left_out, 0);
        let read: Vec<BTreeSet<_>> = drawn.sheets.iter().map(read_off).collect();
        let count: usize = read.iter().map(BTreeSet::len).sum();
        let all: BTreeSet<_> = read.into_iter().flatten().collect();
        assert_eq!(all, named(&matrix));
        assert_eq!(count, matrix.diodes.len(), "no diode is drawn twice");
    }
}

#[test]
fn a_wire_reaches_every_diode_on_it() {
    let plan = plan_of(DEMO);
    for sheet in draw::matrix(&plan, &wire_diodes(&plan)).sheets {
        for diode in sheet.marks.iter().filter(|mark| mark.shape == Shape::Diode) {
            let wires = sheet.strokes.iter().filter(|stroke| {
                let [a, b] = [stroke.path[0], stroke.path[1]];
                (a.x..=b.x).contains(&diode.at.x) && (a.y..=b.y).contains(&diode.at.y)
            });
            assert_eq!(wires.count(), 2, "one from the row, one to the column");
        }
        assert!(sheet.width <= MATRIX_ROOM.0 && sheet.height <= MATRIX_ROOM.1);
        for words in &sheet.words {
            assert!(sheet.sheet().holds(words.area), "{} runs off the sheet", words.text);
        }
        let heads = sheet.words.iter().filter(|words| words.tag.class == "column");
        let mut heads: Vec<_> = heads.map(|words| (words.area.left, words.area.right)).collect();
        heads.sort_unstable();
        assert!(heads.windows(2).all(|pair| pair[0].1 < pair[1].0), "heads stand apart");
    }
}

/// More diodes in one row than a sheet has columns: the row goes on on the next sheet, under its own name.
#[test]
fn a_row_too_long_for_a_sheet_is_on_several() {
    let plan = plan_of(DEMO);
    let mut matrix = DiodeMatrix::default();
    matrix.diodes.extend((0..100).map(|group| (Wire::Route(0), Wire::Group(group))));
    let drawn = draw::matrix(&plan, &matrix);
    assert!(drawn.sheets.len() > 1);
    assert_eq!(drawn.sheets.iter().flat_map(read_off).collect::<BTreeSet<_>>(), named(&matrix));
}

#[test]
fn a_matrix_beyond_all_sheets_says_how_much_is_left_out() {
    let plan = plan_of(DEMO);
    let mut matrix = DiodeMatrix::default();
    matrix.diodes.extend((0..5_000).map(|group| (Wire::Group(group + 1), Wire::Group(0))));
    let drawn = draw::matrix(&plan, &matrix);
    assert_eq!(drawn.sheets.len(), draw::MATRIX_SHEETS_MAX);
    let shown: usize = drawn.sheets.iter().map(|sheet| read_off(sheet).len()).sum();
    assert_eq!(shown + drawn.left_out, 5_000);
}
