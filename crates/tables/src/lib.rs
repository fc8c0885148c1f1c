//! Every table of a plan as rows of cells, made once, and written as CSV, JSON and one workbook.
//!
//! [`all`] turns a plan into [`Table`]s: a title, columns with their units, rows. What stands in them is what the JSON answers
//! say; nothing is decided here. [`csv`], [`json`] and [`xlsx`] write tables, each the same bytes every time. Lengths are kept in metres
//! and printed in the unit of their column.

mod change;
mod controls;
pub mod csv;
mod harness;
pub mod json;
mod table;
pub mod xlsx;

pub use table::{Cell, Column, ROWS_MAX, Table, Unit};

pub use change::change_order;

use plan::model::Plan;

/// What to buy: parts, and wire by size and colour.
pub fn purchases(plan: &Plan) -> (Table, Table) {
    harness::purchases(plan)
}

/// Every table of a plan, in the order of the workbook.
///
/// # Example
/// ```
/// let plan = testkit::plan_of(
///     r#"
/// [layout]
/// name = "Tern Harbor Terminal"
/// [turnout.wharf]
/// points = "west"
/// through = "main"
/// diverging = "wharf"
/// hand = "left"
/// [end.west]
/// track = "west"
/// [end.east]
/// track = "main"
/// [end.wharf]
/// track = "wharf"
/// "#,
/// );
/// let tables = tables::all(&plan);
/// assert!(tables::csv::write(&tables[0]).starts_with("lever,name,machines"));
/// ```
pub fn all(plan: &Plan) -> Vec<Table> {
    let mut tables = controls::tables(plan);
    tables.extend(harness::tables(plan));
    tables
}
