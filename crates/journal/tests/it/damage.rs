//! Files that were changed while they lay there.

use std::fs;
use std::path::PathBuf;

use journal::{Journal, Mended, OpenError};
use redb::{Database, ReadableTable, TableDefinition};

use crate::memory::rows;

const RECORDS: TableDefinition<u64, &[u8]> = TableDefinition::new("records");

/// An empty folder of this test's own.
pub(crate) fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("journal").join(name);
    if folder.exists() {
        fs::remove_dir_all(&folder).unwrap();
    }
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn written() -> Vec<String> {
    (1..=40).map(|row| format!("row {row}")).collect()
}

/// A closed journal of forty rows.
fn forty_rows(name: &str) -> PathBuf {
    let path = folder(name).join("evening.journal");
    let mut journal = Journal::open_file(&path, "Tern Harbor Terminal").unwrap().journal;
    for row in written() {
        journal.append(&[row]).unwrap();
    }
    path
}

#[test]
fn a_tail_that_fails_its_check_is_cut_and_said() {
    let path = forty_rows("tail");
    let database = Database::open(&path).unwrap();
    let transaction = database.begin_write().unwrap();
    transaction.open_table(RECORDS).unwrap().insert(38, b"scribble".as_slice()).unwrap();
    transaction.commit().unwrap();
    drop(database);

    let opened = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
    assert_eq!(opened.mended, Some(Mended::TailCut { kept: 37, cut: 3 }));
    assert_eq!(
        opened.mended.unwrap().to_string(),
        "the journal was damaged at its end: its first 37 records are good, the 3 after them were cut"
    );
    assert_eq!(rows(&opened.journal), written()[..37]);
    drop(opened.journal);
    assert_eq!(Journal::open_file(&path, "Tern Harbor Terminal").unwrap().mended, None, "it is said once");
}

#[test]
fn a_record_under_another_number_is_not_taken() {
    let path = forty_rows("moved");
    let database = Database::open(&path).unwrap();
    let transaction = database.begin_write().unwrap();
    {
        let mut records = transaction.open_table(RECORDS).unwrap();
        let seventh = records.get(7).unwrap().unwrap().value().to_vec();
        records.insert(39, seventh.as_slice()).unwrap();
    }
    transaction.commit().unwrap();
    drop(database);
    let opened = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
    assert_eq!(opened.mended, Some(Mended::TailCut { kept: 38, cut: 2 }));
}

#[test]
fn a_file_changed_at_any_place_still_opens_with_rows_that_were_written() {
    let whole = fs::read(forty_rows("any-place")).unwrap();
    let folder = folder("any-place-changed");
    let (mut same, mut mended, mut complete) = (0, 0, 0);
    // Every 509th byte: a prime, so that the places fall differently in every page of the file.
    for (number, place) in (0..whole.len()).step_by(509).enumerate() {
        let path = folder.join(format!("{number}.journal"));
        let mut bytes = whole.clone();
        bytes[place] ^= 0xFF;
        fs::write(&path, &bytes).unwrap();
        match Journal::open_file(&path, "Tern Harbor Terminal") {
            Ok(opened) => {
                let found = rows(&opened.journal);
                assert!(written().starts_with(&found), "byte {place}: {found:?}");
                complete += usize::from(found == written());
                if opened.mended.is_some() {
                    mended += 1;
                } else {
                    assert_eq!(found, written(), "byte {place}: rows are missing and nothing is said");
                    same += 1;
                }
            }
            Err(error) => panic!("byte {place}: {error}"),
        }
        fs::remove_file(&path).unwrap();
    }
    assert!(
        same > 0 && mended > 0 && complete > mended,
        "{same} unharmed, {mended} mended, {complete} complete"
    );
}

#[test]
fn a_file_cut_short_at_any_place_opens_or_says_why_not() {
    let whole = fs::read(forty_rows("cut-short")).unwrap();
    let folder = folder("cut-short-changed");
    for (number, length) in (0..whole.len()).step_by(4099).enumerate() {
        let path = folder.join(format!("{number}.journal"));
        fs::write(&path, &whole[..length]).unwrap();
        let opened = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
        let found = rows(&opened.journal);
        assert!(written().starts_with(&found), "{length} bytes: {found:?}");
        assert!(length == 0 || opened.mended.is_some(), "{length} bytes: nothing is said");
        fs::remove_file(&path).unwrap();
    }
}

#[test]
fn the_damaged_file_is_kept_as_it_was() {
    let path = forty_rows("kept");
    let mut bytes = fs::read(&path).unwrap();
    bytes.truncate(bytes.len() / 2);
    fs::write(&path, &bytes).unwrap();
    let opened = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
    let Some(Mended::CarriedOver { aside, .. }) = opened.mended else { panic!("{:?}", opened.mended) };
    assert_eq!(fs::read(aside).unwrap(), bytes);
}

#[test]
fn a_file_that_is_something_else_is_left_alone() {
    let path = folder("else").join("layout.toml");
    let text = "[layout]\nname = \"Tern Harbor Terminal\"\n".repeat(300);
    fs::write(&path, &text).unwrap();
    let error = Journal::open_file(&path, "Tern Harbor Terminal").unwrap_err();
    assert!(matches!(error, OpenError::NotAJournal), "{error:?}");
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
}

#[test]
fn a_journal_that_is_in_use_is_not_opened_again() {
    let path = forty_rows("in-use");
    let open = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
    let error = Journal::open_file(&path, "Tern Harbor Terminal").unwrap_err();
    assert!(matches!(error, OpenError::InUse), "{error:?}");
    drop(open);
}

#[test]
fn a_folder_is_no_place_for_a_journal() {
    let error = Journal::open_file(&folder("folder"), "Tern Harbor Terminal").unwrap_err();
    assert!(matches!(error, OpenError::Storage(_)), "{error:?}");
}

#[test]
fn a_crash_while_a_journal_is_begun_leaves_nothing_in_the_way() {
    let path = folder("begun").join("evening.journal");
    let half = path.with_extension("journal.new");
    fs::write(&half, [0; 5000]).unwrap();
    let mut opened = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
    opened.journal.append(&["first".into()]).unwrap();
    assert_eq!((rows(&opened.journal).len(), opened.mended, half.exists()), (1, None, false));
}

#[test]
fn a_crash_while_a_damaged_journal_is_mended_loses_nothing() {
    // The damaged file has its new name, and the mended one is complete beside its place.
    let path = forty_rows("half-mended");
    fs::rename(&path, path.with_extension("journal.new")).unwrap();
    let opened = Journal::open_file(&path, "Tern Harbor Terminal").unwrap();
    assert_eq!(rows(&opened.journal), written());
}
