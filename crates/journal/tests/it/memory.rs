//! What tests ask of a journal.

use journal::Journal;

/// Every row of a journal, in order, after checking that their numbers run from 1 without a gap.
pub(crate) fn rows(journal: &Journal) -> Vec<String> {
    let records: Vec<_> = journal.replay().unwrap().collect::<Result<_, _>>().unwrap();
    for (record, expected) in records.iter().zip(1..) {
        assert_eq!(record.sequence, expected);
    }
    assert_eq!(journal.last_sequence(), records.len() as u64);
    records.into_iter().map(|record| record.row).collect()
}
