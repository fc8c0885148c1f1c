//! `show parts`: what to have and what to buy.

use crate::{SCHEMA, because};
use plan::model::{ListedPart, ListedWire, Plan, Strand};
use serde::Serialize;

/// `show parts`: what to have and what to buy.
#[derive(Debug, Serialize)]
pub struct PartsAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Every part.
    pub parts: Vec<ListedPartRow>,
    /// Wire that is not there already, by size and colour.
    pub wire: Vec<ListedWireRow>,
}

/// A part on the list.
#[derive(Debug, Serialize)]
pub struct ListedPartRow {
    /// What it is.
    pub what: String,
    /// How many the plan needs.
    pub count: u32,
    /// How many more to have as spares.
    pub spares: u32,
    /// How many of all these are on the shelf.
    pub shelf: u32,
    /// How many to buy.
    pub buy: u32,
    /// Why.
    pub because: Vec<String>,
}

/// Wire of one size and colour.
#[derive(Debug, Serialize)]
pub struct ListedWireRow {
    /// Its size, or that it is a ready-made cable.
    pub conductor: String,
    /// Its colour, or `any`.
    pub colour: String,
    /// How many conductors are of it.
    pub runs: u32,
    /// How long they are together, where their lengths are known.
    pub length_m: f64,
    /// How many of them have no known length.
    pub unmeasured: u32,
    /// How much to buy, spares included.
    pub buy: u32,
    /// What `buy` counts: `m`, `ft` or `pieces`.
    pub buy_unit: &'static str,
    /// Why.
    pub because: Vec<String>,
}

/// Answers `show parts`.
pub fn parts(plan: &Plan) -> PartsAnswer {
    PartsAnswer {
        schema: SCHEMA,
        parts: plan.parts_list.iter().map(part).collect(),
        wire: plan.wire_list.iter().map(|row| wire(plan, row)).collect(),
    }
}

fn part(row: &ListedPart) -> ListedPartRow {
    ListedPartRow {
        what: row.what.clone(),
        count: row.needed,
        spares: row.spares,
        shelf: row.shelf,
        buy: row.buy.value,
        because: because(&row.buy),
    }
}

fn wire(plan: &Plan, row: &ListedWire) -> ListedWireRow {
    ListedWireRow {
        conductor: row.strand.to_string(),
        colour: row.colour.clone(),
        runs: row.cores,
        length_m: row.length.value(),
        unmeasured: row.unmeasured,
        buy: row.buy.value,
        buy_unit: match (row.strand, plan.network.described.layout.units) {
            (Strand::ReadyMade, _) => "pieces",
            (Strand::Size(..), measure::Units::Metric) => "m",
            (Strand::Size(..), measure::Units::Imperial) => "ft",
        },
        because: because(&row.buy),
    }
}
