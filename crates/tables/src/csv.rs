//! A table as comma-separated values.
//!
//! Fields that hold a comma, a quotation mark or a line end stand in quotation marks, and their own are doubled; rows end with CR
//! LF; the letters are UTF-8. Programs that open such files run a field that begins with `=`, `+`, `-`, `@`, a tab or a carriage
//! return as a formula, so a user's words that begin so get an apostrophe in front. Numbers stay as they are. Letters that only
//! control something become spaces.
//!
//! # Source
//! RFC 4180 (October 2005), section 2: the form, and that a field holds no control character but a quoted line end.

use crate::table::{Cell, Table, Unit};
use std::fmt::Write as _;

/// The table with its heads in the first row.
pub fn write(table: &Table) -> String {
    let mut text = String::new();
    let heads = table.columns.iter().map(|column| field(&column.full_head()));
    push_row(&mut text, heads);
    for row in &table.rows {
        let cells = row.iter().zip(&table.columns).map(|(cell, column)| print(cell, column.unit));
        push_row(&mut text, cells);
    }
    text
}

fn push_row(text: &mut String, fields: impl Iterator<Item = String>) {
    let row: Vec<String> = fields.collect();
    // Writing to a `String` cannot fail.
    let _ = write!(text, "{}\r\n", row.join(","));
}

fn print(cell: &Cell, unit: Unit) -> String {
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => field(&tamed(text)),
        Cell::Whole(number) => number.to_string(),
        Cell::Decimal(number) => number.to_string(),
        Cell::Length(metres) => unit.of_metres(*metres).to_string(),
    }
}

/// Words that no program takes for a formula, without letters that no field may hold.
fn tamed(text: &str) -> String {
    let plain = |letter: char| {
        if letter.is_control() && !['\r', '\n'].contains(&letter) { ' ' } else { letter }
    };
    let begins = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    begins.then_some('\'').into_iter().chain(text.chars().map(plain)).collect()
}

fn field(text: &str) -> String {
    if text.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
