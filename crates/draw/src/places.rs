//! Where words would like to stand: for each number and name, its possible places, best first.
//!
//! A number stands beside its machine, above or below, on the side with fewer legs; if that is taken it moves along the
//! track, away from legs, then to the other side, then further off with a leader at 60°. A name of a track stands along
//! the track's longest level stretch, from the middle outward, above it or below.

use crate::compose::Style;
use crate::scene::Xy;
use crate::schematic::geometry::Spot;
use crate::sheet::{LEVEL_PITCH, MARK_HALO, MM, SLANT_RUN, TRACK_NAME_HEIGHT, Um, WORD_CLEARANCE};

/// A place for the middle of a number, and the leader to it.
#[derive(Clone, Copy)]
pub(crate) struct Place {
    pub(crate) middle: Xy,
    pub(crate) leader: Option<[Xy; 2]>,
}

/// Where a machine's number may stand, best first; its letters reach this far below their foot.
pub(crate) fn number_places(spot: &Spot, style: &Style, descent: Um) -> Vec<Place> {
    let Xy { x, y } = spot.at;
    let [left_above, left_below, right_above, right_below] = spot.slants;
    let count = |left: bool, right: bool| Um::from(left) + Um::from(right);
    let crowd = [count(left_above, right_above), count(left_below, right_below)];
    let near = style.mark * 5 / 8 + MARK_HALO / 2 + 2 * style.clearance + style.number / 2;
    let nearest_far = style.leaders.first().map_or(0, |&(times, of)| style.number * times / of);
    let mut ranked = Vec::new();
    for (below, sign) in [(0, -1), (1, 1)] {
        let off = near + if below == 0 { descent } else { 0 };
        let (left, right) = if below == 0 { (left_above, right_above) } else { (left_below, right_below) };
        for step in -7..=7_i64 {
            let aside = step * style.number / 2;
            // Beside a leg that leaves on this side the number moves the other way.
            let toward_leg = (aside > 0 && right) || (aside < 0 && left);
            let cost =
                aside.abs() + crowd[below] * 2 * style.number + if toward_leg { style.number } else { 0 };
            let middle = Xy::new(x + aside, y + sign * off);
            ranked.push((cost, Place { middle, leader: None }));
            for &(times, of) in style.leaders.iter().filter(|_| step != 0) {
                let far = style.number * times / of;
                let run = (far + off) * LEVEL_PITCH / SLANT_RUN * if step < 0 { -1 } else { 1 };
                let from = Xy::new(x + run * style.mark / (far + off), y + sign * style.mark);
                // Letters may reach below their foot, and the leader stops short of that.
                let reach = off + far - style.number * 5 / 6 - style.clearance / 2;
                let to = Xy::new(x + run * reach / (far + off), y + sign * reach);
                let middle = Xy::new(x + run + aside / 8, y + sign * (off + far));
                ranked.push((
                    cost + 20 * style.number + far - nearest_far,
                    Place { middle, leader: Some([from, to]) },
                ));
            }
        }
    }
    ranked.sort_by_key(|(cost, _)| *cost);
    ranked.into_iter().map(|(_, place)| place).collect()
}

/// Where a track's name may stand, best first: along its longest level stretch from the middle outward, above, then
/// below.
pub(crate) fn name_places(path: &[Xy], half: Um, width: Um) -> Vec<Xy> {
    let level = path.windows(2).filter(|pair| pair[0].y == pair[1].y);
    let Some(longest) = level.max_by_key(|pair| (pair[1].x - pair[0].x).abs()) else { return Vec::new() };
    let (a, b) = (longest[0].x.min(longest[1].x), longest[0].x.max(longest[1].x));
    let slack = (b - a - width).max(0) / 2;
    let above = longest[0].y - half - WORD_CLEARANCE - TRACK_NAME_HEIGHT / 3;
    let below = longest[0].y + half + WORD_CLEARANCE + TRACK_NAME_HEIGHT + MM / 5;
    let middle = i64::midpoint(a, b);
    let mut places = Vec::new();
    for step in 0..=8 {
        for y in [above, below] {
            places.push(Xy::new(middle - slack * step / 8, y));
            places.push(Xy::new(middle + slack * step / 8, y));
        }
    }
    places
}
