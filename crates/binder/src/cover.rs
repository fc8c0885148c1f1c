//! The cover: what the layout is called, and how much of everything the book holds.

use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;

/// The most letters of the layout's name in a title block.
const SHORT_LETTERS_MAX: usize = 72;

/// Facts about the layout: `(name, short, scale, revision, date)`; short is the name as a title block has room for.
pub(crate) fn layout(ledger: &Ledger<'_>) -> Dict {
    let facts = &ledger.plan.network.described.layout;
    let name = if facts.name.trim().is_empty() { "Unnamed layout" } else { &facts.name };
    dict! {
        "name" => ledger.words(name),
        "short" => ledger.words_up_to(name, SHORT_LETTERS_MAX),
        "scale" => ledger.words_if(facts.scale.as_deref()),
        "revision" => ledger.words_if(facts.revision.as_deref()),
        "date" => ledger.words_if(facts.date.as_deref()),
    }
}

/// Counts for the cover: each `(count, one, many)`.
pub(crate) fn counts(ledger: &Ledger<'_>) -> Array {
    let plan = ledger.plan;
    let others = plan.accessories.iter().filter(|planned| planned.address.is_some()).count();
    let counts = [
        (plan.levers.len(), "lever", "levers"),
        (plan.network.machines.len(), "machine", "machines"),
        (plan.addresses.len() + others, "address", "addresses"),
        (plan.decoders.len(), "decoder", "decoders"),
        (plan.strips.len(), "strip", "strips"),
        (plan.routes.len(), "route", "routes"),
    ];
    counts
        .into_iter()
        .map(|(count, one, many)| {
            dict! { "count" => count, "noun" => if count == 1 { one } else { many } }.into_value()
        })
        .collect()
}
