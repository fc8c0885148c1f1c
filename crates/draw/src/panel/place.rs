//! Where on the diagram each device stands, so that holes keep enough web between them and nuts enough room.
//!
//! Each device offers places, best first: along its leg outward from the joint, along its track inward from the end, or at the
//! machine itself. It takes the first that is far enough from every hole so far, inside the margin, and clear of tracks that
//! are not its own. Lamps go first, nearest to the joints; buttons stand beyond them. Distances are compared as whole
//! numbers, exactly.

use super::parts::Size;
use crate::label::{SQUARE, square, squares};
use crate::scene::{Area, Xy};
use crate::schematic::geometry::{Belongs, Geometry, Leg, Run, StopKind};
use crate::sheet::{CONNECTOR_SIZE, HOLE_GAP_MIN, MM, NUT_GAP_MIN, NUT_TRACK_GAP, Um};
use network::{MachineId, Position, TrackId};
use plan::model::Stand;
use std::collections::BTreeMap;

/// The most places that are tried for one device.
const PLACES_MAX: Um = 96;

/// Which distances are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Keep {
    HolesAndNuts,
    /// Used only to say which of the two was the trouble.
    Holes,
}

/// A device to be placed, with its ids those of the territory.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wanted {
    pub(crate) size: Size,
    pub(crate) stands: Stand,
}

/// A straight piece of a run, with the run's index.
type Piece = (usize, [Xy; 2]);

/// The panel with what stands on it so far.
pub(crate) struct Board<'a> {
    geometry: &'a Geometry,
    /// Where a nut may be.
    inner: Area,
    line_width: Um,
    keep: Keep,
    placed: Vec<(Xy, Size)>,
    by_square: BTreeMap<(Um, Um), Vec<usize>>,
    tracks: BTreeMap<(Um, Um), Vec<Piece>>,
    largest: Um,
}

impl<'a> Board<'a> {
    pub(crate) fn new(geometry: &'a Geometry, inner: Area, line_width: Um, keep: Keep) -> Self {
        let mut board = Self {
            geometry,
            inner,
            line_width,
            keep,
            placed: Vec::new(),
            by_square: BTreeMap::new(),
            tracks: BTreeMap::new(),
            largest: 0,
        };
        for (index, run) in geometry.runs.iter().enumerate() {
            for pair in run.whole.windows(2) {
                for square in squares_along([pair[0], pair[1]]) {
                    board.tracks.entry(square).or_default().push((index, [pair[0], pair[1]]));
                }
            }
        }
        for stop in geometry.stops.iter().filter(|stop| matches!(stop.kind, StopKind::Connector(_))) {
            // The ring with the letter stays readable.
            let outward = if stop.at_right { CONNECTOR_SIZE } else { -CONNECTOR_SIZE };
            let at = Xy::new(stop.at.x + outward / 2, stop.at.y);
            board.add(at, Size { hole: 0, nut: CONNECTOR_SIZE });
        }
        board
    }

    /// Takes a place as it is.
    pub(crate) fn add(&mut self, at: Xy, size: Size) {
        self.largest = self.largest.max(size.nut).max(size.hole);
        self.by_square.entry(square(at)).or_default().push(self.placed.len());
        self.placed.push((at, size));
    }

    /// The first place of a device that keeps its distance; none when all are too near to something.
    pub(crate) fn place(&mut self, wanted: &Wanted) -> Option<Xy> {
        let places = self.places(wanted).into_iter().map(|(at, own)| (on_rule(at), own));
        let at = places.into_iter().find(|&(at, own)| self.fits(at, wanted.size, own))?.0;
        self.add(at, wanted.size);
        Some(at)
    }

    /// The place a device would take if nothing were in its way.
    pub(crate) fn wish(&self, wanted: &Wanted) -> Option<Xy> {
        self.places(wanted).first().map(|&(at, _)| on_rule(at))
    }

    fn fits(&self, at: Xy, size: Size, own: Own) -> bool {
        let reach = match self.keep {
            Keep::Holes => size.hole / 2,
            Keep::HolesAndNuts => size.nut / 2,
        };
        let inside = self.inner.holds(Area::around(at, 2 * reach, 2 * reach));
        inside && self.clear_of_devices(at, size) && self.clear_of_tracks(at, reach, own)
    }

    fn clear_of_devices(&self, at: Xy, size: Size) -> bool {
        let far = i64::midpoint(size.nut.max(size.hole), self.largest) + HOLE_GAP_MIN.max(NUT_GAP_MIN);
        squares(Area::around(at, 0, 0).grown(far)).all(|square| {
            let near = self.by_square.get(&square).into_iter().flatten();
            near.into_iter().all(|&index| {
                let (other, other_size) = self.placed[index];
                self.apart(size, other_size).pow(2) <= distance_squared(at, other)
            })
        })
    }

    /// How far apart the middles of two devices have to be.
    fn apart(&self, a: Size, b: Size) -> Um {
        let holes = (a.hole + b.hole + 1) / 2 + HOLE_GAP_MIN;
        match self.keep {
            Keep::Holes => holes,
            Keep::HolesAndNuts => holes.max((a.nut + b.nut + 1) / 2 + NUT_GAP_MIN),
        }
    }

    fn clear_of_tracks(&self, at: Xy, reach: Um, own: Own) -> bool {
        let far = reach + self.line_width / 2 + NUT_TRACK_GAP;
        squares(Area::around(at, 0, 0).grown(far)).all(|square| {
            let near = self.tracks.get(&square).into_iter().flatten();
            near.into_iter().all(|&(run, piece)| own.is(run) || is_farther(at, piece, far))
        })
    }

    /// Where a device may stand, best first, each with the tracks that it may stand on.
    fn places(&self, wanted: &Wanted) -> Vec<(Xy, Own)> {
        let reach = wanted.size.nut / 2;
        match wanted.stands {
            Stand::Leg(machine, position) => match self.leg(machine, position) {
                Some((run, path)) => along(&path, reach + MM, Own::Run(run)),
                None => self.around_machine(machine, reach),
            },
            Stand::Machine(machine) => self.around_machine(machine, reach),
            Stand::Track(track) => self.on_track(track, reach),
        }
    }

    /// The leg that this position of a machine opens, as the path of its run from the joint outward.
    fn leg(&self, machine: MachineId, position: Position) -> Option<(usize, Vec<Xy>)> {
        let opens = |leg: &Leg| {
            let has = |position: Position| leg.when.iter().any(|needs| needs.contains(&(machine, position)));
            has(position) && !has(position.other())
        };
        let found = self
            .geometry
            .runs
            .iter()
            .enumerate()
            .find_map(|(index, run)| run.legs.iter().find(|leg| opens(leg)).map(|leg| (index, run, leg)));
        // The through leg of a three-way needs both its machines normal, so it is shared by them; any leg that has the
        // position will do then.
        let (index, run, leg) = found?;
        Some((index, outward(run, leg.path.first().copied())))
    }

    fn around_machine(&self, machine: MachineId, reach: Um) -> Vec<(Xy, Own)> {
        let Some(spot) = self.geometry.spots.iter().find(|spot| spot.machine == machine) else {
            return Vec::new();
        };
        let mut places = vec![(spot.at, Own::All)];
        for step in 1..=12 {
            let off = reach + self.line_width + step * MM;
            for (x, y) in [(0, -off), (0, off), (-off, -off), (off, off), (off, -off), (-off, off)] {
                places.push((Xy::new(spot.at.x + x, spot.at.y + y), Own::None));
            }
        }
        places
    }

    /// Along a track from its end inward; from the middle outward where both its ends lead on.
    fn on_track(&self, track: TrackId, reach: Um) -> Vec<(Xy, Own)> {
        let runs = || {
            let all = self.geometry.runs.iter().enumerate();
            all.filter(move |(_, run)| run.belongs == Belongs::Track(track))
        };
        let ends = self.geometry.stops.iter().filter(|stop| matches!(stop.kind, StopKind::End(..)));
        let ends: Vec<Xy> = ends.map(|stop| stop.at).collect();
        for (index, run) in runs() {
            let Some(&end) =
                ends.iter().find(|&&end| run.whole.first() == Some(&end) || run.whole.last() == Some(&end))
            else {
                continue;
            };
            return along(&outward(run, Some(end)), reach + 2 * MM, Own::Run(index));
        }
        let Some((index, run)) = runs().next() else { return Vec::new() };
        let mut places = along(&run.whole, 0, Own::Run(index));
        let middle = places.len() / 2;
        let mut ranked: Vec<_> = places.drain(..).enumerate().collect();
        ranked.sort_by_key(|(place, _)| place.abs_diff(middle));
        ranked.into_iter().map(|(_, place)| place).collect()
    }
}

/// Which tracks a device may stand on.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Own {
    Run(usize),
    All,
    None,
}

impl Own {
    fn is(self, run: usize) -> bool {
        match self {
            Self::Run(own) => own == run,
            Self::All => true,
            Self::None => false,
        }
    }
}

/// The nearest place that a rule with tenths of millimetres finds, so that a table of them says exactly where holes are.
fn on_rule(at: Xy) -> Xy {
    let tenth = |um: Um| (um + MM / 20).div_euclid(MM / 10) * (MM / 10);
    Xy::new(tenth(at.x), tenth(at.y))
}

/// A run's path, beginning at this end of it.
fn outward(run: &Run, from: Option<Xy>) -> Vec<Xy> {
    let mut path = run.whole.clone();
    if path.first().copied() != from {
        path.reverse();
    }
    path
}

/// Places along a path from its beginning on, the first this far along.
fn along(path: &[Xy], first: Um, own: Own) -> Vec<(Xy, Own)> {
    let length: Um = path.windows(2).map(|pair| length(pair[0], pair[1])).sum();
    let step = (length / PLACES_MAX).max(MM / 2);
    let mut places = Vec::new();
    let mut at = first;
    while at <= length {
        places.extend(point_along(path, at).map(|at| (at, own)));
        at += step;
    }
    places
}

/// The point this far along a path.
fn point_along(path: &[Xy], mut far: Um) -> Option<Xy> {
    for pair in path.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let long = length(a, b);
        if far <= long && long > 0 {
            return Some(Xy::new(a.x + (b.x - a.x) * far / long, a.y + (b.y - a.y) * far / long));
        }
        far -= long;
    }
    path.last().copied()
}

fn length(a: Xy, b: Xy) -> Um {
    crate::schematic::trace::distance(a, b)
}

fn distance_squared(a: Xy, b: Xy) -> Um {
    (a.x - b.x).pow(2) + (a.y - b.y).pow(2)
}

/// Whether a place is at least this far from every point of a straight piece.
fn is_farther(at: Xy, [a, b]: [Xy; 2], far: Um) -> bool {
    let (dx, dy) = (i128::from(b.x - a.x), i128::from(b.y - a.y));
    let (px, py) = (i128::from(at.x - a.x), i128::from(at.y - a.y));
    let long = dx * dx + dy * dy;
    let along = px * dx + py * dy;
    let far = i128::from(far) * i128::from(far);
    if along <= 0 || long == 0 {
        return px * px + py * py >= far;
    }
    if along >= long {
        let (qx, qy) = (px - dx, py - dy);
        return qx * qx + qy * qy >= far;
    }
    let cross = px * dy - py * dx;
    cross * cross >= far * long
}

/// The squares of the net that a straight piece runs through, and some beside it.
fn squares_along([a, b]: [Xy; 2]) -> Vec<(Um, Um)> {
    let count = length(a, b) / SQUARE + 1;
    let part = |step: Um| Xy::new(a.x + (b.x - a.x) * step / count, a.y + (b.y - a.y) * step / count);
    let mut along: Vec<_> = (0..count)
        .flat_map(|step| {
            let (from, to) = (part(step), part(step + 1));
            squares(Area {
                left: from.x.min(to.x),
                top: from.y.min(to.y),
                right: from.x.max(to.x),
                bottom: from.y.max(to.y),
            })
        })
        .collect();
    along.sort_unstable();
    along.dedup();
    along
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distance_to_a_piece_is_to_its_nearest_point() {
        let piece = [Xy::new(0, 0), Xy::new(10 * MM, 0)];
        for (at, far) in [
            (Xy::new(5 * MM, 3 * MM), 3 * MM),
            (Xy::new(-3 * MM, 4 * MM), 5 * MM),
            (Xy::new(13 * MM, -4 * MM), 5 * MM),
        ] {
            assert!(is_farther(at, piece, far), "{at:?}");
            assert!(!is_farther(at, piece, far + 1), "{at:?}");
        }
    }
}
