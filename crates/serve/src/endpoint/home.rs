//! What a browser needs to keep the panel on a home screen: `GET /panel.webmanifest`, and `/worker.js`, which keeps the assets.
//!
//! # Source
//! W3C, Web Application Manifest; W3C, Service Workers: a worker serves the folder it lies in, so it lies at the top.

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use serde_json::{Value, json};

use crate::app::Panel;

const WORKER: &str = include_str!("../../assets/worker.js");

pub(super) async fn manifest(State(panel): State<Panel>) -> impl IntoResponse {
    let icon =
        json!({ "src": "/assets/icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any" });
    let manifest: Value = json!({
        "name": format!("{} · live panel", panel.layout()),
        "short_name": panel.layout(),
        "start_url": "/#railroad",
        "scope": "/",
        "display": "standalone",
        "background_color": "#FBFAF7",
        "theme_color": "#FBFAF7",
        "icons": [icon],
    });
    ([(header::CONTENT_TYPE, "application/manifest+json")], Json(manifest).into_response().into_body())
}

pub(super) async fn worker() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")], WORKER)
}
