//! Which leg of a turnout is drawn straight on, where its points lie on a slant.
//!
//! A turnout is drawn with its through leg level, as a rule. Where the track to its points climbs, the turnout may instead stand
//! on the slant: the through leg goes on climbing, straight on from the points, and the diverging leg leaves level,
//! still to its own side.
//!
//! ```text
//!                     ╱────────╲                               ╱──●────────●──╲
//!                 ╱──●──────────●──╲        rather than    ╱──       ╲────╱       ╲──
//! ```
//!
//! Each turnout off the named lines is tried that way; it stays so where that makes the diagram lower, or takes bends out of
//! it, or at least makes it narrower, in this order. Each trial is one layout without words, so this is done for
//! networks of up to [`IMPROVED_NODES_MAX`] joints.

use super::graph::{Graph, What};
use super::layout::{Layout, Plane, Wants};
use super::sweep::Pace;
use super::trace::Trace;
use crate::scene::Xy;
use network::{JointKind, Network, Nudged};

/// The most joints of a network whose turnouts are tried on the slant.
const IMPROVED_NODES_MAX: usize = 150;

/// Levels, bends and width: less is better, from the first on.
type Badness = (i64, usize, i64);

/// Sweeps branches first and puts turnouts on slants where that is better.
pub(crate) fn improve(plane: &mut Plane, network: &Network) {
    let wants = Wants { extra: vec![0; plane.node_count()], ..Wants::default() };
    let mut best = badness(&plane.lay_out(network, &wants));
    plane.set_pace(Pace::BranchesFirst);
    let other = badness(&plane.lay_out(network, &wants));
    if other < best {
        best = other;
    } else {
        plane.set_pace(Pace::Together);
    }
    if plane.node_count() > IMPROVED_NODES_MAX {
        return;
    }
    let candidates = candidates(plane.graph(), network);
    let mut changed = true;
    while changed {
        changed = false;
        for &[node, through, diverging] in &candidates {
            if plane.graph().level_run(through).is_none() {
                continue;
            }
            plane.set_level(node, through, diverging);
            let layout = plane.lay_out(network, &wants);
            let now = badness(&layout);
            if now < best && goes_straight_on(&layout, node, through) {
                best = now;
                changed = true;
            } else {
                plane.set_level(node, diverging, through);
            }
        }
    }
}

/// Turnouts that no named line runs through: node, through dart, diverging dart.
fn candidates(graph: &Graph, network: &Network) -> Vec<[usize; 3]> {
    let on_line = |joint| network.lines.iter().any(|line| line.passes.iter().any(|pass| pass.joint == joint));
    (0..graph.nodes.len())
        .filter_map(|node| {
            let What::Joint(joint, _) = graph.nodes[node].what else { return None };
            if network.nudges.iter().any(|nudge| nudge.what == Nudged::Straight(joint)) {
                return None;
            }
            let turnout = matches!(network.joint(joint).kind, JointKind::Turnout { .. });
            match graph.nodes[node].darts[..] {
                [_, through, diverging] if turnout && !on_line(joint) => Some([node, through, diverging]),
                _ => None,
            }
        })
        .collect()
}

fn trace_of(layout: &Layout) -> Trace<'_> {
    let Layout { graph, chains, levels, across, room, .. } = layout;
    Trace { graph, chains, levels, across, room }
}

fn badness(layout: &Layout) -> Badness {
    let trace = trace_of(layout);
    let own = |chain: &usize| !layout.chains.list[*chain].link;
    let levels = (0..layout.levels.len()).filter(own).map(|chain| layout.levels[chain]);
    let height = levels.clone().max().unwrap_or(0) - levels.min().unwrap_or(0);
    let mut bends = 0;
    for edge in 0..layout.graph.edges.len() {
        let strand = layout.graph.strand(edge);
        if strand.iter().all(|&(other, _)| other >= edge) {
            bends += trace.path(&strand).len().saturating_sub(2);
        }
    }
    let (left, right) = (layout.across.x.iter().min(), layout.across.x.iter().max());
    (height, bends, right.zip(left).map_or(0, |(right, left)| right - left))
}

/// Whether the slant on which a track comes to the points goes on in the through leg.
fn goes_straight_on(layout: &Layout, node: usize, through: usize) -> bool {
    let trace = trace_of(layout);
    let graph = &layout.graph;
    let points = graph.nodes[node].darts[0];
    let away = |dart: usize| {
        let strand = graph.strand(graph.darts[dart].edge);
        let path = trace.path(&strand);
        let at = trace.place(node);
        match path[..] {
            [a, b, ..] if a == at => Some(Xy::new(b.x - a.x, b.y - a.y)),
            [.., b, a] if a == at => Some(Xy::new(b.x - a.x, b.y - a.y)),
            _ => None,
        }
    };
    let (Some(a), Some(b)) = (away(points), away(through)) else { return false };
    let (turn, along) = (
        i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x),
        i128::from(a.x) * i128::from(b.x) + i128::from(a.y) * i128::from(b.y),
    );
    // Rounding to whole micrometres turns a stroke by less than a thousandth.
    along < 0 && a.y != 0 && turn.abs() * 1_000 < -along
}
