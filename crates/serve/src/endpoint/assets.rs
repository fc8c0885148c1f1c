//! `GET /assets/{name}`: style, script, fonts and icon. A browser keeps them and asks each time whether they have changed.

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};

use crate::asset;
use crate::refusal::{PageUnknown, Refused};

pub(super) async fn answer(Path(name): Path<String>, headers: HeaderMap) -> Result<Response, Refused> {
    let asset = asset::all().find(|asset| asset.name == name).ok_or(PageUnknown {})?;
    let tag = format!("\"{}\"", asset::tag(asset.bytes));
    let known = headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes());
    let keep = [(header::ETAG, tag), (header::CACHE_CONTROL, "no-cache".to_owned())];
    Ok(if known {
        (StatusCode::NOT_MODIFIED, keep).into_response()
    } else {
        (keep, [(header::CONTENT_TYPE, asset.kind)], asset.bytes).into_response()
    })
}
