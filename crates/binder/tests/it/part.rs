//! Some sheets of the binder, or what is needed at one place.

use binder::{Access, Options, places, sheet_called, sheet_titles, typeset};

use crate::fixture::{first_module, harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

/// The list that `--sheets` goes by is what the binder has, in its order.
#[test]
fn the_titles_are_those_of_the_binder() {
    let binder = harbor_binder();
    let is_first =
        |title: &str| ![", sheet ", ", drawn", " of "].iter().any(|further| title.contains(further));
    let made: Vec<&str> =
        binder.sheets.iter().map(|sheet| sheet.title.as_str()).filter(|title| is_first(title)).collect();
    let titles = sheet_titles(&tern_harbor(), &Options::default());
    // The cover has no title of its own on it.
    assert_eq!(titles[0], "Cover");
    assert_eq!(made, titles[1..].iter().map(String::as_str).collect::<Vec<_>>());
}

#[test]
fn a_sheet_is_called_as_people_write_it() {
    let titles = sheet_titles(&tern_harbor(), &Options::default());
    assert_eq!(sheet_called(&titles, " track-DIAGRAM "), Some("Track diagram"));
    assert_eq!(sheet_called(&titles, "bus track"), Some("Bus track"));
    assert_eq!(sheet_called(&titles, "leverz"), None);
}

/// Every fourth sheet without its neighbours can be set: no link leads to what is not there.
#[test]
fn sheets_stand_without_the_others() {
    let plan = first_module();
    let titles = sheet_titles(&plan, &Options::default());
    for start in 0..4 {
        let wished: Vec<String> = titles.iter().skip(start).step_by(4).cloned().collect();
        let binder = typeset(&plan, &Options { sheets: Some(&wished), ..Options::default() }).unwrap();
        assert_eq!(binder.access, Access::Universal, "{wished:?}");
        let made = binder.sheets.iter().map(|sheet| sheet.title.as_str());
        let made: Vec<&str> = made.filter(|title| titles.iter().any(|known| known == title)).collect();
        let expected: Vec<&str> =
            wished.iter().map(String::as_str).filter(|title| *title != "Cover").collect();
        assert_eq!(made, expected);
    }
}

#[test]
fn a_sheet_alone_says_what_it_says_in_the_binder() {
    let plan = tern_harbor();
    let wished = ["Terminals".to_owned()];
    let alone = typeset(&plan, &Options { sheets: Some(&wished), ..Options::default() }).unwrap();
    let words = |binder: &binder::Binder, pages: std::ops::Range<usize>| {
        let told = Paper::of(&binder.pdf).told(pages);
        // Pages, and the sheets that stand beside it, differ.
        let from = told.iter().position(|word| word == "Position").unwrap();
        told[from..from + 100].to_vec()
    };
    let whole = harbor_binder();
    assert_eq!(words(&alone, 0..alone.pages), words(whole, pages_of(whole, "Terminals")));
}

#[test]
fn everything_at_a_place_is_there_and_nothing_else() {
    let plan = tern_harbor();
    assert_eq!(places(&plan), ["bay 1", "bay 2", "bay 3", "bay 4"]);
    let binder = typeset(&plan, &Options { at: Some("bay 3"), ..Options::default() }).unwrap();
    assert_eq!(binder.access, Access::Universal);
    let paper = Paper::of(&binder.pdf);
    let told = |title: &str| paper.told(pages_of(&binder, title)).join(" ");
    let is_here = |end: &plan::model::WireEnd| end.at.as_deref() == Some("bay 3");
    let wires = told("Wires by place");
    for wire in &plan.wires {
        let row = format!(" {} ", wire.id.value);
        assert_eq!(wires.contains(&row), wire.ends.iter().any(is_here), "wire{row}in {wires}");
    }
    let decoders = told("Decoders");
    for decoder in &plan.decoders {
        let here = decoder.at.as_ref().is_some_and(|at| at.value == "bay 3");
        assert_eq!(decoders.contains(&format!("Decoder {}", decoder.id)), here, "{}", decoder.id);
    }
    let here = told("What is here");
    for machine in &plan.network.machines {
        let at = plan.network.joint(machine.joint).at.as_deref();
        let row = format!("{} {}", machine.name, machine.motor);
        assert_eq!(here.contains(&row), at == Some("bay 3"), "{row} in {here}");
    }
    assert!(told("Terminals").contains("At bay 3") && !told("Terminals").contains("At bay 2"));
    let order = commission::order::lay_out(&plan, &commission::fault::System::of(&plan));
    let steps = order.steps.iter().filter(|step| step.at.as_deref() == Some("bay 3")).count();
    let tried = told("Commissioning");
    let printed = order.steps.iter().enumerate().filter(|(index, step)| {
        tried.contains(&format!(
            " {} {}: {}",
            index + 1,
            step.phase.word(),
            step.does.split(' ').next().unwrap()
        ))
    });
    assert_eq!(printed.count(), steps, "steps keep the numbers of the whole order");
    // Its contents give the pages that its sheets are on.
    for sheet in binder.sheets.iter().skip(1).filter(|sheet| !sheet.title.contains(" of ")) {
        let page = sheet.page.to_string();
        let row = here.split(&format!("{} ", sheet.title)).skip(1).any(|rest| {
            rest.split_whitespace().find(|word| word.parse::<usize>().is_ok()) == Some(page.as_str())
        });
        assert!(row, "no {} … {page} in {here}", sheet.title);
    }
}
