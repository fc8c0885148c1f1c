//! Maps of what is controlled from where: for one panel the whole railroad with the other panels' territory greyed, and an
//! index map with all panels and their numbers below it.

use crate::fonts::Fonts;
use crate::map::map_seen;
use crate::pen::{Pen, Type};
use crate::scene::{Scene, Tag, Xy};
use crate::schematic::Operator;
use crate::sheet::{Ink, MAP_MARGIN, MM, TRACK_NAME_HEIGHT, Um};
use crate::territory::joints_of;
use network::LeverId;
use plan::model::{LeverNumber, Plan};
use std::collections::BTreeSet;

/// Height of a row of the list below the index map.
const ROW_HEIGHT: Um = 6 * MM;

/// The map of one panel, of this size in millimetres; none where no panel has that name.
pub fn panel_map(
    plan: &Plan,
    panel: &str,
    width_mm: u32,
    height_mm: u32,
    operator: Operator,
) -> Option<Scene> {
    let (_, levers) = panels(plan).into_iter().find(|(name, _)| *name == panel)?;
    let network = &plan.network;
    let joints = joints_of(network, &levers);
    let joint_ids: BTreeSet<&str> = joints.iter().map(|&id| network.joint(id).id.as_str()).collect();
    let lever_ids: BTreeSet<&str> = levers.iter().map(|&id| network.lever(id).id.as_str()).collect();
    let tracks: BTreeSet<&str> = network
        .tracks
        .iter()
        .filter(|track| track.ends.iter().any(|end| joints.contains(&end.joint)))
        .map(|track| track.name.as_str())
        .collect();
    let is_here = |tag: &Tag| match (&tag.track, &tag.lever, &tag.joint) {
        (Some(track), _, _) => tracks.contains(track.as_str()),
        (None, Some(lever), _) => lever_ids.contains(lever.as_str()),
        (None, None, Some(joint)) => joint_ids.contains(joint.as_str()),
        // What belongs to nothing, such as the frame.
        (None, None, None) => true,
    };
    let mut scene = map_seen(plan, width_mm, height_mm, operator);
    for stroke in scene.strokes.iter_mut().filter(|stroke| !is_here(&stroke.tag)) {
        stroke.ink = Ink::Unknown;
    }
    for mark in scene.marks.iter_mut().filter(|mark| !is_here(&mark.tag)) {
        mark.ink = Ink::Unknown;
    }
    let elsewhere = |tag: &Tag| tag.lever.is_some() && !is_here(tag);
    scene.marks.retain(|mark| !elsewhere(&mark.tag));
    scene.words.retain(|words| !elsewhere(&words.tag));
    scene.strokes.retain(|stroke| stroke.tag.class != "leader" || is_here(&stroke.tag));
    scene.title = format!("{}: map of panel {panel}", network.described.layout.name);
    Some(scene)
}

/// The map of the whole railroad, of this size in millimetres, with a list of the panels and their numbers below it.
pub fn index_map(plan: &Plan, width_mm: u32, height_mm: u32, operator: Operator) -> Scene {
    let fonts = Fonts::read();
    let panels = panels(plan);
    let map = map_seen(plan, width_mm, height_mm, operator);
    let title = format!("{}: index map", plan.network.described.layout.name);
    let list_height = Um::try_from(panels.len() + 1).unwrap_or(0) * ROW_HEIGHT;
    let (width, top) = (map.width, map.height);
    let mut pen = Pen::on(&fonts, title, (width, top + list_height));
    pen.scene = Scene { title: pen.scene.title.clone(), height: pen.scene.height, ..map };
    let numbers = plan.numbers();
    let heading = width / 4;
    for (row, (name, levers)) in panels.iter().enumerate() {
        let y = top + Um::try_from(row + 1).unwrap_or(0) * ROW_HEIGHT;
        let mut of_panel: Vec<LeverNumber> =
            levers.iter().filter_map(|lever| numbers.get(lever)).copied().collect();
        of_panel.sort_unstable();
        let place = |x: Um| Xy::new(x, y);
        let bold = Type::bold(TRACK_NAME_HEIGHT);
        pen.write(name, place(MAP_MARGIN), heading - 2 * MAP_MARGIN, bold, Tag::class("panel-name"));
        let list = format!("levers {}", in_ranges(&of_panel));
        let plain = Type::plain(TRACK_NAME_HEIGHT);
        pen.write(&list, place(heading), width - heading - MAP_MARGIN, plain, Tag::class("panel-levers"));
    }
    pen.scene
}

/// Every panel with the levers that it controls: strips, then fascias.
fn panels(plan: &Plan) -> Vec<(&str, Vec<LeverId>)> {
    let strips = plan
        .strips
        .iter()
        .map(|strip| (strip.panel.as_str(), strip.pairs.iter().copied().flatten().collect()));
    let fascias = plan.fascias.iter().map(|fascia| (fascia.panel.as_str(), fascia.levers.clone()));
    strips.chain(fascias).collect()
}

/// Numbers in order as ranges: `1–4, 7`.
fn in_ranges(numbers: &[LeverNumber]) -> String {
    let ranges: Vec<String> = numbers
        .chunk_by(|a, b| a.checked_add(1) == Some(*b))
        .map(|run| match run {
            [one] => one.to_string(),
            [first, .., last] => format!("{first}–{last}"),
            [] => String::new(),
        })
        .collect();
    ranges.join(", ")
}
