//! Tables of the harness: wires, terminals, connectors, and what to buy.

use crate::table::{Cell, Table};
use plan::model::Plan;

/// The tables of the harness, in the order of the workbook.
pub(crate) fn tables(plan: &Plan) -> Vec<Table> {
    let wiring = answers::wiring(plan);
    let units = plan.network.described.layout.units;
    let (parts, wire) = purchases(plan);
    vec![
        wires(&wiring).with_lengths(&["length"], units),
        terminals(&wiring),
        connectors(plan, &wiring),
        parts,
        wire,
    ]
}

/// What to buy: parts, and wire by size and colour.
pub(crate) fn purchases(plan: &Plan) -> (Table, Table) {
    let answer = answers::parts(plan);
    let units = plan.network.described.layout.units;
    (parts_to_buy(&answer), wire_to_buy(&answer).with_lengths(&["length"], units))
}

fn wires(answer: &answers::WiringAnswer) -> Table {
    let columns = [
        ("id", "wire"),
        ("from_what", "from"),
        ("from", "from place"),
        ("to_what", "to"),
        ("to", "to place"),
        ("does", "does"),
        ("conductor", "conductor"),
        ("colour", "colour"),
        ("length", "length"),
        ("label_from", "label where it starts"),
        ("label_to", "label where it ends"),
        ("terminal", "terminal"),
        ("pin", "pin"),
        ("existing", "there already"),
        ("because", "because"),
    ];
    let rows = answer.runs.iter().map(|run| {
        [
            (&run.id).into(),
            (&run.from_what).into(),
            run.from.as_ref().into(),
            (&run.to_what).into(),
            run.to.as_ref().into(),
            run.does.into(),
            (&run.conductor).into(),
            (&run.colour).into(),
            run.length_m.map_or(Cell::Empty, Cell::Length),
            (&run.label[0]).into(),
            (&run.label[1]).into(),
            run.terminal.as_ref().into(),
            run.pin.into(),
            if run.existing { "yes" } else { "no" }.into(),
            run.because.as_slice().into(),
        ]
    });
    Table::new("wires", "Wires", columns, rows)
}

fn terminals(answer: &answers::WiringAnswer) -> Table {
    let columns = [("at", "place"), ("position", "position"), ("run", "wire"), ("to", "leads to")];
    let rows = answer.terminal_strips.iter().flat_map(|strip| {
        strip
            .positions
            .iter()
            .map(|at| [(&strip.at).into(), at.position.into(), at.run.as_ref().into(), at.to.as_ref().into()])
    });
    Table::new("terminal-strips", "Terminal strips", columns, rows)
}

fn connectors(plan: &Plan, answer: &answers::WiringAnswer) -> Table {
    let columns = [
        ("joint", "joint"),
        ("from", "from place"),
        ("to", "to place"),
        ("plug", "plug"),
        ("pin", "pin"),
        ("run", "wire"),
        ("means", "means"),
    ];
    let rows = answer.joints.iter().flat_map(|joint| {
        joint.pins.iter().map(|pin| {
            [
                (&joint.id).into(),
                (&joint.places[0]).into(),
                (&joint.places[1]).into(),
                plan::wire::plug_of(&plan.network, pin.pin).into(),
                pin.pin.into(),
                (&pin.run).into(),
                (&pin.means).into(),
            ]
        })
    });
    Table::new("connectors", "Connectors", columns, rows)
}

fn parts_to_buy(answer: &answers::PartsAnswer) -> Table {
    let columns = [
        ("what", "part"),
        ("count", "needed"),
        ("spares", "spares"),
        ("shelf", "on the shelf"),
        ("buy", "buy"),
        ("because", "because"),
    ];
    let rows = answer.parts.iter().map(|part| {
        [
            (&part.what).into(),
            part.count.into(),
            part.spares.into(),
            part.shelf.into(),
            part.buy.into(),
            part.because.as_slice().into(),
        ]
    });
    Table::new("parts", "Parts", columns, rows)
}

fn wire_to_buy(answer: &answers::PartsAnswer) -> Table {
    let columns = [
        ("conductor", "conductor"),
        ("colour", "colour"),
        ("runs", "conductors"),
        ("length", "length"),
        ("unmeasured", "of no known length"),
        ("buy", "buy"),
        ("buy_unit", "unit"),
        ("because", "because"),
    ];
    let rows = answer.wire.iter().map(|row| {
        [
            (&row.conductor).into(),
            (&row.colour).into(),
            row.runs.into(),
            Cell::Length(row.length_m),
            row.unmeasured.into(),
            row.buy.into(),
            row.buy_unit.into(),
            row.because.as_slice().into(),
        ]
    });
    Table::new("wire-to-buy", "Wire to buy", columns, rows)
}
