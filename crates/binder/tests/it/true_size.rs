//! What is printed at true size measures what it should, in a picture of the page.

use crate::fixture::harbor_binder;
use crate::poppler::{Paper, Picture};

/// 508 dots to the inch are 20 to the millimetre.
const DOTS_PER_INCH: u32 = 508;
const DOTS_PER_MM: f64 = 20.0;

fn page(title: &str) -> Picture {
    let binder = harbor_binder();
    let sheet = binder.sheets.iter().find(|sheet| sheet.title == title).unwrap();
    Paper::of(&binder.pdf).picture(sheet.page, DOTS_PER_INCH)
}

/// Where dots darker than this stand together in a row: first dot and count.
fn dark_runs(row: &[u8], darker_than: u8) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (x, _) in row.iter().enumerate().filter(|(_, grey)| **grey < darker_than) {
        match runs.last_mut() {
            Some((first, count)) if *first + *count == x => *count += 1,
            _ => runs.push((x, 1)),
        }
    }
    runs
}

#[expect(clippy::cast_precision_loss, reason = "a page is a few thousand dots wide")]
fn mm(dots: usize) -> f64 {
    dots as f64 / DOTS_PER_MM
}

#[test]
fn the_measuring_bars_are_a_hundred_millimetres_long() {
    for title in ["Number plates", "Fascia map"] {
        let picture = page(title);
        // Only the bar is as dark as ink over anything near this length: cutting lines are grey, the rule over the title
        // block is longer.
        let bars: Vec<f64> = picture
            .rows()
            .flat_map(|row| dark_runs(row, 80))
            .map(|(_, count)| mm(count))
            .filter(|length| (90.0..110.0).contains(length))
            .collect();
        assert!(!bars.is_empty(), "no bar on `{title}`");
        for length in bars {
            assert!((length - 100.0).abs() <= 0.1, "the bar on `{title}` is {length} mm long");
        }
    }
}

#[test]
fn number_plates_are_cut_thirty_millimetres_wide() {
    let picture = page("Number plates");
    // Above the uppermost plates only the seven upright cutting lines cross a row of dots.
    let crossed = picture
        .rows()
        .map(|row| dark_runs(row, 160))
        .find(|runs| runs.len() == 7 && runs.iter().all(|(_, count)| mm(*count) < 0.5));
    let places: Vec<f64> = crossed.unwrap().iter().map(|(first, _)| mm(*first)).collect();
    for pair in places.windows(2) {
        let width = pair[1] - pair[0];
        assert!((width - 30.0).abs() <= 0.1, "a plate is {width} mm wide: {places:?}");
    }
}
