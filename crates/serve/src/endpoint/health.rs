//! `GET /health`: how the panel itself is.

use std::collections::BTreeMap;

use axum::Json;
use axum::extract::State;
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::{Panel, STREAMS_MAX};

#[derive(Serialize, ToSchema)]
pub(super) struct HealthTold {
    schema: u8,
    /// What keeps things that are asked for from being done; null when nothing does.
    trouble: Option<String>,
    /// Each link, and whether it is in touch.
    links: Vec<(String, bool)>,
    /// Why a link is out of touch, by its name, where that is known.
    link_troubles: BTreeMap<String, String>,
    /// SHA-256 of the certificate that is shown; null when what is sent is not enciphered.
    fingerprint: Option<String>,
    /// Machines that get slow or miss reports, each in words.
    signs: Vec<String>,
    journal_rows: u64,
    /// Why old rows could not be put aside; null when they could, or all stay.
    aside_trouble: Option<String>,
    /// How many machines of the simulated layout someone put a fault into.
    faults_put_in: usize,
    /// How many pages follow the panel.
    pages: usize,
    pages_max: usize,
    /// When the panel was opened, in milliseconds since 1970.
    opened_ms: u64,
    version: &'static str,
}

pub(super) async fn answer(State(panel): State<Panel>) -> Json<HealthTold> {
    let snapshot = panel.desk().snapshot();
    Json(HealthTold {
        schema: 1,
        trouble: snapshot.trouble.clone(),
        links: snapshot.links.clone(),
        link_troubles: snapshot.link_troubles.clone(),
        fingerprint: panel.certificate().map(|certificate| certificate.fingerprint().to_owned()),
        signs: snapshot.signs.iter().map(ToString::to_string).collect(),
        journal_rows: snapshot.rows,
        aside_trouble: snapshot.aside_trouble.clone(),
        faults_put_in: snapshot.put_in.len(),
        pages: STREAMS_MAX.saturating_sub(panel.streams().available_permits()),
        pages_max: STREAMS_MAX,
        opened_ms: snapshot.run,
        version: env!("CARGO_PKG_VERSION"),
    })
}
