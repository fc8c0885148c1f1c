//! Records that are put aside: gone from the front, and never more than that.

use journal::{Journal, Mended};
use testkit::disk::Disk;

use crate::damage::folder;

fn rows(from: u64, to: u64) -> Vec<String> {
    (from..=to).map(|number| format!("row {number}")).collect()
}

fn on(disk: &Disk) -> Journal {
    let opened = Journal::open(disk.clone(), "Tern Harbor").unwrap();
    assert_eq!(opened.mended, None);
    opened.journal
}

fn all(journal: &Journal) -> Vec<(u64, String)> {
    let records = journal.replay().unwrap().map(Result::unwrap);
    records.map(|record| (record.sequence, record.row)).collect()
}

fn numbered(from: u64, to: u64) -> Vec<(u64, String)> {
    (from..=to).zip(rows(from, to)).collect()
}

#[test]
fn what_is_put_aside_is_gone_from_the_front_and_numbers_go_on() {
    let disk = Disk::default();
    let mut journal = on(&disk);
    journal.append(&rows(1, 9)).unwrap();
    journal.keep_checkpoint(vec!["a lot".into()]).unwrap();
    journal.append(&rows(10, 11)).unwrap();
    journal.put_aside(6).unwrap();
    assert_eq!((journal.first_sequence(), journal.last_sequence()), (7, 11));
    drop(journal);
    let mut journal = on(&disk);
    assert_eq!((journal.first_sequence(), journal.last_sequence()), (7, 11));
    assert_eq!(all(&journal), numbered(7, 11));
    journal.append(&rows(12, 12)).unwrap();
    journal.shrink().unwrap();
    assert_eq!(all(&journal), numbered(7, 12));
    drop(journal);
    assert_eq!(all(&on(&disk)), numbered(7, 12));
}

#[test]
fn what_the_checkpoint_does_not_know_is_never_put_aside() {
    let disk = Disk::default();
    let mut journal = on(&disk);
    journal.append(&rows(1, 5)).unwrap();
    journal.put_aside(5).unwrap();
    assert_eq!(journal.first_sequence(), 1, "there is no checkpoint");
    journal.keep_checkpoint(vec!["a lot".into()]).unwrap();
    journal.append(&rows(6, 8)).unwrap();
    journal.put_aside(u64::MAX).unwrap();
    assert_eq!(
        all(&journal),
        numbered(5, 8),
        "the record that it was made at stays, so that it can be trusted"
    );
    drop(journal);
    assert_eq!(on(&disk).checkpoint().unwrap().sequence, 5);
}

#[test]
fn when_the_disk_is_full_all_of_it_goes_or_none() {
    for writes in 0.. {
        let disk = Disk::default();
        let mut journal = on(&disk);
        journal.append(&rows(1, 200)).unwrap();
        journal.keep_checkpoint(vec!["a lot".into()]).unwrap();
        disk.fail_after(writes);
        let done = journal.put_aside(150);
        drop(journal);
        disk.mend();
        let journal = on(&disk);
        let first = journal.first_sequence();
        assert!(first == 151 || (first == 1 && done.is_err()), "{first}");
        assert_eq!(all(&journal), numbered(first, 200));
        assert_eq!(journal.checkpoint().unwrap().sequence, 200);
        if done.is_ok() {
            assert!(writes > 1);
            return;
        }
    }
}

#[test]
fn records_after_those_put_aside_are_found_in_a_file_that_cannot_be_opened() {
    let folder = folder("put-aside-damaged");
    let path = folder.join("evening.journal");
    let mut journal = Journal::open_file(&path, "Tern Harbor").unwrap().journal;
    journal.append(&rows(1, 50)).unwrap();
    journal.keep_checkpoint(vec!["a lot".into()]).unwrap();
    journal.put_aside(30).unwrap();
    journal.append(&rows(51, 60)).unwrap();
    drop(journal);
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[..64].fill(0xA5);
    // What every file of the database begins with: without it nobody would take it for one.
    bytes[..4].copy_from_slice(b"redb");
    std::fs::write(&path, bytes).unwrap();
    let opened = Journal::open_file(&path, "Tern Harbor").unwrap();
    assert!(matches!(opened.mended, Some(Mended::CarriedOver { kept: 30, .. })), "{:?}", opened.mended);
    assert_eq!(all(&opened.journal), numbered(31, 60));
    drop(opened);
    assert_eq!(all(&Journal::open_file(&path, "Tern Harbor").unwrap().journal), numbered(31, 60));
}
