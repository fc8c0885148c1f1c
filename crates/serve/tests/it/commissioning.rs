//! Commissioning by requests: what is judged, written down, told, and still so after a restart; and fault-finding by addresses.

use std::process::Stdio;

use axum::body::Body;
use axum::http::{Request, StatusCode};
use description::record::Verdict;
use journal::Journal;
use live::{Entry, Happened};
use serde_json::{Value, json};
use serve::Panel;
use testkit::disk::Disk;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::process::Command;
use tokio::time::timeout;

use crate::browser::{REMEDY, scripts};
use crate::panels::{PATIENCE, ask, first_module, folder, get, json_of, panel, panel_on, text, throw_with};
use crate::sockets::Server;

fn find(step: &str, answer: &str, more: &Value) -> Request<Body> {
    let mut body = json!({ "step": step, "answer": answer, "who": "Ruth", "when_ms": 1_777_662_240_000_u64 });
    body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    throw_with("/commissioning/find", body.to_string())
}

async fn told(panel: &Panel) -> Value {
    json_of(ask(panel, get("/commissioning.json")).await).await
}

#[tokio::test]
async fn a_reading_out_of_band_stops_and_one_within_it_goes_on() {
    let panel = panel();
    let at = |told: &Value| told["step"].as_str().unwrap_or_default().to_owned();
    assert_eq!(at(&told(&panel).await), "the supply of the rails");
    let low = find("the supply of the rails", "reading", &json!({ "reading": "9,8", "label": "16 V" }));
    let answer = ask(&panel, low).await;
    assert_eq!(answer.status(), StatusCode::ACCEPTED);
    let now = json_of(answer).await;
    assert_eq!(at(&now), "the supply of the rails", "what is wrong stays in sight");
    assert_eq!(
        now["found"][0],
        json!({
            "step": "the supply of the rails", "verdict": "bad", "who": "Ruth", "when": "2026-05-01T19:04:00Z",
            "reading": "9.8 V", "saw": "volts of the supply of the rails low", "note": "label 16 V",
        })
    );
    let page = text(ask(&panel, get("/commissioning/now")).await).await;
    assert!(page.contains("the supply of the rails gives too little"), "{page}");

    let good = find("the supply of the rails", "reading", &json!({ "reading": "15.9", "label": "16" }));
    let now = json_of(ask(&panel, good).await).await;
    assert_eq!(at(&now), "decoder D1");
    assert_eq!(now["found"].as_array().unwrap().len(), 1, "the last word on a step is the one that counts");
}

#[tokio::test]
async fn what_cannot_be_taken_is_refused_in_words_and_leaves_no_trace() {
    let panel = panel();
    let lever = |answer: &str, more: &Value| find("lever 4", answer, more);
    for (request, status, code) in [
        (find("lever 99", "good", &json!({})), StatusCode::NOT_FOUND, "step-unknown"),
        (lever("skip", &json!({})), StatusCode::UNPROCESSABLE_ENTITY, "answer-wrong"),
        (lever("good", &json!({ "who": " " })), StatusCode::UNPROCESSABLE_ENTITY, "finder-missing"),
        (lever("reading", &json!({ "reading": "9 V" })), StatusCode::UNPROCESSABLE_ENTITY, "answer-wrong"),
        (lever("saw", &json!({ "saw": "a rattle" })), StatusCode::UNPROCESSABLE_ENTITY, "answer-wrong"),
        (lever("splendid", &json!({})), StatusCode::UNPROCESSABLE_ENTITY, "asked-wrong"),
        (throw_with("/commissioning/turn", r#"{"step":"x"}"#), StatusCode::NOT_FOUND, "step-unknown"),
    ] {
        let answer = ask(&panel, request).await;
        assert_eq!(answer.status(), status, "{code}");
        assert_eq!(json_of(answer).await["refused"]["code"], code);
    }
    assert_eq!(told(&panel).await["found"], json!([]));
    assert_eq!(panel.desk().snapshot().rows, 0);
}

#[tokio::test]
async fn findings_and_the_step_survive_a_restart_in_the_ordinary_journal() {
    let disk = Disk::default();
    let open = || Journal::open(disk.clone(), "Tern Harbor, first module").unwrap();
    let (panel, _) = panel_on(&first_module(), open());
    for request in [
        find("decoder D1", "skip", &json!({ "note": "no programmer here" })),
        find("lever 4", "saw", &json!({ "saw": "machine crossA from a cab moves the wrong way" })),
        throw_with("/commissioning/turn", r#"{"step":"lever 5"}"#),
    ] {
        assert_eq!(ask(&panel, request).await.status(), StatusCode::ACCEPTED);
    }
    let before = told(&panel).await;
    assert_eq!((before["step"].as_str(), before["number"].as_u64()), (Some("lever 5"), Some(7)));
    panel.desk().close();
    // Once from the checkpoint that closing kept, once row by row.
    let (panel, notes) = panel_on(&first_module(), open());
    assert_eq!(notes, Vec::<String>::new());
    assert_eq!(told(&panel).await, before);
    panel.desk().close();

    let journal = open().journal;
    let entries = journal.replay().unwrap().map(|record| Entry::read(&record.unwrap().row).unwrap());
    let found = entries.filter_map(|entry| {
        let Happened::Found(found) = entry.what else { return None };
        Some((found.step.to_string(), found.verdict))
    });
    let wanted = [("decoder D1".to_owned(), Verdict::Skipped), ("lever 4".to_owned(), Verdict::WrongWay)];
    assert_eq!(found.collect::<Vec<_>>(), wanted);
}

#[tokio::test]
async fn points_that_move_the_wrong_way_get_a_decision_with_its_reason() {
    let panel = panel();
    let wrong = find("lever 4", "saw", &json!({ "saw": "machine crossB from a cab moves the wrong way" }));
    assert_eq!(ask(&panel, wrong).await.status(), StatusCode::ACCEPTED);
    let page = text(ask(&panel, get("/commissioning/now")).await).await;
    // By hand: the second machine of the crossover hangs on wire W2, at output 4 of D1.
    assert!(page.contains("Swap W2a and W2b"), "{page}");
    assert!(page.contains("at D1 output 4") && page.contains("(wires-to-swap)"), "{page}");
}

#[tokio::test]
async fn taps_narrow_the_suspects_and_an_address_that_says_nothing_is_refused() {
    let panel = panel();
    let page = text(ask(&panel, get("/faults")).await).await;
    assert!(page.contains("/faults?saw=machine%20y1%20does%20not%20move"), "{page}");
    let seen = "/faults?saw=machine%20y1%20does%20not%20move";
    let page = text(ask(&panel, get(seen)).await).await;
    assert!(
        page.contains("Test next") && page.contains("decoder D1 is programmed to the board after its own"),
        "{page}"
    );
    // Everything else moves: what all levers share is cleared.
    let page = text(ask(&panel, get(&format!("{seen}&saw=machine%20y2%20moves"))).await).await;
    assert!(!page.contains("decoder D1 is") && page.contains("D1 output 5 is dead"), "{page}");
    for (path, code) in [
        ("/faults?saw=the%20moon%20is%20blue", "saw-unknown"),
        ("/faults?here=nowhere", "asked-wrong"),
        ("/faults?x=1", "asked-wrong"),
    ] {
        assert_eq!(json_of(ask(&panel, get(path)).await).await["refused"]["code"], code, "{path}");
    }
}

/// In a real browser: `tests/browser/commissioning.mjs` says what is done and seen.
#[tokio::test(flavor = "multi_thread")]
async fn the_first_module_is_commissioned_in_a_browser_over_a_restart_by_two_phones() {
    let scripts = scripts();
    let journal = folder("browser-commissioning").join("evening.journal");
    let mut server = Server::start(journal.clone(), 0).await;
    let mut script = Command::new("node")
        .arg("commissioning.mjs")
        .args(["through", &server.open.url])
        .current_dir(scripts)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .kill_on_drop(true)
        .spawn()
        .unwrap_or_else(|error| panic!("Node cannot be started ({error}): {REMEDY}"));
    let mut rows = BufReader::new(script.stdout.take().unwrap()).lines();
    let mut done = Vec::new();
    while let Some(row) = timeout(PATIENCE * 2, rows.next_line()).await.unwrap().unwrap() {
        let told: Value = serde_json::from_str(&row).unwrap();
        if told["please"] == "restart" {
            let port = server.open.address.port();
            server.close().await;
            server = Server::start(journal.clone(), port).await;
            script.stdin.as_mut().unwrap().write_all(b"it is back\n").await.unwrap();
        } else {
            done.push(told["did"].as_str().unwrap().to_owned());
        }
    }
    let status = script.wait().await.unwrap();
    assert!(status.success(), "the browser saw something else than it should, after: {done:#?}");
    assert_eq!(done.len(), 8, "{done:#?}");
    server.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_fault_is_found_by_taps_in_a_browser() {
    let scripts = scripts();
    let server = Server::start(folder("browser-faults").join("evening.journal"), 0).await;
    let script = Command::new("node")
        .arg("commissioning.mjs")
        .args(["faults", &server.open.url])
        .current_dir(scripts)
        .kill_on_drop(true)
        .output();
    let output = timeout(PATIENCE * 3, script).await.unwrap();
    let output = output.unwrap_or_else(|error| panic!("Node cannot be started ({error}): {REMEDY}"));
    let done = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "the browser saw something else than it should, after:\n{done}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(done.lines().count(), 3, "{done}");
    server.close().await;
}
