//! Names that look like markup, names too long for any column, layouts too big for a club.

use binder::{Access, Options, typeset};

use crate::fixture::ladders;
use crate::poppler::Paper;

/// All letters of a binder without the gaps between them, so that it does not matter where a name was broken.
fn letters(pages: &[String]) -> String {
    pages.concat().split_whitespace().collect()
}

#[test]
fn names_that_look_like_markup_print_as_they_are_written() {
    let names = [
        "#set page(fill: red)",
        "*bold* _slanted_ `code`",
        "\" \\ \\\" $x^2$",
        "@somewhere <label> [x] // no /* remark */",
        "= heading -- --- ...",
        "#panic()",
        "- 1. + / : ~ '",
    ];
    let plan = ladders("#import \"x\": *", names.len(), |index| names[index].to_owned());
    let binder = typeset(&plan, &Options::default()).unwrap();
    let paper = Paper::of(&binder.pdf);
    assert_eq!(paper.fact("Title"), "#import \"x\": * binder");
    let found = letters(&paper.pages());
    for name in names {
        let name: String = name.split_whitespace().collect();
        assert!(found.contains(&name), "`{name}` is not printed as written");
    }
}

#[test]
fn a_letter_that_the_type_lacks_is_printed_as_its_number() {
    let plan = ladders("Ψ wharf", 1, |_| "🚂 shed".to_owned());
    let binder = typeset(&plan, &Options::default()).unwrap();
    let found = letters(&Paper::of(&binder.pdf).pages());
    assert!(found.contains("‹U+1F682›shed") && found.contains("‹U+03A8›wharf"));
    assert_eq!(binder.access, Access::Universal);
}

#[test]
fn a_name_of_three_hundred_letters_stays_on_the_sheet() {
    let spaced = "long name ".repeat(30);
    let unbroken = "W".repeat(300);
    let plan = ladders(&unbroken, 3, |index| if index == 0 { spaced.clone() } else { unbroken.clone() });
    let binder = typeset(&plan, &Options::default()).unwrap();
    let paper = Paper::of(&binder.pdf);
    let found = letters(&paper.pages());
    assert!(found.contains(&"longname".repeat(30)), "the name with spaces is not whole");
    // At 25 dots to the inch a dot is a millimetre; the least margin is the 10 mm of the sheets that are cut up.
    for page in 1..=binder.pages {
        let picture = paper.picture(page, 25);
        let edge = picture.width - 8;
        let clean = picture.rows().all(|row| row[edge..].iter().all(|&grey| grey > 250));
        assert!(clean, "page {page} runs off its right side");
    }
}

#[test]
fn a_hundred_and_fifty_levers_make_a_book() {
    let plan = ladders("Long Ladders", 150, |index| format!("rung {index}"));
    let binder = typeset(&plan, &Options::default()).unwrap();
    let pages = Paper::of(&binder.pdf).pages();
    assert_eq!(pages.len(), binder.pages);
    let at = binder.sheets.iter().position(|sheet| sheet.title == "Levers").unwrap();
    let lever_pages = &pages[binder.sheets[at].page - 1..binder.sheets[at + 1].page - 1];
    assert!(lever_pages.len() > 1);
    for page in lever_pages {
        let heads = page.lines().filter(|row| row.contains("Machines") && row.contains("Address")).count();
        assert_eq!(heads, 1, "the heads of the columns stand on every page");
    }
    // So wide a diagram is cut into parts; every lever's number stands on one of them.
    let parts: Vec<&binder::Sheet> =
        binder.sheets.iter().filter(|sheet| sheet.title.contains(", part ")).collect();
    assert!(parts.len() > 1);
    let on_parts: Vec<&str> = parts.iter().flat_map(|part| pages[part.page - 1].split_whitespace()).collect();
    for number in 1..=150 {
        assert!(
            on_parts.contains(&number.to_string().as_str()),
            "lever {number} is on no part of the diagram"
        );
    }
    // Common practice, no source: up to four strips run from the cab bus, each further one from a supply of its own.
    let all = pages.join(" ").split_whitespace().collect::<Vec<_>>().join(" ");
    let own_supply = all.matches("a regulated supply of its own, 12–18 V DC, centre positive").count();
    assert_eq!(own_supply, plan.strips.len() - 4);
    let rows: String = lever_pages.concat();
    for index in 0..150 {
        assert!(rows.lines().any(|row| row.contains(&format!("rung {index} "))), "no row for rung {index}");
    }
}
