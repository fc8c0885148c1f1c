//! Which tracks can be drawn without crossing another, every hand kept: decided exactly, before anything has a place.
//!
//! The order of the darts round every node is known, so a drawing is a plane graph whose faces can be walked. In a
//! drawing whose tracks all run from left to right, each face has, seen from inside, angles that open to one side
//! (between two darts on the same side of a node: *small*) and ends that stick out into it (*large*); all other angles
//! are flat. A face inside has two more small than large ones, the face outside two fewer. These counts are also
//! sufficient: a plane graph that meets them in every face can be drawn with all tracks from left to right and none
//! crossing, and it then has no ring of tracks that runs one way round.
//!
//! The spanning tree always meets them. Each further track joins two ends that stick out into one face, and so splits
//! the face into two whose counts are sums along its border. If they come out right the track is drawn from left to
//! right. Since every part of a network that can be drawn so can be drawn so, every track of such a network is.
//!
//! A track whose ends share a face but whose counts come out wrong has to turn back on its way: each *bow*, a place
//! where both its halves lie on one side, adds one small angle to one of the two faces and one large angle to the other, so
//! how many bows it takes, and by which hand, is a matter of counting. A balloon takes one, a ring two. A track whose ends
//! do not share a face cannot be drawn without crossing another, whatever its shape; it is *cut*: drawn as two stubs with
//! the same letter.
//!
//! Choices (which line of a crossing lies above at the left) are tried: all of them while they are few, else one after
//! the other until no single change helps.
//!
//! # Source
//! P. Bertolazzi, G. Di Battista, G. Liotta, C. Mannino, Upward drawings of triconnected digraphs, Algorithmica 12 (1994):
//! the counts of large and small angles for a graph with a given embedding.

use super::graph::{Graph, Side};
use super::settle::settle;

/// The most steps along faces that trying all choices may take.
const TRIAL_STEPS_MAX: usize = 4_000_000;

/// The most times a track turns back: a ring turns twice.
const TURNS_MAX: i64 = 4;

/// The order of darts round every node, and which darts are joined.
pub(crate) struct Faces {
    /// The next dart round the node, against the clock.
    pub(crate) next: Vec<usize>,
    /// What the angle to the next dart is: small +1, large −1, flat 0.
    pub(crate) angle: Vec<i64>,
    mate: Vec<Option<usize>>,
    /// What following the edge of a dart away from it adds: small angles less large ones at places where it turns back.
    bow: Vec<i64>,
    steps: usize,
}

impl Faces {
    pub(crate) fn of(graph: &Graph) -> Self {
        let count = graph.darts.len();
        let mut faces = Self {
            next: vec![0; count],
            angle: vec![0; count],
            mate: vec![None; count],
            bow: vec![0; count],
            steps: 0,
        };
        for node in 0..graph.nodes.len() {
            faces.order(graph, node);
        }
        faces
    }

    /// Takes over the order of the darts round a node.
    pub(crate) fn order(&mut self, graph: &Graph, node: usize) {
        let ring = ring(graph, node);
        for (index, &dart) in ring.iter().enumerate() {
            let last = index + 1 == ring.len();
            let next = if last { ring[0] } else { ring[index + 1] };
            self.next[dart] = next;
            self.angle[dart] = match (graph.side(dart) == graph.side(next), last) {
                (false, _) => 0,
                (true, false) => 1,
                (true, true) => -1,
            };
        }
    }

    pub(crate) fn join(&mut self, [first, second]: [usize; 2]) {
        self.mate[first] = Some(second);
        self.mate[second] = Some(first);
    }

    /// The sum of the angles on the way from the loose end of one dart to that of the other, if they share a face.
    fn sum(&mut self, from: usize, to: usize) -> Option<i64> {
        let mut walk = Walk::new(from, to);
        loop {
            self.steps += 1;
            match walk.step(self) {
                Step::On => {}
                Step::There(sum) => return Some(sum),
                Step::Lost => return None,
            }
        }
    }

    /// How often, and by which hand, a track has to turn back to join two darts without crossing anything; none when they do
    /// not share a face or it would have to wind about.
    fn turns_to_join(&mut self, [first, second]: [usize; 2]) -> Option<i64> {
        let there = self.sum(first, second)?;
        let back = self.sum(second, first)?;
        // One of the two faces that arise may be the outer one.
        let outer = (there + back == 0).then_some(-2 - there);
        let turns = [Some(2 - there), outer].into_iter().flatten().min_by_key(|turns| turns.abs())?;
        (turns.abs() <= TURNS_MAX).then_some(turns)
    }

    fn join_over_bows(&mut self, [first, second]: [usize; 2], turns: i64) {
        self.join([first, second]);
        (self.bow[second], self.bow[first]) = (turns, -turns);
    }

    pub(crate) fn joinable(&mut self, graph: &Graph, [first, second]: [usize; 2]) -> bool {
        if graph.side(first) == graph.side(second) {
            return false;
        }
        // Both ways round the face are walked side by side, so that the shorter one most often answers alone: the two sums
        // are 4 together, or 0 in the outer face.
        let mut walks = [Walk::new(first, second), Walk::new(second, first)];
        loop {
            for walk in &mut walks {
                self.steps += 1;
                match walk.step(self) {
                    Step::On => {}
                    Step::There(2) => return true,
                    Step::There(-2) => return self.sum(walk.to, walk.from) == Some(2),
                    Step::There(_) | Step::Lost => return false,
                }
            }
        }
    }
}

/// A walk along a face from the loose end of one dart to that of another, with the sum of the angles so far.
struct Walk {
    from: usize,
    to: usize,
    at: usize,
    sum: i64,
}

/// How a walk goes on.
enum Step {
    On,
    /// It has come to its end, with this sum.
    There(i64),
    /// It has come back to its start.
    Lost,
}

impl Walk {
    fn new(from: usize, to: usize) -> Self {
        Self { from, to, at: from, sum: 0 }
    }

    fn step(&mut self, faces: &Faces) -> Step {
        self.sum += faces.angle[self.at];
        let out = faces.next[self.at];
        match faces.mate[out] {
            Some(mate) => {
                self.sum += faces.bow[out];
                self.at = mate;
            }
            None if out == self.to => return Step::There(self.sum),
            None if out == self.from => return Step::Lost,
            None => {
                self.sum -= 1;
                self.at = out;
            }
        }
        Step::On
    }
}

/// The darts round a node against the clock: on the right from below, then on the left from above.
pub(crate) fn ring(graph: &Graph, node: usize) -> Vec<usize> {
    let mut ring = graph.darts_on(node, Side::Right);
    ring.reverse();
    ring.extend(graph.darts_on(node, Side::Left));
    ring
}

/// Makes the choices, bends back what turns trains, and cuts what cannot be drawn.
pub(crate) fn embed(graph: &mut Graph, tree: &[usize], rest: &[usize]) {
    settle(graph, tree, rest);
    choose(graph, tree, rest);
    let tried = join_all(graph, tree, rest);
    for &(edge, turns) in &tried.bows {
        graph.bow(edge, turns);
    }
    for (number, &edge) in tried.cuts.iter().enumerate() {
        graph.cut(edge, number);
    }
}

/// What becomes of the edges outside the trees.
struct Tried {
    /// Those that turn back, with how often and by which hand.
    bows: Vec<(usize, i64)>,
    cuts: Vec<usize>,
    /// The steps it took to find out.
    steps: usize,
}

/// Joins all edges that can be joined under the present choices: first those that run from left to right, then those that
/// have to turn back.
fn join_all(graph: &Graph, tree: &[usize], rest: &[usize]) -> Tried {
    let mut faces = Faces::of(graph);
    for &edge in tree {
        faces.join(graph.edges[edge].darts);
    }
    let mut unjoined = Vec::new();
    for &edge in rest {
        let darts = graph.edges[edge].darts;
        if faces.joinable(graph, darts) {
            faces.join(darts);
        } else {
            unjoined.push(edge);
        }
    }
    let mut bows = Vec::new();
    unjoined.retain(|&edge| {
        let darts = graph.edges[edge].darts;
        // What lies inside a crossover is too short to turn back.
        let turns = graph.track(edge).and_then(|_| faces.turns_to_join(darts));
        if let Some(turns) = turns {
            faces.join_over_bows(darts, turns);
            bows.push((edge, turns));
        }
        turns.is_none()
    });
    Tried { bows, cuts: unjoined, steps: faces.steps }
}

/// How bad a set of cuts and turns is: cuts, turns, then how important the tracks are that are cut or turned.
type Badness = (usize, u64, Vec<usize>);

fn badness(graph: &Graph, tree: &[usize], rest: &[usize]) -> (Badness, usize) {
    let tried = join_all(graph, tree, rest);
    let turns = tried.bows.iter().map(|bow| bow.1.unsigned_abs()).sum();
    let importance = tried
        .cuts
        .iter()
        .chain(tried.bows.iter().map(|bow| &bow.0))
        .map(|edge| rest.len() - rest.iter().position(|other| other == edge).unwrap_or(rest.len()))
        .collect();
    ((tried.cuts.len(), turns, importance), tried.steps)
}

fn choose(graph: &mut Graph, tree: &[usize], rest: &[usize]) {
    let count = graph.choices.len();
    let (mut best, first_steps) = badness(graph, tree, rest);
    let steps_each = first_steps.max(graph.darts.len()).max(1);
    if best.0 == 0 && best.1 == 0 || count == 0 {
        return;
    }
    let trials = u32::try_from(count).ok().and_then(|count| 1_usize.checked_shl(count)).unwrap_or(usize::MAX);
    if count < 20 && trials.saturating_mul(steps_each) <= TRIAL_STEPS_MAX {
        let mut best_trial = graph.choices.clone();
        for trial in 1..trials {
            graph.choices = (0..count).map(|bit| trial >> bit & 1 == 1).collect();
            let (now, _) = badness(graph, tree, rest);
            if now < best {
                best = now;
                best_trial.clone_from(&graph.choices);
            }
        }
        graph.choices = best_trial;
        return;
    }
    let mut steps = 0;
    let mut changed = true;
    while changed && (best.0 > 0 || best.1 > 0) {
        changed = false;
        for choice in 0..count {
            graph.choices[choice] = !graph.choices[choice];
            let (now, taken) = badness(graph, tree, rest);
            steps += taken + graph.darts.len();
            if now < best {
                best = now;
                changed = true;
            } else {
                graph.choices[choice] = !graph.choices[choice];
            }
            if steps > 10 * TRIAL_STEPS_MAX {
                return;
            }
        }
    }
}
