//! Rows that are older than is wished are put aside, and what is so stays so, wherever it breaks off.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use journal::Journal;
use live::{Entry, Happened, Moment, Said};
use network::Position;
use serve::{Aside, Desk, Hosts, Panel, Upkeep};
use testkit::disk::Disk;

use crate::panels::{ask, first_module, folder, get, json_of, text, until};

const DAY_MS: u64 = 24 * 60 * 60 * 1_000;

/// Rows of the day before the last, and one of now: what they come to is that lever 4 is locked and lever 1 stands reverse.
fn evening_on(disk: &Disk) -> u64 {
    let now = u64::try_from(
        std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap().as_millis(),
    )
    .unwrap();
    let mut journal = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap().journal;
    let row = |at, what| Entry { at: Moment(at), what }.write();
    let machine = first_machine();
    let mut rows = vec![row(
        now - 5 * DAY_MS,
        Happened::Locked { lever: 4, by: Said::new("Ruth"), note: Said::new("wheel in the frog") },
    )];
    for number in 0..300 {
        let position = if number % 2 == 0 { Position::Normal } else { Position::Reverse };
        let at = now - 5 * DAY_MS + number;
        rows.push(row(at, Happened::Thrown { lever: 1, position, by: Said::default() }));
        rows.push(row(at, Happened::Confirmed { machine: machine.clone(), position }));
    }
    rows.push(row(
        now - 1_000,
        Happened::Thrown { lever: 2, position: Position::Reverse, by: Said::default() },
    ));
    journal.append(&rows).unwrap();
    rows.len() as u64
}

fn first_machine() -> String {
    let railroad = live::Railroad::new(first_module()).unwrap();
    let machine = railroad.lever(1).unwrap().machines[0];
    railroad.machine(machine).unwrap().name.clone()
}

fn panel_on(disk: &Disk) -> Panel {
    let opened = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap();
    let (desk, notes) = Desk::open(first_module(), opened).unwrap();
    assert_eq!(notes, Vec::<String>::new());
    Panel::new(&first_module(), desk, Hosts::of([127, 0, 0, 1].into()))
}

/// Rows by number that stand in the files beside the journal.
fn in_files(folder: &Path) -> BTreeMap<u64, String> {
    let mut rows = BTreeMap::new();
    for file in std::fs::read_dir(folder).unwrap() {
        let path: PathBuf = file.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "csv") {
            let table = std::fs::read_to_string(&path).unwrap();
            for row in table.split("\r\n").skip(1).filter(|row| !row.is_empty()) {
                let (number, rest) = row.split_once(',').unwrap();
                rows.insert(number.parse().unwrap(), rest.to_owned());
            }
        }
    }
    rows
}

fn seen(panel: &Panel) -> Vec<(u16, live::Sight, bool)> {
    let snapshot = panel.desk().snapshot();
    snapshot.levers.iter().map(|lever| (lever.number, lever.sight, lever.lock.is_some())).collect()
}

fn upkeep(folder: &Path) -> Upkeep {
    Upkeep { reopen: None, aside: Some(Aside { journal: folder.join("evening.journal"), days: 2 }) }
}

#[tokio::test]
async fn old_rows_go_into_a_table_beside_the_journal_and_the_log_says_from_when_on_it_is() {
    let folder = folder("aside");
    let disk = Disk::default();
    let rows = evening_on(&disk);
    let panel = panel_on(&disk);
    let before = seen(&panel);
    panel.desk().tend(upkeep(&folder));
    until(&panel, |snapshot| snapshot.rows_from.is_some()).await;
    assert_eq!(seen(&panel), before);
    let aside = in_files(&folder);
    assert_eq!((aside.keys().next(), aside.len() as u64), (Some(&1), rows - 1));
    let log = json_of(ask(&panel, get("/log")).await).await;
    assert_eq!(log["first_row"], rows);
    assert!(log["reaches_back_ms"].as_u64().unwrap() > 0);
    let page = text(ask(&panel, get("/")).await).await;
    assert!(page.contains("The journal reaches back to row"), "the page says it too");
    let table = ask(&panel, get("/log.csv")).await;
    let name = table.headers()["content-disposition"].to_str().unwrap().to_owned();
    assert!(name.contains("operating-log-from-20"), "{name}");
    let table = text(table).await;
    assert!(table.lines().nth(1).unwrap().starts_with(&format!("{rows},")), "{table}");
    panel.desk().close();
    let again = panel_on(&disk);
    assert_eq!(seen(&again), before);
    assert_eq!(again.desk().snapshot().rows_from.map(|(first, _)| first), Some(rows));
    again.desk().close();

    // Without its checkpoint what is so stands in the rows that are left.
    let mut journal = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap().journal;
    journal.keep_checkpoint(vec!["machine\tN\tN\t-\t-\t-\tno such machine".into()]).unwrap();
    drop(journal);
    assert_eq!(seen(&panel_on(&disk)), before);
}

#[tokio::test]
async fn nothing_is_lost_wherever_the_putting_aside_breaks_off() {
    for writes in 0.. {
        let folder = folder(&format!("aside-breaks-{writes}"));
        let disk = Disk::default();
        let rows = evening_on(&disk);
        let panel = panel_on(&disk);
        // The checkpoint of opening is on disk before writes are counted.
        let before = seen(&panel);
        disk.fail_after(writes);
        panel.desk().tend(upkeep(&folder));
        until(&panel, |snapshot| snapshot.rows_from.is_some() || snapshot.trouble.is_some()).await;
        let done = panel.desk().snapshot().trouble.is_none();
        panel.desk().close();
        disk.mend();
        let journal = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap().journal;
        let mut all = in_files(&folder);
        all.extend(
            journal
                .replay()
                .unwrap()
                .map(|record| record.unwrap())
                .map(|record| (record.sequence, record.row)),
        );
        drop(journal);
        for number in 1..=rows {
            assert!(all.contains_key(&number), "row {number} is gone after {writes} writes");
        }
        let again = panel_on(&disk);
        assert_eq!(seen(&again), before, "after {writes} writes");
        again.desk().close();
        if done {
            assert!(writes > 4, "{writes}");
            return;
        }
    }
}

#[tokio::test]
async fn where_there_is_no_room_for_the_table_all_rows_stay() {
    let disk = Disk::default();
    let rows = evening_on(&disk);
    let panel = panel_on(&disk);
    panel.desk().tend(upkeep(Path::new("/nowhere/at/all")));
    until(&panel, |snapshot| snapshot.aside_trouble.is_some()).await;
    let snapshot = panel.desk().snapshot();
    assert!(snapshot.aside_trouble.as_ref().unwrap().contains("cannot be put aside in /nowhere/at/all"));
    assert_eq!((snapshot.rows_from, snapshot.trouble.clone()), (None, None));
    assert!(snapshot.rows >= rows);
}
