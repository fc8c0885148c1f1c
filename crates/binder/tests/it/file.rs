//! Title, language, tags, bookmarks, page numbers, paper.

use std::collections::BTreeSet;

use binder::{Access, Options, Paper as Size, typeset};

use crate::fixture::{first_module, harbor_binder};
use crate::poppler::Paper;

#[test]
fn a_reader_is_told_title_and_language_and_finds_tags_and_bookmarks() {
    let binder = harbor_binder();
    assert_eq!(binder.access, Access::Universal);
    let paper = Paper::of(&binder.pdf);
    assert_eq!(paper.fact("Title"), "Tern Harbor Terminal binder");
    assert_eq!(paper.fact("Tagged"), "yes");
    let raw = String::from_utf8_lossy(&binder.pdf);
    assert!(raw.contains("/Lang(en)") || raw.contains("/Lang (en)"), "no language in the catalogue");
    // ISO 32000-1, 12.3.3: an outline item has a title and a destination or action.
    for sheet in &binder.sheets {
        assert!(raw.contains(&format!("/Title({})", sheet.title)), "no bookmark for {}", sheet.title);
    }
}

/// # Source
/// qpdf 11 `--check`: the file's structure, and every stream decoded, by a reader that shares no code with ours or poppler.
#[test]
fn another_reader_finds_nothing_wrong_with_the_file() {
    assert_eq!(Paper::of(&harbor_binder().pdf).checked(), "");
    let card = binder::card(&first_module(), &Options::default()).unwrap();
    assert_eq!(Paper::of(&card.pdf).checked(), "");
}

/// # Source
/// ISO 14289-1 (PDF/UA-1), by the validator that `tests/accessible/requirements.txt` names: 104 rules.
#[test]
fn a_validator_of_accessibility_finds_nothing_against_the_file() {
    let nothing = Vec::<String>::new();
    assert_eq!(Paper::of(&harbor_binder().pdf).not_accessible(), nothing);
    let card = binder::card(&first_module(), &Options::default()).unwrap();
    assert_eq!(Paper::of(&card.pdf).not_accessible(), nothing);
    // It does look: a file that calls itself one of another part is found out.
    let (part, other) = (b"pdfuaid:part>1<", b"pdfuaid:part>7<");
    let mut spoiled = card.pdf;
    let at = spoiled.windows(part.len()).position(|bytes| bytes == part).unwrap();
    spoiled[at..at + part.len()].copy_from_slice(other);
    assert!(!Paper::of(&spoiled).not_accessible().is_empty());
}

#[test]
fn tables_are_tables_to_a_screen_reader() {
    let structure = Paper::of(&harbor_binder().pdf).structure();
    let tags: BTreeSet<&str> =
        structure.lines().filter_map(|row| row.trim_start().split([' ', ':', '"']).next()).collect();
    // ISO 32000-1, 14.8.4: the standard structure types.
    for tag in
        ["Document", "H1", "H2", "TOC", "Table", "THead", "TH", "TR", "TD", "L", "LI", "Link", "Figure"]
    {
        assert!(tags.contains(tag), "no {tag} among {tags:?}");
    }
}

/// Seen first: labels, measured in the condensed family, were set in the wider one, and ran into each other.
#[test]
fn labels_are_set_in_the_type_that_they_are_measured_in() {
    let fonts = Paper::of(&harbor_binder().pdf).fonts();
    for face in
        ["BarlowSemiCondensed-Regular", "BarlowSemiCondensed-SemiBold", "Barlow-Regular", "Barlow-SemiBold"]
    {
        assert!(fonts.contains(&format!("+{face} ")), "no {face} in\n{fonts}");
    }
}

#[test]
fn every_page_says_which_of_how_many_it_is() {
    let binder = harbor_binder();
    let paper = Paper::of(&binder.pdf);
    let pages = paper.pages();
    assert_eq!(pages.len(), binder.pages);
    assert_eq!(paper.fact("Pages"), binder.pages.to_string());
    for (index, page) in pages.iter().enumerate() {
        let foot: String = page.trim_end().lines().rev().take(3).collect();
        let expected = format!("{} of {}", index + 1, binder.pages);
        assert!(foot.contains(&expected), "page {} has no `{expected}` at its foot: {foot}", index + 1);
        for fact in ["Tern Harbor Terminal", "2026-05-01"] {
            assert!(foot.contains(fact), "page {} does not name {fact} at its foot: {foot}", index + 1);
        }
    }
}

#[test]
fn every_sheet_starts_on_the_page_that_is_said() {
    let binder = harbor_binder();
    let pages = Paper::of(&binder.pdf).pages();
    assert!(binder.sheets.len() >= 10, "{:?}", binder.sheets);
    for sheet in &binder.sheets {
        let first = pages[sheet.page - 1].lines().find(|row| !row.trim().is_empty()).unwrap();
        assert_eq!(first.trim(), sheet.title);
        // Further drawings of one sheet are found under its first.
        if [", sheet ", ", drawn", " of "].iter().any(|further| sheet.title.contains(further)) {
            continue;
        }
        let page = sheet.page.to_string();
        // The contents stand in two columns: behind the title come dots, then the page.
        let in_contents = pages[0].lines().any(|row| {
            row.split_once(&sheet.title).is_some_and(|(_, rest)| {
                rest.trim_start_matches([' ', '.']).split_whitespace().next() == Some(page.as_str())
            })
        });
        assert!(in_contents, "the contents do not give page {} for {}", sheet.page, sheet.title);
    }
}

#[test]
fn feet_print_on_letter_unless_the_user_wants_a4() {
    let plan = first_module();
    let size = |paper| {
        let binder = typeset(&plan, &Options { paper, ..Options::default() }).unwrap();
        Paper::of(&binder.pdf).fact("Page size")
    };
    assert!(size(None).contains("letter"), "{}", size(None));
    assert!(size(Some(Size::A4)).contains("A4"), "{}", size(Some(Size::A4)));
}
