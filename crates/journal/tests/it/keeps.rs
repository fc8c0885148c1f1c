//! What is appended comes back.

use journal::{AppendError, Journal, ROW_BYTES_MAX, checksum};
use proptest::prelude::*;

use crate::memory::rows;
use testkit::disk::Disk;

/// # Source
/// The check value that tables of cyclic redundancy checks give for CRC-32 (ISO-HDLC) over the nine letters "123456789".
#[test]
fn the_checksum_is_the_standard_one() {
    assert_eq!(checksum(&[b"123456789"]), 0xCBF4_3926);
    assert_eq!(checksum(&[b"1234", b"", b"56789"]), 0xCBF4_3926, "stretches are one after the other");
}

#[test]
fn rows_survive_closing_and_opening() {
    let disk = Disk::new();
    let mut journal = Journal::open(disk.clone(), "Tern Harbor Terminal").unwrap().journal;
    journal.append(&["one".into(), "two".into()]).unwrap();
    journal.append(&[]).unwrap();
    journal.append(&[String::new()]).unwrap();
    drop(journal);
    let mut opened = Journal::open(disk, "another name").unwrap();
    assert_eq!((opened.layout.as_str(), opened.mended), ("Tern Harbor Terminal", None));
    opened.journal.append(&["four".into()]).unwrap();
    assert_eq!(rows(&opened.journal), ["one", "two", "", "four"]);
}

#[test]
fn a_row_that_is_too_long_is_refused_and_nothing_of_its_batch_is_kept() {
    let mut journal = Journal::open(Disk::new(), "Tern Harbor Terminal").unwrap().journal;
    journal.append(&["x".repeat(ROW_BYTES_MAX)]).unwrap();
    let error = journal.append(&["short".into(), "x".repeat(ROW_BYTES_MAX + 1)]).unwrap_err();
    assert!(matches!(error, AppendError::RowTooLong(65_537)), "{error}");
    assert_eq!(rows(&journal).len(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn prop_any_rows_come_back_in_order(batches in prop::collection::vec(prop::collection::vec(".*", 0..4), 0..8)) {
        let disk = Disk::new();
        for batch in &batches {
            let mut journal = Journal::open(disk.clone(), "Tern Harbor Terminal").unwrap().journal;
            journal.append(batch).unwrap();
        }
        let journal = Journal::open(disk, "Tern Harbor Terminal").unwrap().journal;
        prop_assert_eq!(rows(&journal), batches.concat());
    }
}
