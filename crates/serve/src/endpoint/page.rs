//! `GET /`: the page, with every lever as it is now.

use axum::Extension;
use axum::extract::State;
use axum::response::Html;

use crate::access::Role;
use crate::app::Panel;
use crate::page;

pub(super) async fn answer(State(panel): State<Panel>, Extension(role): Extension<Role>) -> Html<String> {
    let snapshot = panel.desk().snapshot();
    Html(page::write(&panel, role, &snapshot).into_string())
}
