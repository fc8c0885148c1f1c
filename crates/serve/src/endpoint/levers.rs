//! `GET /levers`: every lever as it is now, as JSON.

use axum::Json;
use axum::extract::State;

use crate::app::Panel;
use crate::told::PanelTold;

pub(super) async fn answer(State(panel): State<Panel>) -> Json<PanelTold> {
    let snapshot = panel.desk().snapshot();
    Json(PanelTold::since(&snapshot.railroad, &snapshot, None, &panel.sheet_of(&snapshot)))
}
