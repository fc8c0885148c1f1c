//! How to use the binder, the glossary, and the history that the record tells.

use binder::{Options, typeset};

use crate::fixture::{first_module, harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

#[test]
fn the_guide_gives_the_page_of_every_sheet() {
    let binder = harbor_binder();
    let guide = Paper::of(&binder.pdf).told(pages_of(binder, "How to use this binder")).join(" ");
    let further = [", sheet ", ", drawn", " of ", "How to use"];
    let own = |sheet: &&binder::Sheet| !further.iter().any(|further| sheet.title.contains(further));
    for sheet in binder.sheets.iter().filter(own) {
        let row = format!("{}, p. {}", sheet.title, sheet.page);
        assert!(guide.replace('\u{a0}', " ").contains(&row), "no `{row}` in {guide}");
    }
}

/// Each word of the glossary is on some other sheet.
#[test]
fn the_glossary_explains_only_words_that_the_sheets_use() {
    let binder = harbor_binder();
    let pages = Paper::of(&binder.pdf).pages();
    let of_glossary = pages_of(binder, "Glossary");
    let other = pages.iter().enumerate().filter(|(index, _)| !of_glossary.contains(index));
    let used: String = other.map(|(_, page)| page.to_lowercase()).collect::<Vec<_>>().join(" ");
    let used = used.split(|letter: char| !letter.is_alphabetic()).collect::<Vec<_>>().join(" ");
    let told = Paper::of(&binder.pdf).told(of_glossary).join(" ");
    let list = include_str!("../../../../docs/words.md");
    let entries = list.lines().filter(|row| row.starts_with("| ")).skip(1).filter_map(|row| {
        let mut cells = row.trim_matches('|').split(" | ").map(str::trim);
        Some((cells.next()?, cells.next()?.replace('`', "")))
    });
    let mut explained = 0;
    for (entry, meaning) in entries.filter(|(entry, _)| !entry.is_empty()) {
        if told.contains(&format!("{entry} {meaning}")) {
            explained += 1;
            let is_used =
                |word: &str| used.contains(&format!(" {word} ")) || used.contains(&format!(" {word}s "));
            assert!(entry.split(", ").any(is_used), "`{entry}` is on no sheet");
        }
    }
    assert!(explained > 20, "{explained} of the words are explained: {told}");
}

#[test]
fn the_history_tells_what_is_built_found_out_and_out_of_use() {
    let record = "schema = 1\nlayout = \"First Module\"\n\n[findings]\n\"machine 1\" = { inverted = true, note = \"runs backwards\" }\n\n\
                  [retired]\n\"number 7\" = \"lever cannery\"\n\n[end]\nwhole = true\n";
    let read = description::record::read(record);
    let record = read.value;
    assert_eq!(record.retired.len(), 1, "{:?}", read.diagnostics);
    let plan = first_module();
    let binder = typeset(&plan, &Options { record: Some(&record), ..Options::default() }).unwrap();
    let history = Paper::of(&binder.pdf).told(pages_of(&binder, "Change history")).join(" ");
    for row in ["machine 1 inverted by the record runs backwards", "number 7 lever cannery"] {
        assert!(history.contains(row), "no `{row}` in {history}");
    }
    assert!(harbor_binder().sheets.iter().all(|sheet| sheet.title != "Change history"));
}

#[test]
fn each_panel_has_its_face_its_legend_and_how_to_work_it() {
    let plan = tern_harbor();
    let binder = harbor_binder();
    let paper = Paper::of(&binder.pdf);
    for strip in &plan.strips {
        let told = paper.told(pages_of(binder, &format!("Panel {}", strip.panel))).join(" ");
        assert!(told.contains("How to work it") && told.contains("normal leads to"), "{told}");
        for lever in strip.pairs.iter().flatten() {
            let number = plan.levers.iter().find(|planned| planned.lever == *lever).unwrap().number.value;
            let row = format!("{number} {}", plan.network.lever(*lever).name);
            assert!(told.contains(&row), "no `{row}` in {told}");
        }
    }
}
