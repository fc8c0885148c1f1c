//! A bus with its places and lengths: points, and runs between them as long as the bench says.

use description::{BusKind, BusShape, Description, Role};
use measure::Length;
use notice::Span;

/// A bus, its places resolved.
#[derive(Clone, Debug)]
pub struct Bus {
    /// The index of its table in the description's buses, which hold its conductor and limits.
    pub described: usize,
    /// What the user calls it.
    pub name: String,
    /// Where it is described.
    pub span: Span,
    /// What it feeds.
    pub kind: BusKind,
    /// How it is laid.
    pub shape: BusShape,
    /// The places it passes, each once.
    pub places: Vec<String>,
    /// The lengths it is laid along: a ring's path in order, then branches.
    pub runs: Vec<BusRun>,
    /// What feeds it: its index among the description's sources of this bus, and the index of its place.
    pub sources: Vec<(usize, usize)>,
}

impl Bus {
    /// Whether a booster feeds it, so that decoders find their signal on it. An accessory bus may also be fed by a plain supply:
    /// then decoders on it take their signal from elsewhere.
    pub fn carries_signal(&self, described: &Description) -> bool {
        self.kind == BusKind::Track
            || described.buses[self.described].sources.iter().any(|source| {
                let part = source.part.as_ref().and_then(|part| described.parts.get(&part.value));
                part.is_some_and(|part| part.role == Role::Booster)
            })
    }
}

/// One length of a bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BusRun {
    /// The index of the place it comes from.
    pub from: usize,
    /// The index of the place it goes to.
    pub to: usize,
    /// How long it is along the bench, slack included.
    pub length: Length,
}
