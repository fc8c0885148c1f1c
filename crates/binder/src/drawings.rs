//! The drawings that the sheets hold: each as SVG with its size on paper and the words a screen reader says for it.
//!
//! What is drawn, and how, is `draw`'s. Here a scene is only made ready for the sheet it stands on: its paper is taken
//! away (the sheet is white), letters that the type lacks are replaced, and number plates, which come as sheets of
//! their own, are cut out so that they stand on ours with its title block and measuring bar.

use std::collections::BTreeSet;

use draw::fonts::{LABEL_FAMILY, TABLE_FAMILY};
use draw::scene::{Layer, Scene, Xy};
use draw::sheet::{MM, PLATE_HEIGHT, PLATE_SHEET_MARGIN, PLATE_WIDTH, Um};
use measure::Units;
use plan::model::Plan;
use typst::foundations::{Array, Bytes, Dict, IntoValue, Value, dict};
use typst::layout::Abs;

use crate::diagram;
use crate::ledger::Ledger;
use crate::letters::NAME_LETTERS_MAX;
use crate::paper::Paper;

/// Rows of number plates that find room on a sheet of either paper, with its title, its bar and its title block.
const PLATE_ROWS: usize = 12;
/// How far a cutting line runs past the outermost plate, and a little more.
const CUT_ROOM: Um = 4_500;

/// What the margins, the title and the title block take of a sheet of labels.
const LABEL_HEAD_AND_FOOT: Um = 60 * MM;

/// The fascia map is as wide as a sheet that lies on its side allows, in millimetres.
const MAP_WIDTH_MM: u32 = 240;
const MAP_HEIGHT_MIN_MM: u32 = 60;
const MAP_HEIGHT_MAX_MM: u32 = 118;

/// The track diagram, its parts where it is too large to read, the sheets of number plates and the fascia map:
/// `(diagram, parts, plates, labels, map)`; labels of one place alone where one is named.
pub(crate) fn drawings(ledger: &Ledger<'_>, paper: Paper, at: Option<&str>) -> Dict {
    let plan = ledger.plan;
    let layout = &plan.network.described.layout.name;
    let whole = draw::schematic(plan).scene;
    let height = map_height_mm(&whole);
    let map = draw::map(plan, MAP_WIDTH_MM, height);
    let parts: Array =
        diagram::parts(&whole).into_iter().map(|part| diagram_part(ledger, part).into_value()).collect();
    let plates: Array = plate_scenes(plan, paper)
        .into_iter()
        .map(|scene| {
            drawing(ledger, scene, &format!("Number plates of {layout}, to be cut out")).into_value()
        })
        .collect();
    let labels: Array = draw::labels_at(plan, label_room(paper), at)
        .into_iter()
        .map(|scene| {
            drawing(
                ledger,
                scene,
                &format!("Labels of {layout}, to be cut out; the same words stand in the tables"),
            )
            .into_value()
        })
        .collect();
    let of_diagram = format!(
        "Track diagram of {layout}: {} tracks, {} levers, each numbered beside its points; the same facts stand in the \
         tables of levers, tracks and routes",
        plan.network.tracks.len(),
        plan.levers.len(),
    );
    let of_map = format!("Small track diagram of {layout} for the fascia, to be cut out");
    dict! {
        "diagram" => drawing(ledger, whole, &of_diagram),
        "parts" => parts,
        "plates" => plates,
        "labels" => labels,
        "map" => drawing(ledger, map, &of_map),
    }
}

/// A scene as the templates want it: `(svg, width, height, alt, speaks_of)`.
pub(crate) fn drawing(ledger: &Ledger<'_>, mut scene: Scene, alt: &str) -> Dict {
    let speaks_of = speaks_of(ledger, &scene);
    for words in &mut scene.words {
        words.text = ledger.letters(&words.text, NAME_LETTERS_MAX);
    }
    dict! {
        "svg" => picture(&scene),
        "width" => length(scene.width),
        "height" => length(scene.height),
        "alt" => ledger.words_up_to(alt, 2 * NAME_LETTERS_MAX),
        "speaks_of" => speaks_of,
    }
}

/// A part of the diagram: `(drawing, left, top, beside)`, its corner on the whole and its neighbours.
fn diagram_part(ledger: &Ledger<'_>, part: diagram::Part) -> Dict {
    let alt = format!("Part of the track diagram of {}", ledger.plan.network.described.layout.name);
    dict! {
        "left" => length(part.area.left),
        "top" => length(part.area.top),
        "beside" => part.beside.into_iter().map(IntoValue::into_value).collect::<Array>(),
        "drawing" => drawing(ledger, part.scene, &alt),
    }
}

/// The levers and tracks that have words on a drawing, as the index wants them: each `(kind, key)`.
fn speaks_of(ledger: &Ledger<'_>, scene: &Scene) -> Array {
    let tags = || scene.words.iter().map(|words| &words.tag);
    let levers: BTreeSet<usize> =
        tags().filter_map(|tag| tag.lever.as_deref()).filter_map(|id| ledger.row_of_lever(id)).collect();
    let tracks: BTreeSet<&str> = tags().filter_map(|tag| tag.track.as_deref()).collect();
    let levers = levers.into_iter().map(|row| pair("lever", row.into_value()));
    levers.chain(tracks.into_iter().map(|track| pair("track", ledger.words(track)))).collect()
}

fn pair(kind: &str, key: Value) -> Value {
    Array::from_iter([kind.into_value(), key]).into_value()
}

/// A scene's SVG as the typesetter wants it: without ground, since paper brings its own white, and with the narrow family
/// of labels under the name that the typesetter knows it by. It counts "Semi Condensed" as a width of the family Barlow, not
/// as part of a name, and would take the wider letters in its place.
pub(crate) fn picture(scene: &Scene) -> Bytes {
    let svg = draw::svg::write(scene);
    let mut rows: Vec<&str> = svg.lines().collect();
    rows.retain(|row| !row.starts_with("<rect class=\"paper\""));
    let narrow = format!("font-family=\"{LABEL_FAMILY}\"");
    let known = format!("font-family=\"{TABLE_FAMILY}\" font-stretch=\"semi-condensed\"");
    // No text of a user can hold this: quotation marks are escaped there.
    Bytes::from_string(rows.join("\n").replace(&narrow, &known))
}

pub(crate) fn length(um: Um) -> Abs {
    // Drawings are metres at most, so the conversion is exact.
    #[expect(clippy::cast_precision_loss, reason = "micrometres of a sheet of paper are far below 2^52")]
    Abs::mm(um as f64 / MM as f64)
}

/// The room for labels on a sheet with a title and a title block. Labels bring margins of their own, so their room is as wide as
/// the paper.
fn label_room(paper: Paper) -> (Um, Um) {
    let (width, height) = match paper {
        Paper::Letter => draw::sheet::LETTER,
        Paper::A4 => draw::sheet::A4,
    };
    (width, height - LABEL_HEAD_AND_FOOT)
}

/// The map as high as the diagram would have it at the map's width, within what a sheet allows.
fn map_height_mm(diagram: &Scene) -> u32 {
    let fitting = i64::from(MAP_WIDTH_MM) * diagram.height / diagram.width.max(1);
    u32::try_from(fitting).unwrap_or(MAP_HEIGHT_MAX_MM).clamp(MAP_HEIGHT_MIN_MM, MAP_HEIGHT_MAX_MM)
}

/// Number plates, so many to a scene as a sheet with a title block has room for, each scene cut down to its plates.
fn plate_scenes(plan: &Plan, paper: Paper) -> Vec<Scene> {
    let mut sheet = Plan { routes: Vec::new(), addresses: Vec::new(), ..plan.clone() };
    sheet.network.described.layout.units = match paper {
        Paper::Letter => Units::Imperial,
        Paper::A4 => Units::Metric,
    };
    let (width, _) = match paper {
        Paper::Letter => draw::sheet::LETTER,
        Paper::A4 => draw::sheet::A4,
    };
    let columns = usize::try_from((width - 2 * PLATE_SHEET_MARGIN) / PLATE_WIDTH).unwrap_or(1).max(1);
    let mut scenes = Vec::new();
    for levers in plan.levers.chunks(columns * PLATE_ROWS) {
        levers.clone_into(&mut sheet.levers);
        let rows = levers.len().div_ceil(columns);
        scenes.extend(
            draw::plates(&sheet).into_iter().map(|scene| cut_out(scene, columns.min(levers.len()), rows)),
        );
    }
    scenes
}

/// The part of a sheet of plates that holds the plates and their cutting lines.
fn cut_out(mut scene: Scene, columns: usize, rows: usize) -> Scene {
    // The bar goes: the sheet has one of its own.
    scene.strokes.retain(|stroke| stroke.layer == Layer::Cut);
    scene.words.retain(|words| words.tag.class != "words");
    let cuts = scene.strokes.iter().flat_map(|stroke| &stroke.path);
    let left = cuts.clone().map(|at| at.x).min().unwrap_or(0);
    let top = cuts.map(|at| at.y).min().unwrap_or(0);
    let corner = Xy::new(left - (CUT_ROOM - 4 * MM), top - (CUT_ROOM - 4 * MM));
    for at in scene.strokes.iter_mut().flat_map(|stroke| &mut stroke.path) {
        *at = Xy::new(at.x - corner.x, at.y - corner.y);
    }
    for words in &mut scene.words {
        words.at = Xy::new(words.at.x - corner.x, words.at.y - corner.y);
    }
    let across = |count: usize, size: Um| Um::try_from(count).unwrap_or(0) * size + 2 * CUT_ROOM;
    (scene.width, scene.height) = (across(columns, PLATE_WIDTH), across(rows, PLATE_HEIGHT));
    scene
}
