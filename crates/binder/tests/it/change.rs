//! The change order: every piece of work under the place where it is done, in bench order, with totals that add up.

use crate::fixture::{pages_of, tern_harbor};
use crate::poppler::Paper;
use binder::{Binder, ChangeOrder, Options, typeset};
use description::record::Record;
use plan::change::{Action, WorkOrder, work_since};
use plan::model::Plan;

const TEXT: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

/// The demo with another number for one lever and one more light, beside the demo as it is built.
fn changed() -> (Plan, WorkOrder) {
    let built = plan::record_of(&tern_harbor(), &Record::default());
    let pinned = TEXT.replacen("[turnout.pier-2]\n", "[turnout.pier-2]\nnumber = 77\n", 1);
    let more = format!("{pinned}\n[light.lantern]\nat = \"bay 2\"\n");
    let plan = testkit::planned_beside(&more, &built).value;
    let next = plan::record_of(&plan, &built);
    let order = work_since(&built, &plan, &next);
    (plan, order)
}

fn bound(plan: &Plan, order: WorkOrder, sheets: Option<Vec<String>>) -> Binder {
    let change = ChangeOrder { order, since: "what the as-built record says".to_owned(), sheets };
    typeset(plan, &Options { change: Some(&change), ..Options::default() }).unwrap()
}

fn sheet(binder: &Binder) -> String {
    let pages = Paper::of(&binder.pdf).pages()[pages_of(binder, "Change order")].join(" ");
    pages.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_piece_of_work_is_listed_once_with_its_minutes() {
    let (plan, order) = changed();
    let work: Vec<_> =
        order.items.iter().map(|item| &item.value).filter(|item| item.action != Action::Keep).collect();
    assert!(work.iter().any(|item| item.action == Action::Relabel && item.name == "pier-2"));
    assert!(work.iter().any(|item| item.action == Action::Add && item.name == "light lantern"));
    let (minutes, keep) = (f64::from(order.seconds()) / 60.0, order.of(Action::Keep).count());
    let names: Vec<String> =
        work.iter().enumerate().map(|(at, item)| format!("{} {}", at + 1, of_action(item.action))).collect();
    let count = work.len();
    let text = sheet(&bound(&plan, order, Some(vec!["Levers".to_owned()])));
    for row in names {
        assert!(text.contains(&row), "`{row}` in {text}");
    }
    assert!(text.contains("lever pier-2 number 12 number 77 2"), "{text}");
    assert!(text.contains(&format!("all {count} {minutes}")), "all {count} {minutes} in {text}");
    assert!(text.contains(&format!("{keep} things stay as they are")), "{keep} in {text}");
    assert!(
        text.contains("Labels to print") && text.contains("Sheets to print again Sheet Sheet Levers"),
        "{text}"
    );
}

fn of_action(action: Action) -> &'static str {
    match action {
        Action::Remove => "take out",
        Action::Move => "move",
        Action::Add => "fit",
        Action::Relabel => "label anew",
        Action::Reprogram => "set",
        Action::Keep => "",
    }
}

#[test]
fn without_a_change_there_is_no_such_sheet_and_without_work_it_says_so() {
    let plan = tern_harbor();
    let plain = crate::fixture::harbor_binder();
    assert!(plain.sheets.iter().all(|sheet| sheet.title != "Change order"));
    let text = sheet(&bound(&plan, WorkOrder::default(), None));
    assert!(text.contains("Nothing is to be changed"), "{text}");
}
