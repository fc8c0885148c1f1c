//! What every request passes: whom it is meant for, where it comes from, and the headers that go out with every answer.
//!
//! A page of another site, open in the same browser, must not throw a lever. It could try in two ways: by a request across
//! sites, which carries the other page's origin; or by making its own name point at this computer, after which the browser
//! believes that both are one site, but the name still stands in the host header. Both are refused.
//!
//! # Source
//! Host and origin: RFC 9110, section 7.2; RFC 6454, section 7. `Sec-Fetch-Site`: W3C Fetch Metadata Request Headers.

use std::net::IpAddr;

use axum::extract::{Request, State};
use axum::http::uri::Authority;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::app::Panel;
use crate::refusal::{HostUnknown, OriginForeign, Refused};

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
    fn mean_us(self, host: &str) -> bool {
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
                name.eq_ignore_ascii_case("localhost")
                    && (self.listen.is_loopback() || self.listen.is_unspecified())
            }
        }
    }
}

/// Refuses what is not meant for this panel or comes from elsewhere; puts the headers on every answer.
pub(crate) async fn guard(State(panel): State<Panel>, request: Request, next: Next) -> Response {
    let passed = check(panel.hosts(), request.method(), request.headers());
    let mut response = match passed {
        Ok(()) => next.run(request).await,
        Err(refused) => refused.into_response(),
    };
    for (name, value) in HEADERS {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    if !response.headers().contains_key(header::CACHE_CONTROL) {
        response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}

fn check(hosts: Hosts, method: &Method, headers: &HeaderMap) -> Result<(), Refused> {
    let only = |name: HeaderName| {
        let mut values = headers.get_all(name).iter();
        let first = values.next().and_then(|value| value.to_str().ok());
        if values.next().is_some() { None } else { first }
    };
    let host = only(header::HOST).filter(|host| hosts.mean_us(host)).ok_or(HostUnknown {})?;
    if method == Method::GET || method == Method::HEAD {
        return Ok(());
    }
    let site_is_ours = match headers.get("sec-fetch-site") {
        Some(site) => site == "same-origin" || site == "none",
        None => true,
    };
    let origin_is_ours = !headers.contains_key(header::ORIGIN)
        || only(header::ORIGIN).and_then(|origin| origin.strip_prefix("http://")) == Some(host);
    if site_is_ours && origin_is_ours { Ok(()) } else { Err(OriginForeign {}.into()) }
}

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
