//! Faults put into machines of the modelled layout on purpose: `GET /practice`, and `POST /practice` with
//! `{"machine":"4A","fault":"stuck"}`; the fault `sound` mends it.

use axum::Json;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use live::Said;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::Panel;
use crate::body;
use crate::practice::Practice;
use crate::refusal::{AskedWrong, Refused};
use crate::snapshot::Snapshot;

/// Every machine that is modelled.
#[derive(Serialize, ToSchema)]
pub(super) struct PracticeTold {
    schema: u8,
    machines: Vec<SpoiltTold>,
}

/// One of them.
#[derive(Serialize, ToSchema)]
pub(super) struct SpoiltTold {
    machine: String,
    /// The lever that moves it; null where none does.
    lever: Option<u16>,
    /// One of `sound`, `stuck`, `report-lost`, `wrong-way-round`, `slow`, `output-dead`.
    fault: &'static str,
    /// The fault in words.
    says: &'static str,
    /// Who put it in; empty when they did not say, or the machine is sound.
    by: String,
}

/// What a machine is to suffer from.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PracticeAsked {
    machine: String,
    fault: Practice,
    #[serde(default)]
    by: String,
}

pub(super) async fn seen(State(panel): State<Panel>) -> Json<PracticeTold> {
    let snapshot = panel.desk().snapshot();
    Json(told(&snapshot))
}

pub(super) async fn put_in(
    State(panel): State<Panel>,
    request: Request,
) -> Result<(StatusCode, Json<PracticeTold>), Refused> {
    let (head, body) = request.into_parts();
    let asked: PracticeAsked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let by = Said::new(&asked.by);
    let snapshot = panel.desk().put_in(&asked.machine, asked.fault.fault(), by).await?;
    Ok((StatusCode::ACCEPTED, Json(told(&snapshot))))
}

fn told(snapshot: &Snapshot) -> PracticeTold {
    let machines = snapshot.railroad.modelled().map(|(_, machine)| {
        let put_in = snapshot.put_in.get(&machine.name);
        let practice = Practice::of(put_in.map(|put_in| put_in.0));
        SpoiltTold {
            machine: machine.name.clone(),
            lever: machine.lever,
            fault: practice.word(),
            says: practice.says(),
            by: put_in.map(|put_in| put_in.1.to_string()).unwrap_or_default(),
        }
    });
    PracticeTold { schema: 1, machines: machines.collect() }
}
