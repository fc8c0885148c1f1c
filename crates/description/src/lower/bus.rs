//! `[bus.*]`: what feeds the rails and the decoders, and the places it passes.

use super::table::Table;
use crate::model::{Bus, BusKind, BusShape, BusSource, Buy, Description, Name};
use measure::{Capacitance, Conductor, Current, Length, Price, Resistance, Share, Voltage};
use notice::{Diagnostic, code};

pub(super) fn bus(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let kind = table.choice("kind", &[("track", BusKind::Track), ("accessory", BusKind::Accessory)]);
    table.need("kind");
    let mut sources = Vec::new();
    if table.has("source") {
        table.nested("source", |source| sources.extend(self::source(source)));
    } else {
        table.need("source");
        let _ = table.value("source");
    }
    table.tables("also_fed", |source| sources.extend(self::source(source)));
    let conductor = table.quantity("conductor", Conductor::read);
    let shape = table.choice("shape", &[("tree", BusShape::Tree), ("ring", BusShape::Ring)]);
    let path = path(&mut table, "path");
    let mut branches = Vec::new();
    table.tables("branches", |mut branch| {
        branches.extend(self::path(&mut branch, "path"));
        branch.close();
    });
    let drop_limit = table.quantity("drop_limit", Share::read);
    let load = table.quantity("load", Current::read);
    let joint = table.quantity("joint", Resistance::read);
    let feeder = table.quantity("feeder", Conductor::read);
    let feeder_length = table.quantity("feeder_length", Length::read);
    let capacitor = table.quantity("capacitor", Capacitance::read);
    let existing = table.flag("existing").unwrap_or(false);
    if existing && !table.has("conductor") {
        table.missing("conductor", "the size of what is there", "conductor = \"14 AWG\"");
    }
    let mut buy = Vec::new();
    table.tables("buy", |mut each| {
        each.need("conductor");
        let conductor = each.quantity("conductor", Conductor::read);
        let price = each.quantity("price", Price::read);
        each.close();
        buy.extend(conductor.map(|conductor| Buy { conductor, price }));
    });
    table.close();
    let (Some(kind), Some(path)) = (kind, path) else {
        description.unread.ids.insert(id.value);
        return;
    };
    if sources.is_empty() {
        description.unread.ids.insert(id.value);
        return;
    }
    let shape = shape.unwrap_or_default();
    let read = Bus {
        id,
        kind,
        sources,
        conductor,
        shape,
        path,
        branches,
        drop_limit,
        load,
        joint,
        feeder,
        feeder_length,
        existing,
        capacitor,
        buy,
    };
    description.buses.push(read);
}

fn source(mut table: Table<'_, '_>) -> Option<BusSource> {
    let at = table.needed_name("at");
    let part = table.name("part");
    table.need("volts");
    let volts = table.quantity("volts", Voltage::read);
    let trip = table.quantity("trip", Current::read);
    let inner = table.quantity("inner", Resistance::read);
    table.close();
    Some(BusSource { at: at?, part, volts: volts?, trip, inner })
}

/// Two places or more.
fn path(table: &mut Table<'_, '_>, key: &'static str) -> Option<Vec<Name>> {
    if !table.has(key) {
        table.need(key);
        let _ = table.value(key);
        return None;
    }
    let names = table.names(key)?;
    if names.len() < 2 {
        let count = if names.is_empty() { "no place" } else { "1 place" };
        let message = format!("`{key}` names {count}, and a bus leads from one to another");
        let note = Diagnostic::error(code::BUS_PATH_SHORT, table.place_of(key), message)
            .help("write the places that it passes, in order, such as [\"bay 1\", \"bay 2\"]");
        table.note(note);
        return None;
    }
    Some(names)
}
