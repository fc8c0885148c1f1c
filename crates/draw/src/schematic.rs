//! The track diagram: from a network without a single coordinate to strokes at exact places.
//!
//! The steps, each in a module of its own:
//!
//! 1. [`graph`]: joints become nodes with arms on two sides and an order from top to bottom, as their hands demand.
//! 2. [`orient`]: which joints are turned by half a turn; which tracks form a tree.
//! 3. [`embed`]: which tracks can be drawn from left to right without crossing another. Of the rest (rings, turning loops)
//!    those that can be closed turn back on their way; what no drawing can show without a false crossing is cut: two
//!    stubs with the same letter. Nothing ever crosses falsely.
//! 4. [`chain`]: runs that share a level; links that need none.
//! 5. [`sweep`]: what comes before what, what lies above what.
//! 6. [`level`], [`across`] and [`solver`]: the least heights and widths that allow it.
//! 7. [`trace`], [`geometry`]: paths, legs, places of marks. [`crate::compose`] adds the words.
//!
//! The goal is lexicographic: crossings that the track does not have (none), then height under the order of the sweep,
//! then bends (chains as long as they can be, ladders on one slant), then width under that order and those levels. That
//! no track of a network that can be drawn is cut is proven ([`embed`] says why); that no other order of the sweep gives less
//! height is not.

pub(crate) mod across;
pub(crate) mod bound;
pub(crate) mod branch;
pub(crate) mod chain;
pub(crate) mod embed;
pub(crate) mod geometry;
pub(crate) mod graph;
pub(crate) mod improve;
pub(crate) mod layout;
pub(crate) mod level;
pub(crate) mod orient;
pub(crate) mod pins;
pub(crate) mod settle;
pub(crate) mod solver;
pub(crate) mod sweep;
pub(crate) mod trace;
pub(crate) mod yard;

use crate::compose::{Composition, Style, Wording, compose};
use crate::fonts::Fonts;
use crate::scene::{Area, Scene, Weight, Xy};
use crate::sheet::{END_NAME_HEIGHT, LEG_GAP, MM, SCHEMATIC_MARGIN, TRACK_NAME_HEIGHT, Um, WORD_CLEARANCE};
use geometry::{Belongs, Geometry, StopKind};
use layout::{Plane, Wants};
use network::{JointId, LeverId, MachineId, Network, Port, Position, TrackId};
use plan::model::Plan;

/// How often a drawing is spread to give words more room.
const WORD_ROUNDS: usize = 10;
/// The same for a large network, where every round takes some tenths of a second.
const WORD_ROUNDS_LARGE: usize = 5;
/// From how many joints on a network counts as large.
const LARGE: usize = 2_000;
/// Room added on both sides of a joint whose number found none.
const MORE_ROOM: Um = 4 * MM;
/// The most room added for one word: what stands in its way then does not move with its joint.
const MOST_ROOM: Um = 5 * MORE_ROOM;
/// How far off the numbers may stand that found no room in any round, in their heights, nearest first.
const LAST_LEADERS: [(Um, Um); 4] = [(9, 4), (9, 2), (9, 1), (18, 1)];

/// The track diagram with everything a page or a test wants to know about it.
#[derive(Clone, Debug, Default)]
pub struct Schematic {
    /// The drawing itself, all machines shown normal.
    pub scene: Scene,
    /// Every machine, in the order of the joints.
    pub machines: Vec<DrawnMachine>,
    /// Every number of a lever; a lever may have several.
    pub numbers: Vec<DrawnNumber>,
    /// Every track; one that is cut is here twice.
    pub tracks: Vec<DrawnTrack>,
    /// Runs inside joints: links of crossovers, the four runs of a scissors.
    pub inner: Vec<DrawnInner>,
    /// Every end.
    pub ends: Vec<DrawnEnd>,
    /// Every connector; each letter twice.
    pub connectors: Vec<DrawnConnector>,
    /// No drawing with the same legs level is lower than this, in the least distance of parallel tracks; none where that
    /// was not worked out.
    pub least_height: Option<i64>,
    /// The nudges that the diagram does not hold to, by their place in [`Network::nudges`].
    pub unheld: Vec<usize>,
}

/// A machine on the diagram.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnMachine {
    /// The machine.
    pub machine: MachineId,
    /// Where its mark is.
    pub at: Xy,
    /// The legs next to its joint that it has a say in.
    pub legs: Vec<DrawnLeg>,
}

/// A leg next to a joint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnLeg {
    /// The position of the machine in which it is set, where the machine alone decides; else of the first way over it.
    pub position: Position,
    /// The port of the joint it leaves by; none inside a crossover or scissors.
    pub port: Option<u8>,
    /// Its path from the joint outward.
    pub path: Vec<Xy>,
    /// When it is set: alternatives, each a list of machines with positions that must all hold.
    pub when: Vec<Vec<(MachineId, Position)>>,
}

/// A lever's number on the diagram.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnNumber {
    /// The lever.
    pub lever: LeverId,
    /// The machine it stands beside.
    pub machine: MachineId,
    /// What it says.
    pub text: String,
    /// The paper it takes.
    pub area: Area,
}

/// A track on the diagram.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnTrack {
    /// The track.
    pub track: TrackId,
    /// Its path from left to right, legs counted.
    pub path: Vec<Xy>,
    /// The port at each end of the path; none at a connector.
    pub ports: [Option<Port>; 2],
}

/// A run inside a joint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnInner {
    /// The joint.
    pub joint: JointId,
    /// Its path from left to right, legs counted.
    pub path: Vec<Xy>,
}

/// An end on the diagram.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DrawnEnd {
    /// The joint that is the end.
    pub joint: JointId,
    /// Where the track stops.
    pub at: Xy,
    /// Whether the track comes to it from the left.
    pub at_right: bool,
}

/// Where a track that is cut stops; it goes on at the other connector of the same letter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnConnector {
    /// Its letter.
    pub letter: String,
    /// Where the track stops.
    pub at: Xy,
}

/// Which side of the railroad the operator stands on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Operator {
    /// The operating side, from which the description is written.
    #[default]
    Front,
    /// The other side: everything is turned by half a turn, words stay upright.
    Back,
}

/// The track diagram of a plan, with its lever numbers.
pub fn schematic(plan: &Plan) -> Schematic {
    schematic_seen(plan, Operator::Front)
}

/// The track diagram of a plan as an operator on this side sees it.
pub fn schematic_seen(plan: &Plan, operator: Operator) -> Schematic {
    draw_diagram(&plan.network, &numbers_of(plan), operator)
}

/// The track diagram of a network alone; levers are labelled with their ids.
pub fn schematic_of(network: &Network) -> Schematic {
    schematic_of_seen(network, Operator::Front)
}

/// The track diagram of a network alone as an operator on this side sees it.
pub fn schematic_of_seen(network: &Network, operator: Operator) -> Schematic {
    let ids: Vec<String> = network.levers.iter().map(|lever| lever.id.clone()).collect();
    draw_diagram(network, &ids, operator)
}

/// For each lever, the number the plan gives it; its id where the plan has none.
pub(crate) fn numbers_of(plan: &Plan) -> Vec<String> {
    let mut numbers: Vec<String> = plan.network.levers.iter().map(|lever| lever.id.clone()).collect();
    for lever in &plan.levers {
        if let Some(number) = numbers.get_mut(lever.lever.index()) {
            *number = lever.number.value.to_string();
        }
    }
    numbers
}

fn draw_diagram(network: &Network, numbers: &[String], operator: Operator) -> Schematic {
    let fonts = Fonts::read();
    let wording = Wording { fonts: &fonts, network, numbers };
    let (geometry, composition) = lay_out(&wording, operator);
    finish(geometry, composition, network)
}

/// A layout under way: what does not change, and how much room things are given.
#[derive(Clone)]
pub(crate) struct Draft<'a> {
    wording: &'a Wording<'a>,
    operator: Operator,
    plane: Plane,
    wants: Wants,
    given_to_names: Vec<Um>,
}

impl<'a> Draft<'a> {
    pub(crate) fn of(wording: &'a Wording<'a>, operator: Operator) -> Self {
        let plane = Plane::of(wording.network);
        let wants = wants(wording, plane.node_count());
        Self { wording, operator, plane, wants, given_to_names: vec![0; wording.network.tracks.len()] }
    }

    /// Everything at its place, at full size.
    pub(crate) fn geometry(&self) -> Geometry {
        let network = self.wording.network;
        let geometry = Geometry::of(&self.plane.lay_out(network, &self.wants), network);
        match self.operator {
            Operator::Front => geometry,
            Operator::Back => geometry.turned(),
        }
    }

    /// Gives more room to the words that found none, until more has been tried often enough; false if nothing was given.
    pub(crate) fn make_room(&mut self, composition: &Composition) -> bool {
        let mut given = false;
        for &node in &composition.crowded {
            if self.wants.extra[node] < MOST_ROOM {
                self.wants.extra[node] += MORE_ROOM;
                given = true;
            }
        }
        for track in &composition.nameless {
            let given_before = &mut self.given_to_names[track.index()];
            if *given_before < MOST_ROOM {
                *given_before += MORE_ROOM;
                self.wants.run[track.index()] += 2 * MORE_ROOM;
                given = true;
            }
        }
        given
    }
}

/// Lays a network out and spreads it until every word has room, or the last round is over.
pub(crate) fn lay_out(wording: &Wording, operator: Operator) -> (Geometry, Composition) {
    let mut draft = Draft::of(wording, operator);
    let mut geometry = draft.geometry();
    let mut composition = compose(&geometry, wording, &Style::FULL);
    let rounds = if network_is_large(wording.network) { WORD_ROUNDS_LARGE } else { WORD_ROUNDS };
    for _ in 0..rounds {
        if !draft.make_room(&composition) {
            break;
        }
        geometry = draft.geometry();
        composition = compose(&geometry, wording, &Style::FULL);
    }
    if !composition.crowded.is_empty() {
        // Where marks stand close above one another, a number may be nearly as near to the other one; where nothing near is
        // free, it stands further off.
        let last = Style { nearer: (1, 1), leaders: &LAST_LEADERS, ..Style::FULL };
        composition = compose(&geometry, wording, &last);
    }
    (geometry, composition)
}

fn network_is_large(network: &Network) -> bool {
    network.joints.len() > LARGE
}

fn wants(wording: &Wording, node_count: usize) -> Wants {
    let network = wording.network;
    let run = (0..network.tracks.len()).map(|index| {
        let name = wording.track_name(TrackId::at(index));
        name.map_or(0, |name| {
            wording.width(&name, TRACK_NAME_HEIGHT, Weight::Regular) + 2 * (LEG_GAP / 2 + WORD_CLEARANCE)
        })
    });
    let beyond = (0..network.joints.len()).map(|index| {
        let joint = JointId::at(index);
        let end = matches!(network.joint(joint).kind, network::JointKind::End { .. });
        if end { wording.width(&wording.end_name(joint), END_NAME_HEIGHT, Weight::SemiBold) } else { 0 }
    });
    Wants { run: run.collect(), beyond: beyond.collect(), extra: vec![0; node_count] }
}

/// Moves everything onto a sheet that is just large enough.
fn finish(geometry: Geometry, composition: Composition, network: &Network) -> Schematic {
    let Composition { mut scene, numbers, .. } = composition;
    scene.title = if network.described.layout.name.is_empty() {
        "Track diagram".to_owned()
    } else {
        format!("{}: track diagram", network.described.layout.name)
    };
    let covered = covered(&scene).unwrap_or_default().grown(SCHEMATIC_MARGIN);
    let shift = Xy::new(-covered.left, -covered.top);
    move_scene(&mut scene, shift);
    (scene.width, scene.height) = (covered.right - covered.left, covered.bottom - covered.top);
    let moved = |at: Xy| Xy::new(at.x + shift.x, at.y + shift.y);
    let path = |path: Vec<Xy>| -> Vec<Xy> { path.into_iter().map(moved).collect() };
    let mut drawn = Schematic {
        scene,
        least_height: geometry.least_height,
        unheld: geometry.unheld.clone(),
        ..Schematic::default()
    };
    let mut legs = Vec::new();
    for run in geometry.runs {
        let whole = path(run.whole);
        match run.belongs {
            Belongs::Track(track) => drawn.tracks.push(DrawnTrack { track, path: whole, ports: run.ports }),
            Belongs::Joint(joint) => drawn.inner.push(DrawnInner { joint, path: whole }),
        }
        legs.extend(run.legs);
    }
    for spot in geometry.spots {
        let of_machine = legs.iter().filter_map(|leg| {
            let position = position_of(&leg.when, spot.machine)?;
            Some(DrawnLeg { position, port: leg.port, path: path(leg.path.clone()), when: leg.when.clone() })
        });
        drawn.machines.push(DrawnMachine {
            machine: spot.machine,
            at: moved(spot.at),
            legs: of_machine.collect(),
        });
    }
    for stop in geometry.stops {
        let at = moved(stop.at);
        match stop.kind {
            StopKind::End(joint, _) => drawn.ends.push(DrawnEnd { joint, at, at_right: stop.at_right }),
            StopKind::Connector(number) => {
                drawn.connectors.push(DrawnConnector { letter: geometry::letters(number), at });
            }
        }
    }
    drawn.numbers.extend(numbers.into_iter().map(|number| DrawnNumber {
        lever: number.lever,
        machine: number.machine,
        text: number.text,
        area: moved_area(number.area, shift),
    }));
    drawn
}

/// The position in which a machine has this leg set. Where it needs several machines, a leg belongs to the ones that
/// must be reverse; if none must, to all.
fn position_of(when: &[Vec<(MachineId, Position)>], machine: MachineId) -> Option<Position> {
    when.iter().flatten().find(|(of, _)| *of == machine).map(|&(_, position)| position)
}

fn moved_area(area: Area, by: Xy) -> Area {
    Area {
        left: area.left + by.x,
        top: area.top + by.y,
        right: area.right + by.x,
        bottom: area.bottom + by.y,
    }
}

/// Moves everything in a scene.
pub(crate) fn move_scene(scene: &mut Scene, by: Xy) {
    let moved = |at: &mut Xy| *at = Xy::new(at.x + by.x, at.y + by.y);
    scene.strokes.iter_mut().flat_map(|stroke| &mut stroke.path).for_each(moved);
    scene.marks.iter_mut().for_each(|mark| moved(&mut mark.at));
    scene.holes.iter_mut().for_each(|hole| moved(&mut hole.at));
    for words in &mut scene.words {
        moved(&mut words.at);
        words.area = moved_area(words.area, by);
    }
}

/// The paper that is drawn on.
pub(crate) fn covered(scene: &Scene) -> Option<Area> {
    let strokes = scene
        .strokes
        .iter()
        .flat_map(|stroke| stroke.path.iter().map(move |&at| Area::around(at, 0, 0).grown(stroke.width / 2)));
    let marks =
        scene.marks.iter().map(|mark| Area::around(mark.at, mark.size, mark.size).grown(mark.size / 8));
    let words = scene.words.iter().map(|words| words.area);
    strokes.chain(marks).chain(words).reduce(Area::with)
}
