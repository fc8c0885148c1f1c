//! Which sheets of a binder are to be printed again when one plan takes the place of another: those on which anything that
//! the templates print is another than before. Title blocks, with their date and revision, do not count.

use crate::book;
use crate::ledger::Ledger;
use crate::letters::NAME_LETTERS_MAX;
use crate::sheets::{EACH_BUS, EACH_PANEL, KINDS, is_of_kind, panels};
use crate::typeset::Options;
use plan::model::Plan;
use typst::foundations::{Dict, Value};

/// The titles of the sheets to print again, in the order of the binder, then the templates of panels.
pub fn to_reprint(old: &Plan, new: &Plan) -> Vec<String> {
    let paper = crate::paper::Paper::of(new.network.described.layout.units);
    let options = Options { paper: Some(paper), ..Options::default() };
    let (was, now) = (book::values(old, &options), book::values(new, &options));
    let differs = |branches: &[&str]| branches.iter().any(|path| branch(&was, path) != branch(&now, path));
    let mut titles: Vec<String> = Vec::new();
    for kind in KINDS.iter().filter(|kind| differs(kind.branches)) {
        match kind.title {
            EACH_BUS => titles.extend(new.network.buses.iter().map(|bus| format!("{EACH_BUS} {}", bus.name))),
            EACH_PANEL => titles.extend(panels_to_reprint(old, new)),
            title => titles.push(title.to_owned()),
        }
    }
    for panel in panels(new) {
        let template = |plan: &Plan| {
            let sheets = draw::template(plan, panel);
            sheets.map(|sheets| sheets.iter().map(draw::svg::write).collect::<Vec<_>>())
        };
        if template(old) != template(new) {
            titles.push(format!("{EACH_PANEL} {panel}, template"));
        }
    }
    titles
}

/// The sheets of the panels whose face, levers or place are others than before.
fn panels_to_reprint(old: &Plan, new: &Plan) -> Vec<String> {
    let (was, now) = (Ledger::of(old), Ledger::of(new));
    let of = |ledger: &Ledger<'_>, name: &str| {
        let all = crate::panels::panels(ledger);
        all.iter().find(|panel| panel_name(panel) == ledger.letters(name, NAME_LETTERS_MAX)).cloned()
    };
    let differing = panels(new).into_iter().filter(|name| {
        let face = |plan: &Plan| draw::panel_face(plan, name).map(|scene| draw::svg::write(&scene));
        let rows = |panel: Option<Value>| match panel {
            Some(Value::Dict(panel)) => {
                Some((panel.get("rows").ok().cloned(), panel.get("at").ok().cloned()))
            }
            _ => None,
        };
        face(old) != face(new) || rows(of(&was, name)) != rows(of(&now, name))
    });
    differing.map(|name| format!("{EACH_PANEL} {name}")).collect()
}

fn panel_name(panel: &Value) -> String {
    let Value::Dict(panel) = panel else { return String::new() };
    if let Ok(Value::Str(name)) = panel.get("name") { name.to_string() } else { String::new() }
}

/// Whether a sheet of this title is one that [`to_reprint`] knows; parts of a sheet count as the sheet.
#[must_use]
pub fn is_known_sheet(title: &str) -> bool {
    KINDS.iter().any(|kind| is_of_kind(title, kind.title))
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
