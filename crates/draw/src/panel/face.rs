//! The face of a fascia at 1:1: the diagram as it is engraved, title and legend, the operator's left and right, and every
//! hole in its place.
//!
//! An engraving never changes, so all legs of a turnout are drawn joined; what shows which one is set are the lamps.

use super::fit::Fitted;
use super::legend;
use super::parts::{facts, outline};
use crate::compose::{Style, Wording};
use crate::label::Taken;
use crate::pen::{Pen, Type};
use crate::places::{Place, name_places, number_places};
use crate::scene::{Anchor, Area, Hole, Layer, Mark, Shape, Tag, Weight, Xy};
use crate::schematic::geometry::{Belongs, Spot, Stop, StopKind, letters};
use crate::sheet::{
    ARROW_SIZE, BAR_HEIGHT, CONNECTOR_LETTER_HEIGHT, CONNECTOR_SIZE, END_NAME_GAP, END_NAME_HEIGHT,
    HAIR_WIDTH, Ink, MAIN_WIDTH, MM, NAME_WIDTH_MAX, NUMBER_HEIGHT, NUMBER_WIDTH_MAX, PANEL_LEGEND_HEIGHT,
    PANEL_TITLE_HEIGHT, TRACK_NAME_HEIGHT, TRACK_WIDTH, Um, WORD_CLEARANCE,
};
use description::EndKind;
use network::{LeverId, Network};
use plan::model::{DeviceKind, Does, Fascia, Plan};
use std::collections::BTreeMap;

/// How far off, in heights of a number, a number with a leader may stand on a fascia.
const LEADERS: [(Um, Um); 4] = [(9, 4), (9, 2), (7, 1), (12, 1)];

/// The face under way.
pub(super) struct Face<'a> {
    pub(super) pen: Pen<'a>,
    fitted: &'a Fitted,
    taken: Taken,
    /// Where the toggle of a lever stands, by the territory's levers, and how wide it is.
    toggles: BTreeMap<LeverId, (Xy, Um)>,
}

/// Draws the face of a fascia.
pub(super) fn draw<'a>(plan: &Plan, fascia: &Fascia, fitted: &'a Fitted, mut pen: Pen<'a>) -> Pen<'a> {
    let sheet = pen.scene.sheet();
    pen.rectangle(sheet, Layer::Cut, Ink::Ink, "outline");
    let numbers: Vec<String> = own_numbers(plan, fitted);
    let wording = Wording { fonts: pen.fonts, network: &fitted.territory.network, numbers: &numbers };
    let taken = Taken::new(WORD_CLEARANCE);
    let mut face = Face { pen, fitted, taken, toggles: BTreeMap::new() };
    face.add_tracks();
    face.add_devices(plan, fascia);
    for stop in &fitted.geometry.stops {
        face.add_stop(stop, &wording);
    }
    face.add_title(plan, fascia);
    legend::add(&mut face.pen, plan, fascia, fitted);
    face.keep_edges_clear(outline(facts(plan, fascia)).margin);
    face.add_numbers(&wording);
    face.add_track_names(&wording);
    face.pen
}

/// For each lever of the territory its number.
fn own_numbers(plan: &Plan, fitted: &Fitted) -> Vec<String> {
    let numbers = crate::schematic::numbers_of(plan);
    fitted.territory.levers.iter().map(|lever| numbers[lever.index()].clone()).collect()
}

/// Places all round, farther and farther off, for a number that finds no room by its machine.
fn far_places(from: Xy, mark: Um) -> impl Iterator<Item = Place> {
    /// Whole turns in steps of 30°, in thousandths.
    const ROUND: [(Um, Um); 12] = [
        (500, -866),
        (-500, -866),
        (500, 866),
        (-500, 866),
        (866, -500),
        (-866, -500),
        (866, 500),
        (-866, 500),
        (0, -1_000),
        (0, 1_000),
        (1_000, 0),
        (-1_000, 0),
    ];
    let at = move |(x, y): (Um, Um), far: Um| Xy::new(from.x + x * far / 1_000, from.y + y * far / 1_000);
    (4..24).flat_map(move |step| {
        let far = mark / 2 + step * 2 * MM;
        ROUND.into_iter().map(move |way| Place {
            middle: at(way, far),
            leader: Some([at(way, mark / 2), at(way, far - NUMBER_HEIGHT)]),
        })
    })
}

impl Face<'_> {
    fn network(&self) -> &Network {
        &self.fitted.territory.network
    }

    fn add_tracks(&mut self) {
        for run in &self.fitted.geometry.runs {
            let width = if run.main { MAIN_WIDTH } else { TRACK_WIDTH };
            let class = if run.main { "track main" } else { "track" };
            self.taken.add_stroke(&run.whole, width);
            self.pen.stroke(&run.whole, width, Layer::Track, Ink::Ink, class);
            if let (Some(stroke), Belongs::Track(track)) = (self.pen.scene.strokes.last_mut(), run.belongs) {
                stroke.tag.track = Some(self.fitted.territory.network.track(track).name.clone());
                stroke.round = true;
            }
        }
        for &(_, at, radius) in &self.fitted.geometry.pits {
            self.add_mark(Shape::Pit, at, 2 * radius, Ink::Ink, "pit");
            self.taken.add_area(Area::around(at, 2 * radius, 2 * radius));
        }
    }

    fn add_mark(&mut self, shape: Shape, at: Xy, size: Um, ink: Ink, class: &'static str) {
        let (layer, tag) = (Layer::Mark, Tag::class(class));
        self.pen.scene.marks.push(Mark { shape, at, size, ink, layer, hidden: false, tag });
    }

    /// Nuts, which cover the engraving, and the holes under them.
    fn add_devices(&mut self, plan: &Plan, fascia: &Fascia) {
        let fitted = self.fitted;
        for ((device, &at), size) in fascia.devices.iter().zip(&fitted.places).zip(&fitted.sizes) {
            let class = match device.kind {
                DeviceKind::Button => "button",
                DeviceKind::Toggle => "toggle",
                DeviceKind::Lamp => "lamp",
            };
            self.add_mark(Shape::Ring, at, size.nut, Ink::Quiet, class);
            let mut tag = Tag::class(class);
            if let Does::Holds(lever) = device.does.value {
                tag.lever = Some(plan.network.lever(lever).id.clone());
                if let Some(here) = fitted.territory.levers.iter().position(|&other| other == lever) {
                    self.toggles.insert(LeverId::at(here), (at, size.nut));
                }
            }
            self.pen.scene.holes.push(Hole { at, diameter: size.hole, tag });
            self.taken.add_area(Area::around(at, size.nut, size.nut));
        }
        let fixing = outline(facts(plan, fascia)).fixing;
        for &at in &fitted.fixings {
            self.pen.scene.holes.push(Hole { at, diameter: fixing, tag: Tag::class("fixing") });
            self.taken.add_area(Area::around(at, fixing, fixing));
        }
    }

    fn add_stop(&mut self, stop: &Stop, wording: &Wording) {
        let outward = if stop.at_right { 1 } else { -1 };
        match stop.kind {
            StopKind::Connector(number) => {
                let at = Xy::new(stop.at.x + outward * CONNECTOR_SIZE / 2, stop.at.y);
                self.add_mark(Shape::Ring, at, CONNECTOR_SIZE, Ink::Ink, "connector");
                let foot = Xy::new(at.x, at.y + CONNECTOR_LETTER_HEIGHT / 2);
                let look = Type::bold(CONNECTOR_LETTER_HEIGHT).middle();
                self.pen.write(&letters(number), foot, CONNECTOR_SIZE, look, Tag::class("connector"));
                self.taken.add_area(Area::around(at, CONNECTOR_SIZE, CONNECTOR_SIZE));
            }
            StopKind::End(joint, kind) => {
                let (shape, size, reach) = match kind {
                    EndKind::Bumper => (Shape::Bar, BAR_HEIGHT, BAR_HEIGHT / 6),
                    EndKind::Staging => (Shape::TwinBar, BAR_HEIGHT, BAR_HEIGHT / 4),
                    EndKind::Beyond if stop.at_right => (Shape::ArrowRight, ARROW_SIZE, ARROW_SIZE),
                    EndKind::Beyond => (Shape::ArrowLeft, ARROW_SIZE, ARROW_SIZE),
                };
                let shift = if kind == EndKind::Beyond { outward * ARROW_SIZE / 2 } else { 0 };
                let at = Xy::new(stop.at.x + shift, stop.at.y);
                self.add_mark(shape, at, size, Ink::Ink, "end");
                self.taken.add_area(Area::around(at, size, size));
                let foot =
                    Xy::new(stop.at.x + outward * (reach + END_NAME_GAP), stop.at.y + END_NAME_HEIGHT / 2);
                let look = Type::bold(END_NAME_HEIGHT);
                let look = if stop.at_right { look } else { look.right() };
                let name = wording.end_name(joint);
                let tag =
                    Tag { joint: Some(self.network().joint(joint).id.clone()), ..Tag::class("end-name") };
                let words = self.pen.words(&name, foot, NAME_WIDTH_MAX, look, tag);
                if !words.text.is_empty() {
                    self.taken.add_area(words.area);
                    self.pen.scene.words.push(words);
                }
            }
        }
    }

    /// Title in the middle; where the operator stands on both sides of it.
    fn add_title(&mut self, plan: &Plan, fascia: &Fascia) {
        let margin = outline(facts(plan, fascia)).margin;
        let (width, foot) = (self.pen.scene.width, margin + PANEL_TITLE_HEIGHT);
        let room = width - 2 * margin;
        let beside = Type::plain(PANEL_LEGEND_HEIGHT).quiet();
        let words = ["operator's left", "operator's right"];
        let wide = words.iter().map(|words| self.pen.width(words, beside)).max().unwrap_or(0) + ARROW_SIZE;
        let look = Type::bold(PANEL_TITLE_HEIGHT).middle();
        let mut most = room;
        if room > 2 * wide + 30 * MM {
            most = room - 2 * wide - 6 * MM;
            let y = foot - PANEL_LEGEND_HEIGHT / 2;
            let ends = [(margin, 1, Shape::ArrowLeft), (width - margin, -1, Shape::ArrowRight)];
            for ((x, inward, shape), text) in ends.into_iter().zip(words) {
                let size = PANEL_LEGEND_HEIGHT;
                self.add_mark(shape, Xy::new(x + inward * size / 2, y), size, Ink::Quiet, "operator");
                let at = Xy::new(x + inward * (size + MM), foot);
                let look = if inward > 0 { beside } else { beside.right() };
                self.pen.write(text, at, wide, look, Tag::class("operator"));
            }
        }
        self.pen.write(&fascia.panel, Xy::new(width / 2, foot), most, look, Tag::class("title"));
    }

    /// Words keep off the border and off the bands for title and legend.
    fn keep_edges_clear(&mut self, margin: Um) {
        use crate::sheet::{PANEL_LEGEND_ROOM, PANEL_TITLE_ROOM};
        let Area { right, bottom, .. } = self.pen.scene.sheet();
        let (top, foot) = (margin + PANEL_TITLE_ROOM, bottom - margin - PANEL_LEGEND_ROOM);
        let side = margin / 2;
        for area in [
            Area { left: 0, top: 0, right, bottom: top },
            Area { left: 0, top: foot, right, bottom },
            Area { left: 0, top: 0, right: side, bottom },
            Area { left: right - side, top: 0, right, bottom },
        ] {
            self.taken.add_area(area);
        }
    }

    fn add_numbers(&mut self, wording: &Wording) {
        let fitted = self.fitted;
        let spots: Vec<Spot> = fitted.geometry.spots.iter().filter(|spot| spot.numbered).copied().collect();
        for mut spot in spots {
            let Some(text) = wording.numbers.get(spot.lever.index()).filter(|text| !text.is_empty()) else {
                continue;
            };
            // A toggle stands for its machine, and has moved where there was no room at the machine itself.
            let mut mark = MM;
            if let Some(&(at, nut)) = self.toggles.get(&spot.lever) {
                (spot.at, mark) = (at, nut);
            }
            let style = Style { mark, leaders: &LEADERS, ..Style::FULL };
            let look = Type::bold(NUMBER_HEIGHT).middle();
            let tag = Tag { lever: Some(self.lever_id(spot.lever)), ..Tag::class("number") };
            let flat = self.pen.words(text, spot.at, NUMBER_WIDTH_MAX, look, tag.clone()).area;
            let descent = flat.bottom - flat.top - NUMBER_HEIGHT;
            let sheet = self.pen.scene.sheet();
            let places = number_places(&spot, &style, descent).into_iter().chain(far_places(spot.at, mark));
            let found = places.into_iter().find_map(|place| {
                let foot = Xy::new(place.middle.x, place.middle.y + NUMBER_HEIGHT / 2);
                let words = self.pen.words(text, foot, NUMBER_WIDTH_MAX, look, tag.clone());
                let clear = place.leader.is_none_or(|leader| self.taken.is_clear(leader));
                let free = clear && sheet.holds(words.area) && self.taken.is_free(words.area);
                free.then_some((words, place.leader))
            });
            let Some((words, leader)) = found else { continue };
            if let Some(leader) = leader {
                self.pen.stroke(&leader, HAIR_WIDTH, Layer::Leader, Ink::Ink, "leader");
                self.taken.add_stroke(&leader, HAIR_WIDTH);
            }
            let area = words.area;
            self.taken.add_area(area);
            self.pen.scene.words.push(words);
            self.add_lever_name(spot.lever, text, area);
        }
    }

    fn lever_id(&self, lever: LeverId) -> String {
        self.network().lever(lever).id.clone()
    }

    /// The lever's name below its number, or above, where there is room for it.
    fn add_lever_name(&mut self, lever: LeverId, number: &str, beside: Area) {
        let name = self.fitted.territory.network.lever(lever).name.clone();
        if name == number || name.trim().is_empty() {
            return;
        }
        let look = Type::plain(TRACK_NAME_HEIGHT * 4 / 5).quiet().middle();
        let tag = Tag { lever: Some(self.lever_id(lever)), ..Tag::class("lever-name") };
        let middle = i64::midpoint(beside.left, beside.right);
        let gap = WORD_CLEARANCE + MM / 5;
        for foot in [beside.bottom + gap + look.height, beside.top - gap - look.height / 3] {
            let words = self.pen.words(&name, Xy::new(middle, foot), NAME_WIDTH_MAX / 2, look, tag.clone());
            if self.taken.is_free(words.area) {
                self.taken.add_area(words.area);
                self.pen.scene.words.push(words);
                return;
            }
        }
    }

    fn is_end(&self, joint: network::JointId) -> bool {
        matches!(self.network().joint(joint).kind, network::JointKind::End { .. })
    }

    fn add_track_names(&mut self, wording: &Wording) {
        let fitted = self.fitted;
        for run in fitted.geometry.runs.iter().filter(|run| run.named) {
            let Belongs::Track(track) = run.belongs else { continue };
            // A track that stops here says at its end where it leads.
            if run.ports.iter().flatten().any(|port| self.is_end(port.joint)) {
                continue;
            }
            let Some(name) = wording.track_name(track) else { continue };
            let look = Type { anchor: Anchor::Middle, ..Type::plain(TRACK_NAME_HEIGHT) };
            let tag =
                Tag { track: Some(self.network().track(track).name.clone()), ..Tag::class("track-name") };
            let width = wording.width(&name, TRACK_NAME_HEIGHT, Weight::Regular);
            let half = if run.main { MAIN_WIDTH } else { TRACK_WIDTH } / 2;
            let free = name_places(&run.whole, half, width).into_iter().find_map(|foot| {
                let words = self.pen.words(&name, foot, NAME_WIDTH_MAX, look, tag.clone());
                self.taken.is_free(words.area).then_some(words)
            });
            if let Some(words) = free {
                self.taken.add_area(words.area);
                self.pen.scene.words.push(words);
            }
        }
    }
}
