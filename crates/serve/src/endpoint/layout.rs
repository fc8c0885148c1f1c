//! `POST /layout/read` with `{}` or `{"by":"NAME"}`: the layout's file is read anew, and the panel goes on with what it says now.
//!
//! A file with errors changes nothing.

use axum::Json;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use live::{Railroad, Said};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::Panel;
use crate::body;
use crate::refusal::{AskedWrong, LayoutBroken, LayoutFixed, Refused};

/// Who asks.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LayoutAsked {
    #[serde(default)]
    by: String,
}

/// What is different.
#[derive(Serialize, ToSchema)]
pub(super) struct LayoutTold {
    schema: u8,
    /// Each difference, as a sentence without its full stop.
    changed: Vec<String>,
    /// The routes that were set and are not any more.
    released: Vec<String>,
}

pub(super) async fn read(
    State(panel): State<Panel>,
    request: Request,
) -> Result<(StatusCode, Json<LayoutTold>), Refused> {
    let (head, body) = request.into_parts();
    let asked: LayoutAsked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let reread = panel.reread().cloned().ok_or(LayoutFixed {})?;
    // It reads a file and plans a whole railroad.
    let read = tokio::task::spawn_blocking(move || {
        let plan = reread.read()?;
        Railroad::new(plan).map_err(|error| error.to_string())
    });
    let broken = |why| LayoutBroken { why };
    let read = read.await.map_err(|_| broken("It could not be planned.".to_owned()))?;
    let changes = panel.desk().change(read.map_err(broken)?, Said::new(&asked.by)).await?;
    let told = LayoutTold { schema: 1, changed: changes.says, released: changes.released };
    Ok((StatusCode::ACCEPTED, Json(told)))
}
