//! What people may ask for besides throws: routes, locks, undo and stop; the log and the health of the panel.

use axum::body::Body;
use axum::http::{Request, StatusCode};
use network::Position;
use serde_json::{Value, json};
use serve::Panel;

use crate::panels::{ask, get, json_of, panel, text, throw, throw_with, thrown, until, until_at};

pub(crate) const MAIN: &str = "main 4 – west approach";
const TEAM: &str = "team track – west approach";

fn post(path: &str, body: &Value) -> Request<Body> {
    throw_with(path, body.to_string())
}

/// Asks for something that must be taken.
async fn taken(panel: &Panel, path: &str, body: Value) -> Value {
    let response = ask(panel, post(path, &body)).await;
    let status = response.status();
    let told = json_of(response).await;
    assert_eq!(status, StatusCode::ACCEPTED, "{path} {body}: {told}");
    told
}

/// Asks for something that must be refused like this; gives back the sentence.
async fn refused(panel: &Panel, request: Request<Body>, status: StatusCode, code: &str) -> String {
    let response = ask(panel, request).await;
    assert_eq!(response.status(), status, "{code}");
    let told = json_of(response).await;
    assert_eq!(told["refused"]["code"], code);
    told["refused"]["message"].as_str().unwrap().to_owned()
}

#[tokio::test]
async fn a_route_is_offered_set_seen_and_released() {
    let panel = panel();
    let stops = json_of(ask(&panel, get("/routes")).await).await["stops"].clone();
    assert_eq!(stops.as_array().unwrap().len(), 9);
    let reached = json_of(ask(&panel, get("/routes?from=team%20track")).await).await;
    assert_eq!(reached["stops"], json!(["west approach"]));
    let offer = json_of(ask(&panel, get("/routes?from=west%20approach&to=main%204")).await).await;
    let way = &offer["ways"][0];
    assert_eq!(
        (&way["route"], &way["refused"], &way["preferred"]),
        (&json!(MAIN), &json!(null), &json!(true))
    );
    let needs = |numbers: &[u16]| {
        json!(numbers.iter().map(|lever| json!({ "lever": lever, "position": "normal" })).collect::<Vec<_>>())
    };
    assert_eq!((&way["throws"], &way["stands"]), (&needs(&[1, 2, 3, 4]), &needs(&[])));

    let told = taken(&panel, "/routes/set", json!({ "route": MAIN, "by": "fascia tablet" })).await;
    assert_eq!(told["routes"][0]["state"], "setting");
    until(&panel, |snapshot| snapshot.routes[0].says.starts_with("set:")).await;
    let told = json_of(ask(&panel, get("/levers")).await).await;
    assert_eq!(
        (&told["routes"][0]["state"], &told["routes"][0]["by"]),
        (&json!("set"), &json!("fascia tablet"))
    );
    assert_eq!(told["levers"][0]["route"], MAIN);
    let page = text(ask(&panel, get("/")).await).await;
    assert!(page.contains(&format!("data-route=\"{MAIN}\" data-state=\"set\"")), "the page comes with it");

    let says = refused(&panel, throw(1, "reverse"), StatusCode::CONFLICT, "lever-held").await;
    assert_eq!(
        says,
        format!(
            "Lever 1 is held by the route {MAIN}, set by fascia tablet. Release that route first, then throw lever 1."
        )
    );
    let conflicting = post("/routes/set", &json!({ "route": TEAM }));
    refused(&panel, conflicting, StatusCode::CONFLICT, "route-in-the-way").await;
    let offer = json_of(ask(&panel, get("/routes?from=west%20approach&to=team%20track")).await).await;
    let says = offer["ways"][0]["refused"].as_str().unwrap().to_owned();
    assert!(says.contains("both need lever 1"), "it is said before anyone asks: {says}");
    taken(&panel, "/routes/release", json!({ "route": MAIN })).await;
    assert!(panel.desk().snapshot().routes.is_empty());
    taken(&panel, "/routes/set", json!({ "route": TEAM })).await;
}

#[tokio::test]
async fn of_two_people_who_ask_for_conflicting_routes_at_once_one_is_refused() {
    for _ in 0..20 {
        let panel = panel();
        let set = |route: &str| ask(&panel, post("/routes/set", &json!({ "route": route })));
        let (main, team) = tokio::join!(set(MAIN), set(TEAM));
        let mut codes = [main.status(), team.status()];
        codes.sort();
        assert_eq!(codes, [StatusCode::ACCEPTED, StatusCode::CONFLICT]);
        assert_eq!(panel.desk().snapshot().routes.len(), 1);
    }
}

#[tokio::test]
async fn what_is_asked_for_wrongly_is_refused() {
    let panel = panel();
    let set = |body: Value| post("/routes/set", &body);
    refused(&panel, set(json!({ "route": "here – there" })), StatusCode::NOT_FOUND, "route-unknown").await;
    for body in [json!({}), json!({ "route": 4 }), json!({ "route": MAIN, "now": true }), json!([MAIN])] {
        refused(&panel, set(body), StatusCode::UNPROCESSABLE_ENTITY, "asked-wrong").await;
    }
    for path in ["/routes?from=nowhere", "/routes?from=main%204&to=main%202"] {
        refused(&panel, get(path), StatusCode::NOT_FOUND, "stop-unknown").await;
    }
    let note = json!({ "note": " " });
    refused(&panel, post("/levers/1/lock", &note), StatusCode::UNPROCESSABLE_ENTITY, "note-missing").await;
    refused(&panel, post("/levers/99/lock", &json!({ "note": "x" })), StatusCode::NOT_FOUND, "lever-unknown")
        .await;
    refused(&panel, post("/undo", &json!({})), StatusCode::CONFLICT, "nothing-to-undo").await;
    refused(&panel, post("/resume", &json!({})), StatusCode::CONFLICT, "not-stopped").await;
    assert_eq!(panel.desk().snapshot().change, 0, "something happened although it was refused");
}

#[tokio::test]
async fn a_request_that_is_sent_again_is_not_done_twice() {
    let panel = panel();
    let with_key = |mut request: Request<Body>, key: &str| {
        request.headers_mut().insert("idempotency-key", key.parse().unwrap());
        request
    };
    thrown(&panel, 1, "normal").await;
    thrown(&panel, 1, "reverse").await;
    thrown(&panel, 2, "normal").await;
    thrown(&panel, 2, "reverse").await;
    for _ in 0..3 {
        let undo = with_key(post("/undo", &json!({})), "a1");
        assert_eq!(ask(&panel, undo).await.status(), StatusCode::ACCEPTED);
    }
    until_at(&panel, 2, Position::Normal).await;
    until_at(&panel, 1, Position::Reverse).await;
    let other = with_key(throw(1, "normal"), "a1");
    refused(&panel, other, StatusCode::UNPROCESSABLE_ENTITY, "key-reused").await;
    let long = with_key(throw(1, "normal"), &"k".repeat(101));
    refused(&panel, long, StatusCode::BAD_REQUEST, "key-wrong").await;
}

#[tokio::test]
async fn a_lock_is_told_with_its_note_and_holds() {
    let panel = panel();
    let told = taken(&panel, "/levers/5/lock", json!({ "note": "wheel in the frog", "by": "Ruth" })).await;
    assert_eq!(told["lever"]["lock"], json!({ "note": "wheel in the frog", "by": "Ruth" }));
    let says = refused(&panel, throw(5, "reverse"), StatusCode::CONFLICT, "lever-locked").await;
    assert!(says.starts_with("Lever 5 is locked by Ruth: “wheel in the frog”."), "{says}");
    taken(&panel, "/levers/5/unlock", json!({})).await;
    thrown(&panel, 5, "reverse").await;
}

#[tokio::test]
async fn a_stop_is_seen_by_all_and_lifted_by_anyone() {
    let panel = panel();
    let told = taken(&panel, "/stop", json!({ "by": "Ruth" })).await;
    assert_eq!(told["stopped"]["by"], "Ruth");
    refused(&panel, throw(1, "reverse"), StatusCode::CONFLICT, "stopped").await;
    for path in ["/", "/commissioning", "/faults"] {
        let page = text(ask(&panel, get(path)).await).await;
        assert!(page.contains("Everything was stopped by Ruth"), "{path}");
    }
    let told = taken(&panel, "/resume", json!({})).await;
    assert_eq!(told["stopped"], json!(null));
    thrown(&panel, 1, "reverse").await;
}

#[tokio::test]
async fn the_log_tells_what_happened_and_is_a_table_that_spreadsheets_read() {
    let panel = panel();
    taken(&panel, "/levers/5/lock", json!({ "note": "=1+1, \"quoted\"" })).await;
    thrown(&panel, 4, "reverse").await;
    until_at(&panel, 4, Position::Reverse).await;
    let log = json_of(ask(&panel, get("/log")).await).await;
    let says: Vec<&str> =
        log["rows"].as_array().unwrap().iter().map(|row| row["says"].as_str().unwrap()).collect();
    assert_eq!(
        says,
        [
            "Machine crossB reports reverse",
            "Machine crossA reports reverse",
            "Lever 4 thrown to reverse",
            "Lever 5 locked: “=1+1, \"quoted\"”",
        ]
    );
    let response = ask(&panel, get("/log.csv")).await;
    assert_eq!(response.headers()["content-type"], "text/csv; charset=utf-8");
    let table = text(response).await;
    let rows: Vec<&str> = table.split_terminator("\r\n").collect();
    assert_eq!((rows.len(), rows[0]), (5, "row,time,what,entry"));
    assert!(rows[1].starts_with("1,2") && rows[1].contains("\"\"quoted\"\""), "{}", rows[1]);
    assert!(rows[2].contains("Z,\"Lever 4 thrown to reverse\","), "{}", rows[2]);
}

#[tokio::test]
async fn the_health_of_the_panel_counts_pages_and_rows() {
    let panel = panel();
    let _open = ask(&panel, get("/events")).await;
    thrown(&panel, 1, "reverse").await;
    let told = json_of(ask(&panel, get("/health")).await).await;
    assert_eq!((&told["pages"], &told["trouble"]), (&json!(1), &json!(null)));
    assert_eq!(told["links"], json!([["simulated layout", true]]));
    assert!(told["journal_rows"].as_u64().unwrap() >= 1);
}

#[tokio::test]
async fn a_home_screen_finds_what_it_needs() {
    let panel = panel();
    let manifest = ask(&panel, get("/panel.webmanifest")).await;
    assert_eq!(manifest.headers()["content-type"], "application/manifest+json");
    let manifest = json_of(manifest).await;
    let icon = manifest["icons"][0]["src"].as_str().unwrap().to_owned();
    assert_eq!(ask(&panel, get(&icon)).await.status(), StatusCode::OK);
    let worker = ask(&panel, get("/worker.js")).await;
    assert_eq!(worker.headers()["content-type"], "text/javascript; charset=utf-8");
}
