//! What a step of commissioning came to, from the members of a row of findings.

use super::text;
use crate::lower::table::Table;
use crate::record::{Tried, Verdict};
use measure::Voltage;
use notice::{Diagnostic, code};

/// What the row says of a step that was tried; none where it says nothing of the kind.
pub(super) fn read(table: &mut Table<'_, '_>) -> Option<Tried> {
    if !["verdict", "who", "when", "reading", "saw"].into_iter().any(|key| table.has(key)) {
        return None;
    }
    for (key, what, example) in [
        ("verdict", "whether it was as it should be", "verdict = \"good\""),
        ("who", "who tried it", "who = \"Ruth\""),
        ("when", "when it was tried", "when = \"2026-05-01T19:04:00Z\""),
    ] {
        if !table.has(key) {
            table.missing(key, what, example);
        }
    }
    let verdict = table.choice("verdict", &Verdict::ALL);
    let (who, when, saw) = (text(table, "who"), text(table, "when"), text(table, "saw"));
    let span = table.place_of("when");
    if let Some(when) = when.as_deref().filter(|when| !is_moment(when)) {
        let says = format!("`{when}` is no moment");
        let help = "write day and time as UTC has them: when = \"2026-05-01T19:04:00Z\"";
        table.note(Diagnostic::error(code::RECORD_ROW_UNREADABLE, span, says).help(help));
    }
    // Kept as it is written, so that what was read off a meter is not rounded.
    let reading =
        table.quantity_such_as("reading", "12.3 V", |text| Voltage::read(text).map(|_| text.to_owned()));
    let reading = reading.map(|reading| reading.value);
    Some(Tried { verdict: verdict?, who: who?, when: when?, reading, saw })
}

/// Whether a text has the form of a moment, as a browser gives it without parts of a second.
///
/// # Source
/// RFC 3339, `date-time`, in UTC.
fn is_moment(text: &str) -> bool {
    let form = b"0000-00-00T00:00:00Z";
    let bytes = text.as_bytes();
    let fits = |(&byte, &wanted): (&u8, &u8)| {
        if wanted == b'0' { byte.is_ascii_digit() } else { byte == wanted }
    };
    bytes.len() == form.len() && bytes.iter().zip(form).all(fits)
}
