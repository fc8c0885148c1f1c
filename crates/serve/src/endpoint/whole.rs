//! What concerns the whole panel: `POST /stop`, `/resume` and `/undo`, each with `{}` or `{"by":"NAME"}`.

use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::routing::post;
use axum::{Json, Router};
use live::{Event, Said};
use serde::Deserialize;

use crate::app::Panel;
use crate::body;
use crate::refusal::{AskedWrong, Refused};
use crate::told::PanelTold;

pub(crate) fn endpoint() -> Router<Panel> {
    Router::new().route("/stop", post(stop)).route("/resume", post(resume)).route("/undo", post(undo))
}

/// Who asks.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    #[serde(default)]
    by: String,
}

type Answer = Result<(StatusCode, Json<PanelTold>), Refused>;

async fn stop(State(panel): State<Panel>, request: Request) -> Answer {
    ask(panel, request, |by| Event::Stop { by }).await
}

async fn resume(State(panel): State<Panel>, request: Request) -> Answer {
    ask(panel, request, |by| Event::Resume { by }).await
}

async fn undo(State(panel): State<Panel>, request: Request) -> Answer {
    ask(panel, request, |by| Event::Undo { by }).await
}

async fn ask(panel: Panel, request: Request, event: impl Fn(Said) -> Event) -> Answer {
    let (head, body) = request.into_parts();
    let asked: Asked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let snapshot = panel.desk().ask(event(Said::new(&asked.by)), body::key(&head.headers)?).await?;
    let told = PanelTold::since(panel.desk().railroad(), &snapshot, Some(snapshot.change), panel.sheet());
    Ok((StatusCode::ACCEPTED, Json(told)))
}
