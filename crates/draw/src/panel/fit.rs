//! How large the diagram is on a fascia, and with it the fascia where the user leaves its size open.
//!
//! The diagram of the territory is multiplied until every device finds a place that keeps its distance. A side that the user
//! gives limits it; a side left open becomes as long as that takes, rounded up.

use super::parts::{Outline, Size, fixing_places, size_of};
use super::place::{Board, Keep, Wanted};
use crate::compose::Wording;
use crate::fonts::Fonts;
use crate::scene::{Area, Xy};
use crate::schematic::geometry::{Geometry, StopKind};
use crate::schematic::{Draft, Operator, numbers_of};
use crate::sheet::{
    ARROW_SIZE, END_NAME_GAP, END_NAME_HEIGHT, MM, NUMBER_HEIGHT, PANEL_LEGEND_ROOM, PANEL_ROUNDING,
    PANEL_TITLE_ROOM, TRACK_WIDTH, Um,
};
use crate::territory::{Territory, territory};
use plan::model::{Device, DeviceKind, Fascia, Plan, Stand};

/// The diagram is drawn at this many thousandths of its usual size, tried in this order where the panel's size is open.
const SCALE_FIRST: Um = 1_000;
const SCALE_STEP: Um = 125;
const SCALE_LAST: Um = 5_000;
/// Smaller than this no turnout can be told from the next.
pub(crate) const SCALE_LEAST: Um = 300;

/// A fascia with everything at its place.
pub(crate) struct Fitted {
    pub(crate) territory: Territory,
    /// At the panel's size, its upper left corner the origin.
    pub(crate) geometry: Geometry,
    pub(crate) width: Um,
    pub(crate) height: Um,
    pub(crate) scale: Um,
    pub(crate) fixings: Vec<Xy>,
    /// Where each device stands; where `crowded` lists it, only where it should.
    pub(crate) places: Vec<Xy>,
    pub(crate) crowded: Vec<usize>,
    /// The room that each device takes.
    pub(crate) sizes: Vec<Size>,
}

/// A fascia being fitted.
pub(crate) struct Fitting<'a> {
    devices: &'a [Device],
    outline: Outline,
    sizes: Vec<Size>,
    bare: Geometry,
    extent: Area,
    /// Room for names left and right of the diagram.
    beside: [Um; 2],
    above: Um,
}

/// Room inside the panel's margin for the title, the legend and their distance.
const BANDS: Um = PANEL_TITLE_ROOM + PANEL_LEGEND_ROOM;

impl<'a> Fitting<'a> {
    pub(crate) fn of(plan: &Plan, fascia: &'a Fascia, outline: Outline, fonts: &Fonts) -> (Self, Territory) {
        let numbers = numbers_of(plan);
        let whole = Wording { fonts, network: &plan.network, numbers: &numbers };
        let territory = territory(&whole, &fascia.levers);
        let own: Vec<String> = territory.levers.iter().map(|lever| numbers[lever.index()].clone()).collect();
        let wording = Wording { fonts, network: &territory.network, numbers: &own };
        let bare = Draft::of(&wording, Operator::Front).geometry();
        let extent = extent(&bare);
        let mut beside = [0; 2];
        for stop in &bare.stops {
            let StopKind::End(joint, _) = stop.kind else { continue };
            let name =
                wording.width(&wording.end_name(joint), END_NAME_HEIGHT, crate::scene::Weight::SemiBold);
            let side = &mut beside[usize::from(stop.at_right)];
            *side = (*side).max(name + ARROW_SIZE + 2 * END_NAME_GAP);
        }
        let sizes: Vec<Size> = fascia.devices.iter().map(|device| size_of(plan, device)).collect();
        let nut = sizes.iter().map(|size| size.nut).max().unwrap_or(0);
        let above = (2 * NUMBER_HEIGHT).max(nut / 2 + MM);
        (Self { devices: &fascia.devices, outline, sizes, bare, extent, beside, above }, territory)
    }

    /// The widest of all holes.
    pub(crate) fn largest_hole(&self) -> Um {
        self.sizes.iter().map(|size| size.hole).chain([self.outline.fixing]).max().unwrap_or(0)
    }

    /// The largest scale at which the diagram fits into a panel of this size, in thousandths.
    fn scale_within(&self, width: Option<Um>, height: Option<Um>) -> Um {
        let margin = 2 * self.outline.margin;
        let across = width.map(|width| width - margin - self.beside[0] - self.beside[1]);
        let up = height.map(|height| height - margin - BANDS - 2 * self.above);
        let [wide, high] = [self.extent.right - self.extent.left, self.extent.bottom - self.extent.top]
            .map(|size| size.max(1));
        let fit = |room: Option<Um>, size: Um| room.map(|room| room.max(0) * 1_000 / size);
        let limits = [fit(across, wide), fit(up, high)];
        limits.into_iter().flatten().min().unwrap_or(SCALE_LAST).min(SCALE_LAST)
    }

    fn natural_width(&self, scale: Um) -> Um {
        let wide = (self.extent.right - self.extent.left) * scale / 1_000;
        rounded_up(wide + self.beside[0] + self.beside[1] + 2 * self.outline.margin)
    }

    fn natural_height(&self, scale: Um) -> Um {
        let high = (self.extent.bottom - self.extent.top) * scale / 1_000;
        rounded_up(high + 2 * self.above + BANDS + 2 * self.outline.margin)
    }

    /// The least size at which everything finds a place; none when none does up to the largest.
    pub(crate) fn least_size(&self, territory: &Territory) -> Option<(Um, Um)> {
        let mut scale = SCALE_FIRST;
        while scale <= SCALE_LAST {
            let size = (self.natural_width(scale), self.natural_height(scale));
            if self.at_scale(territory, scale, size, Keep::HolesAndNuts).2.is_empty() {
                return Some(size);
            }
            scale += SCALE_STEP;
        }
        None
    }

    /// Everything at its place on a panel of the size that is given, or else as large as needed.
    pub(crate) fn fit(&self, territory: Territory) -> Fitted {
        let Outline { width, height, .. } = self.outline;
        let limit = self.scale_within(width, height);
        let mut scale = if width.is_some() && height.is_some() { limit } else { SCALE_FIRST.min(limit) };
        loop {
            let size = (
                width.unwrap_or_else(|| self.natural_width(scale)),
                height.unwrap_or_else(|| self.natural_height(scale)),
            );
            let (geometry, places, crowded) = self.at_scale(&territory, scale, size, Keep::HolesAndNuts);
            if crowded.is_empty() || scale >= limit {
                let fixings = fixing_places(&self.outline, size.0, size.1);
                let (width, height) = size;
                let sizes = self.sizes.clone();
                return Fitted { territory, geometry, width, height, scale, fixings, places, crowded, sizes };
            }
            scale = (scale + SCALE_STEP).min(limit);
        }
    }

    /// Whether everything finds a place when only the holes keep their distance, not the nuts.
    pub(crate) fn holes_alone_fit(&self, fitted: &Fitted) -> bool {
        let size = (fitted.width, fitted.height);
        self.at_scale(&fitted.territory, fitted.scale, size, Keep::Holes).2.is_empty()
    }

    /// The geometry on the panel, the place of each device, and those that found none.
    fn at_scale(
        &self,
        territory: &Territory,
        scale: Um,
        (width, height): (Um, Um),
        keep: Keep,
    ) -> (Geometry, Vec<Xy>, Vec<usize>) {
        let scaled = self.bare.clone().scaled(scale, 1_000);
        let at = |size: Um| size * scale / 1_000;
        let (left, right) =
            (self.outline.margin + self.beside[0], width - self.outline.margin - self.beside[1]);
        let (top, bottom) =
            (self.outline.margin + PANEL_TITLE_ROOM, height - self.outline.margin - PANEL_LEGEND_ROOM);
        let middle = Xy::new(
            i64::midpoint(left, right) - at(i64::midpoint(self.extent.left, self.extent.right)),
            i64::midpoint(top, bottom) - at(i64::midpoint(self.extent.top, self.extent.bottom)),
        );
        let geometry = moved(scaled, middle);
        let inner = Area { left: self.outline.margin, top, right: width - self.outline.margin, bottom };
        let mut board = Board::new(&geometry, inner, TRACK_WIDTH, keep);
        for fixing in fixing_places(&self.outline, width, height) {
            board.add(fixing, Size { hole: self.outline.fixing, nut: self.outline.fixing });
        }
        let mut places = vec![Xy::default(); self.devices.len()];
        let mut crowded = Vec::new();
        let mut order: Vec<usize> = (0..self.devices.len()).collect();
        let rank = |kind: DeviceKind| match kind {
            DeviceKind::Toggle => 0,
            DeviceKind::Lamp => 1,
            DeviceKind::Button => 2,
        };
        order.sort_by_key(|&index| rank(self.devices[index].kind));
        for index in order {
            let wanted =
                Wanted { size: self.sizes[index], stands: here(self.devices[index].stands, territory) };
            match board.place(&wanted) {
                Some(at) => places[index] = at,
                None => {
                    crowded.push(index);
                    places[index] = board.wish(&wanted).unwrap_or(Xy::new(width / 2, height / 2));
                }
            }
        }
        crowded.sort_unstable();
        (geometry, places, crowded)
    }
}

/// A stand with its ids those of the territory.
fn here(stands: Stand, territory: &Territory) -> Stand {
    let machine = |id| territory.machines.get(&id).copied().unwrap_or(id);
    match stands {
        Stand::Leg(id, position) => Stand::Leg(machine(id), position),
        Stand::Machine(id) => Stand::Machine(machine(id)),
        Stand::Track(track) => Stand::Track(territory.tracks.get(&track).copied().unwrap_or(track)),
    }
}

/// The same, everything moved by this much.
fn moved(mut geometry: Geometry, by: Xy) -> Geometry {
    let shift = |at: &mut Xy| *at = Xy::new(at.x + by.x, at.y + by.y);
    for run in &mut geometry.runs {
        let legs = run.legs.iter_mut().flat_map(|leg| &mut leg.path);
        run.whole.iter_mut().chain(&mut run.middle).chain(legs).for_each(shift);
    }
    geometry.spots.iter_mut().for_each(|spot| shift(&mut spot.at));
    geometry.stops.iter_mut().for_each(|stop| shift(&mut stop.at));
    geometry.pits.iter_mut().for_each(|(_, at, _)| shift(at));
    geometry
}

/// The paper that tracks and marks take, words left aside.
fn extent(geometry: &Geometry) -> Area {
    let runs = geometry.runs.iter().flat_map(|run| &run.whole).map(|&at| Area::around(at, 0, 0));
    let stops = geometry.stops.iter().map(|stop| Area::around(stop.at, 0, 0));
    let pits = geometry.pits.iter().map(|&(_, at, radius)| Area::around(at, 2 * radius, 2 * radius));
    runs.chain(stops).chain(pits).reduce(Area::with).unwrap_or_default()
}

fn rounded_up(size: Um) -> Um {
    (size + PANEL_ROUNDING - 1) / PANEL_ROUNDING * PANEL_ROUNDING
}
