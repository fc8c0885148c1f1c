//! Which sheets are to be printed again after a change: those on which anything differs, and no others.

use crate::fixture::{harbor_binder, tern_harbor};
use binder::{is_known_sheet, to_reprint};

/// A sheet that is added to the binder has to be added to the list of those that may change.
#[test]
fn every_sheet_of_the_binder_is_known() {
    let binder = harbor_binder();
    assert!(binder.sheets.len() > 15);
    for sheet in &binder.sheets {
        assert!(is_known_sheet(&sheet.title), "{}", sheet.title);
    }
}

#[test]
fn where_nothing_differs_nothing_is_printed_again() {
    assert_eq!(to_reprint(&tern_harbor(), &tern_harbor()), [""; 0]);
}

/// A plate with another number is on the plates, in the tables of levers and of reasons, on every drawing and at the front
/// of each list that counts by numbers; no rail is cut elsewhere and no part more is needed.
#[test]
fn another_number_changes_what_it_is_printed_on() {
    const TEXT: &str = include_str!("../../../../demo/tern-harbor/layout.toml");
    let pinned = TEXT.replacen("[turnout.pier-2]\n", "[turnout.pier-2]\nnumber = 77\n", 1);
    assert_ne!(pinned, TEXT);
    let sheets = to_reprint(&tern_harbor(), &testkit::plan_of(&pinned));
    for title in
        ["Track diagram", "Levers", "Addresses by board", "Number plates", "Fascia map", "Why it is so"]
    {
        assert!(sheets.iter().any(|sheet| sheet == title), "{title} in {sheets:?}");
    }
    for title in ["Cover", "Parts and wire", "Connectors between modules"] {
        assert!(sheets.iter().all(|sheet| sheet != title), "{title} in {sheets:?}");
    }
}
