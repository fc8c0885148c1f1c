//! Rows of one record that cannot both be true, as a merge of two branches may leave them.

use super::Record;
use notice::{Diagnostic, Span, code};
use std::collections::BTreeMap;

/// Everything in the record that two rows claim.
pub(super) fn find(record: &Record) -> Vec<Diagnostic> {
    let mut claims = Claims::default();
    for (id, lever) in &record.levers {
        let called = format!("lever `{id}`");
        claims.claim(format!("number {}", lever.value.number), &called, lever.span);
        if let Some(address) = lever.value.address {
            claims.claim(format!("address {address}"), &called, lever.span);
        }
    }
    for (id, other) in &record.accessories {
        claims.claim(format!("address {}", other.value.address), &format!("`{id}`"), other.span);
        if let Some(number) = other.value.number {
            claims.claim(format!("number {number}"), &format!("`{id}`"), other.span);
        }
    }
    for (what, wire) in &record.wires {
        claims.claim(format!("wire {}", wire.value.id), &format!("the wire of `{what}`"), wire.span);
    }
    for (id, decoder) in &record.decoders {
        claims.claim(format!("decoder {id}"), &format!("decoder `{id}`"), decoder.span);
    }
    for (what, was) in &record.retired {
        let called = "what is retired".to_owned();
        claims.claim(what.words(), &called, was.span);
    }
    claims.clashes
}

#[derive(Default)]
struct Claims {
    first: BTreeMap<String, (String, Span)>,
    clashes: Vec<Diagnostic>,
}

impl Claims {
    fn claim(&mut self, what: String, by: &str, span: Span) {
        let Some((first, first_span)) = self.first.get(&what) else {
            self.first.insert(what, (by.to_owned(), span));
            return;
        };
        let ((earlier, earlier_span), (later, later_span)) = if *first_span <= span {
            ((first.as_str(), *first_span), (by, span))
        } else {
            ((by, span), (first.as_str(), *first_span))
        };
        let says = format!("{what} belongs to {later} here, and to {earlier} in another row");
        let help = "see what is built, and delete the row that is not; what stands in no row gets a free one in the next plan";
        self.clashes.push(
            Diagnostic::error(code::RECORD_USED_TWICE, later_span, says)
                .help(help)
                .related(earlier_span, "the other row"),
        );
    }
}
