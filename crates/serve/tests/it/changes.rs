//! The layout's file is changed while the panel is served.

use std::sync::{Arc, Mutex};

use axum::body::Body;
use axum::http::{Request, StatusCode};
use journal::Journal;
use live::Sight;
use network::Position;
use serde_json::{Value, json};
use serve::{Desk, Hosts, Panel, Reread};
use testkit::disk::Disk;
use tokio_stream::wrappers::ReceiverStream;

use crate::panels::{
    ask, first_module, get, json_of, panel, text, throw, throw_with, thrown, until, until_at,
};

const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");

/// The same levers, numbered from the other end of the yard: lever 1 becomes lever 5.
fn renumbered() -> String {
    let main = "[line.main]\nfrom = \"west\"\nto = \"east\"\n";
    let ladder = "[line.\"yard ladder\"]\nfrom = \"yard lead\"\nto = \"yard 5\"\n";
    FIRST_MODULE.replace(main, "").replace(ladder, &format!("{ladder}\n{main}"))
}

/// A panel, and the file that it is served from: a text, or what is wrong with it.
fn served(disk: &Disk) -> (Panel, Arc<Mutex<Result<String, String>>>) {
    let opened = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap();
    let (desk, notes) = Desk::open(first_module(), opened).unwrap();
    assert_eq!(notes, Vec::<String>::new());
    let file = Arc::new(Mutex::new(Ok(FIRST_MODULE.to_owned())));
    let read = Arc::clone(&file);
    let reread =
        Reread::by(move || read.lock().unwrap().as_deref().map(testkit::plan_of).map_err(Clone::clone));
    let panel = Panel::new(&first_module(), desk, Hosts::of([127, 0, 0, 1].into()));
    (panel.rereading(Some(reread)), file)
}

async fn look_again(panel: &Panel) -> (StatusCode, Value) {
    let response = ask(panel, throw_with("/layout/read", r#"{"by":"Ruth"}"#)).await;
    (response.status(), json_of(response).await)
}

fn from_page(mut request: Request<Body>, mark: &str) -> Request<Body> {
    request.headers_mut().insert("if-match", format!("\"{mark}\"").parse().unwrap());
    request
}

async fn mark(panel: &Panel) -> String {
    json_of(ask(panel, get("/levers")).await).await["sheet"].as_str().unwrap().to_owned()
}

#[tokio::test]
async fn what_stays_keeps_its_state_and_a_restart_ends_in_the_same() {
    let disk = Disk::default();
    let (panel, file) = served(&disk);
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    ask(&panel, throw_with("/levers/1/lock", r#"{"note":"wheel in the frog"}"#)).await;
    *file.lock().unwrap() = Ok(renumbered());
    let (status, told) = look_again(&panel).await;
    assert_eq!(status, StatusCode::ACCEPTED, "{told}");
    let says = told["changed"].as_array().unwrap();
    assert!(says.contains(&json!("what was lever 1 is lever 5 now (team)")), "{told}");
    assert_eq!(told["released"], json!([]));
    let snapshot = panel.desk().snapshot();
    let (team, other) = (snapshot.lever(5).unwrap(), snapshot.lever(1).unwrap());
    assert_eq!((team.id.as_str(), team.sight), ("team", Sight::At(Position::Reverse)));
    assert_eq!(team.lock.as_ref().unwrap().note.as_str(), "wheel in the frog");
    assert_eq!((other.id.as_str(), other.sight, &other.lock), ("y1", Sight::NotKnown, &None));
    let log = json_of(ask(&panel, get("/log")).await).await;
    let newest = log["rows"][0]["says"].as_str().unwrap().to_owned();
    assert!(
        newest.starts_with("The layout was read anew by Ruth: ") && newest.contains("lever 5 now"),
        "{log}"
    );
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    panel.desk().close();

    let opened = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap();
    let (desk, notes) = Desk::open(testkit::plan_of(&renumbered()), opened).unwrap();
    assert_eq!(notes, Vec::<String>::new());
    let again = desk.snapshot();
    for (number, position) in
        [(5, Sight::At(Position::Reverse)), (1, Sight::At(Position::Reverse)), (2, Sight::NotKnown)]
    {
        assert_eq!(again.lever(number).unwrap().sight, position, "{number}");
    }
    assert!(again.lever(5).unwrap().lock.is_some() && again.lever(1).unwrap().lock.is_none());
    desk.close();

    // Without its checkpoint it goes through every row, those of the railroad before too.
    let mut journal = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap().journal;
    journal.keep_checkpoint(vec!["machine\tN\tN\t-\t-\t-\tno such machine".into()]).unwrap();
    drop(journal);
    let opened = Journal::open(disk, "Tern Harbor, first module").unwrap();
    let (desk, notes) = Desk::open(testkit::plan_of(&renumbered()), opened).unwrap();
    assert_eq!(notes, Vec::<String>::new());
    assert_eq!(
        desk.snapshot().levers.iter().map(|lever| lever.sight).collect::<Vec<_>>(),
        again.levers.iter().map(|lever| lever.sight).collect::<Vec<_>>()
    );
    assert!(desk.snapshot().lever(5).unwrap().lock.is_some());
}

#[tokio::test]
async fn a_page_of_the_layout_before_throws_nothing_but_may_stop() {
    let disk = Disk::default();
    let (panel, file) = served(&disk);
    let before = mark(&panel).await;
    *file.lock().unwrap() = Ok(renumbered());
    assert_eq!(look_again(&panel).await.0, StatusCode::ACCEPTED);
    let now = mark(&panel).await;
    assert_ne!(before, now, "every page loads itself again");
    let page = text(ask(&panel, get("/")).await).await;
    assert!(page.contains(&format!("data-sheet=\"{now}\"")), "and is the new one then");
    let change = panel.desk().snapshot().change;
    let response = ask(&panel, from_page(throw(1, "reverse"), &before)).await;
    assert_eq!(response.status(), StatusCode::PRECONDITION_FAILED);
    assert_eq!(json_of(response).await["refused"]["code"], "layout-changed");
    assert_eq!(panel.desk().snapshot().change, change);
    assert_eq!(
        ask(&panel, from_page(throw_with("/stop", "{}"), &before)).await.status(),
        StatusCode::ACCEPTED
    );
    assert_eq!(
        ask(&panel, from_page(throw_with("/resume", "{}"), &now)).await.status(),
        StatusCode::ACCEPTED
    );
    assert_eq!(ask(&panel, from_page(throw(1, "reverse"), &now)).await.status(), StatusCode::ACCEPTED);
}

/// The door was passed when the layout was still the one before; the rest of the request comes when it is not.
#[tokio::test]
async fn a_throw_that_arrives_slowly_over_a_change_of_the_layout_reaches_no_other_lever() {
    let bodies = [
        ("/levers/1/throw", r#"{"position":"reverse"}"#),
        ("/levers/1/lock", r#"{"note":"wheel in the frog"}"#),
        ("/levers/1/unlock", "{}"),
        ("/routes/set", r#"{"route":"west approach – yard 1"}"#),
    ];
    for (path, body) in bodies {
        let (panel, file) = served(&Disk::default());
        let (send, rest) = tokio::sync::mpsc::channel(1);
        let mut slow = from_page(throw_with(path, ""), &mark(&panel).await);
        *slow.body_mut() = Body::from_stream(ReceiverStream::new(rest));
        let mut asked = Box::pin(ask(&panel, slow));
        tokio::select! {
            biased;
            _ = &mut asked => panic!("{path} is answered before it is asked"),
            () = std::future::ready(()) => {}
        }
        *file.lock().unwrap() = Ok(renumbered());
        assert_eq!(look_again(&panel).await.0, StatusCode::ACCEPTED);
        send.send(Ok::<_, std::convert::Infallible>(body)).await.unwrap();
        drop(send);
        let response = asked.await;
        assert_eq!(response.status(), StatusCode::PRECONDITION_FAILED, "{path}");
        assert_eq!(json_of(response).await["refused"]["code"], "layout-changed");
    }
}

#[tokio::test]
async fn a_fault_to_practise_on_stays_in_its_machine() {
    let (panel, file) = served(&Disk::default());
    ask(&panel, throw_with("/practice", r#"{"machine":"y1","fault":"stuck"}"#)).await;
    *file.lock().unwrap() = Ok(renumbered());
    assert_eq!(look_again(&panel).await.0, StatusCode::ACCEPTED);
    let told = json_of(ask(&panel, get("/practice")).await).await;
    let spoilt = told["machines"].as_array().unwrap().iter().filter(|told| told["fault"] != "sound");
    // What was lever 5 is lever 1 now.
    assert_eq!(
        spoilt.map(|told| (&told["machine"], &told["lever"])).collect::<Vec<_>>(),
        [(&json!("y1"), &json!(1))]
    );
}

#[tokio::test]
async fn a_route_that_is_gone_is_released_and_one_that_stays_is_held() {
    let disk = Disk::default();
    let (panel, file) = served(&disk);
    let set = |route: &str| throw_with("/routes/set", json!({ "route": route }).to_string());
    assert_eq!(ask(&panel, set("team track – west approach")).await.status(), StatusCode::ACCEPTED);
    *file.lock().unwrap() = Ok(FIRST_MODULE.replace("team track", "coal track"));
    let (status, told) = look_again(&panel).await;
    assert_eq!((status, &told["released"]), (StatusCode::ACCEPTED, &json!(["team track – west approach"])));
    assert!(panel.desk().snapshot().routes.is_empty());
    let log = text(ask(&panel, get("/log")).await).await;
    assert!(log.contains("Route team track – west approach released by a change of the layout"), "{log}");
    assert_eq!(ask(&panel, set("main 4 – west approach")).await.status(), StatusCode::ACCEPTED);
    *file.lock().unwrap() = Ok(FIRST_MODULE.to_owned());
    assert_eq!(look_again(&panel).await.1["released"], json!([]));
    until(&panel, |snapshot| {
        snapshot.routes[0].says.starts_with("set:") || snapshot.routes[0].says.starts_with("being set")
    })
    .await;
}

#[tokio::test]
async fn a_file_with_errors_changes_nothing_and_is_said_in_words() {
    let disk = Disk::default();
    let (panel, file) = served(&disk);
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    let (before, rows) = (mark(&panel).await, panel.desk().snapshot().rows);
    *file.lock().unwrap() = Err("error[track-one-end]: `main` has one end named".to_owned());
    let (status, told) = look_again(&panel).await;
    assert_eq!(
        (status, &told["refused"]["code"]),
        (StatusCode::UNPROCESSABLE_ENTITY, &json!("layout-broken"))
    );
    assert!(told["refused"]["message"].as_str().unwrap().ends_with("`main` has one end named"), "{told}");
    assert_eq!((mark(&panel).await, panel.desk().snapshot().rows), (before, rows));
    thrown(&panel, 2, "reverse").await;
}

#[tokio::test]
async fn with_a_full_disk_the_layout_before_stays() {
    let disk = Disk::default();
    let (panel, file) = served(&disk);
    *file.lock().unwrap() = Ok(renumbered());
    disk.fail_after(0);
    let (status, told) = look_again(&panel).await;
    assert_eq!(
        (status, &told["refused"]["code"]),
        (StatusCode::SERVICE_UNAVAILABLE, &json!("journal-stopped"))
    );
    assert_eq!(panel.desk().snapshot().lever(1).unwrap().id, "team");
}

#[tokio::test]
async fn a_panel_that_knows_no_file_says_so() {
    let (status, told) = look_again(&panel()).await;
    assert_eq!((status, &told["refused"]["code"]), (StatusCode::CONFLICT, &json!("layout-fixed")));
}
