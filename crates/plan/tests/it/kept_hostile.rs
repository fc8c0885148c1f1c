//! Records that nobody wrote with care: figures, names and rows changed at random. Whatever they say, the plan is made, every
//! row that cannot stay is named at a place within the record, and two levers never get one number or one address.

use crate::kept_edits::Dice;
use description::record::{Record, read, write};
use notice::File;
use std::collections::BTreeSet;
use testkit::list;

const HARBOR: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

/// Changes one thing in a record.
fn spoil(record: &mut Record, dice: &mut Dice) {
    let figures = [0, 1, 2, 7, 13, 22, 24, 2_036, 2_040, 2_041, 2_048, u16::MAX];
    let figure = dice.one_of(&figures);
    let address = figure.clamp(1, 2_048);
    let names = ["wharf", "engine", "mid", "y4", "nobody", "D1", "D9", "west", "east", "bay 1", "bay 9"];
    let name = dice.one_of(&names).to_owned();
    let lever = dice.one_of(&record.levers.keys().cloned().collect::<Vec<_>>());
    let lever_row = record.levers.get_mut(&lever).unwrap();
    match dice.below(12) {
        0 => lever_row.value.number = figure,
        1 => lever_row.value.address = Some(address),
        2 => lever_row.value.address = None,
        3 => lever_row.value.moves = vec![name, lever],
        4 if record.levers.len() > 1 => {
            let row = record.levers.remove(&lever).unwrap();
            record.levers.insert(name, row);
        }
        5 => record.strips.values_mut().for_each(|strip| strip.value.first_address = address),
        6 => record.strips.values_mut().for_each(|strip| strip.value.chain = figure),
        7 => record.strips.values_mut().for_each(|strip| strip.value.cab = Some(figure)),
        8 => {
            if let Some(row) = record.strips.remove("west") {
                record.strips.insert(name, row);
            }
        }
        9 => record.decoders.values_mut().for_each(|decoder| {
            decoder.value.at = Some(name.clone());
            decoder.value.first_address = address;
            decoder.value.outputs = figure;
        }),
        10 => record.machines.values_mut().for_each(|machine| {
            machine.value.decoder = Some(name.clone());
            machine.value.address = Some(address);
        }),
        _ => {
            record.decoders.clear();
            record.machines.clear();
        }
    }
}

#[test]
fn whatever_a_record_says_a_plan_is_made_of_it() {
    let mut dice = Dice(3);
    let network = description::read(HARBOR).then(network::resolve).value;
    let planned_beside = |record: &Record| plan::make_kept(network.clone(), record).then(rules::verify);
    let first = planned_beside(&Record::default());
    assert!(!first.has_errors(), "{}", list(HARBOR, &first.diagnostics));
    let built = plan::record_of(&first.value, &Record::default());
    let (mut clashes, mut moved) = (0, 0);
    for case in 0..150 {
        let mut record = built.clone();
        for _ in 0..=dice.below(6) {
            spoil(&mut record, &mut dice);
        }
        let text = write(&record);
        let outcome = read(&text);
        // What two rows claim is refused before anything is planned; here it is planned all the same.
        clashes += usize::from(outcome.has_errors());
        let planned = planned_beside(&outcome.value);
        for note in planned.diagnostics.iter().filter(|note| note.span.file == File::AsBuilt) {
            let row =
                text.get(note.span.start..note.span.end).unwrap_or_else(|| panic!("case {case}: {note:?}"));
            assert!(!row.is_empty() && !row.contains('\n'), "case {case}: {note:?}");
        }
        let plan = &planned.value;
        let numbers: BTreeSet<u16> = plan.levers.iter().map(|lever| lever.number.value).collect();
        let addresses: BTreeSet<_> = plan.levers.iter().map(|lever| lever.address.value).collect();
        if !planned.has_errors() && !outcome.has_errors() {
            assert_eq!(
                (numbers.len(), addresses.len()),
                (plan.levers.len(), plan.levers.len()),
                "case {case}\n{text}"
            );
        }
        moved += usize::from(planned.diagnostics.iter().any(|note| note.code.name().starts_with("record")));
        // And what is written down of it is the record of this plan: it says nothing more.
        let next = plan::record_of(plan, &outcome.value);
        let again = planned_beside(&next);
        let figures = |plan: &plan::model::Plan| -> Vec<(u16, u16)> {
            plan.levers.iter().map(|lever| (lever.number.value, lever.address.value.number())).collect()
        };
        if !planned.has_errors() {
            assert_eq!(figures(&again.value), figures(plan), "case {case}\n{text}\n{}", write(&next));
        }
    }
    assert!(clashes > 10 && moved > 100, "{clashes} clashes, {moved} with something to say");
}
