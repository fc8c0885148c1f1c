//! What to have and what to buy: parts, and wire by size and colour, as the tables have them.

use tables::{Cell, Table, Unit};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;
use crate::letters::SENTENCE_LETTERS_MAX;

/// Both lists: `(parts, wire)`.
pub(crate) fn purchases(ledger: &Ledger<'_>) -> Dict {
    let (parts, wire) = tables::purchases(ledger.plan);
    // Why so many are needed; that none is on the shelf or spare, the columns say.
    let reasons = ledger.plan.parts.iter().map(|need| ledger.reasons(need.count.because()));
    let parts = rows(ledger, &parts).zip(reasons).map(|(mut row, reasons)| {
        row.insert("reasons".into(), reasons.into_value());
        row.into_value()
    });
    let wire = rows(ledger, &wire).map(IntoValue::into_value);
    dict! { "parts" => parts.collect::<Array>(), "wire" => wire.collect::<Array>() }
}

/// The rows of a table, each by the members of its columns; a length stands in the unit of its column.
fn rows(ledger: &Ledger<'_>, table: &Table) -> impl Iterator<Item = Dict> {
    table.rows.iter().map(|row| {
        let members = row.iter().zip(&table.columns);
        members.map(|(cell, column)| (column.member.into(), value(ledger, cell, column.unit))).collect()
    })
}

fn value(ledger: &Ledger<'_>, cell: &Cell, unit: Unit) -> Value {
    match cell {
        Cell::Empty => Value::None,
        Cell::Text(text) => ledger.words_up_to(text, SENTENCE_LETTERS_MAX),
        Cell::Whole(whole) => whole.into_value(),
        Cell::Decimal(number) => number.to_string().into_value(),
        Cell::Length(metres) => {
            format!("{:.1} {}", unit.of_metres(*metres), unit.word().unwrap_or_default()).into_value()
        }
    }
}
