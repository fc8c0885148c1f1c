//! What concerns the whole panel: `POST /stop`, `/resume` and `/undo`, each with `{}` or `{"by":"NAME"}`.

use axum::Json;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use live::{Event, Said};
use serde::Deserialize;
use utoipa::ToSchema;

use crate::app::Panel;
use crate::body;
use crate::refusal::{AskedWrong, Refused};
use crate::told::PanelTold;

/// Who asks.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WholeAsked {
    #[serde(default)]
    by: String,
}

pub(super) type Answer = Result<(StatusCode, Json<PanelTold>), Refused>;

pub(super) async fn stop(State(panel): State<Panel>, request: Request) -> Answer {
    ask(panel, request, |by| Event::Stop { by }).await
}

pub(super) async fn resume(State(panel): State<Panel>, request: Request) -> Answer {
    ask(panel, request, |by| Event::Resume { by }).await
}

pub(super) async fn undo(State(panel): State<Panel>, request: Request) -> Answer {
    ask(panel, request, |by| Event::Undo { by }).await
}

async fn ask(panel: Panel, request: Request, event: impl Fn(Said) -> Event) -> Answer {
    let (head, body) = request.into_parts();
    let asked: WholeAsked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let snapshot = panel.desk().ask(event(Said::new(&asked.by)), body::key(&head.headers)?).await?;
    let told =
        PanelTold::since(&snapshot.railroad, &snapshot, Some(snapshot.change), &panel.sheet_of(&snapshot));
    Ok((StatusCode::ACCEPTED, Json(told)))
}
