//! `GET /levers`: every lever as it is now, as JSON.

use axum::Json;
use axum::extract::State;

use crate::app::Panel;
use crate::told::PanelTold;

pub(super) async fn answer(State(panel): State<Panel>) -> Json<PanelTold> {
    Json(PanelTold::since(panel.desk().railroad(), &panel.desk().snapshot(), None, panel.sheet()))
}
