//! `[bus.*]`: what feeds the rails and the decoders, and the places it passes.

use super::table::Table;
use crate::model::{Bus, BusKind, BusShape, BusSource, Buy, Description, Name};
use measure::{Capacitance, Conductor, Current, Length, Price, Resistance, Share, Voltage};
use notice::{Diagnostic, code};

/// How a source is written, for those who have not.
const SOURCE_EXAMPLE: &str = "{ at = \"bay 1\", part = \"booster\", volts = \"14.5 V\", trip = \"5 A\" }";

pub(super) fn bus(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let kind = table.choice("kind", &[("track", BusKind::Track), ("accessory", BusKind::Accessory)]);
    if !table.has("kind") {
        table.missing("kind", "what the bus feeds", "kind = \"track\"");
    }
    let mut sources = Vec::new();
    if table.has("source") {
        table.nested("source", SOURCE_EXAMPLE, |source| sources.extend(self::source(source)));
    } else {
        table.missing("source", "what feeds it", &format!("source = {SOURCE_EXAMPLE}"));
        let _ = table.value("source");
    }
    table.tables("also_fed", SOURCE_EXAMPLE, |source| sources.extend(self::source(source)));
    let conductor = table.quantity("conductor", "14 AWG", Conductor::read);
    let shape = table.choice("shape", &[("tree", BusShape::Tree), ("ring", BusShape::Ring)]);
    let path = path(&mut table, "path");
    let mut branches = Vec::new();
    table.tables("branches", "{ path = [\"bay 2\", \"bay 5\"] }", |mut branch| {
        branches.extend(self::path(&mut branch, "path"));
        branch.close();
    });
    let drop_limit = table.quantity("drop_limit", "5 %", Share::read);
    let load = table.quantity("load", "3 A", Current::read);
    let joint = table.quantity("joint", "10 mohm", Resistance::read);
    let feeder = table.quantity("feeder", "20 AWG", Conductor::read);
    let feeder_length = table.quantity("feeder_length", "12 in", Length::read);
    let capacitor = table.quantity("capacitor", "4700 uF", Capacitance::read);
    let existing = table.flag("existing").unwrap_or(false);
    if existing && !table.has("conductor") {
        table.missing("conductor", "the size of what is there", "conductor = \"14 AWG\"");
    }
    let mut buy = Vec::new();
    table.tables("buy", "{ conductor = \"14 AWG\", price = \"0.55 /m\" }", |mut each| {
        if !each.has("conductor") {
            each.missing("conductor", "what can be bought", "conductor = \"14 AWG\"");
        }
        let conductor = each.quantity("conductor", "14 AWG", Conductor::read);
        let price = each.quantity("price", "0.55 /m", Price::read);
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
    let at = table.needed_name("at", "the place where it stands");
    let part = table.name("part");
    if !table.has("volts") {
        table.missing("volts", "its voltage without load", "volts = \"14.5 V\"");
    }
    let volts = table.quantity("volts", "14.5 V", Voltage::read);
    let trip = table.quantity("trip", "5 A", Current::read);
    let inner = table.quantity("inner", "50 mohm", Resistance::read);
    table.close();
    Some(BusSource { at: at?, part, volts: volts?, trip, inner })
}

/// Two places or more.
fn path(table: &mut Table<'_, '_>, key: &'static str) -> Option<Vec<Name>> {
    if !table.has(key) {
        table.missing(key, "the places it passes, in order", "path = [\"bay 1\", \"bay 2\"]");
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
