//! The change order: what leads from the layout as it is built to the one of this book, place by place in bench order.

use plan::change::{Action, Item, Thing, WorkOrder};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// The most pieces of work that are printed; the rest is counted, and stands in the tables.
pub const WORK_PRINTED_MAX: usize = 1_500;

/// A work order for the binder, and what it begins with.
#[derive(Clone, Debug)]
pub struct ChangeOrder {
    /// What is to be done.
    pub order: WorkOrder,
    /// What is built, in words that follow "from": `the as-built record`.
    pub since: String,
    /// The sheets of the book before this one that have to be printed again; none where that book is not known.
    pub sheets: Option<Vec<String>>,
}

/// The actions that are work, in the order of the totals.
const WORK: [Action; 5] = [Action::Add, Action::Move, Action::Remove, Action::Relabel, Action::Reprogram];

/// A piece of work with the number of its step.
type Numbered<'a> = (usize, &'a Item);

/// The change order: `(since, count, minutes, keep, places, left_out, totals, labels, sheets)`; none where there is none.
pub(crate) fn change(ledger: &Ledger<'_>, change: Option<&ChangeOrder>) -> Value {
    let Some(ChangeOrder { order, since, sheets }) = change else { return Value::None };
    let work = order.items.iter().map(|item| &item.value).filter(|item| item.action != Action::Keep);
    let mut places: Vec<(Option<&str>, Vec<Numbered<'_>>)> = Vec::new();
    for (step, item) in (1..).zip(work).take(WORK_PRINTED_MAX) {
        let at = item.at.as_deref();
        match places.last_mut().filter(|(place, _)| *place == at) {
            Some((_, items)) => items.push((step, item)),
            None => places.push((at, vec![(step, item)])),
        }
    }
    let places = places.into_iter().map(|(at, items)| {
        let seconds = items.iter().fold(0u32, |sum, (_, item)| sum.saturating_add(item.seconds));
        dict! {
            "at" => ledger.words_if(at),
            "minutes" => minutes(seconds),
            "rows" => items.into_iter().map(|(step, item)| row(ledger, step, item).into_value()).collect::<Array>(),
        }
        .into_value()
    });
    let totals = WORK.iter().map(|action| {
        let items = || order.of(*action).map(|item| &item.value);
        let seconds = items().fold(0u32, |sum, item| sum.saturating_add(item.seconds));
        dict! { "do" => action.word(), "count" => items().count(), "minutes" => minutes(seconds) }
            .into_value()
    });
    let labels = order.labels().into_iter().map(|(thing, names)| {
        let names: Array = names.into_iter().map(|name| ledger.words(name)).collect();
        dict! { "what" => labels_of(thing), "names" => names }.into_value()
    });
    let sheets =
        sheets.as_ref().map(|sheets| sheets.iter().map(|title| ledger.words(title)).collect::<Array>());
    dict! {
        "since" => ledger.words(since),
        "count" => order.count(),
        "minutes" => minutes(order.seconds()),
        "keep" => order.of(Action::Keep).count(),
        "places" => places.collect::<Array>(),
        "left_out" => order.count().saturating_sub(WORK_PRINTED_MAX),
        "totals" => totals.collect::<Array>(),
        "labels" => labels.collect::<Array>(),
        "sheets" => sheets,
    }
    .into_value()
}

/// One piece of work: `(step, do, what, name, was, now, minutes)`.
fn row(ledger: &Ledger<'_>, step: usize, item: &Item) -> Dict {
    dict! {
        "step" => step,
        "do" => item.action.word(),
        "what" => item.thing.word(),
        "name" => ledger.words(&item.name),
        "was" => ledger.words_if(item.was.as_deref()),
        "now" => ledger.words_if(item.now.as_deref()),
        "minutes" => minutes(item.seconds),
    }
}

/// Minutes with one digit behind the point where there is one.
fn minutes(seconds: u32) -> String {
    let text = format!("{:.1}", f64::from(seconds) / 60.0);
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// What the labels of a kind of thing are called.
fn labels_of(thing: Thing) -> &'static str {
    match thing {
        Thing::Lever => "Number plates of levers",
        Thing::Accessory => "Number plates of signals and lights",
        Thing::Decoder => "Labels of decoders",
        Thing::Strip => "Labels of strips",
        Thing::Machine => "Labels of machines",
        Thing::Wire => "Flags for both ends of wires",
    }
}
