//! `GET /`: the page, with every lever as it is now.

use axum::Router;
use axum::extract::State;
use axum::response::Html;
use axum::routing::get;

use crate::app::Panel;
use crate::page;

pub(crate) fn endpoint() -> Router<Panel> {
    Router::new().route("/", get(answer))
}

async fn answer(State(panel): State<Panel>) -> Html<String> {
    let snapshot = panel.desk().snapshot();
    Html(page::write(&panel, &snapshot).into_string())
}
