//! A table as JSON: one object for each row. A length says in its member's name that it is in metres.

use crate::table::{Cell, Table, Unit};
use serde_json::{Map, Value, json};

/// The table as one document.
pub fn write(table: &Table) -> Value {
    let rows: Vec<Value> = table
        .rows
        .iter()
        .map(|row| {
            let members = row.iter().zip(&table.columns).map(|(cell, column)| {
                let member = match column.unit {
                    Unit::None => column.member.to_owned(),
                    Unit::Metres | Unit::Feet => format!("{}_m", column.member),
                };
                (member, value(cell))
            });
            Value::Object(members.collect::<Map<_, _>>())
        })
        .collect();
    json!({
        "schema": answers::SCHEMA,
        "table": table.name,
        "title": table.title,
        "rows": rows,
        "left_out": table.left_out,
    })
}

fn value(cell: &Cell) -> Value {
    match cell {
        Cell::Empty => Value::Null,
        Cell::Text(text) => text.as_str().into(),
        Cell::Whole(number) => (*number).into(),
        Cell::Length(number) | Cell::Decimal(number) => (*number).into(),
    }
}
