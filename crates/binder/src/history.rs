//! The change history: what the as-built record says is built, what was found out, and what is out of use for good.

use description::record::{Record, Retired};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;
use crate::letters::SENTENCE_LETTERS_MAX;

/// The most rows of each table; the record has all.
const ROWS_MAX: usize = 1_000;

/// The history: `(kept, findings, retired, left_out)`; none without a record.
pub(crate) fn history(ledger: &Ledger<'_>, record: Option<&Record>) -> Value {
    let Some(record) = record else { return Value::None };
    let counts = [
        ("levers", record.levers.len()),
        ("signals and lights", record.accessories.len()),
        ("strips", record.strips.len()),
        ("decoders", record.decoders.len()),
        ("machines", record.machines.len()),
        ("wires", record.wires.len()),
    ];
    let kept =
        counts.into_iter().map(|(what, count)| dict! { "what" => what, "count" => count }.into_value());
    let findings = record.findings.iter().take(ROWS_MAX).map(|(about, finding)| {
        dict! {
            "about" => ledger.words(about),
            "inverted" => finding.value.inverted,
            "note" => finding.value.note.as_deref().map_or(Value::None, |note| ledger.words_up_to(note, SENTENCE_LETTERS_MAX)),
        }
        .into_value()
    });
    let retired = record.retired.iter().take(ROWS_MAX).map(|(what, was)| {
        dict! { "what" => ledger.words(&what.words()), "kind" => kind(what), "was" => ledger.words(&was.value) }.into_value()
    });
    let left_out =
        record.findings.len().saturating_sub(ROWS_MAX) + record.retired.len().saturating_sub(ROWS_MAX);
    let history: Dict = dict! {
        "kept" => kept.collect::<Array>(),
        "findings" => findings.collect::<Array>(),
        "retired" => retired.collect::<Array>(),
        "left_out" => left_out,
    };
    history.into_value()
}

fn kind(what: &Retired) -> &'static str {
    match what {
        Retired::Number(_) => "number",
        Retired::Address(_) => "address",
        Retired::Wire(_) => "wire",
        Retired::Decoder(_) => "decoder",
    }
}
