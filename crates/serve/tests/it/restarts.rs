//! What is so after the panel was closed and opened again, and when its journal cannot be written.

use axum::http::StatusCode;
use journal::Journal;
use live::{Entry, Happened, Moment, Said, Sight};
use network::Position;
use testkit::disk::Disk;

use crate::panels::{
    ask, first_module, get, json_of, panel_on, text, throw, throw_with, thrown, until, until_at,
};

fn journal_on(disk: &Disk) -> journal::Opened {
    Journal::open(disk.clone(), "Tern Harbor, first module").unwrap()
}

#[tokio::test]
async fn what_had_been_reported_is_still_so_after_a_restart() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    thrown(&panel, 4, "reverse").await;
    until_at(&panel, 4, Position::Reverse).await;
    panel.desk().close();

    let (panel, notes) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(notes, Vec::<String>::new());
    let snapshot = panel.desk().snapshot();
    assert_eq!(snapshot.lever(4).unwrap().sight, Sight::At(Position::Reverse));
    assert_eq!(snapshot.lever(1).unwrap().sight, Sight::NotKnown);
}

#[tokio::test]
async fn what_was_on_its_way_is_not_shown_as_arrived_until_it_reports() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    thrown(&panel, 4, "reverse").await;
    panel.desk().close();

    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(panel.desk().snapshot().lever(4).unwrap().sight, Sight::Moving(Position::Reverse));
    until_at(&panel, 4, Position::Reverse).await;
}

#[tokio::test]
async fn routes_locks_and_a_stop_are_still_so_after_a_restart() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    for (path, body) in [
        ("/routes/set", r#"{"route":"main 4 – west approach","by":"Ruth"}"#),
        ("/levers/7/lock", r#"{"note":"wheel in the frog"}"#),
        ("/stop", "{}"),
    ] {
        assert_eq!(ask(&panel, throw_with(path, body)).await.status(), StatusCode::ACCEPTED, "{path}");
    }
    panel.desk().close();

    let (panel, notes) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(notes, Vec::<String>::new());
    until(&panel, |snapshot| snapshot.routes[0].says.starts_with("set:")).await;
    let snapshot = panel.desk().snapshot();
    assert_eq!(
        (snapshot.routes[0].id.as_str(), snapshot.routes[0].by.as_str()),
        ("main 4 – west approach", "Ruth")
    );
    assert_eq!(snapshot.lever(7).unwrap().lock.as_ref().unwrap().note.as_str(), "wheel in the frog");
    assert!(snapshot.stopped.is_some());
    let refused = json_of(ask(&panel, throw(8, "normal")).await).await;
    assert_eq!(refused["refused"]["code"], "stopped");
}

#[tokio::test]
async fn with_a_full_disk_a_stop_is_taken_all_the_same() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    disk.fail_after(0);
    let refused = json_of(ask(&panel, throw_with("/levers/7/lock", r#"{"note":"x"}"#)).await).await;
    assert_eq!(refused["refused"]["code"], "journal-stopped");
    assert_eq!(ask(&panel, throw_with("/stop", "{}")).await.status(), StatusCode::ACCEPTED);
    assert!(panel.desk().snapshot().stopped.is_some());
}

#[tokio::test]
async fn rows_of_another_layout_are_skipped_and_said() {
    let disk = Disk::default();
    let mut journal = Journal::open(disk.clone(), "Another Railroad").unwrap().journal;
    let entry = |lever| Entry {
        at: Moment(1),
        what: Happened::Thrown { lever, position: Position::Reverse, by: Said::default() },
    };
    let rows = [entry(77).write(), "from a later version".into(), entry(2).write()];
    journal.append(&rows).unwrap();
    drop(journal);
    let (panel, notes) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(
        notes,
        [
            "the journal was begun for the layout “Another Railroad”",
            "2 rows of the journal do not fit this layout and were skipped (row 1: there is no lever 77)",
        ]
    );
    assert_eq!(panel.desk().snapshot().lever(2).unwrap().commanded, Some(Position::Reverse));
    panel.desk().close();
    assert!(journal_on(&disk).journal.last_sequence() >= 3, "skipped rows are kept");
}

#[tokio::test]
async fn with_a_full_disk_no_lever_is_thrown_but_the_panel_goes_on_showing() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    thrown(&panel, 1, "reverse").await;
    disk.fail_after(0);
    until_at(&panel, 1, Position::Reverse).await;
    let response = ask(&panel, throw(2, "reverse")).await;
    assert_eq!(response.status(), StatusCode::SERVICE_UNAVAILABLE);
    let refused = json_of(response).await["refused"].clone();
    assert_eq!(refused["code"], "journal-stopped");
    until(&panel, |snapshot| snapshot.trouble.is_some()).await;
    let snapshot = panel.desk().snapshot();
    assert_eq!(snapshot.lever(2).unwrap().sight, Sight::NotKnown, "it was refused, so it has not moved");
    let page = text(ask(&panel, get("/")).await).await;
    assert!(page.contains(refused["message"].as_str().unwrap()), "the page says what is wrong");

    disk.mend();
    panel.desk().close();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    until_at(&panel, 1, Position::Reverse).await;
    assert_eq!(panel.desk().snapshot().lever(2).unwrap().commanded, None);
}

#[tokio::test]
async fn when_there_is_room_again_the_panel_goes_on_by_itself() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    let again = disk.clone();
    let reopen = Box::new(move || Journal::open(again.clone(), "Tern Harbor, first module"));
    panel.desk().tend(serve::Upkeep { reopen: Some(reopen), aside: None });
    thrown(&panel, 1, "reverse").await;
    disk.fail_after(0);
    assert_eq!(ask(&panel, throw(2, "reverse")).await.status(), StatusCode::SERVICE_UNAVAILABLE);
    until(&panel, |snapshot| snapshot.trouble.is_some()).await;
    // What the layout reports meanwhile is shown, though it cannot be written.
    until_at(&panel, 1, Position::Reverse).await;
    assert_eq!(ask(&panel, get("/log.csv")).await.status(), StatusCode::INTERNAL_SERVER_ERROR);
    disk.mend();
    until(&panel, |snapshot| snapshot.trouble.is_none()).await;
    thrown(&panel, 2, "reverse").await;
    until_at(&panel, 2, Position::Reverse).await;
    panel.desk().close();

    let (panel, notes) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(notes, Vec::<String>::new());
    for lever in [1, 2] {
        assert_eq!(panel.desk().snapshot().lever(lever).unwrap().sight, Sight::At(Position::Reverse));
    }
}

#[tokio::test]
async fn a_panel_that_was_closed_opens_from_its_checkpoint_and_shows_the_same_log() {
    let disk = Disk::default();
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    thrown(&panel, 4, "reverse").await;
    until_at(&panel, 4, Position::Reverse).await;
    let log = json_of(ask(&panel, get("/log")).await).await;
    panel.desk().close();

    let journal = journal_on(&disk).journal;
    assert_eq!(journal.checkpoint().map(|kept| kept.sequence), Some(journal.last_sequence()));
    drop(journal);
    let (panel, notes) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(notes, Vec::<String>::new());
    assert_eq!(panel.desk().snapshot().lever(4).unwrap().sight, Sight::At(Position::Reverse));
    assert_eq!(json_of(ask(&panel, get("/log")).await).await, log);
    panel.desk().close();

    // What does not fit the railroad as it is now is left aside, and every row gone through.
    let mut journal = journal_on(&disk).journal;
    journal.keep_checkpoint(vec!["machine\tN\tN\t-\t-\t-\tno such machine".into()]).unwrap();
    drop(journal);
    let (panel, _) = panel_on(&first_module(), journal_on(&disk));
    assert_eq!(panel.desk().snapshot().lever(4).unwrap().sight, Sight::At(Position::Reverse));
}
