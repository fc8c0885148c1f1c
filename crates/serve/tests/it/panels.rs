//! Panels of the demo's first module without a socket, and requests to them.

use std::fs;
use std::path::PathBuf;
use std::time::Duration;

use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use axum::response::Response;
use journal::{Journal, Memory, Opened};
use live::Sight;
use network::Position;
use plan::model::{LeverNumber, Plan};
use serde_json::{Value, json};
use serve::{Desk, Hosts, Panel, Snapshot, app};
use tokio::time::timeout;
use tower::ServiceExt;

/// How long a test waits for something that must come. It comes in about a second; this is for a busy computer.
pub(crate) const PATIENCE: Duration = Duration::from_mins(1);

/// The eight levers of the demo: 4 is the crossover.
pub(crate) fn first_module() -> Plan {
    testkit::plan_of(include_str!("../../../../demo/first-module/layout.toml"))
}

pub(crate) fn panel_on(plan: &Plan, opened: Opened) -> (Panel, Vec<String>) {
    let (desk, notes) = Desk::open(plan.clone(), opened).unwrap();
    (Panel::new(plan, desk, Hosts::of([127, 0, 0, 1].into())), notes)
}

/// A panel whose journal is kept in memory.
pub(crate) fn panel() -> Panel {
    let opened = Journal::open(Memory::new(), "Tern Harbor, first module").unwrap();
    panel_on(&first_module(), opened).0
}

/// An empty folder of this test's own.
pub(crate) fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("serve").join(name);
    if folder.exists() {
        fs::remove_dir_all(&folder).unwrap();
    }
    fs::create_dir_all(&folder).unwrap();
    folder
}

pub(crate) fn get(path: &str) -> Request<Body> {
    Request::get(path).header("host", "127.0.0.1:7417").body(Body::empty()).unwrap()
}

pub(crate) fn throw(lever: LeverNumber, position: &str) -> Request<Body> {
    throw_with(&format!("/levers/{lever}/throw"), json!({ "position": position }).to_string())
}

pub(crate) fn throw_with(path: &str, body: impl Into<Body>) -> Request<Body> {
    Request::post(path)
        .header("host", "127.0.0.1:7417")
        .header("content-type", "application/json")
        .body(body.into())
        .unwrap()
}

pub(crate) async fn ask(panel: &Panel, request: Request<Body>) -> Response {
    app(panel.clone()).oneshot(request).await.unwrap()
}

pub(crate) async fn text(response: Response) -> String {
    String::from_utf8(to_bytes(response.into_body(), usize::MAX).await.unwrap().to_vec()).unwrap()
}

pub(crate) async fn json_of(response: Response) -> Value {
    serde_json::from_str(&text(response).await).unwrap()
}

/// Throws a lever, which must be taken.
pub(crate) async fn thrown(panel: &Panel, lever: LeverNumber, position: &str) {
    assert_eq!(ask(panel, throw(lever, position)).await.status(), StatusCode::ACCEPTED);
}

/// Waits until the panel shows something.
pub(crate) async fn until(panel: &Panel, shows: impl FnMut(&std::sync::Arc<Snapshot>) -> bool) {
    let mut snapshots = panel.desk().snapshots();
    timeout(PATIENCE, snapshots.wait_for(shows)).await.unwrap().unwrap();
}

/// Waits until a lever has reported that it stands there.
pub(crate) async fn until_at(panel: &Panel, lever: LeverNumber, position: Position) {
    until(panel, |snapshot| snapshot.lever(lever).unwrap().sight == Sight::At(position)).await;
}
