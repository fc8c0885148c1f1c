//! The diode matrix: every wire with its diodes.

use std::collections::{BTreeMap, BTreeSet};

use plan::diode::{Wire, wire_diodes};

use crate::fixture::{harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

/// The words of the sheets with these titles.
fn told(title: &str) -> Vec<String> {
    let binder = harbor_binder();
    Paper::of(&binder.pdf).told(pages_of(binder, title))
}

#[test]
fn every_wire_is_listed_with_its_diodes() {
    let plan = tern_harbor();
    let matrix = wire_diodes(&plan);
    let mut feeds: BTreeMap<Wire, BTreeSet<String>> = BTreeMap::new();
    for (from, to) in &matrix.diodes {
        feeds.entry(*from).or_default().insert(to.label());
    }
    assert!(feeds.len() > plan.routes.len() / 2);
    let words = told("Diode matrix").join(" ");
    for (wire, tos) in &feeds {
        let name = match *wire {
            Wire::Route(index) => {
                let route = &plan.routes[index];
                let ends = [route.from(), route.to()].map(|track| plan.network.track(track).name.as_str());
                format!("{} {} – {}", wire.label(), ends[0], ends[1])
            }
            Wire::Group(_) | Wire::Line(..) => format!("{} group", wire.label()),
        };
        let rows: Vec<&str> = words.split(&format!("{name} ")).skip(1).collect();
        // The list ends with the first word that no comma follows.
        let listed = |row: &&str| {
            let mut listed = BTreeSet::new();
            for word in row.split(' ') {
                listed.insert(word.trim_end_matches(',').to_owned());
                if !word.ends_with(',') {
                    break;
                }
            }
            listed
        };
        assert!(rows.iter().map(listed).any(|listed| listed == *tos), "no row `{name}` with {tos:?}");
    }
}

#[test]
fn the_counts_and_the_cautions_are_said() {
    let matrix = wire_diodes(&tern_harbor());
    let words = told("Diode matrix").join(" ");
    for figure in [matrix.plain_count, matrix.diodes.len(), matrix.bound] {
        assert!(words.contains(&format!(" {figure}")), "no {figure}");
    }
    for caution in
        ["about 0.7 V", "no source", "rated for the coil’s current", "test it on one pair of levers"]
    {
        assert!(words.contains(caution), "nothing about `{caution}` in {words}");
    }
}

/// The drawings as a reader of the PDF has them: each column's head and each row's number is text.
#[test]
fn every_line_of_a_lever_is_the_head_of_a_column() {
    let plan = tern_harbor();
    let matrix = wire_diodes(&plan);
    let binder = harbor_binder();
    let sheets = binder.sheets.iter().filter(|sheet| sheet.title.starts_with("Diode matrix, sheet "));
    let mut words = BTreeSet::new();
    let mut count = 0;
    for sheet in sheets {
        words.extend(told(&sheet.title));
        count += 1;
    }
    assert_eq!(count, draw::matrix(&plan, &matrix).sheets.len());
    for (from, to) in &matrix.diodes {
        assert!(words.contains(&from.label()) && words.contains(&to.label()), "{from:?} to {to:?}");
    }
}
