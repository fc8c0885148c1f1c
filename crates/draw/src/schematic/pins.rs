//! What the user pins of the diagram, in terms of the graph.
//!
//! A leg that is to run straight on is level from the start. A pinned level is kept by bounds among chains, a pinned order by a
//! bound between joints; both are added after everything that the tracks ask for, one by one, and one that contradicts
//! what is there is given back and reported.

use super::graph::{EdgeKind, Graph, What};
use super::level::LevelPin;
use network::{JointId, Network, Nudged, TrackId};

/// A joint that is to stand to the left of another one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OrderPin {
    pub(crate) left: usize,
    pub(crate) right: usize,
    /// Which nudge asks for it.
    pub(crate) nudge: usize,
}

/// The pins of a network.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pins {
    pub(crate) levels: Vec<LevelPin>,
    pub(crate) orders: Vec<OrderPin>,
}

impl Pins {
    /// Makes pinned legs level, and gathers the other pins.
    pub(crate) fn of(graph: &mut Graph, network: &Network) -> Self {
        let mut pins = Self::default();
        if network.nudges.is_empty() {
            return pins;
        }
        let lowest = lowest_pinned(network);
        let first_line = network.lines.first().and_then(|line| line.tracks.first()).copied();
        for (nudge, asked) in network.nudges.iter().enumerate() {
            match asked.what {
                Nudged::Straight(joint) => {
                    if let Some(node) = node_of(graph, joint) {
                        graph.make_straight(node);
                    }
                }
                Nudged::LeftOf(left, right) => {
                    if let (Some(left), Some(right)) = (node_of(graph, left), node_of(graph, right)) {
                        pins.orders.push(OrderPin { left, right, nudge });
                    }
                }
                Nudged::Level(track, level) => {
                    // Without a named line, levels are counted from the track that is pinned to the lowest one.
                    let (from, base) = match (first_line, lowest) {
                        (Some(line), _) => (Some(line), 0),
                        (None, Some((level, track))) => (Some(track), level),
                        (None, None) => (None, 0),
                    };
                    if let (Some(edge), Some(from)) =
                        (edge_of(graph, track), from.and_then(|from| edge_of(graph, from)))
                    {
                        pins.levels.push(LevelPin {
                            edge,
                            from,
                            above: i64::from(level) - i64::from(base),
                            nudge,
                        });
                    }
                }
            }
        }
        pins
    }
}

fn lowest_pinned(network: &Network) -> Option<(i16, TrackId)> {
    let pinned = network.nudges.iter().filter_map(|nudge| match nudge.what {
        Nudged::Level(track, level) => Some((level, track)),
        Nudged::Straight(_) | Nudged::LeftOf(..) => None,
    });
    pinned.min()
}

fn node_of(graph: &Graph, joint: JointId) -> Option<usize> {
    graph.nodes.iter().position(|node| matches!(node.what, What::Joint(of, _) if of == joint))
}

fn edge_of(graph: &Graph, track: TrackId) -> Option<usize> {
    graph.edges.iter().position(|edge| edge.kind == EdgeKind::Track(track))
}
