//! `/enter`: a device shows a key and gets a session; `/leave` ends it.
//!
//! The key stands behind the `#` of the address, which no browser sends: so it comes into no log. A script takes it from there
//! and posts it.

use axum::Json;
use axum::extract::{Request, State};
use axum::http::{HeaderName, StatusCode, header};
use axum::response::Html;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::Panel;
use crate::body;
use crate::page::enter as page_of;
use crate::refusal::{AskedWrong, KeyUnknown, Refused};

/// A key.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct KeyShown {
    key: String,
}

/// Nothing more is said.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Leaving {}

/// What the key opened.
#[derive(Serialize, ToSchema)]
pub(super) struct EnteredTold {
    schema: u8,
    /// One of `look`, `operate`, `maintain`.
    role: &'static str,
}

type Cookie = [(HeaderName, String); 1];

pub(super) async fn page(State(panel): State<Panel>) -> Html<String> {
    Html(page_of::write(panel.access().is_keyed()).into_string())
}

pub(super) async fn enter(
    State(panel): State<Panel>,
    request: Request,
) -> Result<(Cookie, Json<EnteredTold>), Refused> {
    let (head, body) = request.into_parts();
    let shown: KeyShown = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let access = panel.access().clone();
    // It writes a file.
    let entered = tokio::task::spawn_blocking(move || access.enter(&shown.key)).await;
    let entered = entered.ok().flatten().ok_or(KeyUnknown {})?;
    Ok((
        [(header::SET_COOKIE, kept(&panel, entered.cookie))],
        Json(EnteredTold { schema: 1, role: entered.role.word() }),
    ))
}

pub(super) async fn leave(
    State(panel): State<Panel>,
    request: Request,
) -> Result<(StatusCode, Option<Cookie>, ()), Refused> {
    let (head, body) = request.into_parts();
    let Leaving {} = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let access = panel.access().clone();
    let forgotten = tokio::task::spawn_blocking(move || access.leave(&head.headers)).await.ok().flatten();
    Ok((StatusCode::NO_CONTENT, forgotten.map(|cookie| [(header::SET_COOKIE, kept(&panel, cookie))]), ()))
}

/// A cookie that is never sent open when it was given enciphered.
fn kept(panel: &Panel, cookie: String) -> String {
    if panel.certificate().is_some() { cookie + "; Secure" } else { cookie }
}
