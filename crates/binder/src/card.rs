//! The operator's card: the diagram, what every lever leads to, and one way from each stop to each other, for a visitor.
//!
//! Where several routes join two stops, the one that the plan prefers stands on the card.

use std::collections::{BTreeMap, BTreeSet};

use network::TrackId;
use plan::model::Plan;
use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;
use crate::paper::Paper;
use crate::typeset::Options;
use crate::{codes, cover, drawings, panels, routes};

/// Everything that the card prints.
pub(crate) fn values(plan: &Plan, options: &Options<'_>) -> Dict {
    let paper = options.paper.unwrap_or_else(|| Paper::of(plan.network.described.layout.units));
    let ledger = Ledger::of(plan);
    let layout = &plan.network.described.layout.name;
    let alt = format!(
        "Track diagram of {layout}, all levers normal; the same facts stand in the lists of levers and routes"
    );
    let ways = ways(plan).into_iter().map(|index| way(&ledger, index).into_value());
    dict! {
        "paper" => paper.name(),
        "tall" => false,
        "sheets" => Array::new(),
        "layout" => cover::layout(&ledger),
        "diagram" => drawings::drawing(&ledger, draw::schematic(plan).scene, &alt),
        "leads" => panels::all_leads(&ledger),
        "routes" => ways.collect::<Array>(),
        "codes" => codes::codes(options.live.as_ref()),
    }
}

/// One route for each two stops, by the stop it stands under, then by the other.
fn ways(plan: &Plan) -> Vec<usize> {
    let preferred: BTreeSet<usize> = plan.preferred.iter().map(|decided| decided.value).collect();
    let mut best: BTreeMap<(TrackId, TrackId), usize> = BTreeMap::new();
    for (index, route) in plan.routes.iter().enumerate() {
        let kept = best.entry((route.from(), route.to())).or_insert(index);
        if preferred.contains(&index) {
            *kept = index;
        }
    }
    best.into_values().collect()
}

/// A way: `(from, to, levers)`, each lever `(number, position)`.
fn way(ledger: &Ledger<'_>, index: usize) -> Dict {
    let route = &ledger.plan.routes[index];
    let levers = routes::levers_on(ledger, route).into_iter().map(|(lever, position)| {
        let number =
            ledger.planned(lever).map_or_else(|| "–".to_owned(), |planned| planned.number.value.to_string());
        dict! { "number" => number, "position" => position.word() }.into_value()
    });
    dict! {
        "from" => ledger.track(route.from()),
        "to" => ledger.track(route.to()),
        "levers" => levers.collect::<Array>(),
    }
}
