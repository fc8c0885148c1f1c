//! What is good and bad about a finished diagram, counted from its strokes and words alone.
//!
//! This knows nothing of how the diagram came about: it takes the paths as they are on the sheet and the network they
//! claim to show, and compares. Directions are judged by the signs of cross products of whole numbers, so nothing here
//! depends on rounding.

use crate::label::meets;
use crate::scene::{Area, Xy};
use crate::schematic::{DrawnTrack, Schematic};
use crate::sheet::{LEVEL_PITCH, Um};
use description::Hand;
use network::{JointId, JointKind, Network, Port};

/// The counts of one diagram.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Measures {
    /// Highest minus lowest place of any track.
    ///
    /// # Units
    /// Micrometres; [`Measures::height`] has it in the least distances of parallel tracks.
    pub height_um: Um,
    /// Rightmost minus leftmost place of any track. In micrometres.
    pub width_um: Um,
    /// Changes of direction along tracks, between joints.
    pub bends: usize,
    /// Places where strokes meet that no track has.
    pub crossings: usize,
    /// Crossings that the track has: crossings, slips, scissors.
    pub track_crossings: usize,
    /// Joints whose drawn legs turn another way than they should.
    pub hand_errors: usize,
    /// Pairs of words, or a word and a stroke, over one another, and words off the sheet.
    pub overlaps: usize,
    /// Tracks that are drawn as two stubs.
    pub cuts: usize,
}

impl Measures {
    /// The height in the least distance of parallel tracks, rounded up.
    pub fn height(&self) -> i64 {
        (self.height_um + LEVEL_PITCH - 1) / LEVEL_PITCH
    }

    /// The width in the least distance of parallel tracks, rounded up.
    pub fn width(&self) -> i64 {
        (self.width_um + LEVEL_PITCH - 1) / LEVEL_PITCH
    }
}

/// Counts.
pub fn measures(drawn: &Schematic, network: &Network) -> Measures {
    let paths =
        || drawn.tracks.iter().map(|track| &track.path).chain(drawn.inner.iter().map(|inner| &inner.path));
    let area = paths().flatten().map(|&at| Area::around(at, 0, 0)).reduce(Area::with).unwrap_or_default();
    let track_crossings = network.joints.iter().filter(|joint| {
        matches!(joint.kind, JointKind::Slip { .. } | JointKind::Crossing | JointKind::Scissors)
    });
    Measures {
        height_um: area.bottom - area.top,
        width_um: area.right - area.left,
        bends: drawn.tracks.iter().map(|track| bends(&track.path)).sum(),
        crossings: crossings(drawn),
        track_crossings: track_crossings.count(),
        hand_errors: hand_errors(drawn, network),
        overlaps: overlaps(drawn),
        cuts: drawn.connectors.len() / 2,
    }
}

/// Twice the area between two directions: positive when the second turns with the clock on the sheet.
fn turn(a: Xy, b: Xy) -> i128 {
    i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x)
}

fn step(from: Xy, to: Xy) -> Xy {
    Xy::new(to.x - from.x, to.y - from.y)
}

fn bends(path: &[Xy]) -> usize {
    path.windows(3).filter(|corner| turn(step(corner[0], corner[1]), step(corner[1], corner[2])) != 0).count()
}

/// A straight piece: its ends, the run it is of, and the joints at the run's ends.
struct Piece {
    ends: [Xy; 2],
    run: usize,
    inner_of: Option<JointId>,
}

fn crossings(drawn: &Schematic) -> usize {
    let mut pieces = Vec::new();
    let tracks = drawn.tracks.iter().map(|track| (&track.path, None));
    let inner = drawn.inner.iter().map(|inner| (&inner.path, Some(inner.joint)));
    let runs: Vec<_> = tracks.chain(inner).collect();
    for (run, (path, inner_of)) in runs.iter().enumerate() {
        pieces.extend(path.windows(2).map(|pair| {
            let ends = if pair[0] <= pair[1] { [pair[0], pair[1]] } else { [pair[1], pair[0]] };
            Piece { ends, run, inner_of: *inner_of }
        }));
    }
    pieces.sort_by_key(|piece| (piece.ends, piece.run));
    let tips = |run: usize| [runs[run].0.first(), runs[run].0.last()];
    let mut count = 0;
    let mut open: Vec<&Piece> = Vec::new();
    for piece in &pieces {
        open.retain(|other| other.ends[1].x >= piece.ends[0].x);
        for other in open.iter().filter(|other| other.run != piece.run) {
            let same_joint = piece.inner_of.is_some() && piece.inner_of == other.inner_of;
            if !same_joint && meet(piece.ends, other.ends, &tips(piece.run), &tips(other.run)) {
                count += 1;
            }
        }
        open.push(piece);
    }
    count
}

/// Whether two straight pieces have a place in common other than one where both their runs end.
fn meet(a: [Xy; 2], b: [Xy; 2], tips_a: &[Option<&Xy>; 2], tips_b: &[Option<&Xy>; 2]) -> bool {
    let side = |of: [Xy; 2], at: Xy| turn(step(of[0], of[1]), step(of[0], at)).signum();
    let within = |of: [Xy; 2], at: Xy| {
        at.x >= of[0].x && at.x <= of[1].x && at.y >= of[0].y.min(of[1].y) && at.y <= of[0].y.max(of[1].y)
    };
    let shared = |at: Xy| tips_a.contains(&Some(&at)) && tips_b.contains(&Some(&at));
    let sides = [side(a, b[0]), side(a, b[1]), side(b, a[0]), side(b, a[1])];
    if sides[0] * sides[1] < 0 && sides[2] * sides[3] < 0 {
        return true;
    }
    let touching = [(sides[0], a, b[0]), (sides[1], a, b[1]), (sides[2], b, a[0]), (sides[3], b, a[1])];
    let mut common: Vec<Xy> = touching
        .into_iter()
        .filter(|&(side, of, at)| side == 0 && within(of, at))
        .map(|(_, _, at)| at)
        .collect();
    common.sort_unstable();
    common.dedup();
    // Two places in common lie on one another for a length.
    common.len() > 1 || common.iter().any(|&at| !shared(at))
}

/// The direction in which the run at a port leaves its joint.
fn direction(drawn: &Schematic, port: Port) -> Option<Xy> {
    let leaves = |track: &DrawnTrack| match track.ports {
        [Some(left), _] if left == port => Some(step(track.path[0], track.path[1])),
        [_, Some(right)] if right == port => {
            let count = track.path.len();
            Some(step(track.path[count - 1], track.path[count - 2]))
        }
        _ => None,
    };
    drawn.tracks.iter().filter(|track| track.path.len() >= 2).find_map(leaves)
}

fn hand_errors(drawn: &Schematic, network: &Network) -> usize {
    (0..network.joints.len()).filter(|&index| !hand_is_right(drawn, network, JointId::at(index))).count()
}

/// Whether going over the points one sees the legs on the sides where they are.
fn hand_is_right(drawn: &Schematic, network: &Network, joint: JointId) -> bool {
    let at = |port: u8| direction(drawn, Port { joint, port });
    // The second direction lies to the left of the first, and both lead on from the points.
    let in_order = |points: Option<Xy>, right: Option<Xy>, left: Option<Xy>| {
        let (Some(points), Some(right), Some(left)) = (points, right, left) else { return false };
        let onward =
            |leg: Xy| i128::from(points.x) * i128::from(leg.x) + i128::from(points.y) * i128::from(leg.y) < 0;
        turn(right, left) < 0 && onward(right) && onward(left)
    };
    match network.joint(joint).kind {
        JointKind::Turnout { hand: Hand::Left } => in_order(at(0), at(1), at(2)),
        JointKind::Turnout { hand: Hand::Right } | JointKind::Wye => in_order(at(0), at(2), at(1)),
        JointKind::Threeway => in_order(at(0), at(1), at(2)) && in_order(at(0), at(3), at(1)),
        JointKind::Crossover { hand } => crossover_is_right(drawn, joint, at(0), at(1), hand),
        JointKind::End { .. }
        | JointKind::Scissors
        | JointKind::Slip { .. }
        | JointKind::Crossing
        | JointKind::Turntable { .. } => true,
    }
}

fn crossover_is_right(
    drawn: &Schematic,
    joint: JointId,
    points: Option<Xy>,
    through: Option<Xy>,
    hand: Option<Hand>,
) -> bool {
    let (Some(points), Some(through)) = (points, through) else { return false };
    let place = drawn.tracks.iter().find_map(|track| match track.ports {
        [Some(port), _] if port == (Port { joint, port: 1 }) => track.path.first(),
        [_, Some(port)] if port == (Port { joint, port: 1 }) => track.path.last(),
        _ => None,
    });
    let link =
        drawn.inner.iter().filter(|inner| inner.joint == joint && inner.path.len() >= 2).find_map(|inner| {
            let count = inner.path.len();
            if inner.path.first() == place {
                Some(step(inner.path[0], inner.path[1]))
            } else if inner.path.last() == place {
                Some(step(inner.path[count - 1], inner.path[count - 2]))
            } else {
                None
            }
        });
    let Some(link) = link else { return false };
    let left = turn(through, link) < 0;
    let onward = i128::from(points.x) * i128::from(link.x) < 0;
    onward && hand.is_none_or(|hand| left == (hand == Hand::Left))
}

fn overlaps(drawn: &Schematic) -> usize {
    let scene = &drawn.scene;
    let mut words: Vec<Area> = scene.words.iter().map(|words| words.area).collect();
    words.sort_by_key(|area| (area.left, area.top, area.right, area.bottom));
    let off_sheet = words.iter().filter(|area| !scene.sheet().holds(**area)).count();
    let mut pairs = 0;
    for (index, area) in words.iter().enumerate() {
        let near = words[index + 1..].iter().take_while(|other| other.left < area.right);
        pairs += near.filter(|other| area.overlaps(**other)).count();
    }
    let widest = words.iter().map(|area| area.right - area.left).max().unwrap_or(0);
    let mut under_stroke = vec![false; words.len()];
    for stroke in &scene.strokes {
        for pair in stroke.path.windows(2) {
            let half = stroke.width / 2;
            let (left, right) = (pair[0].x.min(pair[1].x) - half, pair[0].x.max(pair[1].x) + half);
            // Only words that begin in this stretch, or at most the widest word before it, can meet the stroke.
            let from = words.partition_point(|area| area.left < left - widest);
            for (index, area) in
                words.iter().enumerate().skip(from).take_while(|(_, area)| area.left <= right)
            {
                under_stroke[index] |= meets(area.grown(half), [pair[0], pair[1]]);
            }
        }
    }
    off_sheet + pairs + under_stroke.into_iter().filter(|&under| under).count()
}
