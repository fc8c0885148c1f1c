//! `GET /events`: a stream of what changes, for as long as the page is open.
//!
//! The first event holds every lever, unless the browser says by `Last-Event-ID` what it has seen of this opening of the
//! panel; each further event holds the levers that changed. A reader that is slower than the changes gets them together.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Extension;
use axum::extract::{ConnectInfo, State};
use axum::http::HeaderMap;
use axum::response::sse::{Event, KeepAlive, Sse};
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};

use crate::app::Panel;
use crate::listen::Peer;
use crate::refusal::{PagesFull, Refused};
use crate::told::PanelTold;

/// How long a browser waits before it connects again.
const RETRY: Duration = Duration::from_secs(1);

/// How often a silent stream shows that it is alive.
const SIGN_OF_LIFE: Duration = Duration::from_secs(15);

pub(super) async fn answer(
    State(panel): State<Panel>,
    peer: Option<Extension<ConnectInfo<Peer>>>,
    headers: HeaderMap,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Refused> {
    let permit = Arc::clone(panel.streams()).try_acquire_owned().map_err(|_| PagesFull {})?;
    let held = match peer {
        Some(Extension(ConnectInfo(Peer(peer)))) if panel.access().is_keyed() => {
            Some(panel.clients().stream(peer.ip().to_canonical()).ok_or(PagesFull {})?)
        }
        Some(_) | None => None,
    };
    let last_id = headers.get("last-event-id").and_then(|id| id.to_str().ok());
    let mut seen = last_id.and_then(|id| panel.desk().snapshot().change_of(id));
    let events = WatchStream::new(panel.desk().snapshots())
        // An open stream would keep the server from closing.
        .take_while(|snapshot| snapshot.open)
        .filter_map(move |snapshot| {
            let _held_while_open = (&permit, &held);
            if seen.is_some_and(|seen| snapshot.change <= seen) {
                return None;
            }
            let told = PanelTold::since(&snapshot.railroad, &snapshot, seen, &panel.sheet_of(&snapshot));
            seen = Some(snapshot.change);
            let data = serde_json::to_string(&told).ok()?;
            Some(Ok(Event::default().event("levers").id(snapshot.id()).retry(RETRY).data(data)))
        });
    Ok(Sse::new(events).keep_alive(KeepAlive::new().interval(SIGN_OF_LIFE)))
}
