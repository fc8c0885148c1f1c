//! A power district none of whose tracks has feeders, while another district's tracks have.
//!
//! Only `feeders` is looked at: where no track of the layout has any, nothing is said, since then feeders are not
//! described at all. A track with `existing = true` is taken to have its wiring.

use notice::{Diagnostic, Span, code};
use plan::model::Plan;
use std::collections::{BTreeMap, BTreeSet};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let described = &plan.network.described;
    if described.unread.anything() {
        return Vec::new();
    }
    let district_of: BTreeMap<&str, &str> = plan
        .network
        .tracks
        .iter()
        .zip(&plan.districts)
        .filter_map(|(track, district)| Some((track.name.as_str(), district.as_ref()?.value.as_str())))
        .collect();
    let wired = described.tracks.iter().filter(|facts| facts.feeders.is_some());
    let mut fed: BTreeSet<&str> =
        wired.filter_map(|facts| district_of.get(facts.id.value.as_str()).copied()).collect();
    if fed.is_empty() {
        return Vec::new();
    }
    let there = described.tracks.iter().filter(|facts| facts.existing);
    fed.extend(there.filter_map(|facts| district_of.get(facts.id.value.as_str()).copied()));
    // The first place where each district is written.
    let mut written: BTreeMap<&str, Span> = BTreeMap::new();
    for name in described.tracks.iter().filter_map(|facts| facts.district.as_ref()) {
        written.entry(&name.value).and_modify(|span| *span = name.span.min(*span)).or_insert(name.span);
    }
    let dry = written.into_iter().filter(|(district, _)| !fed.contains(district));
    dry.map(|(district, span)| {
        let message =
            format!("no track of district `{district}` has feeders, while other districts have some");
        Diagnostic::warning(code::DISTRICT_NO_FEEDER, span, message).help(
            "write feeders = \"3 ft\" on a track of it, or existing = true where its wiring is there already",
        )
    })
    .collect()
}
