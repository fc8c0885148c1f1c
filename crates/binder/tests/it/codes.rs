//! Codes for a camera, read back from the page.
//!
//! # Source
//! The crate `rqrr`, a decoder written by others than `qrcodegen`, reads each code from a picture of the page.

use std::collections::BTreeSet;

use binder::{Live, Options, card, typeset};

use crate::fixture::first_module;
use crate::poppler::Paper;

const URL: &str = "http://192.0.2.7:7417";
const KEY: &str = "0123456789abcdefghjkmnpqrs";

/// What the codes of a page say, each once. Of two codes in one picture the decoder may find one, so it is shown the page through a
/// window of half its width that moves down.
fn read(paper: &Paper, page: usize) -> Vec<String> {
    [200, 150]
        .into_iter()
        .flat_map(|dots| read_at(paper, page, dots))
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect()
}

fn read_at(paper: &Paper, page: usize, dots: u32) -> BTreeSet<String> {
    // 50 mm and 10 mm.
    let of_inch = |tenths: u32| usize::try_from(dots * tenths / 10).unwrap();
    let (window, step) = (of_inch(20), of_inch(4));
    let picture = paper.picture(page, dots);
    let (half, rows) = (picture.width / 2, picture.rows().collect::<Vec<&[u8]>>());
    let mut read = BTreeSet::new();
    for top in (0..rows.len() - window).step_by(step) {
        for left in [0, half] {
            let dot = |x: usize, y: usize| rows[top + y][left + x];
            let mut image = rqrr::PreparedImage::prepare_from_greyscale(half, window, dot);
            read.extend(
                image.detect_grids().iter().filter_map(|grid| grid.decode().ok()).map(|(_, text)| text),
            );
        }
    }
    read
}

#[test]
fn a_camera_reads_the_codes_on_cover_panel_and_card() {
    let plan = first_module();
    let live = Some(Live { url: URL, key: None });
    let binder = typeset(&plan, &Options { live, ..Options::default() }).unwrap();
    let paper = Paper::of(&binder.pdf);
    let page = |title: &str| binder.sheets.iter().find(|sheet| sheet.title.starts_with(title)).unwrap().page;
    assert_eq!(read(&paper, 1), ["http://192.0.2.7:7417/"]);
    assert_eq!(read(&paper, page("Panel ")), ["http://192.0.2.7:7417/"]);
    let guide = page("How to use");
    let mut on_guide = read(&paper, guide);
    on_guide.extend(read(&paper, guide + 1).into_iter().filter(|_| page("Track diagram") > guide + 1));
    assert_eq!(on_guide, ["http://192.0.2.7:7417/", "http://192.0.2.7:7417/log"]);
    let card = Paper::of(&card(&plan, &Options { live, ..Options::default() }).unwrap().pdf);
    assert_eq!(read(&card, 1), ["http://192.0.2.7:7417/"]);
    assert!(!paper.pages().concat().contains("enter"), "no key, no way in with one");
}

#[test]
fn a_key_is_printed_only_as_a_code_and_beside_a_caution() {
    let live = Some(Live { url: URL, key: Some(KEY) });
    let made = card(&first_module(), &Options { live, ..Options::default() }).unwrap();
    let paper = Paper::of(&made.pdf);
    let with_key = format!("{URL}/enter#{KEY}");
    assert_eq!(read(&paper, 1), ["http://192.0.2.7:7417/".to_owned(), with_key]);
    let words = paper.told(0..1).join(" ");
    assert!(words.contains("Caution. Whoever photographs this code can throw points"), "{words}");
    assert!(!words.contains(KEY), "the key stands in words, too");
}

#[test]
fn without_a_panel_no_sheet_has_a_code() {
    let binder = typeset(&first_module(), &Options::default()).unwrap();
    let paper = Paper::of(&binder.pdf);
    assert_eq!(read(&paper, 1), [""; 0]);
    assert!(!paper.pages().concat().contains("live panel,"));
}

#[test]
fn an_address_that_no_telephone_opens_is_refused() {
    for (url, why) in [
        ("192.0.2.7:7417", "begins with neither"),
        ("http://", "names no machine"),
        ("http://a b", "holds a space"),
        ("http://a/enter#secret", "holds a #"),
    ] {
        assert!(binder::unusable_url(url).is_some_and(|said| said.contains(why)), "{url}");
    }
    assert!(binder::unusable_url(&format!("http://{}", "x".repeat(300))).is_some());
    assert_eq!(binder::unusable_url(URL), None);
}
