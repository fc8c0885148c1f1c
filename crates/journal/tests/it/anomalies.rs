//! The nth write fails, for n = 0, 1, 2, … until the whole operation passes. After each failure the journal is opened
//! again: everything that was acknowledged must be there, in order, and at most the unacknowledged batch besides.

use journal::Journal;

use crate::memory::rows;
use testkit::disk::Disk;

/// What is appended, batch by batch.
fn batches() -> Vec<Vec<String>> {
    (0..6).map(|batch| (0..=batch % 3).map(|row| format!("batch {batch} row {row}")).collect()).collect()
}

/// How far one operation came.
struct Outcome {
    /// Whether the journal could be begun.
    begun: bool,
    /// What was acknowledged.
    acknowledged: Vec<String>,
    /// Whether everything was.
    passed: bool,
}

/// Begins a journal and appends every batch, until something fails.
fn operate(disk: &Disk) -> Outcome {
    let mut outcome = Outcome { begun: false, acknowledged: Vec::new(), passed: false };
    let Ok(mut opened) = Journal::open(disk.clone(), "Tern Harbor Terminal") else { return outcome };
    outcome.begun = true;
    for batch in batches() {
        if opened.journal.append(&batch).is_err() {
            return outcome;
        }
        outcome.acknowledged.extend(batch);
    }
    outcome.passed = true;
    outcome
}

#[test]
fn whichever_write_fails_nothing_acknowledged_is_lost() {
    let everything: Vec<String> = batches().concat();
    let (mut never_begun, mut failed) = (0, 0);
    for writes in 0.. {
        let disk = Disk::new();
        disk.fail_after(writes);
        let outcome = operate(&disk);
        disk.mend();
        match Journal::open(disk, "Tern Harbor Terminal") {
            Ok(opened) => {
                let (found, acknowledged) = (rows(&opened.journal), outcome.acknowledged);
                assert_eq!(opened.mended, None, "after {writes} writes: a failed write is no damage");
                assert!(
                    found.starts_with(&acknowledged),
                    "after {writes} writes: {found:?}, not {acknowledged:?}"
                );
                assert!(
                    everything.starts_with(&found),
                    "after {writes} writes: {found:?} was never appended"
                );
                assert!(
                    found.len() <= acknowledged.len() + 3,
                    "after {writes} writes: two batches unacknowledged"
                );
            }
            // Half a journal can only be left where none was begun; a file gets its name only after that.
            Err(error) => {
                assert!(!outcome.begun, "after {writes} writes: {error}");
                never_begun += 1;
            }
        }
        if outcome.passed {
            break;
        }
        failed += 1;
    }
    assert!(
        failed > 20 && never_begun < 10,
        "{failed} writes made to fail, {never_begun} left half a journal"
    );
}

#[test]
fn after_a_failed_append_the_journal_takes_no_more_until_it_is_opened_again() {
    let disk = Disk::new();
    let mut journal = Journal::open(disk.clone(), "Tern Harbor Terminal").unwrap().journal;
    journal.append(&["first".into()]).unwrap();
    disk.fail_after(0);
    assert_eq!(journal.append(&["second".into()]).unwrap_err().to_string(), "the journal cannot be written");
    disk.mend();
    assert!(
        journal.append(&["third".into()]).is_err(),
        "what lies on disk is not known, so nothing is added to it"
    );
    drop(journal);
    let mut journal = Journal::open(disk, "Tern Harbor Terminal").unwrap().journal;
    journal.append(&["fourth".into()]).unwrap();
    assert_eq!(rows(&journal), ["first", "fourth"]);
}
