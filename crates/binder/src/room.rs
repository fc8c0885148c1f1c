//! How much of a table is printed: as many rows as are read, and no more entries in them than anyone looks through.

/// The most entries in the rows of a table: levers to set, or diodes to solder in. Some 40 stand on a page.
pub(crate) const ENTRIES_PRINTED_MAX: usize = 12_000;

/// How many of these rows are printed, of which each holds so many entries: the first, at most `rows_max`, and all their
/// entries together at most [`ENTRIES_PRINTED_MAX`].
pub(crate) fn rows_printed(entries: impl IntoIterator<Item = usize>, rows_max: usize) -> usize {
    let up_to = entries.into_iter().scan(0, |sum: &mut usize, entries| {
        *sum = sum.saturating_add(entries);
        Some(*sum)
    });
    up_to.take(rows_max).take_while(|&sum| sum <= ENTRIES_PRINTED_MAX).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_ends_at_either_limit() {
        let full = ENTRIES_PRINTED_MAX;
        for (entries, rows_max, printed) in [
            (vec![], 9, 0),
            (vec![1, 1, 1], 9, 3),
            (vec![1, 1, 1], 2, 2),
            (vec![full - 1, 1, 0, 1, 0], 9, 3),
            (vec![full, usize::MAX, 1], 9, 1),
        ] {
            assert_eq!(
                rows_printed(entries.clone(), rows_max),
                printed,
                "{entries:?}, {rows_max} rows at most"
            );
        }
    }
}
