//! `GET /levers`: every lever as it is now, as JSON.

use axum::extract::State;
use axum::routing::get;
use axum::{Json, Router};

use crate::app::Panel;
use crate::told::PanelTold;

pub(crate) fn endpoint() -> Router<Panel> {
    Router::new().route("/levers", get(answer))
}

async fn answer(State(panel): State<Panel>) -> Json<PanelTold> {
    Json(PanelTold::since(panel.desk().railroad(), &panel.desk().snapshot(), None, panel.sheet()))
}
