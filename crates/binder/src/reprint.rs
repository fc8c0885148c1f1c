//! Which sheets of a binder are to be printed again when one plan takes the place of another: those on which anything that
//! the templates print is another than before. Title blocks, with their date and revision, do not count.

use crate::book;
use crate::paper::Paper;
use plan::model::Plan;
use std::collections::BTreeSet;
use typst::foundations::{Dict, Value};

/// Where what a sheet prints stands in the tree of values, sheet by sheet in the order of the binder. A branch within
/// another is named behind a dot.
const SHEETS: [(&str, &[&str]); 25] = [
    ("Cover", &["counts"]),
    ("Track diagram", &["drawings.diagram", "drawings.parts"]),
    ("Levers", &["levers"]),
    ("Addresses by board", &["boards"]),
    ("Decoders", &["decoders"]),
    ("Routes", &["routes"]),
    ("Locking table", &["locking"]),
    ("Diode matrix", &["diodes"]),
    ("Gap plan", &["gaps"]),
    ("Tracks", &["tracks"]),
    ("Wires by place", &["harness.places"]),
    ("Terminals", &["harness.terminals"]),
    ("Connectors between modules", &["harness.joints"]),
    (EACH_BUS, &["power"]),
    ("Supplies and fuses", &["power"]),
    ("What a meter reads", &["power"]),
    ("Resistors of lamps", &["power.lamps"]),
    ("Setting up the strips", &["chains"]),
    ("Commissioning", &["commissioning"]),
    ("Fault finding", &["faults"]),
    ("Number plates", &["drawings.plates"]),
    ("Fascia map", &["drawings.map"]),
    ("Parts and wire", &["purchases"]),
    ("Why it is so", &["reasons"]),
    ("Index", &["index"]),
];

/// What the title of each bus's sheet begins with.
const EACH_BUS: &str = "Bus";

/// Sheets that say the same for every layout.
const ALWAYS_ALIKE: [&str; 2] = ["Safety first", "Notes"];

/// The sheet that belongs to one change alone.
const OF_ONE_CHANGE: &str = "Change order";

/// The titles of the sheets to print again, in the order of the binder, then the faces and templates of panels.
pub fn to_reprint(old: &Plan, new: &Plan) -> Vec<String> {
    let paper = Paper::of(new.network.described.layout.units);
    let (was, now) = (book::values(old, paper, None), book::values(new, paper, None));
    let differs = |branches: &[&str]| branches.iter().any(|path| branch(&was, path) != branch(&now, path));
    let mut titles: Vec<String> = Vec::new();
    for (title, _) in SHEETS.iter().filter(|(_, branches)| differs(branches)) {
        if *title == EACH_BUS {
            titles.extend(new.network.buses.iter().map(|bus| format!("{EACH_BUS} {}", bus.name)));
        } else {
            titles.push((*title).to_owned());
        }
    }
    let strips = new.strips.iter().map(|strip| strip.panel.as_str());
    let panels: BTreeSet<&str> =
        new.fascias.iter().map(|fascia| fascia.panel.as_str()).chain(strips).collect();
    for panel in panels {
        let face = |plan: &Plan| draw::panel_face(plan, panel).map(|scene| draw::svg::write(&scene));
        if face(old) != face(new) {
            titles.push(format!("Panel {panel}, face"));
        }
        let template = |plan: &Plan| {
            let sheets = draw::template(plan, panel);
            sheets.map(|sheets| sheets.iter().map(draw::svg::write).collect::<Vec<_>>())
        };
        if template(old) != template(new) {
            titles.push(format!("Panel {panel}, template"));
        }
    }
    titles
}

/// Whether a sheet of this title is one that [`to_reprint`] knows; parts of a sheet count as the sheet.
#[must_use]
pub fn is_known_sheet(title: &str) -> bool {
    let known = SHEETS.iter().map(|(title, _)| *title).chain(ALWAYS_ALIKE).chain([OF_ONE_CHANGE]);
    known.into_iter().any(|known| {
        let of_bus = known == EACH_BUS && title.starts_with(&format!("{known} "));
        title == known || of_bus || title.starts_with(&format!("{known},"))
    })
}

/// A branch of the tree as it prints; drawings by their pictures, since what they speak of is only for the index.
fn branch(values: &Dict, path: &str) -> Option<Value> {
    let (name, inner) = path.split_once('.').map_or((path, None), |(name, inner)| (name, Some(inner)));
    let value = values.get(name).ok()?;
    let Some(inner) = inner else { return Some(value.clone()) };
    let Value::Dict(drawings) = value else { return None };
    Some(pictures(drawings.get(inner).ok()?))
}

fn pictures(value: &Value) -> Value {
    if let Value::Array(list) = value {
        return Value::Array(list.iter().map(pictures).collect());
    }
    let Value::Dict(drawing) = value else { return value.clone() };
    // A part of a drawing holds it beside its place on the whole.
    match (drawing.get("svg"), drawing.get("drawing")) {
        (Ok(svg), _) => svg.clone(),
        (Err(_), Ok(inner)) => pictures(inner),
        (Err(_), Err(_)) => value.clone(),
    }
}
