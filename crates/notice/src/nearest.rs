//! Names: which known one a misspelt one is nearest to, how one is written in a layout, and the order in which people
//! expect to read them.

use std::cmp::Ordering;
use std::fmt::Write as _;

/// The most findings of one stage that come with a suggestion. Comparing names takes time, and nobody reads so far.
const SUGGESTIONS_MAX: usize = 100;

/// The most names of about the right length that one name is compared with.
const CANDIDATES_MAX: usize = 2_000;

/// [`nearest`], unless so much has been `found` already that one more suggestion helps nobody.
pub fn suggest<'a>(found: usize, written: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if found < SUGGESTIONS_MAX { nearest(written, known) } else { None }
}

/// The known name that `written` most likely means, or none when no name is near or two are equally near.
///
/// Near means an edit distance (insert, delete, replace, swap neighbours) of at most a third of the longer name.
/// Runs in O(n·m) for each candidate.
///
/// # Source
/// Optimal string alignment distance, after Damerau, *A technique for computer detection and correction of spelling
/// errors*, CACM 7 (1964).
pub fn nearest<'a>(written: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    /// Longer names are pasted text, not slips of a finger, and would cost too much to compare.
    const NAME_MAX: usize = 80;
    if written.len() > NAME_MAX {
        return None;
    }
    let length = written.chars().count();
    let mut best: Option<(usize, &str)> = None;
    let mut tied = false;
    // No two names are nearer than their lengths.
    let candidates = known.into_iter().filter(|candidate| {
        let other = if candidate.len() <= NAME_MAX { candidate.chars().count() } else { usize::MAX / 3 };
        length.abs_diff(other) * 3 <= length.max(other).max(3) && *candidate != written
    });
    for candidate in candidates.take(CANDIDATES_MAX) {
        let distance = alignment_distance(written, candidate);
        let longer = length.max(candidate.chars().count());
        if distance * 3 > longer.max(3) {
            continue;
        }
        match best {
            Some((least, _)) if distance > least => {}
            // An end is often called like its track: the same name twice is no doubt.
            Some((least, known)) if distance == least => tied |= candidate != known,
            _ => {
                best = Some((distance, candidate));
                tied = false;
            }
        }
    }
    best.filter(|_| !tied).map(|(_, name)| name)
}

/// A name as it is written in a layout: in quotation marks, with an escape where TOML asks for one.
///
/// # Example
/// ```
/// assert_eq!(notice::quoted(r#"the "old" pier"#), r#""the \"old\" pier""#);
/// ```
pub fn quoted(name: &str) -> String {
    let mut quoted = String::from('"');
    for c in name.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            // No control letter has more than four digits; writing to a string cannot fail.
            c if c.is_control() => drop(write!(quoted, "\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

fn alignment_distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.to_lowercase().chars().collect();
    let b: Vec<char> = b.to_lowercase().chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replace = above[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replace.min(above[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

/// Compares names as people do: runs of digits by their value, so that `2` comes before `10`.
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut rest_a, mut rest_b) = (a, b);
    loop {
        let (Some(first_a), Some(first_b)) = (rest_a.chars().next(), rest_b.chars().next()) else {
            return rest_a.len().cmp(&rest_b.len()).then_with(|| a.cmp(b));
        };
        if first_a.is_ascii_digit() && first_b.is_ascii_digit() {
            let (digits_a, after_a) = split_digits(rest_a);
            let (digits_b, after_b) = split_digits(rest_b);
            let (value_a, value_b) = (digits_a.trim_start_matches('0'), digits_b.trim_start_matches('0'));
            let order = value_a.len().cmp(&value_b.len()).then_with(|| value_a.cmp(value_b));
            if order != Ordering::Equal {
                return order;
            }
            (rest_a, rest_b) = (after_a, after_b);
        } else {
            if first_a != first_b {
                return first_a.cmp(&first_b);
            }
            (rest_a, rest_b) = (&rest_a[first_a.len_utf8()..], &rest_b[first_b.len_utf8()..]);
        }
    }
}

fn split_digits(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_finds_its_name() {
        let known = ["points", "through", "diverging", "hand"];
        assert_eq!(nearest("throuhg", known), Some("through"));
        assert_eq!(nearest("divering", known), Some("diverging"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("yard 3", ["yard 1", "yard 2"]), None, "two names are equally near");
    }

    #[test]
    fn two_comes_before_ten() {
        let mut names = ["10", "2", "yard 10", "4B", "4A", "yard 9", "1"];
        names.sort_by(|a, b| natural(a, b));
        assert_eq!(names, ["1", "2", "4A", "4B", "10", "yard 9", "yard 10"]);
    }
}
