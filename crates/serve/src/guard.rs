//! What every request passes: whom it is meant for, where it comes from, and the headers that go out with every answer.
//!
//! A page of another site, open in the same browser, must not throw a lever. It could try in two ways: by a request across
//! sites, which carries the other page's origin; or by making its own name point at this computer, after which the browser
//! believes that both are one site, but the name still stands in the host header. Both are refused.
//!
//! # Source
//! `Strict-Transport-Security`: RFC 6797, sections 6 and 8.4. Host and origin: RFC 9110, section 7.2; RFC 6454, section 7. `If-Match`: RFC 9110, section 13.1.1. `Sec-Fetch-Site`: W3C Fetch Metadata Request Headers.

use std::net::IpAddr;
use std::time::Instant;

use axum::extract::{ConnectInfo, MatchedPath, Request, State};
use axum::http::uri::Authority;
use axum::http::{HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::access::Role;
use crate::app::Panel;
use crate::certificate::Certificate;
use crate::clients::{KEY_COSTS, TOO_OFTEN_WAIT};
use crate::listen::Peer;
use crate::refusal::{HostUnknown, KeyMissing, OriginForeign, Refused, RoleTooSmall, TooOften};

/// The hosts under which the panel answers.
#[derive(Clone, Copy, Debug)]
pub struct Hosts {
    listen: IpAddr,
}

impl Hosts {
    /// The hosts that mean a panel which listens on this address.
    pub fn of(listen: IpAddr) -> Self {
        Self { listen }
    }

    /// Whether a host header means this panel. The port is not looked at: behind a tunnel it is another one, and an address
    /// written in numbers cannot be made to point elsewhere.
    fn mean_us(self, host: &str, certificate: Option<&Certificate>) -> bool {
        let Ok(authority) = host.parse::<Authority>() else { return false };
        if host.contains('@') {
            return false;
        }
        let name = authority.host();
        let number = name.trim_start_matches('[').trim_end_matches(']').parse::<IpAddr>();
        match number {
            Ok(number) if self.listen.is_unspecified() => !number.is_unspecified(),
            Ok(number) if self.listen.is_loopback() => number.is_loopback(),
            Ok(number) => number == self.listen,
            Err(_) => {
                let is_here = self.listen.is_loopback() || self.listen.is_unspecified();
                // A name that someone else made point here is none that the user's certificate speaks for.
                (name.eq_ignore_ascii_case("localhost") && is_here)
                    || certificate.is_some_and(|certificate| {
                        !certificate.is_self_made() && certificate.speaks_for(name)
                    })
            }
        }
    }
}

/// Refuses what is not meant for this panel, comes from elsewhere, comes too often or is not allowed; puts the headers on every
/// answer.
pub(crate) async fn guard(State(panel): State<Panel>, mut request: Request, next: Next) -> Response {
    let started = Instant::now();
    let is_asked = request.method() == Method::POST;
    let mut response = match check(&panel, &request).and_then(|()| admit(&panel, &request)) {
        Ok(role) => {
            request.extensions_mut().insert(role);
            next.run(request).await
        }
        Err(refused) => refused.into_response(),
    };
    if is_asked {
        panel.counts().took(started.elapsed());
    }
    panel.counts().answered(response.status().as_u16());
    if response.status() == StatusCode::TOO_MANY_REQUESTS {
        let seconds = HeaderValue::from(TOO_OFTEN_WAIT.0.div_ceil(1_000));
        response.headers_mut().insert(header::RETRY_AFTER, seconds);
    }
    for (name, value) in HEADERS {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    if panel.certificate().is_some_and(|certificate| !certificate.is_self_made()) {
        // Of a certificate of the panel's own making it would take away the way to accept it.
        response
            .headers_mut()
            .insert(header::STRICT_TRANSPORT_SECURITY, HeaderValue::from_static(ONLY_ENCIPHERED));
    }
    if !response.headers().contains_key(header::CACHE_CONTROL) {
        response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}

/// What whoever sent a request may do, when that is enough for it. Addresses that are not in the table are nowhere.
fn admit(panel: &Panel, request: &Request) -> Result<Role, Refused> {
    let path = request.extensions().get::<MatchedPath>().map(MatchedPath::as_str);
    if panel.access().is_keyed()
        && let Some(ConnectInfo(Peer(peer))) = request.extensions().get()
    {
        let is_key = path == Some("/enter") && request.method() == Method::POST;
        let cost = if is_key { KEY_COSTS } else { 1 };
        if !panel.clients().take(peer.ip().to_canonical(), cost) {
            return Err(TooOften {}.into());
        }
    }
    let role = panel.access().role(request.headers());
    let method = if request.method() == Method::HEAD { &Method::GET } else { request.method() };
    match (panel.needs(method, path), role) {
        (Some(needed), None) if needed == Role::Look && path == Some("/") => {
            Err(Refused::elsewhere("/enter"))
        }
        (Some(_), None) => Err(KeyMissing {}.into()),
        (Some(needed), Some(role)) if role < needed => {
            Err(RoleTooSmall { may: role.word().to_owned() }.into())
        }
        (_, role) => Ok(role.unwrap_or(Role::Look)),
    }
}

fn check(panel: &Panel, request: &Request) -> Result<(), Refused> {
    let headers = request.headers();
    let only = |name: HeaderName| {
        let mut values = headers.get_all(name).iter();
        let first = values.next().and_then(|value| value.to_str().ok());
        if values.next().is_some() { None } else { first }
    };
    let host = only(header::HOST)
        .filter(|host| panel.hosts().mean_us(host, panel.certificate()))
        .ok_or(HostUnknown {})?;
    let site_is_ours = match headers.get("sec-fetch-site") {
        Some(site) => site == "same-origin" || site == "none",
        None => true,
    };
    if request.method() == Method::GET || request.method() == Method::HEAD {
        // Someone may follow a link to the panel, but a page of another site may not build it in or hold its streams.
        let goes_there = headers.get("sec-fetch-mode").is_some_and(|mode| mode == "navigate");
        return if site_is_ours || goes_there { Ok(()) } else { Err(OriginForeign {}.into()) };
    }
    let scheme = if panel.certificate().is_some() { "https://" } else { "http://" };
    let origin_is_ours = !headers.contains_key(header::ORIGIN)
        || only(header::ORIGIN).and_then(|origin| origin.strip_prefix(scheme)) == Some(host);
    if !site_is_ours || !origin_is_ours {
        return Err(OriginForeign {}.into());
    }
    // A page that was made from another layout may mean another lever by the same number. A stop means the same on all.
    let is_stop = request.uri().path() == "/stop";
    if !is_stop {
        panel.meant(headers)?;
    }
    Ok(())
}

/// For thirty days after the last visit: a club that gives its certificate up is not kept out for a year.
const ONLY_ENCIPHERED: &str = "max-age=2592000";

const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; \
         manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];
