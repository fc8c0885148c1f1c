//! `throwbar draw`: one kind of sheet as SVG, DXF, PDF or PNG, as the file's ending says.
//!
//! A PDF holds all sheets of a kind, a page each; of the other kinds of files there is one for each sheet, the second and
//! later ones numbered. All are made before the first is written.

use super::read_sound;
use crate::Ended;
use crate::arguments::{Sheet, Side};
use crate::failure::Failure;
use crate::file::write_whole;
use crate::print::{self, Style};
use ::draw::scene::Scene;
use ::draw::{Grid, Operator};
use ::plan::model::Plan;
use std::path::{Path, PathBuf};

/// Every sheet and the name of its file.
pub(crate) const SHEETS: [(&str, Sheet); 6] = [
    ("diagram", Sheet::Schematic),
    ("fascia-map", Sheet::Map),
    ("index-map", Sheet::Index),
    ("labels", Sheet::Labels),
    ("gap-plan", Sheet::Gaps),
    ("diode-matrix", Sheet::Diodes),
];

/// The size of the fascia map.
const MAP_WIDTH_MM: u32 = 170;
const MAP_HEIGHT_MM: u32 = 80;

/// Dots to the inch where nothing is said.
const DPI: u32 = 200;

/// What is to be drawn.
pub(crate) struct Wish {
    pub(crate) sheet: Sheet,
    pub(crate) from: Side,
    pub(crate) dpi: Option<u32>,
    pub(crate) grid: Option<Grid>,
}

/// A kind of file.
#[derive(Clone, Copy)]
enum Kind {
    Svg,
    Dxf,
    Pdf,
    Png { dpi: u32 },
}

impl Kind {
    fn of(output: &Path, dpi: Option<u32>) -> Result<Self, Failure> {
        let path = || output.to_owned();
        let ending = output.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
        let kind = match ending.as_deref() {
            Some("svg") => Self::Svg,
            Some("dxf") => Self::Dxf,
            Some("pdf") => Self::Pdf,
            Some("png") => return Ok(Self::Png { dpi: dpi.unwrap_or(DPI) }),
            Some(_) | None => return Err(Failure::FileKind { path: path() }),
        };
        if dpi.is_some() { Err(Failure::DotsElsewhere { path: path() }) } else { Ok(kind) }
    }

    /// The scenes as files: the bytes of each, in order.
    fn files(self, scenes: &[Scene]) -> Result<Vec<Vec<u8>>, Box<dyn std::error::Error>> {
        match self {
            Self::Svg => Ok(scenes.iter().map(|scene| ::draw::svg::write(scene).into_bytes()).collect()),
            Self::Dxf => scenes.iter().map(|scene| Ok(::draw::dxf::write(scene)?)).collect(),
            Self::Pdf => Ok(vec![::binder::pages(scenes)?]),
            Self::Png { dpi } => scenes.iter().map(|scene| Ok(::draw::png::write(scene, dpi)?)).collect(),
        }
    }
}

pub(crate) fn run(style: Style, path: &Path, output: &Path, wish: &Wish) -> Result<Ended, Failure> {
    let kind = Kind::of(output, wish.dpi)?;
    if wish.grid.is_some() && wish.sheet != Sheet::Labels {
        return Err(Failure::GridElsewhere);
    }
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let scenes = scenes(&read.plan, wish, matches!(kind, Kind::Dxf))?;
    if scenes.is_empty() {
        return Err(Failure::NothingToDraw { path: output.to_owned() });
    }
    let files = kind.files(&scenes).map_err(|source| Failure::Draw { path: output.to_owned(), source })?;
    let mut written = Vec::new();
    for (index, bytes) in files.iter().enumerate() {
        let path = if index == 0 { output.to_owned() } else { numbered(output, index + 1) };
        write_whole(&path, bytes)?;
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
    let part = |part: Option<&std::ffi::OsStr>| {
        part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default()
    };
    let (stem, ending) = (part(output.file_stem()), part(output.extension()));
    output.with_file_name(format!("{stem}-{number}.{ending}"))
}

/// One kind of sheet, drawn: a scene for each sheet that it takes. Number plates and diodes are the same from either side,
/// and a panel is drawn for the side that it is on. For a saw, a template is what it follows, in one piece.
fn scenes(plan: &Plan, wish: &Wish, for_saw: bool) -> Result<Vec<Scene>, Failure> {
    let operator = match wish.from {
        Side::Front => Operator::Front,
        Side::Back => Operator::Back,
    };
    let panel = |name: &str, drawn: Option<Vec<Scene>>| drawn.ok_or_else(|| no_panel(plan, name));
    Ok(match &wish.sheet {
        Sheet::Schematic => vec![::draw::schematic_seen(plan, operator).scene],
        Sheet::Panel(name) => panel(name, ::draw::panel_face(plan, name).map(|face| vec![face]))?,
        Sheet::Template(name) if for_saw => {
            panel(name, ::draw::panel_cut(plan, name).map(|outline| vec![outline]))?
        }
        Sheet::Template(name) => panel(name, ::draw::template(plan, name))?,
        Sheet::Map => vec![::draw::map_seen(plan, MAP_WIDTH_MM, MAP_HEIGHT_MM, operator)],
        Sheet::MapOf(name) => {
            let map = ::draw::panel_map(plan, name, MAP_WIDTH_MM, MAP_HEIGHT_MM, operator);
            panel(name, map.map(|map| vec![map]))?
        }
        Sheet::Index => vec![::draw::index_map(plan, MAP_WIDTH_MM, MAP_HEIGHT_MM, operator)],
        Sheet::Labels => ::draw::labels(plan, wish.grid).ok_or(Failure::GridTooFine)?,
        Sheet::Gaps => vec![::draw::gap_plan_seen(plan, operator).scene],
        Sheet::Diodes => ::draw::matrix(plan, &::plan::diode::wire_diodes(plan)).sheets,
    })
}

/// One kind of sheet as SVG, a picture for each sheet that it takes.
pub(crate) fn svgs(plan: &Plan, sheet: Sheet) -> Result<Vec<String>, Failure> {
    let wish = Wish { sheet, from: Side::Front, dpi: None, grid: None };
    Ok(scenes(plan, &wish, false)?.iter().map(::draw::svg::write).collect())
}

/// The panel that was asked for is not there, or has nothing to drill.
fn no_panel(plan: &Plan, name: &str) -> Failure {
    let fascias = plan.fascias.iter().map(|fascia| fascia.panel.as_str());
    let strips = plan.strips.iter().map(|strip| strip.panel.as_str());
    if strips.clone().any(|strip| strip == name) {
        let hint = "; a strip is bought drilled, so it has a face and no template".to_owned();
        return Failure::NameUnknown { what: "template for panel", name: name.to_owned(), hint };
    }
    let known: Vec<&str> = fascias.chain(strips).collect();
    let hint = match notice::nearest(name, known.iter().copied()) {
        Some(near) => format!("; did you mean `{near}`?"),
        None if known.is_empty() => "; it describes no strip and no fascia".to_owned(),
        None => format!("; its panels are {}", known.join(", ")),
    };
    Failure::NameUnknown { what: "panel", name: name.to_owned(), hint }
}
