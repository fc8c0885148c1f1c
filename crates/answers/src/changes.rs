//! `changes`: the work order between two layouts.

use crate::{SCHEMA, because};
use notice::Decided;
use plan::change::{Action, Item, WorkOrder};
use serde::Serialize;

/// `changes`: what stays, and what is to be done for one layout to become another. Each list is in bench order.
#[derive(Debug, Serialize)]
pub struct ChangesAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// The name of the layout that is to be built.
    pub layout: String,
    /// How many pieces of work there are.
    pub count: usize,
    /// How long all of it takes.
    pub minutes: f64,
    /// Things that stay as they are.
    pub keep: Vec<WorkRow>,
    /// Things to fit.
    pub add: Vec<WorkRow>,
    /// Things that go to another place, pair or output.
    pub r#move: Vec<WorkRow>,
    /// Things to take out.
    pub remove: Vec<WorkRow>,
    /// Plates and labels to change.
    pub relabel: Vec<WorkRow>,
    /// Things to set to another address.
    pub reprogram: Vec<WorkRow>,
    /// Sheets of the binder, faces and templates to print again.
    pub sheets: Vec<SheetRow>,
}

/// One piece of work, or one thing that stays.
#[derive(Debug, Serialize)]
pub struct WorkRow {
    /// Its place in the whole work order, from 1, in bench order; none for what stays.
    pub step: Option<usize>,
    /// `strip`, `decoder`, `machine`, `accessory`, `wire` or `lever`.
    pub kind: &'static str,
    /// Its id or name.
    pub name: String,
    /// Where the work is done.
    pub at: Option<String>,
    /// What it is as built.
    pub was: Option<String>,
    /// What it is to be.
    pub now: Option<String>,
    /// How long it takes.
    pub minutes: f64,
    /// Why.
    pub because: Vec<String>,
}

/// A sheet to print again.
#[derive(Debug, Serialize)]
pub struct SheetRow {
    /// Its title.
    pub sheet: String,
    /// Why.
    pub because: Vec<String>,
}

/// Answers `changes`. `sheets` are the titles of the sheets to print again.
pub fn changes(layout: &str, order: &WorkOrder, sheets: Vec<String>) -> ChangesAnswer {
    let steps: Vec<(Option<usize>, &Decided<Item>)> = {
        let mut step = 0;
        let mut number = |item: &Item| {
            (item.action != Action::Keep).then(|| {
                step += 1;
                step
            })
        };
        order.items.iter().map(|item| (number(&item.value), item)).collect()
    };
    let of = |action| {
        let items = steps.iter().filter(|(_, item)| item.value.action == action);
        items.map(|(step, item)| row(*step, item)).collect()
    };
    ChangesAnswer {
        schema: SCHEMA,
        layout: layout.to_owned(),
        count: order.count(),
        minutes: minutes(order.seconds()),
        keep: of(Action::Keep),
        add: of(Action::Add),
        r#move: of(Action::Move),
        remove: of(Action::Remove),
        relabel: of(Action::Relabel),
        reprogram: of(Action::Reprogram),
        sheets: sheets
            .into_iter()
            .map(|sheet| SheetRow {
                sheet,
                because: vec!["what is printed on it is another than before (sheet-differs)".to_owned()],
            })
            .collect(),
    }
}

fn row(step: Option<usize>, item: &Decided<Item>) -> WorkRow {
    let Item { thing, name, at, was, now, seconds, .. } = item.value.clone();
    WorkRow {
        step,
        kind: thing.word(),
        name,
        at,
        was,
        now,
        minutes: minutes(seconds),
        because: because(item),
    }
}

/// Minutes with one digit behind the point.
fn minutes(seconds: u32) -> f64 {
    (f64::from(seconds) / 6.0).round() / 10.0
}
