//! From bare geometry to a scene: strokes, legs, marks, ends, and every word where it has room.
//!
//! The order in which words are asked for a place: letters of connectors and names of ends (they have only one place),
//! numbers of levers, names of tracks ([`crate::places`] says which places those are). A number takes the first that is free
//! and nearer to its own mark than to any other. Words that find no room are reported, so that the layout can be given
//! more.

use crate::fonts::Fonts;
use crate::label::{Taken, square, squares};
use crate::places::{Place, name_places, number_places};
use crate::scene::{Anchor, Area, Family, Layer, Mark, Scene, Shape, Stroke, Tag, Weight, Words, Xy};
use crate::schematic::geometry::{Belongs, Geometry, Leg, Run, Spot, Stop, StopKind, letters};
use crate::schematic::trace::distance;
use crate::sheet::{
    ARROW_SIZE, BAR_HEIGHT, CONNECTOR_LETTER_HEIGHT, CONNECTOR_SIZE, END_NAME_GAP, END_NAME_HEIGHT,
    HAIR_WIDTH, Ink, MAIN_WIDTH, MARK_HALO, MARK_SIZE, NAME_WIDTH_MAX, NUMBER_HEIGHT, NUMBER_WIDTH_MAX,
    TRACK_NAME_HEIGHT, TRACK_WIDTH, Um, WORD_CLEARANCE,
};
use description::EndKind;
use network::{LeverId, MachineId, Network, Position, TrackId};
use std::collections::BTreeMap;

/// How heavy things are drawn and which words are written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    pub(crate) main: Um,
    pub(crate) track: Um,
    pub(crate) mark: Um,
    pub(crate) number: Um,
    pub(crate) clearance: Um,
    pub(crate) names: bool,
    /// How many times farther than its own mark any other must be from a number.
    pub(crate) nearer: (Um, Um),
    /// How far off, in heights of a number, a number with a leader may stand, nearest first.
    pub(crate) leaders: &'static [(Um, Um)],
    /// The paper that numbers must stay on, where the sheet has its size already.
    pub(crate) within: Option<Area>,
    pub(crate) stop_scale: (Um, Um),
}

impl Style {
    /// The diagram at full size.
    pub(crate) const FULL: Self = Self {
        main: MAIN_WIDTH,
        track: TRACK_WIDTH,
        mark: MARK_SIZE,
        number: NUMBER_HEIGHT,
        clearance: WORD_CLEARANCE,
        names: true,
        nearer: (6, 5),
        leaders: &[(9, 4)],
        within: None,
        stop_scale: (1, 1),
    };
}

/// A lever's number as it was placed.
#[derive(Clone, Debug)]
pub(crate) struct PlacedNumber {
    pub(crate) lever: LeverId,
    pub(crate) machine: MachineId,
    pub(crate) text: String,
    pub(crate) area: Area,
}

/// A scene under way.
#[derive(Debug, Default)]
pub(crate) struct Composition {
    pub(crate) scene: Scene,
    pub(crate) numbers: Vec<PlacedNumber>,
    /// Nodes whose number found no free place.
    pub(crate) crowded: Vec<usize>,
    /// Tracks whose name found none.
    pub(crate) nameless: Vec<TrackId>,
}

/// What words there are to write.
pub(crate) struct Wording<'a> {
    pub(crate) fonts: &'a Fonts,
    pub(crate) network: &'a Network,
    /// For each lever, what its label says.
    pub(crate) numbers: &'a [String],
}

impl Wording<'_> {
    pub(crate) fn end_name(&self, joint: network::JointId) -> String {
        self.fitted(&self.network.joint(joint).name, END_NAME_HEIGHT, Weight::SemiBold)
    }

    /// The name to write along a track: where trains stand, unless an end beside it says the same.
    pub(crate) fn track_name(&self, id: TrackId) -> Option<String> {
        let track = self.network.track(id);
        let said = track.ends.iter().any(|end| self.network.joint(end.joint).name == track.name);
        (track.stop && !said && !track.name.trim().is_empty())
            .then(|| self.fitted(&track.name, TRACK_NAME_HEIGHT, Weight::Regular))
    }

    fn fitted(&self, text: &str, height: Um, weight: Weight) -> String {
        let size = self.fonts.size_for(height, Family::Label, weight);
        self.fonts.fit(text, NAME_WIDTH_MAX, size, Family::Label, weight)
    }

    pub(crate) fn width(&self, text: &str, height: Um, weight: Weight) -> Um {
        self.fonts.width(text, self.fonts.size_for(height, Family::Label, weight), Family::Label, weight)
    }
}

/// Draws a geometry.
pub(crate) fn compose(geometry: &Geometry, wording: &Wording, style: &Style) -> Composition {
    let mut composer = Composer {
        wording,
        style,
        taken: Taken::new(style.clearance),
        spots: BTreeMap::new(),
        made: Composition::default(),
    };
    for spot in &geometry.spots {
        composer.spots.entry(square(spot.at)).or_default().push(spot.at);
    }
    for run in &geometry.runs {
        composer.add_run(run);
    }
    for &(joint, curve) in &geometry.slips {
        let tag = Tag { joint: Some(wording.network.joint(joint).id.clone()), ..Tag::class("slip") };
        composer.taken.add_stroke(&curve, style.track);
        composer.add_stroke(curve.to_vec(), style.track, Layer::Track, tag, false);
    }
    for &(joint, at, radius) in &geometry.pits {
        let tag = Tag { joint: Some(wording.network.joint(joint).id.clone()), ..Tag::class("pit") };
        composer.add_mark((Shape::Pit, at, 2 * radius), Ink::Ink, Layer::Track, tag);
        composer.taken.add_area(Area::around(at, 2 * radius, 2 * radius));
    }
    for spot in &geometry.spots {
        composer.add_spot(spot);
    }
    for stop in &geometry.stops {
        composer.add_stop(stop);
    }
    for spot in geometry.spots.iter().filter(|spot| spot.numbered) {
        composer.add_number(spot);
    }
    if style.names {
        for run in geometry.runs.iter().filter(|run| run.named) {
            composer.add_track_name(run);
        }
    }
    composer.made
}

struct Composer<'a> {
    wording: &'a Wording<'a>,
    style: &'a Style,
    taken: Taken,
    /// Where the marks are, by squares of the net.
    spots: BTreeMap<(Um, Um), Vec<Xy>>,
    made: Composition,
}

/// How a row of text looks.
#[derive(Clone, Copy)]
struct Look {
    height: Um,
    weight: Weight,
    ink: Ink,
}

impl Composer<'_> {
    fn network(&self) -> &Network {
        self.wording.network
    }

    fn add_run(&mut self, run: &Run) {
        let width = if run.main { self.style.main } else { self.style.track };
        let mut tag = Tag::class(if run.main { "track main" } else { "track" });
        match run.belongs {
            Belongs::Track(track) => tag.track = Some(self.network().track(track).name.clone()),
            Belongs::Joint(joint) => tag.joint = Some(self.network().joint(joint).id.clone()),
        }
        self.taken.add_stroke(&run.whole, width);
        for leg in &run.legs {
            self.add_leg(leg, width, &tag);
        }
        self.add_stroke(run.middle.clone(), width, Layer::Track, tag, false);
    }

    fn add_leg(&mut self, leg: &Leg, width: Um, of: &Tag) {
        let network = self.network();
        let shown =
            leg.when.iter().any(|needs| needs.iter().all(|(_, position)| *position == Position::Normal));
        let named = |&(machine, position): &(MachineId, Position)| {
            (network.machine(machine).name.clone(), position.word())
        };
        let mut tag = Tag { class: "leg", joint: Some(network.joint(leg.joint).id.clone()), ..of.clone() };
        tag.when = leg.when.iter().map(|needs| needs.iter().map(named).collect()).collect();
        // A leg that one position of one machine decides says so itself.
        if let [needs] = leg.when.as_slice() {
            let deciding: Vec<_> =
                needs.iter().filter(|(_, position)| *position == Position::Reverse).collect();
            let one = if let [one] = needs.as_slice() { Some(one) } else { deciding.first().copied() };
            if let Some(&(machine, position)) = one {
                tag.machine = Some(network.machine(machine).name.clone());
                tag.lever = Some(network.lever(network.machine(machine).lever).id.clone());
                tag.position = Some(position.word());
            }
        }
        self.add_stroke(leg.path.clone(), width, Layer::Leg, tag, !shown);
    }

    fn add_stroke(&mut self, path: Vec<Xy>, width: Um, layer: Layer, tag: Tag, hidden: bool) {
        let ink = Ink::Ink;
        self.made.scene.strokes.push(Stroke {
            path,
            width,
            ink,
            layer,
            round: false,
            dashed: false,
            hidden,
            tag,
        });
    }

    fn add_mark(&mut self, (shape, at, size): (Shape, Xy, Um), ink: Ink, layer: Layer, tag: Tag) {
        self.made.scene.marks.push(Mark { shape, at, size, ink, layer, hidden: false, tag });
    }

    /// The three marks of a machine, of which one is shown at a time; on paper the one for normal.
    fn add_spot(&mut self, spot: &Spot) {
        let network = self.network();
        let tag = Tag {
            machine: Some(network.machine(spot.machine).name.clone()),
            lever: Some(network.lever(spot.lever).id.clone()),
            ..Tag::class("mark")
        };
        let kinds = [
            (Shape::Round, Ink::Normal, "normal"),
            (Shape::Diamond, Ink::Reverse, "reverse"),
            (Shape::OpenSquare, Ink::Unknown, "unknown"),
        ];
        for (shape, ink, position) in kinds {
            let tag = Tag { position: Some(position), ..tag.clone() };
            let (at, size, layer, hidden) = (spot.at, self.style.mark, Layer::Mark, position != "normal");
            self.made.scene.marks.push(Mark { shape, at, size, ink, layer, hidden, tag });
        }
        let size = self.style.mark * 5 / 4 + MARK_HALO / 2;
        self.taken.add_area(Area::around(spot.at, size, size));
    }

    fn add_stop(&mut self, stop: &Stop) {
        let (to, of) = self.style.stop_scale;
        let scaled = |size: Um| size * to / of;
        let outward = if stop.at_right { 1 } else { -1 };
        match stop.kind {
            StopKind::Connector(number) => self.add_connector(stop.at, outward, number),
            StopKind::End(joint, kind) => {
                let tag = Tag { joint: Some(self.network().joint(joint).id.clone()), ..Tag::class("end") };
                let (shape, size, reach, at) = match kind {
                    EndKind::Bumper => (Shape::Bar, scaled(BAR_HEIGHT), BAR_HEIGHT / 6, stop.at),
                    EndKind::Staging => (Shape::TwinBar, scaled(BAR_HEIGHT), BAR_HEIGHT / 4, stop.at),
                    EndKind::Beyond => {
                        let at = Xy::new(stop.at.x + outward * scaled(ARROW_SIZE) / 2, stop.at.y);
                        let shape = if stop.at_right { Shape::ArrowRight } else { Shape::ArrowLeft };
                        (shape, scaled(ARROW_SIZE), ARROW_SIZE, at)
                    }
                };
                self.add_mark((shape, at, size), Ink::Ink, Layer::Track, tag.clone());
                self.taken.add_area(Area::around(at, size, size));
                let text = self.wording.end_name(joint);
                if self.style.names && !text.is_empty() {
                    let look = Look { height: END_NAME_HEIGHT, weight: Weight::SemiBold, ink: Ink::Ink };
                    let x = stop.at.x + outward * (reach + END_NAME_GAP);
                    let anchor = if stop.at_right { Anchor::Left } else { Anchor::Right };
                    let words =
                        self.words(text, Xy::new(x, stop.at.y + END_NAME_HEIGHT / 2), anchor, look, tag);
                    self.put(Words { tag: Tag { class: "end-name", ..words.tag.clone() }, ..words });
                }
            }
        }
    }

    fn add_connector(&mut self, at: Xy, outward: Um, number: usize) {
        let (to, of) = self.style.stop_scale;
        let size = (CONNECTOR_SIZE * to / of).max(CONNECTOR_SIZE / 2);
        let at = Xy::new(at.x + outward * size / 2, at.y);
        let tag = Tag::class("connector");
        self.add_mark((Shape::Ring, at, size), Ink::Ink, Layer::Track, tag.clone());
        let usual = CONNECTOR_LETTER_HEIGHT * size / CONNECTOR_SIZE;
        // Two letters shrink until they stay inside the ring.
        let wide = self.wording.width(&letters(number), usual, Weight::SemiBold).max(1);
        let height = usual * (size * 3 / 4).min(wide) / wide;
        let look = Look { height, weight: Weight::SemiBold, ink: Ink::Ink };
        let foot = Xy::new(at.x, at.y + height / 2);
        let words = self.words(letters(number), foot, Anchor::Middle, look, tag);
        self.taken.add_area(Area::around(at, size, size));
        self.made.scene.words.push(words);
    }

    fn words(&self, text: String, at: Xy, anchor: Anchor, look: Look, tag: Tag) -> Words {
        let Look { height, weight, ink } = look;
        let family = Family::Label;
        let size = self.wording.fonts.size_for(height, family, weight);
        let width = self.wording.fonts.width(&text, size, family, weight);
        let left = match anchor {
            Anchor::Left => at.x,
            Anchor::Middle => at.x - width / 2,
            Anchor::Right => at.x - width,
        };
        // Figures and capitals end at the foot; other letters may reach a fifth of the em below it.
        let plain = text.chars().all(|letter| letter.is_ascii_digit() || letter.is_ascii_uppercase());
        let below = if plain { 0 } else { size / 5 };
        let area = Area { left, top: at.y - height, right: left + width, bottom: at.y + below };
        Words { text, at, anchor, size, family, weight, ink, layer: Layer::Words, area, tag }
    }

    fn put(&mut self, words: Words) {
        self.taken.add_area(words.area);
        self.made.scene.words.push(words);
    }

    fn add_number(&mut self, spot: &Spot) {
        let Some(text) = self.wording.numbers.get(spot.lever.index()) else { return };
        let height = self.style.number;
        let weight = Weight::SemiBold;
        let size = self.wording.fonts.size_for(height, Family::Label, weight);
        let text = self.wording.fonts.fit(text, NUMBER_WIDTH_MAX, size, Family::Label, weight);
        if text.is_empty() {
            return;
        }
        let network = self.network();
        let tag = Tag {
            lever: Some(network.lever(spot.lever).id.clone()),
            machine: Some(network.machine(spot.machine).name.clone()),
            ..Tag::class("number")
        };
        let look = Look { height, weight, ink: Ink::Ink };
        let at_middle = |middle: Xy| {
            self.words(
                text.clone(),
                Xy::new(middle.x, middle.y + height / 2),
                Anchor::Middle,
                look,
                tag.clone(),
            )
        };
        let flat = at_middle(spot.at).area;
        let places = number_places(spot, self.style, flat.bottom - flat.top - height);
        let free = places.iter().copied().find(|place| {
            let clear = |leader: [Xy; 2]| self.taken.is_clear(leader);
            let area = at_middle(place.middle).area;
            self.taken.is_free(area)
                && self.style.within.is_none_or(|paper| paper.holds(area))
                && place.leader.map_or_else(|| self.is_nearest(spot.at, place.middle), clear)
        });
        let place = free.unwrap_or_else(|| {
            self.made.crowded.push(spot.node);
            places.first().copied().unwrap_or(Place { middle: spot.at, leader: None })
        });
        let words = self.words(
            text.clone(),
            Xy::new(place.middle.x, place.middle.y + height / 2),
            Anchor::Middle,
            look,
            tag,
        );
        if let Some(path) = place.leader {
            let tag = Tag { lever: words.tag.lever.clone(), ..Tag::class("leader") };
            self.taken.add_stroke(&path, HAIR_WIDTH);
            self.add_stroke(path.to_vec(), HAIR_WIDTH, Layer::Leader, tag, false);
        }
        let placed = PlacedNumber { lever: spot.lever, machine: spot.machine, text, area: words.area };
        self.made.numbers.push(placed);
        // Two numbers side by side must not read as one.
        let apart = height * 4 / 5;
        self.taken.add_area(Area {
            left: words.area.left - apart,
            right: words.area.right + apart,
            ..words.area
        });
        self.made.scene.words.push(words);
    }

    /// Whether of all marks the one at `own` is nearest to a place, by a clear measure.
    fn is_nearest(&self, own: Xy, place: Xy) -> bool {
        let (times, of) = self.style.nearer;
        let limit = distance(own, place) * times / of;
        let near = squares(Area::around(place, 0, 0).grown(limit));
        let near = near.flat_map(|square| self.spots.get(&square).into_iter().flatten());
        near.into_iter().all(|&other| other == own || distance(other, place) > limit)
    }

    fn add_track_name(&mut self, run: &Run) {
        let Belongs::Track(track) = run.belongs else { return };
        let Some(text) = self.wording.track_name(track) else { return };
        let tag = Tag { track: Some(self.network().track(track).name.clone()), ..Tag::class("track-name") };
        let look = Look { height: TRACK_NAME_HEIGHT, weight: Weight::Regular, ink: Ink::Quiet };
        let half = if run.main { self.style.main } else { self.style.track } / 2;
        let places =
            name_places(&run.whole, half, self.wording.width(&text, TRACK_NAME_HEIGHT, Weight::Regular));
        for place in places {
            let words = self.words(text.clone(), place, Anchor::Middle, look, tag.clone());
            if self.taken.is_free(words.area) {
                self.put(words);
                return;
            }
        }
        self.made.nameless.push(track);
    }
}
