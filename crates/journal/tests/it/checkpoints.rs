//! Checkpoints: what they save on opening, and that nothing hangs on them.

use journal::{Checkpoint, Journal};
use testkit::disk::Disk;

fn rows(from: u64, to: u64) -> Vec<String> {
    (from..=to).map(|number| format!("row {number}")).collect()
}

fn on(disk: &Disk) -> Journal {
    let opened = Journal::open(disk.clone(), "Tern Harbor").unwrap();
    assert_eq!(opened.mended, None);
    opened.journal
}

#[test]
fn a_checkpoint_is_found_again_and_the_rows_after_it_are_replayed() {
    let disk = Disk::default();
    let mut journal = on(&disk);
    assert_eq!(journal.checkpoint(), None);
    journal.append(&rows(1, 5)).unwrap();
    journal.keep_checkpoint(vec!["a lot".into(), String::new()]).unwrap();
    journal.append(&rows(6, 7)).unwrap();
    drop(journal);

    let mut journal = on(&disk);
    let kept = journal.checkpoint().unwrap().clone();
    assert_eq!(kept, Checkpoint { sequence: 5, rows: vec!["a lot".into(), String::new()] });
    let after: Vec<String> =
        journal.replay_after(kept.sequence).unwrap().map(|record| record.unwrap().row).collect();
    assert_eq!(after, rows(6, 7));
    assert_eq!(journal.replay().unwrap().count(), 7, "a checkpoint takes no record away");

    journal.keep_checkpoint(vec!["less".into()]).unwrap();
    drop(journal);
    assert_eq!(on(&disk).checkpoint(), Some(&Checkpoint { sequence: 7, rows: vec!["less".into()] }));
}

#[test]
fn when_a_checkpoint_cannot_be_kept_the_one_before_is() {
    // Every write on the way to it fails once.
    for writes in 0.. {
        let disk = Disk::default();
        let mut journal = on(&disk);
        journal.append(&rows(1, 3)).unwrap();
        journal.keep_checkpoint(vec!["first".into()]).unwrap();
        journal.append(&rows(4, 6)).unwrap();
        disk.fail_after(writes);
        let kept = journal.keep_checkpoint(vec!["second".into()]);
        drop(journal);
        disk.mend();
        let journal = on(&disk);
        assert_eq!(journal.replay().unwrap().count(), 6);
        let found = journal.checkpoint().unwrap();
        let expected: &[(u64, &str)] =
            if kept.is_ok() { &[(6, "second")] } else { &[(3, "first"), (6, "second")] };
        assert!(expected.contains(&(found.sequence, found.rows[0].as_str())), "{found:?}");
        if kept.is_ok() {
            return;
        }
    }
}
