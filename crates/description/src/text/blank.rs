//! Taking broken rows out of the parser's sight. Behind some slips the parser gives up, and every mistake below them
//! would stay hidden. Such rows are overwritten, byte for byte, so that all places stay where they were.

use super::{is_heading, row_of};
use notice::Span;

/// Overwrites a row: a broken heading with one that can be read, any other row with space.
pub(super) fn row(text: &mut [u8], original: &str, row: Span) {
    let row_text = &original[row.start..row.end];
    let mended = if is_heading(row_text) { heading(row_text) } else { None };
    space(text, row);
    if let Some((indent, mended)) = mended {
        let start = row.start + indent;
        if let Some(target) = text.get_mut(start..start + mended.len()) {
            target.copy_from_slice(mended.as_bytes());
        }
    }
}

/// Overwrites everything from an open bracket to the next row that begins anew, and the row of the bracket itself.
pub(super) fn open_bracket(text: &mut [u8], original: &str, open: Span) -> Span {
    let start = row_of(original, open.start).start;
    let mut end = row_of(original, open.start).end;
    while end < original.len() {
        let next = row_of(original, end + 1);
        if begins_anew(&original[next.start..next.end]) {
            break;
        }
        end = next.end;
    }
    let blanked = Span::new(start, end);
    space(text, blanked);
    blanked
}

fn space(text: &mut [u8], span: Span) {
    for byte in text.iter_mut().take(span.end).skip(span.start) {
        if !matches!(byte, b'\n' | b'\r') {
            *byte = b' ';
        }
    }
}

/// Whether a row looks like a heading or `key = value`, and not like the middle of a list.
fn begins_anew(row: &str) -> bool {
    let row = row.trim_start();
    let name =
        |text: &str| text.chars().take_while(|c| c.is_ascii_alphanumeric() || "-_".contains(*c)).count();
    match row.strip_prefix('[') {
        Some(heading) => name(heading.trim_start_matches('[')) > 0 && row.contains(']'),
        None => {
            let key = name(row);
            key > 0 && row[key..].trim_start().starts_with('=')
        }
    }
}

/// The least heading that a broken one may have meant, no longer than it, and how far it is indented.
fn heading(row: &str) -> Option<(usize, String)> {
    let indent = row.len() - row.trim_start().len();
    let inside = row.trim_start().trim_start_matches('[');
    let inside = inside.split([']', '#']).next().unwrap_or_default().trim();
    // A bracket is written at both ends, so one that was never closed gives up a letter of its id.
    let room = row.trim().len().checked_sub(2)?;
    let mut mended: String = inside
        .bytes()
        .map(
            |byte| {
                if byte.is_ascii_alphanumeric() || b"-_.".contains(&byte) { char::from(byte) } else { '_' }
            },
        )
        .take(room)
        .collect();
    while mended.ends_with('.') {
        mended.pop();
    }
    (!mended.is_empty()).then(|| (indent, format!("[{mended}]")))
}
