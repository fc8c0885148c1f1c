//! The body of a request that asks for something: small, in time, declared as JSON, an object, and exactly as asked for.

use std::time::Duration;

use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, header};
use serde::de::DeserializeOwned;
use serde_json::Value;
use tokio::time::timeout;

use crate::refusal::{BodyNotJson, BodySlow, BodyTooLarge, BodyUnreadable, KeyWrong, Refused};

/// Far more than anything that is asked for needs, in bytes.
const BODY_MAX: usize = 8 * 1024;

/// How long a body may take to arrive.
const BODY_WAIT: Duration = Duration::from_secs(10);

/// The longest key, in bytes.
const KEY_MAX: usize = 100;

/// Reads a body; `wrong` is what is answered when it is JSON, but not what was asked for.
pub(crate) async fn read<T: DeserializeOwned>(
    headers: &HeaderMap,
    body: Body,
    wrong: impl Fn() -> Refused,
) -> Result<T, Refused> {
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
    // Most types would take a list as well, and a map would let the second of two values win.
    if !value.is_object() {
        return Err(wrong());
    }
    serde_json::from_slice(&bytes).map_err(|_| wrong())
}

/// The key under which something is asked for, so that it is not done twice when it is sent again.
pub(crate) fn key(headers: &HeaderMap) -> Result<Option<String>, Refused> {
    let Some(key) = headers.get("idempotency-key") else { return Ok(None) };
    match key.to_str() {
        Ok(key) if !key.is_empty() && key.len() <= KEY_MAX => Ok(Some(key.to_owned())),
        Ok(_) | Err(_) => Err(KeyWrong {}.into()),
    }
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
