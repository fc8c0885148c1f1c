//! Tables of the controls: levers, routes, what excludes what, addresses, decoders and what to program them with.

use crate::table::{Cell, ROWS_MAX, Table};
use answers::LeverPosition;
use plan::model::Plan;

/// The tables of the controls, in the order of the workbook.
pub(crate) fn tables(plan: &Plan) -> Vec<Table> {
    vec![
        levers(plan),
        routes(plan),
        locking(plan),
        addresses(plan),
        decoders(plan),
        programming(plan),
        gaps(plan),
    ]
}

fn levers(plan: &Plan) -> Table {
    let columns = [
        ("lever", "lever"),
        ("name", "name"),
        ("machines", "machines"),
        ("line", "line"),
        ("panel", "panel"),
        ("pair", "pair"),
        ("address", "address"),
        ("because", "because"),
    ];
    let rows = answers::levers(plan).levers.into_iter().map(|lever| {
        [
            lever.number.into(),
            lever.name.into(),
            lever.machines.join(", ").into(),
            lever.line.into(),
            lever.panel.into(),
            lever.pair.into(),
            lever.addresses.first().copied().into(),
            lever.because.as_slice().into(),
        ]
    });
    Table::new("levers", "Levers", columns, rows)
}

/// `1 normal, 4 reverse`.
fn settings(levers: &[LeverPosition]) -> String {
    levers.iter().map(|lever| format!("{} {}", lever.number, lever.position)).collect::<Vec<_>>().join(", ")
}

fn routes(plan: &Plan) -> Table {
    let columns = [
        ("route", "route"),
        ("name", "name"),
        ("from", "from"),
        ("to", "to"),
        ("levers", "levers"),
        ("tracks", "tracks"),
        ("length", "length"),
        ("preferred", "preferred"),
    ];
    let rows = answers::routes(plan).routes.into_iter().map(|route| {
        [
            route.id.into(),
            route.name.into(),
            route.from.into(),
            route.to.into(),
            settings(&route.levers).into(),
            route.tracks.join(", ").into(),
            route.length_m.map_or(Cell::Empty, Cell::Length),
            if route.preferred { "yes" } else { "no" }.into(),
        ]
    });
    Table::new("routes", "Routes", columns, rows)
        .with_lengths(&["length"], plan.network.described.layout.units)
}

fn locking(plan: &Plan) -> Table {
    let locked = network::lock(&plan.network, &plan.routes);
    let columns = [("route", "route"), ("excludes", "excludes"), ("why", "why")];
    let ids = plan::route_ids(plan);
    let pairs = answers::locked_pairs(plan, &locked, &ids).take(ROWS_MAX);
    let rows = pairs.map(|pair| [pair.a.into(), pair.b.into(), pair.why.join(", ").into()]);
    let table = Table::new("locking", "Locking", columns, rows);
    let left_out = locked.conflicting_count().saturating_sub(table.rows.len());
    Table { left_out, ..table }
}

fn addresses(plan: &Plan) -> Table {
    let columns = [
        ("address", "address"),
        ("board", "board"),
        ("output", "output"),
        ("for", "for"),
        ("decoder", "decoder"),
        ("lever", "lever"),
        ("number", "number"),
        ("because", "because"),
    ];
    let rows = answers::addresses(plan).addresses.into_iter().map(|row| {
        [
            row.address.into(),
            row.board.into(),
            row.output.into(),
            row.r#for.into(),
            row.decoder.into(),
            row.lever.into(),
            row.number.into(),
            row.because.as_slice().into(),
        ]
    });
    Table::new("addresses", "Addresses", columns, rows)
}

fn decoders(plan: &Plan) -> Table {
    let columns = [
        ("decoder", "decoder"),
        ("part", "part"),
        ("at", "place"),
        ("first_address", "first address"),
        ("outputs", "outputs"),
        ("used", "in use"),
        ("because", "because"),
    ];
    let rows = answers::addresses(plan).decoders.into_iter().map(|decoder| {
        [
            decoder.id.into(),
            decoder.part.into(),
            decoder.at.into(),
            decoder.first_address.into(),
            decoder.outputs.into(),
            decoder.used.into(),
            decoder.because.as_slice().into(),
        ]
    });
    Table::new("decoders", "Decoders", columns, rows)
}

fn programming(plan: &Plan) -> Table {
    let columns = [
        ("step", "step"),
        ("decoder", "decoder"),
        ("at", "place"),
        ("cv", "CV"),
        ("value", "value"),
        ("because", "because"),
        ("method", "method"),
        ("check", "check"),
        ("if_wrong", "if it is wrong"),
        ("on_main", "on the main"),
    ];
    let place = |id: &str| {
        let decoder = plan.decoders.iter().find(|decoder| decoder.id == id)?;
        decoder.at.as_ref().map(|at| at.value.as_str())
    };
    let rows = answers::addresses(plan).programming.into_iter().map(|row| {
        [
            row.step.into(),
            (&row.decoder).into(),
            place(&row.decoder).into(),
            row.cv.into(),
            u16::from(row.value).into(),
            row.why.into(),
            row.method.into(),
            row.check.as_slice().into(),
            row.if_wrong.as_slice().into(),
            row.on_main.into(),
        ]
    });
    Table::new("programming", "Programming", columns, rows)
}

fn gaps(plan: &Plan) -> Table {
    let columns = [("track", "track"), ("end", "cut"), ("because", "because")];
    let gaps = answers::polarity(plan).gaps.into_iter();
    Table::new("gaps", "Gaps", columns, gaps.map(|gap| [gap.track.into(), gap.end.into(), gap.why.into()]))
}
