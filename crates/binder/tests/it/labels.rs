//! The sheets of labels and number plates: nothing that hangs under the benchwork is without one.

use std::collections::BTreeMap;

use crate::fixture::{harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

/// The words of all sheets whose title begins so, each with how often it stands there.
fn words(title: &str) -> BTreeMap<String, usize> {
    let binder = harbor_binder();
    let paper = Paper::of(&binder.pdf);
    let sheets = binder.sheets.iter().filter(|sheet| sheet.title.starts_with(title));
    let mut found = BTreeMap::new();
    for word in sheets.flat_map(|sheet| paper.told(pages_of(binder, &sheet.title))) {
        *found.entry(word).or_default() += 1;
    }
    found
}

/// A flag is folded round its wire and read from both sides: two ends, two sides.
#[test]
fn every_conductor_has_a_flag_at_each_end() {
    let words = words("Labels");
    let plan = tern_harbor();
    let cores = plan.wires.iter().filter(|wire| !wire.existing).flat_map(|wire| &wire.cores);
    let mut counted = 0;
    for core in cores {
        assert_eq!(words.get(&core.id), Some(&4), "{}", core.id);
        counted += 1;
    }
    assert!(counted > 150, "{counted}");
}

#[test]
fn every_decoder_has_a_label() {
    let words = words("Labels");
    for decoder in &tern_harbor().decoders {
        assert!(words.contains_key(decoder.id.as_str()), "{} among {words:?}", decoder.id);
    }
}

/// Once with the number alone in sight: `1` also stands in names such as `yard 1`, so at least once.
#[test]
fn every_lever_has_a_number_plate() {
    let words = words("Number plates");
    let plan = tern_harbor();
    for lever in &plan.levers {
        let number = lever.number.value.to_string();
        assert!(words.contains_key(&number), "{number} among {words:?}");
    }
}
