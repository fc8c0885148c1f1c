//! The diode matrix: how many diodes it takes, which lead where, wire by wire, and the matrix drawn on as many sheets as it
//! needs.

use std::collections::BTreeMap;

use plan::diode::{Wire, wire_diodes};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::drawings::drawing;
use crate::ledger::Ledger;
use crate::locking::named;
use crate::room::rows_printed;

/// The most wires whose diodes are listed; the rest is counted.
pub const WIRES_PRINTED_MAX: usize = 1_000;

/// The matrix: `(plain, shared, bound, deepest, groups, wires, wires_left_out, drawings, drawings_left_out)`.
pub(crate) fn diodes(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    let matrix = wire_diodes(plan);
    let mut feeds: BTreeMap<Wire, Vec<String>> = BTreeMap::new();
    for (from, to) in &matrix.diodes {
        feeds.entry(*from).or_default().push(to.label());
    }
    let drawn = draw::matrix(plan, &matrix);
    let count = drawn.sheets.len();
    let layout = &plan.network.described.layout.name;
    let drawings = drawn.sheets.into_iter().enumerate().map(|(index, scene)| {
        let alt = format!(
            "Diode matrix of {layout}, sheet {} of {count}; every diode stands in the list of wires too",
            index + 1
        );
        drawing(ledger, scene, &alt).into_value()
    });
    let printed = rows_printed(feeds.values().map(Vec::len), WIRES_PRINTED_MAX);
    let wires = feeds.iter().take(printed).map(|(from, tos)| {
        dict! {
            "label" => from.label(),
            "route" => match *from {
                Wire::Route(index) => named(ledger, index).into_value(),
                Wire::Group(_) | Wire::Line(..) => Value::None,
            },
            "to" => tos.iter().map(|to| to.as_str().into_value()).collect::<Array>(),
        }
        .into_value()
    });
    dict! {
        "plain" => matrix.plain_count,
        "shared" => matrix.diodes.len(),
        "bound" => matrix.bound,
        "deepest" => matrix.deepest(),
        "groups" => feeds.keys().filter(|wire| matches!(wire, Wire::Group(_))).count(),
        "wires" => wires.collect::<Array>(),
        "wires_left_out" => feeds.len() - printed,
        "drawings" => drawings.collect::<Array>(),
        "drawings_left_out" => drawn.left_out,
    }
}
