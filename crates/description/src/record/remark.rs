//! The remarks that people write into a record: each belongs to what stands below it, and stays there when the record is
//! written anew. One behind a row is moved above it.

use super::write::HEADER;

/// Where something is written that a remark may stand above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Anchor {
    /// The first byte of it.
    pub(super) start: usize,
    /// One past its last byte.
    pub(super) end: usize,
}

/// The remarks of a text: for each anchor those that belong to it, and those below the last.
///
/// `anchors` stand in the order of the text. Whatever stands behind the value of an anchor on its row is its own.
pub(super) fn gather(text: &str, anchors: &[Anchor]) -> (Vec<Vec<String>>, Vec<String>) {
    let mut of: Vec<Vec<String>> = vec![Vec::new(); anchors.len()];
    let mut last = Vec::new();
    let mut at = 0;
    for row in text.split_inclusive('\n') {
        let start = at;
        at += row.len();
        let next = anchors.partition_point(|anchor| anchor.start < start);
        // Inside a value of several rows a `#` may be a letter of a name.
        let inside = next.checked_sub(1).is_some_and(|before| start < anchors[before].end);
        if inside {
            continue;
        }
        if let Some(remark) = row.trim_start().strip_prefix('#') {
            let remark = tidy(remark);
            if !HEADER.contains(&remark.as_str()) {
                of.get_mut(next).unwrap_or(&mut last).push(remark);
            }
        }
    }
    for (anchor, remarks) in anchors.iter().zip(&mut of) {
        let behind = text.get(anchor.end..).and_then(|rest| rest.lines().next()).unwrap_or_default();
        if let Some(remark) = behind.trim_start_matches([']', ' ', '\t']).strip_prefix('#') {
            remarks.push(tidy(remark));
        }
    }
    (of, last)
}

/// The words of a remark.
fn tidy(remark: &str) -> String {
    remark.trim().to_owned()
}
