//! Commissioning and the fault sheets: every step with what to expect, every symptom with its suspects.

use commission::fault::System;
use commission::order::lay_out;

use crate::fixture::{harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

/// Letters alone: where a cell is broken into rows depends on its column.
fn letters(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_whitespace()).collect()
}

fn printed(title: &str) -> String {
    let binder = harbor_binder();
    letters(&Paper::of(&binder.pdf).told(pages_of(binder, title)).join(" "))
}

#[test]
fn every_step_stands_with_what_to_do_and_what_to_expect() {
    let plan = tern_harbor();
    let order = lay_out(&plan, &System::of(&plan));
    let words = printed("Commissioning");
    for (index, step) in order.steps.iter().enumerate() {
        let row = letters(&format!("{} {}: {} {}", index + 1, step.phase.word(), step.does, step.expect));
        assert!(words.contains(&row), "no `{row}`");
    }
    assert!(words.contains(&letters(&format!("All of it takes {} crawls under the bench", order.crawls))));
    assert!(words.contains(&letters("Mains wiring is for a licensed electrician")));
}

#[test]
fn every_machine_has_its_symptoms_with_its_lever() {
    let plan = tern_harbor();
    let words = printed("Fault finding");
    for planned in &plan.levers {
        for &machine in &plan.network.lever(planned.lever).machines {
            let name = &plan.network.machine(machine).name;
            let row = letters(&format!("lever {}: machine {name} does not move", planned.number.value));
            assert!(words.contains(&row), "no `{row}`");
        }
    }
}
