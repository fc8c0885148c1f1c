//! `throwbar draw`: one sheet as SVG.

use super::read_sound;
use crate::Ended;
use crate::arguments::Sheet;
use crate::failure::Failure;
use crate::file::write_whole;
use crate::print::{self, Style};
use ::plan::model::Plan;
use std::path::{Path, PathBuf};

/// Every sheet and the name of its file.
pub(crate) const SHEETS: [(&str, Sheet); 5] = [
    ("diagram", Sheet::Schematic),
    ("fascia-map", Sheet::Map),
    ("number-plates", Sheet::Labels),
    ("gap-plan", Sheet::Gaps),
    ("diode-matrix", Sheet::Diodes),
];

/// The size of the fascia map.
const MAP_WIDTH_MM: u32 = 170;
const MAP_HEIGHT_MM: u32 = 80;

pub(crate) fn run(style: Style, path: &Path, output: &Path, sheet: Sheet) -> Result<Ended, Failure> {
    if output.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("svg")) {
        return Err(Failure::FileKind { path: output.to_owned() });
    }
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let mut written = Vec::new();
    for (index, svg) in svgs(&read.plan, sheet).into_iter().enumerate() {
        let path = if index == 0 { output.to_owned() } else { numbered(output, index + 1) };
        write_whole(&path, svg.as_bytes())?;
        written.push(path.display().to_string());
    }
    if style.json {
        print::json(&serde_json::json!({ "schema": answers::SCHEMA, "written": written }))?;
    } else {
        print::answer(&(written.join("\n") + "\n"))?;
    }
    Ok(Ended::Well)
}

/// The name of the second and later sheets of one kind: `plates-2.svg`.
fn numbered(output: &Path, number: usize) -> PathBuf {
    let stem = output.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    output.with_file_name(format!("{stem}-{number}.svg"))
}

/// One kind of sheet, drawn: a picture for each sheet that it takes.
pub(crate) fn svgs(plan: &Plan, sheet: Sheet) -> Vec<String> {
    let scenes = match sheet {
        Sheet::Schematic => vec![::draw::schematic(plan).scene],
        Sheet::Map => vec![::draw::map(plan, MAP_WIDTH_MM, MAP_HEIGHT_MM)],
        Sheet::Labels => ::draw::plates(plan),
        Sheet::Gaps => vec![::draw::gap_plan(plan).scene],
        Sheet::Diodes => ::draw::matrix(plan, &::plan::diode::wire_diodes(plan)).sheets,
    };
    scenes.iter().map(::draw::svg::write).collect()
}
