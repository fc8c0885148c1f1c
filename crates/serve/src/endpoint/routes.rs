//! Routes: `GET /routes?from=STOP&to=STOP`, `POST /routes/set` and `/routes/release` with `{"route":"ID"}`. One that is set is
//! held until it is released, unless `"hold":false` says that it need not be.
//!
//! Without `to` the answer says where trains can go from there; with it, each way between the two, what it would throw now and
//! what keeps it from being set.

use axum::Json;
use axum::extract::{Form, Request, State};
use axum::http::{HeaderMap, StatusCode};
use live::{Event, RouteId, Said, why_not};
use network::{Network, TrackId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::throw::shortened;
use crate::app::Panel;
use crate::body;
use crate::refusal::{AskedWrong, Refused, StopUnknown};
use crate::snapshot::Snapshot;
use crate::told::PanelTold;

/// The most ways that are offered between two stops.
const WAYS_MAX: usize = 50;

/// What is asked about.
#[derive(Deserialize)]
pub(super) struct Between {
    from: Option<String>,
    to: Option<String>,
}

/// The answer: where trains can go, and how.
#[derive(Serialize, ToSchema)]
pub(super) struct OfferTold {
    schema: u8,
    /// Stops that can be reached; all stops when nothing was asked.
    stops: Vec<String>,
    /// The ways between the two stops, the preferred one first.
    ways: Vec<WayTold>,
}

/// One way.
#[derive(Serialize, ToSchema)]
pub(super) struct WayTold {
    route: String,
    name: Option<String>,
    preferred: bool,
    tracks: Vec<String>,
    /// What it would throw now.
    throws: Vec<NeedTold>,
    /// What of it stands right already, or is on its way.
    stands: Vec<NeedTold>,
    /// What its locked levers' notes say.
    notes: Vec<String>,
    /// What keeps it from being set; null when nothing does.
    refused: Option<String>,
}

/// A lever and how it has to stand.
#[derive(Serialize, ToSchema)]
pub(super) struct NeedTold {
    lever: u16,
    position: &'static str,
}

pub(super) async fn offer(
    State(panel): State<Panel>,
    asked: Result<Form<Between>, axum::extract::rejection::FormRejection>,
) -> Result<Json<OfferTold>, Refused> {
    let Form(asked) = asked.map_err(|_| AskedWrong {})?;
    let snapshot = panel.desk().snapshot();
    let railroad = &snapshot.railroad;
    let network = &railroad.plan().network;
    let name = |track: TrackId| network.track(track).name.clone();
    let Some(from) = asked.from else {
        return Ok(Json(OfferTold {
            schema: 1,
            stops: network.stops().map(name).collect(),
            ways: Vec::new(),
        }));
    };
    let from = stop(network, &from)?;
    let routes = || railroad.routes_at(from).iter().filter_map(|&id| Some((id, railroad.route(id)?)));
    let other = |ends: [TrackId; 2]| if ends[0] == from { ends[1] } else { ends[0] };
    let mut reached: Vec<TrackId> = routes().map(|(_, route)| other(route.ends)).collect();
    reached.sort_unstable();
    reached.dedup();
    let mut ways = Vec::new();
    if let Some(to) = asked.to {
        let to = stop(network, &to)?;
        let between = routes().filter(|(_, route)| other(route.ends) == to).take(WAYS_MAX);
        ways = between.map(|(id, _)| way(&snapshot, id)).collect();
        ways.sort_by_key(|way| (!way.preferred, way.refused.is_some()));
    }
    Ok(Json(OfferTold { schema: 1, stops: reached.into_iter().map(name).collect(), ways }))
}

fn stop(network: &Network, name: &str) -> Result<TrackId, Refused> {
    let track = network.end_or_track(name).filter(|&track| network.track(track).stop);
    track.ok_or_else(|| StopUnknown { name: shortened(name) }.into())
}

fn way(snapshot: &Snapshot, id: RouteId) -> WayTold {
    let (railroad, state) = (&snapshot.railroad, &snapshot.state);
    let plan = railroad.plan();
    let to_throw = state.to_throw(railroad, id);
    let need = |lever, position: network::Position| NeedTold { lever, position: position.word() };
    let levers = railroad.route(id).and_then(|route| route.levers.as_ref());
    let stands =
        levers.into_iter().flatten().filter(|(lever, _)| to_throw.iter().all(|throw| throw.0 != **lever));
    let notes = levers.into_iter().flatten().filter_map(|(lever, _)| {
        let lock = state.lock(*lever)?;
        Some(format!("Lever {lever} is locked: “{}”", lock.note))
    });
    let route = plan.routes.get(id.index());
    let ends = route.map(|route| (route.from(), route.to()));
    let chosen = plan
        .preferred
        .iter()
        .find(|chosen| plan.routes.get(chosen.value).map(|route| (route.from(), route.to())) == ends);
    WayTold {
        route: railroad.route(id).map(|route| route.id.clone()).unwrap_or_default(),
        name: plan.named.iter().find(|named| named.route.value == id.index()).map(|named| named.name.clone()),
        preferred: chosen.is_none_or(|chosen| chosen.value == id.index()),
        tracks: route
            .map_or(&[][..], |route| &route.tracks)
            .iter()
            .map(|&track| plan.network.track(track).name.clone())
            .collect(),
        throws: to_throw.iter().map(|&(lever, position)| need(lever, position)).collect(),
        stands: stands.map(|(&lever, &position)| need(lever, position)).collect(),
        notes: notes.collect(),
        refused: why_not(railroad, state, id).map(|refusal| refusal.to_string()),
    }
}

/// The route that is to be set.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RouteToSet {
    route: String,
    /// Whether its levers are held until someone releases it; otherwise only until it is set.
    #[serde(default = "held")]
    hold: bool,
    #[serde(default)]
    by: String,
}

fn held() -> bool {
    true
}

/// The route that is meant.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RouteAsked {
    route: String,
    #[serde(default)]
    by: String,
}

pub(super) type Answer = Result<(StatusCode, Json<PanelTold>), Refused>;

pub(super) async fn set(State(panel): State<Panel>, request: Request) -> Answer {
    let (head, body) = request.into_parts();
    let asked: RouteToSet = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let event = |route, by| {
        if asked.hold { Event::SetRoute { route, by } } else { Event::SetOnce { route, by } }
    };
    ask(&panel, &head.headers, &asked.route, &asked.by, event).await
}

pub(super) async fn release(State(panel): State<Panel>, request: Request) -> Answer {
    let (head, body) = request.into_parts();
    let asked: RouteAsked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let event = |route, by| Event::ReleaseRoute { route, by };
    ask(&panel, &head.headers, &asked.route, &asked.by, event).await
}

async fn ask(
    panel: &Panel,
    headers: &HeaderMap,
    route: &str,
    by: &str,
    event: impl Fn(RouteId, Said) -> Event,
) -> Answer {
    let railroad = panel.meant(headers)?.unwrap_or_else(|| panel.desk().railroad());
    let route = railroad.route_called(route).ok_or(live::Refusal::RouteUnknown)?;
    let event = event(route, Said::new(by));
    let snapshot = panel.desk().ask_on(Some(railroad), event, body::key(headers)?).await?;
    // The levers come by the stream of events; here only what else is so.
    let told =
        PanelTold::since(&snapshot.railroad, &snapshot, Some(snapshot.change), &panel.sheet_of(&snapshot));
    Ok((StatusCode::ACCEPTED, Json(told)))
}
