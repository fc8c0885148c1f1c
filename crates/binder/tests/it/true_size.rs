//! What is printed at true size measures what it should, in a picture of the page.

use crate::fixture::{harbor_binder, tern_harbor};
use crate::poppler::{Paper, Picture};

/// 508 dots to the inch are 20 to the millimetre.
const DOTS_PER_INCH: u32 = 508;
const DOTS_PER_MM: f64 = 20.0;

fn page(title: &str) -> Picture {
    let binder = harbor_binder();
    let sheet = binder.sheets.iter().find(|sheet| sheet.title == title).unwrap();
    Paper::of(&binder.pdf).picture(sheet.page, DOTS_PER_INCH)
}

/// The pages of drawings alone.
fn alone(scenes: &[draw::scene::Scene]) -> Paper {
    Paper::of(&binder::pages(scenes).unwrap())
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

/// The sheet of plates by its bar, a fascia map by the frame along which it is cut.
#[test]
fn drawings_alone_are_true_to_size() {
    let plan = tern_harbor();
    let plates = alone(&draw::plates(&plan)).picture(1, DOTS_PER_INCH);
    let bar = plates.rows().flat_map(|row| dark_runs(row, 80)).map(|(_, count)| mm(count));
    let bar: Vec<f64> = bar.filter(|length| *length > 60.0).collect();
    assert!(!bar.is_empty());
    assert!(bar.iter().all(|length| (length - 100.0).abs() <= 0.1), "{bar:?}");

    let paper = alone(&[draw::map(&plan, 170, 80)]);
    assert_eq!(paper.fact("Page size"), "481.89 x 226.772 pts", "170 and 80 mm in points of 1/72 in");
    let map = paper.picture(1, DOTS_PER_INCH);
    let across =
        map.rows().flat_map(|row| dark_runs(row, 160)).map(|(_, count)| mm(count)).fold(0.0, f64::max);
    assert!((across - 170.0).abs() <= 0.1, "the frame is {across} mm wide");
    let long = |row: &[u8]| dark_runs(row, 160).iter().any(|(_, count)| mm(*count) > 160.0);
    let level: Vec<usize> = map.rows().enumerate().filter(|(_, row)| long(row)).map(|(y, _)| y).collect();
    let high = mm(level[level.len() - 1] + 1 - level[0]);
    assert!((high - 80.0).abs() <= 0.1, "the frame is {high} mm high");
}

/// The widths of labels are reckoned in the narrow family, so no other may be taken in its place.
#[test]
fn drawings_are_set_in_the_family_of_labels() {
    let plan = tern_harbor();
    let fonts = alone(&[draw::schematic(&plan).scene]).fonts();
    // Two rows of heading, then a row for each font.
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(!rows.is_empty(), "{fonts}");
    assert!(rows.iter().all(|font| font.contains("BarlowSemiCondensed")), "{fonts}");
}

#[test]
fn each_drawing_alone_has_a_page_and_too_large_a_one_is_refused() {
    let plan = tern_harbor();
    let scenes = [draw::map(&plan, 86, 54), draw::map(&plan, 170, 80)];
    assert_eq!(alone(&scenes).fact("Pages"), "2");
    assert!(binder::pages(&scenes).unwrap() == binder::pages(&scenes).unwrap(), "a second run differs");
    let fits = draw::scene::Scene { width: 5_080_000, height: 1_000, ..draw::scene::Scene::default() };
    binder::pages(std::slice::from_ref(&fits)).unwrap();
    let refused = binder::pages(&[draw::scene::Scene { width: 5_080_001, ..fits }]);
    assert!(matches!(refused, Err(binder::Error::PageTooLarge { .. })), "{refused:?}");
}

#[test]
fn letters_that_the_fonts_lack_are_shown_by_a_sign() {
    let plan = testkit::plan_of(
        "[layout]\nname = \"\u{1F682}\"\n[end.\"dock \u{1F682}\"]\ntrack = \"t\"\n[end.y]\ntrack = \"t\"\n",
    );
    let paper = alone(&[draw::schematic(&plan).scene]);
    assert!(paper.pages()[0].contains("dock ?"), "{:?}", paper.pages());
}
