//! Which strip of the record each strip panel is now, and so where it starts: by its panel's name, or else by the levers
//! that it commanded.

use super::Kept;
use crate::pairing::{Edge, heaviest};
use description::record::StripBuilt;
use network::LeverId;
use std::collections::BTreeMap;

/// A strip panel as it is described, for finding it in the record.
pub(crate) struct StripDescribed<'a> {
    pub(crate) panel: &'a str,
    pub(crate) pair_count: u16,
    /// Levers that may stand on it.
    pub(crate) levers: Vec<LeverId>,
}

/// The strips of the record, by the panels they are now.
#[derive(Clone, Debug, Default)]
pub(crate) struct StripsBuilt<'r> {
    /// By panel: the name in the record, and what it says.
    by_panel: BTreeMap<String, (&'r str, &'r StripBuilt)>,
}

impl<'r> StripsBuilt<'r> {
    pub(crate) fn of(kept: &Kept<'r>, described: &[StripDescribed<'_>]) -> Self {
        let mut by_panel: BTreeMap<String, (&'r str, &'r StripBuilt)> = BTreeMap::new();
        let mut left: Vec<(&'r str, &'r StripBuilt)> = Vec::new();
        for (name, built) in &kept.record.strips {
            match described.iter().find(|strip| strip.panel == name) {
                Some(strip) => {
                    by_panel.insert(strip.panel.to_owned(), (name, &built.value));
                }
                None => left.push((name, &built.value)),
            }
        }
        let new: Vec<&StripDescribed<'_>> =
            described.iter().filter(|strip| !by_panel.contains_key(strip.panel)).collect();
        let mut edges: Vec<Edge> = Vec::new();
        for (at, strip) in new.iter().enumerate() {
            for (place, (_, built)) in left.iter().enumerate() {
                let range = built.first_address..built.first_address.saturating_add(strip.pair_count);
                let commanded = strip.levers.iter().filter_map(|lever| kept.address(*lever));
                let count = commanded.filter(|address| range.contains(address)).count();
                if count > 0 {
                    edges.push((at, place, i64::try_from(count).unwrap_or(i64::MAX)));
                }
            }
        }
        for (at, place) in heaviest(new.len(), &edges).into_iter().enumerate() {
            if let Some(place) = place {
                by_panel.insert(new[at].panel.to_owned(), left[place]);
            }
        }
        Self { by_panel }
    }

    /// What the record says of this panel, and under which name.
    pub(crate) fn get(&self, panel: &str) -> Option<(&'r str, &'r StripBuilt)> {
        self.by_panel.get(panel).copied()
    }
}
