//! `POST /levers/{number}/throw` with `{"position":"normal"}` or `{"position":"reverse"}`; `/lock` with a `note`, `/unlock`.
//! Each may say `by`: who asks.
//!
//! Answered with 202 when it is written down and sent: the points may still be on their way. Only JSON is taken,
//! because a form of another site can be sent without asking, and JSON cannot.

use axum::Json;
use axum::extract::{Path, Request, State};
use axum::http::{HeaderMap, StatusCode};
use live::{Event, Said};
use network::Position;
use plan::model::LeverNumber;
use serde::Deserialize;
use utoipa::ToSchema;

use crate::app::Panel;
use crate::body;
use crate::refusal::{AskedWrong, LeverUnknown, PositionUnknown, Refused};
use crate::told::ThrowTold;

pub(super) type Answer = Result<(StatusCode, Json<ThrowTold>), Refused>;

/// A throw.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Throw {
    position: PositionAsked,
    #[serde(default)]
    by: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum PositionAsked {
    Normal,
    Reverse,
}

/// A lock.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Lock {
    note: String,
    #[serde(default)]
    by: String,
}

/// That a lock is over.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Unlock {
    #[serde(default)]
    by: String,
}

pub(super) async fn throw(
    State(panel): State<Panel>,
    Path(number): Path<String>,
    request: Request,
) -> Answer {
    let (head, body) = request.into_parts();
    let throw: Throw = body::read(&head.headers, body, || PositionUnknown {}.into()).await?;
    let position = match throw.position {
        PositionAsked::Normal => Position::Normal,
        PositionAsked::Reverse => Position::Reverse,
    };
    let lever = lever(&number)?;
    let event = Event::Throw { lever, position, by: Said::new(&throw.by) };
    ask(&panel, lever, event, &head.headers).await
}

pub(super) async fn lock(State(panel): State<Panel>, Path(number): Path<String>, request: Request) -> Answer {
    let (head, body) = request.into_parts();
    let lock: Lock = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let lever = lever(&number)?;
    let event = Event::Lock { lever, note: Said::new(&lock.note), by: Said::new(&lock.by) };
    ask(&panel, lever, event, &head.headers).await
}

pub(super) async fn unlock(
    State(panel): State<Panel>,
    Path(number): Path<String>,
    request: Request,
) -> Answer {
    let (head, body) = request.into_parts();
    let unlock: Unlock = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let lever = lever(&number)?;
    let event = Event::Unlock { lever, by: Said::new(&unlock.by) };
    ask(&panel, lever, event, &head.headers).await
}

async fn ask(panel: &Panel, number: LeverNumber, event: Event, headers: &HeaderMap) -> Answer {
    let (meant, key) = (panel.meant(headers)?, body::key(headers)?);
    let snapshot = panel.desk().ask_on(meant, event, key).await?;
    let lever = snapshot.lever(number).ok_or_else(|| LeverUnknown { number: number.to_string() })?;
    Ok((StatusCode::ACCEPTED, Json(ThrowTold::from(lever))))
}

fn lever(number: &str) -> Result<LeverNumber, Refused> {
    number.parse().map_err(|_| LeverUnknown { number: shortened(number) }.into())
}

/// What was asked for, cut to what a sentence bears.
pub(crate) fn shortened(asked: &str) -> String {
    const LETTERS_MAX: usize = 20;
    let mut short: String = asked.chars().take(LETTERS_MAX).collect();
    if short.len() < asked.len() {
        short.push('…');
    }
    short
}
