//! The table of the change order: every piece of work in bench order, then what stays.

use crate::table::{Cell, Table};
use answers::{ChangesAnswer, WorkRow};

/// What leads from one layout to another: each piece of work, and each thing that stays.
pub fn change_order(answer: &ChangesAnswer) -> Table {
    let columns = [
        ("step", "step"),
        ("at", "place"),
        ("do", "do"),
        ("kind", "what"),
        ("name", "name"),
        ("was", "from"),
        ("now", "to"),
        ("minutes", "minutes"),
        ("because", "because"),
    ];
    let lists = [
        ("take out", &answer.remove),
        ("move", &answer.r#move),
        ("fit", &answer.add),
        ("label anew", &answer.relabel),
        ("set", &answer.reprogram),
        ("leave", &answer.keep),
    ];
    let mut rows: Vec<(&str, &WorkRow)> =
        lists.iter().flat_map(|(what, list)| list.iter().map(|row| (*what, row))).collect();
    // What stays has no step, and comes last.
    rows.sort_by_key(|(_, row)| row.step.unwrap_or(usize::MAX));
    let rows = rows.into_iter().map(|(what, row)| {
        [
            row.step.into(),
            row.at.as_ref().into(),
            what.into(),
            row.kind.into(),
            (&row.name).into(),
            row.was.as_ref().into(),
            row.now.as_ref().into(),
            Cell::Decimal(row.minutes),
            row.because.as_slice().into(),
        ]
    });
    Table::new("change-order", "Change order", columns, rows)
}
