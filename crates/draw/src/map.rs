//! The small map for the fascia, at 1:1: the diagram made to fit a given size, lever numbers kept large.
//!
//! The geometry is the diagram's, multiplied so that it fits the frame; strokes and marks shrink less than it does.
//! Numbers are placed anew at the first of a few heights at which all of them find room, 4 mm first, joints spread a little
//! for them; names are left out. If even the smallest leaves some without room those few are left out, since a number
//! over a track misleads.

use crate::compose::{Composition, Style, Wording, compose};
use crate::fonts::Fonts;
use crate::scene::{Area, Layer, Scene, Stroke, Tag, Xy};
use crate::schematic::geometry::Geometry;
use crate::schematic::{Draft, Operator, covered, move_scene, numbers_of};
use crate::sheet::{
    HAIR_WIDTH, Ink, MAIN_WIDTH, MAP_CLEARANCE_MIN, MAP_MAIN_MIN, MAP_MARGIN, MAP_MARK_MIN,
    MAP_NUMBER_HEIGHTS, MAP_TRACK_MIN, MARK_SIZE, MM, TRACK_WIDTH, Um, WORD_CLEARANCE,
};
use network::Network;
use plan::model::Plan;

/// How often a map is spread for numbers of one height before smaller ones are tried.
const SPREADS_MAX: usize = 5;

/// The fascia map of a plan, of this width and height in millimetres.
pub fn map(plan: &Plan, width_mm: u32, height_mm: u32) -> Scene {
    map_seen(plan, width_mm, height_mm, Operator::Front)
}

/// The fascia map of a plan as an operator on this side sees it.
pub fn map_seen(plan: &Plan, width_mm: u32, height_mm: u32, operator: Operator) -> Scene {
    map_with(&plan.network, &numbers_of(plan), [width_mm, height_mm], operator)
}

/// The fascia map of a network alone; levers are labelled with their ids.
pub fn map_of(network: &Network, width_mm: u32, height_mm: u32) -> Scene {
    let ids: Vec<String> = network.levers.iter().map(|lever| lever.id.clone()).collect();
    map_with(network, &ids, [width_mm, height_mm], Operator::Front)
}

fn map_with(network: &Network, numbers: &[String], size_mm: [u32; 2], operator: Operator) -> Scene {
    let [width, height] = size_mm.map(|mm| Um::from(mm) * MM);
    let fonts = Fonts::read();
    let wording = Wording { fonts: &fonts, network, numbers };
    let draft = Draft::of(&wording, operator);
    let mut scene = Scene::default();
    let mut paper = Area::default();
    'heights: for number in MAP_NUMBER_HEIGHTS {
        let mut draft = draft.clone();
        for _ in 0..SPREADS_MAX {
            let (small, style) = shrink(draft.geometry(), &wording, number, [width, height]);
            let mut made = compose(&small, &wording, &style);
            let full = made.crowded.is_empty();
            let given = draft.make_room(&made);
            drop_crowded(&mut made, &small);
            scene = made.scene;
            paper = style.within.unwrap_or_default();
            if full {
                break 'heights;
            }
            if !given {
                break;
            }
        }
    }
    scene.title = format!("{}: fascia map", network.described.layout.name);
    move_scene(&mut scene, Xy::new(-paper.left, -paper.top));
    (scene.width, scene.height) = (width, height);
    add_frame(&mut scene);
    scene
}

/// The geometry made to fit, and how heavy it is drawn then.
fn shrink(geometry: Geometry, wording: &Wording, number: Um, [width, height]: [Um; 2]) -> (Geometry, Style) {
    let bare =
        compose(&geometry, &Wording { numbers: &[], ..*wording }, &Style { names: false, ..Style::FULL });
    let full = covered(&bare.scene).unwrap_or_default();
    // Room for a number above the highest track and below the lowest is kept whatever the scale.
    let across = (width - 2 * MAP_MARGIN).max(MM);
    let up = (height - 2 * MAP_MARGIN - 3 * number).max(MM);
    let (full_width, full_height) = ((full.right - full.left).max(1), (full.bottom - full.top).max(1));
    let (to, of) =
        if across * full_height <= up * full_width { (across, full_width) } else { (up, full_height) };
    let (to, of) = if to > of { (1, 1) } else { (to, of) };
    let scaled = |size: Um, least: Um| (size * to / of).max(least).min(size);
    let middle = |from: Um, to_side: Um| i64::midpoint(from, to_side) * to / of;
    let middle = Xy::new(middle(full.left, full.right), middle(full.top, full.bottom));
    let style = Style {
        nearer: Style::FULL.nearer,
        leaders: Style::FULL.leaders,
        within: Some(Area::around(middle, width, height)),
        main: scaled(MAIN_WIDTH, MAP_MAIN_MIN),
        track: scaled(TRACK_WIDTH, MAP_TRACK_MIN),
        mark: scaled(MARK_SIZE, MAP_MARK_MIN),
        number,
        clearance: scaled(WORD_CLEARANCE, MAP_CLEARANCE_MIN),
        names: false,
        stop_scale: (to, of),
    };
    (geometry.scaled(to, of), style)
}

/// Takes out the numbers that found no room.
fn drop_crowded(made: &mut Composition, geometry: &Geometry) {
    for spot in geometry.spots.iter().filter(|spot| spot.numbered && made.crowded.contains(&spot.node)) {
        let area =
            made.numbers.iter().find(|number| number.machine == spot.machine).map(|number| number.area);
        made.scene.words.retain(|words| Some(words.area) != area);
    }
}

/// The line along which the map is cut out.
fn add_frame(scene: &mut Scene) {
    let inset = HAIR_WIDTH / 2;
    let (right, bottom) = (scene.width - inset, scene.height - inset);
    let corners = [
        Xy::new(inset, inset),
        Xy::new(right, inset),
        Xy::new(right, bottom),
        Xy::new(inset, bottom),
        Xy::new(inset, inset),
    ];
    scene.strokes.push(Stroke {
        path: corners.to_vec(),
        width: HAIR_WIDTH,
        ink: Ink::Quiet,
        layer: Layer::Cut,
        round: false,
        dashed: false,
        hidden: false,
        tag: Tag::class("cut"),
    });
}
