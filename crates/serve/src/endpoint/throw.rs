//! `POST /levers/{number}/throw` with `{"position":"normal"}` or `{"position":"reverse"}`.
//!
//! Answered with 202 when the throw is written down and sent: the points may still be on their way. Only JSON is taken,
//! because a form of another site can be sent without asking, and JSON cannot.

use std::time::Duration;

use axum::body::{Body, to_bytes};
use axum::extract::{Path, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::routing::post;
use axum::{Json, Router};
use network::Position;
use serde::Deserialize;
use serde_json::Value;
use tokio::time::timeout;

use crate::app::Panel;
use crate::refusal::{
    BodyNotJson, BodySlow, BodyTooLarge, BodyUnreadable, LeverUnknown, PositionUnknown, Refused,
};
use crate::told::ThrowTold;

/// Far more than a throw needs, in bytes.
const BODY_MAX: usize = 1024;

/// How long a body may take to arrive.
const BODY_WAIT: Duration = Duration::from_secs(10);

pub(crate) fn endpoint() -> Router<Panel> {
    Router::new().route("/levers/{number}/throw", post(answer))
}

async fn answer(
    State(panel): State<Panel>,
    Path(number): Path<String>,
    request: Request,
) -> Result<(StatusCode, Json<ThrowTold>), Refused> {
    let (head, body) = request.into_parts();
    let position = read(&head.headers, body).await?;
    let number = number.parse().map_err(|_| LeverUnknown { number: shortened(&number) })?;
    let lever = panel.desk().throw(number, position).await?;
    Ok((StatusCode::ACCEPTED, Json(ThrowTold::from(&lever))))
}

/// What is asked for.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Throw {
    position: Asked,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Asked {
    Normal,
    Reverse,
}

async fn read(headers: &HeaderMap, body: Body) -> Result<Position, Refused> {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let essence = kind.split(';').next().unwrap_or_default().trim();
    if !essence.eq_ignore_ascii_case("application/json") {
        return Err(BodyNotJson {}.into());
    }
    let declared = headers.get(header::CONTENT_LENGTH).and_then(|length| length.to_str().ok()?.parse().ok());
    if declared.is_some_and(|length: u64| length > BODY_MAX as u64) {
        return Err(BodyTooLarge {}.into());
    }
    let bytes = match timeout(BODY_WAIT, to_bytes(body, BODY_MAX)).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(error)) => return Err(broken(&error)),
        Err(_) => return Err(BodySlow {}.into()),
    };
    let value: Value = serde_json::from_slice(&bytes).map_err(|_| BodyUnreadable {})?;
    // The type below would take a list of one as well, and a map would let the second of two positions win.
    if !value.is_object() {
        return Err(PositionUnknown {}.into());
    }
    let throw: Throw = serde_json::from_slice(&bytes).map_err(|_| PositionUnknown {})?;
    Ok(match throw.position {
        Asked::Normal => Position::Normal,
        Asked::Reverse => Position::Reverse,
    })
}

/// A body without a declared length that grew past the limit, or one that broke off.
fn broken(error: &axum::Error) -> Refused {
    let mut cause: Option<&dyn std::error::Error> = Some(error);
    while let Some(error) = cause {
        if error.to_string().contains("length limit exceeded") {
            return BodyTooLarge {}.into();
        }
        cause = error.source();
    }
    BodyUnreadable {}.into()
}

/// What was asked for, cut to what a sentence bears.
fn shortened(number: &str) -> String {
    const LETTERS_MAX: usize = 20;
    let mut short: String = number.chars().take(LETTERS_MAX).collect();
    if short.len() < number.len() {
        short.push('…');
    }
    short
}
