//! Wires between places that no bench runs join: how long to cut them is not known.
//!
//! Reported once for each two parts of the bench that hang apart, since one run between them mends all of it.

use notice::{Diagnostic, code};
use plan::model::Plan;
use std::collections::BTreeMap;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let part_of = parts(plan);
    let part = |place: &str| part_of.get(place).copied();
    let mut apart: BTreeMap<[Option<&str>; 2], (usize, usize)> = BTreeMap::new();
    for (index, missing) in plan.no_ways.iter().enumerate() {
        let mut between = missing.places.each_ref().map(|place| part(place));
        between.sort_unstable();
        apart.entry(between).or_insert((index, 0)).1 += missing.wires;
    }
    let units = plan.network.described.layout.units;
    let example = match units {
        measure::Units::Metric => "1.2 m",
        measure::Units::Imperial => "4 ft",
    };
    apart
        .into_values()
        .map(|(index, wires)| {
            let missing = &plan.no_ways[index];
            let [from, to] = &missing.places;
            let count = if wires == 1 { "1 wire has".to_owned() } else { format!("{wires} wires have") };
            let message = format!("no bench runs lead from `{from}` to `{to}`, so {count} no length");
            Diagnostic::warning(code::WIRE_NO_PATH, missing.spans[0], message)
                .help(format!(
                    "add to [bench] the run that joins them, such as {{ from = \"{from}\", to = \"{to}\", length = \"{example}\" }}"
                ))
                .related(missing.spans[1], "the other end")
        })
        .collect()
}

/// For each place of the bench a place that stands for the part of the bench it hangs together with.
fn parts(plan: &Plan) -> BTreeMap<&str, &str> {
    let mut above: BTreeMap<&str, &str> = BTreeMap::new();
    for run in plan.network.described.bench.iter().flat_map(|bench| &bench.runs) {
        let [from, to] = [&run.from, &run.to].map(|end| top(&mut above, &end.value));
        if from != to {
            above.insert(from.max(to), from.min(to));
        }
    }
    let places: Vec<&str> = above.keys().copied().collect();
    places.into_iter().map(|place| (place, top(&mut above, place))).collect()
}

/// The place that stands for this one's part; every place on the way there is hung closer to it.
fn top<'a>(above: &mut BTreeMap<&'a str, &'a str>, place: &'a str) -> &'a str {
    let mut at = place;
    loop {
        let next = *above.entry(at).or_insert(at);
        if next == at {
            return at;
        }
        let over = above.get(next).copied().unwrap_or(next);
        above.insert(at, over);
        at = next;
    }
}
