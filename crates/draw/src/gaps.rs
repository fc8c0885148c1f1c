//! The gap plan: the track diagram with two rails wherever a gap is near or polarity turns over, both of them visibly cut at
//! each gap, and every gap numbered.
//!
//! Places are the diagram's, and so are the numbers of levers and the names. Track far from any gap is one thin grey
//! stroke, a reversing section two rails from gap to gap. No leg is left out: where a rail is cut has nothing to do with
//! how the points lie. A gap's number stands beside it, at the end of a thin stroke across both rails, wherever there is
//! room.

use crate::compose::{Composition, Wording};
use crate::fonts::Fonts;
use crate::label::Taken;
use crate::scene::{Anchor, Area, Family, Layer, Scene, Stroke, Tag, Weight, Words, Xy};
use crate::schematic::geometry::{Belongs, Geometry, Run};
use crate::schematic::trace::distance;
use crate::schematic::{Operator, covered, lay_out, move_scene, numbers_of};
use crate::sheet::{
    GAP_AT, GAP_NAME_HEIGHT, GAP_OPENING, GAP_REACH, GAUGE, HAIR_WIDTH, Ink, PLAIN_TRACK_WIDTH, RAIL_WIDTH,
    SCHEMATIC_MARGIN, Um, WORD_CLEARANCE,
};
use network::{Network, Piece, TrackId};
use plan::model::{Plan, ReversingSection};

/// How many half heights of its letters a number may stand off.
const NAME_STEPS: Um = 24;
/// How far a stroke across both rails reaches from their middle.
const CROSS_REACH: Um = GAUGE / 2 + 2 * RAIL_WIDTH;

/// The gap plan, and where on it each gap is.
#[derive(Clone, Debug, Default)]
pub struct GapPlan {
    /// The drawing.
    pub scene: Scene,
    /// Where each gap of the plan is drawn, in the order of [`Plan::gaps`], and the number it is given.
    pub gaps: Vec<DrawnGap>,
}

/// A gap on the plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnGap {
    /// Its number, counted from 1.
    pub number: usize,
    /// The middle of each opening.
    pub at: Vec<Xy>,
}

/// Draws the gaps of a plan.
pub fn gap_plan(plan: &Plan) -> GapPlan {
    gap_plan_seen(plan, Operator::Front)
}

/// Draws the gaps of a plan as an operator on this side sees them.
pub fn gap_plan_seen(plan: &Plan, operator: Operator) -> GapPlan {
    let fonts = Fonts::read();
    let numbers = numbers_of(plan);
    let wording = Wording { fonts: &fonts, network: &plan.network, numbers: &numbers };
    let (geometry, Composition { mut scene, .. }) = lay_out(&wording, operator);
    scene.strokes.retain(|stroke| !matches!(stroke.layer, Layer::Track | Layer::Leg));
    let mut drawer = Drawer { plan, fonts: &fonts, scene, taken: Taken::new(WORD_CLEARANCE) };
    let cuts = drawer.cuts(&geometry);
    for (index, run) in geometry.runs.iter().enumerate() {
        drawer.add_run(run, piece_of(&geometry, index), cuts.iter().filter(|cut| cut.run == index));
    }
    drawer.take_paper();
    let mut drawn = GapPlan::default();
    for index in 0..plan.gaps.len() {
        let openings: Vec<&Cut> = cuts.iter().filter(|cut| cut.gap == index).collect();
        for cut in &openings {
            drawer.add_name(cut);
        }
        let at = openings.iter().map(|cut| cut.at).collect();
        drawn.gaps.push(DrawnGap { number: index + 1, at });
    }
    let Drawer { scene, .. } = drawer;
    drawn.scene = scene;
    drawn.scene.title = format!("{}: gap plan", plan.network.described.layout.name);
    let paper = covered(&drawn.scene).unwrap_or_default().grown(SCHEMATIC_MARGIN);
    move_scene(&mut drawn.scene, Xy::new(-paper.left, -paper.top));
    (drawn.scene.width, drawn.scene.height) = (paper.right - paper.left, paper.bottom - paper.top);
    for at in drawn.gaps.iter_mut().flat_map(|gap| &mut gap.at) {
        *at = Xy::new(at.x - paper.left, at.y - paper.top);
    }
    drawn
}

/// Which piece of the network a run draws; the runs inside a joint come in the order of its links.
fn piece_of(geometry: &Geometry, index: usize) -> Option<Piece> {
    let run = geometry.runs.get(index)?;
    match run.belongs {
        Belongs::Track(track) => Some(Piece::Track(track)),
        Belongs::Joint(joint) => {
            let before = geometry.runs.get(..index)?.iter().filter(|other| other.belongs == run.belongs);
            Some(Piece::Link(joint, u8::try_from(before.count()).ok()?))
        }
    }
}

/// Whether a piece lies in a reversing section: it is one of its tracks, or a link with section on every side.
fn in_section(network: &Network, section: &ReversingSection, piece: Piece) -> bool {
    let holds = |track: &TrackId| section.tracks.value.contains(track);
    piece == section.piece
        || match piece {
            Piece::Track(track) => holds(&track),
            Piece::Link(joint, _) => network.joint(joint).tracks.iter().all(holds),
        }
}

/// One opening in both rails of a run.
struct Cut {
    gap: usize,
    run: usize,
    /// How far along the run it lies.
    along: Um,
    at: Xy,
    /// The direction of the run there, a thousand long.
    way: Xy,
}

impl Cut {
    /// The place this far to the right of the run, as seen along it.
    fn across(&self, by: Um) -> Xy {
        Xy::new(self.at.x - self.way.y * by / 1_000, self.at.y + self.way.x * by / 1_000)
    }
}

struct Drawer<'a> {
    plan: &'a Plan,
    fonts: &'a Fonts,
    scene: Scene,
    taken: Taken,
}

impl Drawer<'_> {
    /// Every opening, gap by gap.
    fn cuts(&self, geometry: &Geometry) -> Vec<Cut> {
        let mut cuts = Vec::new();
        for (gap, planned) in self.plan.gaps.iter().enumerate() {
            for (index, run) in geometry.runs.iter().enumerate() {
                let length = length_of(&run.whole);
                let near = GAP_AT.min(length / 3);
                let along = match planned.at {
                    Some(port) if run.ports[0] == Some(port) => near,
                    Some(port) if run.ports[1] == Some(port) => length - near,
                    None if piece_of(geometry, index) == Some(planned.piece) => length / 2,
                    Some(_) | None => continue,
                };
                if let Some((at, way)) = point_at(&run.whole, along) {
                    cuts.push(Cut { gap, run: index, along, at, way });
                }
            }
        }
        cuts
    }

    /// One run: two rails near its gaps or all along a section, cut at the gaps; one stroke elsewhere.
    fn add_run<'b>(&mut self, run: &Run, piece: Option<Piece>, cuts: impl Iterator<Item = &'b Cut>) {
        let network = &self.plan.network;
        let length = length_of(&run.whole);
        let mut cuts: Vec<&Cut> = cuts.collect();
        cuts.sort_by_key(|cut| cut.along);
        let mut tag = Tag::class("track");
        match run.belongs {
            Belongs::Track(track) => tag.track = Some(network.track(track).name.clone()),
            Belongs::Joint(joint) => tag.joint = Some(network.joint(joint).id.clone()),
        }
        let sections = &self.plan.reversing;
        let whole =
            piece.is_some_and(|piece| sections.iter().any(|section| in_section(network, section, piece)));
        let near = |at: Um| cuts.iter().any(|cut| (cut.along - at).abs() < GAP_REACH);
        // Where the kind of drawing changes, and where rails begin and end.
        let mut marks = vec![0, length];
        for cut in &cuts {
            marks.extend([cut.along - GAP_OPENING / 2, cut.along + GAP_OPENING / 2]);
            marks.extend([cut.along - GAP_REACH, cut.along + GAP_REACH]);
        }
        marks.retain(|mark| (0..=length).contains(mark));
        marks.sort_unstable();
        marks.dedup();
        for pair in marks.windows(2) {
            let [from, to] = [pair[0], pair[1]];
            let middle = i64::midpoint(from, to);
            if cuts.iter().any(|cut| (cut.along - middle).abs() < GAP_OPENING / 2) {
                continue;
            }
            let path = stretch(&run.whole, from, to);
            if whole || near(middle) {
                for side in [-1, 1] {
                    let rail = beside(&path, side * GAUGE / 2);
                    self.add_stroke(
                        rail,
                        RAIL_WIDTH,
                        Ink::Ink,
                        Layer::Track,
                        Tag { class: "rail", ..tag.clone() },
                    );
                }
            } else {
                self.add_stroke(path, PLAIN_TRACK_WIDTH, Ink::Unknown, Layer::Track, tag.clone());
            }
        }
    }

    fn add_stroke(&mut self, path: Vec<Xy>, width: Um, ink: Ink, layer: Layer, tag: Tag) {
        let (round, dashed, hidden) = (false, false, false);
        self.scene.strokes.push(Stroke { path, width, ink, layer, round, dashed, hidden, tag });
    }

    /// Everything that is drawn so far takes its paper.
    fn take_paper(&mut self) {
        for stroke in &self.scene.strokes {
            self.taken.add_stroke(&stroke.path, stroke.width);
        }
        for mark in self.scene.marks.iter().filter(|mark| !mark.hidden) {
            self.taken.add_area(Area::around(mark.at, mark.size * 5 / 4, mark.size * 5 / 4));
        }
        for words in &self.scene.words {
            self.taken.add_area(words.area);
        }
    }

    /// A stroke across both rails in the opening, and the gap's number at one end of it.
    fn add_name(&mut self, cut: &Cut) {
        let text = format!("gap {}", cut.gap + 1);
        let (family, weight) = (Family::Label, Weight::SemiBold);
        let size = self.fonts.size_for(GAP_NAME_HEIGHT, family, weight);
        let width = self.fonts.width(&text, size, family, weight);
        let area_at = |middle: Xy| Area {
            left: middle.x - width / 2,
            top: middle.y - GAP_NAME_HEIGHT / 2,
            right: middle.x + width / 2,
            bottom: middle.y + GAP_NAME_HEIGHT / 2 + size / 5,
        };
        let places = places(cut, width, size / 5);
        let free = |place: &&NamePlace| self.taken.is_free(area_at(place.middle));
        let clear = |place: &NamePlace| {
            // The first quarter of what is asked about is let go: here all of the leader counts.
            let back = |from: Um, to: Um| from - (to - from) / 3;
            let behind = Xy::new(back(place.from.x, place.end.x), back(place.from.y, place.end.y));
            place.from == place.end || self.taken.is_clear([behind, place.end])
        };
        // A leader over a track is better than a number over one.
        let best = places.iter().find(|place| free(place) && clear(place));
        let Some(place) = best.or(places.iter().find(free)).or(places.first()) else { return };
        let mut leader = vec![cut.across(-place.side * CROSS_REACH), place.from, place.end];
        leader.dedup();
        self.taken.add_stroke(&leader, HAIR_WIDTH);
        self.add_stroke(leader, HAIR_WIDTH, Ink::Ink, Layer::Leader, Tag::class("gap"));
        let area = area_at(place.middle);
        self.taken.add_area(area);
        self.scene.words.push(Words {
            text,
            at: Xy::new(place.middle.x, place.middle.y + GAP_NAME_HEIGHT / 2),
            anchor: Anchor::Middle,
            size,
            family,
            weight,
            ink: Ink::Ink,
            layer: Layer::Words,
            area,
            tag: Tag::class("gap-name"),
        });
    }
}

/// Where a gap's number may stand: the end of the stroke across the rails, that of the leader from there, the middle of
/// the number.
#[derive(Clone, Copy)]
struct NamePlace {
    side: Um,
    from: Xy,
    end: Xy,
    middle: Xy,
}

/// The places for a gap's number, nearest first: the leader goes on across the track, or straight up or down.
fn places(cut: &Cut, width: Um, descent: Um) -> Vec<NamePlace> {
    let mut places = Vec::new();
    for step in 0..NAME_STEPS {
        for side in [-1, 1] {
            let from = cut.across(side * CROSS_REACH);
            let far = step * GAP_NAME_HEIGHT / 2;
            let up = if from.y <= cut.at.y { -1 } else { 1 };
            for end in [cut.across(side * (CROSS_REACH + far)), Xy::new(from.x, from.y + up * far)] {
                // Letters may reach below their foot.
                let off = GAP_NAME_HEIGHT / 2 + WORD_CLEARANCE + if up < 0 { descent } else { 0 };
                for aside in [0, -1, 1] {
                    let middle = Xy::new(end.x + aside * (width / 2 + WORD_CLEARANCE), end.y + up * off);
                    places.push(NamePlace { side, from, end, middle });
                }
            }
        }
    }
    places
}

fn length_of(path: &[Xy]) -> Um {
    path.windows(2).map(|pair| distance(pair[0], pair[1])).sum()
}

/// The point this far along a path, and the direction there, a thousand long.
fn point_at(path: &[Xy], along: Um) -> Option<(Xy, Xy)> {
    let mut left = along;
    for pair in path.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let piece = distance(a, b);
        if piece > 0 && left <= piece {
            let part = |from: Um, to: Um| from + (to - from) * left / piece;
            let way = Xy::new((b.x - a.x) * 1_000 / piece, (b.y - a.y) * 1_000 / piece);
            return Some((Xy::new(part(a.x, b.x), part(a.y, b.y)), way));
        }
        left -= piece;
    }
    None
}

/// The stretch of a path between two distances from its start.
fn stretch(path: &[Xy], from: Um, to: Um) -> Vec<Xy> {
    let mut out: Vec<Xy> = point_at(path, from).map(|(at, _)| at).into_iter().collect();
    let mut along = 0;
    for pair in path.windows(2) {
        along += distance(pair[0], pair[1]);
        if along > from && along < to {
            out.push(pair[1]);
        }
    }
    out.extend(point_at(path, to).map(|(at, _)| at).or(path.last().copied()));
    out
}

/// The path that runs beside another, this far to one side; corners stay sharp.
fn beside(path: &[Xy], by: Um) -> Vec<Xy> {
    const UNIT: Um = 1_000_000;
    let normals: Vec<Xy> = path
        .windows(2)
        .map(|pair| {
            let length = distance(pair[0], pair[1]).max(1);
            Xy::new((pair[0].y - pair[1].y) * UNIT / length, (pair[1].x - pair[0].x) * UNIT / length)
        })
        .collect();
    let corner = |index: usize| {
        let after = normals.get(index).or(normals.last()).copied().unwrap_or_default();
        let before = index.checked_sub(1).and_then(|index| normals.get(index)).copied().unwrap_or(after);
        // Both pieces are moved by the same, so their corner moves along the sum of the normals.
        let cosine = (before.x * after.x + before.y * after.y) / UNIT;
        let share = (UNIT + cosine).max(UNIT / 10);
        Xy::new(
            path[index].x + (before.x + after.x) * by / share,
            path[index].y + (before.y + after.y) * by / share,
        )
    };
    (0..path.len()).map(corner).collect()
}
