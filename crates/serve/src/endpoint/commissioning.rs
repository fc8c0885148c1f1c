//! Commissioning, step by step: `GET /commissioning`, the page; `/commissioning/now`, the part of it that changes;
//! `/commissioning.json`, the same for programs; `POST /commissioning/find` and `/commissioning/turn`.
//!
//! What is answered is judged by `commission::trial` and written down before anyone is told. Everyone who follows is at the
//! same step, so that a second device can be picked up at any time.

use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::response::Html;
use axum::{Extension, Json};
use commission::trial::{self, Answer as Judging, Judged};
use live::{Event, Found, Moment, Said};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::throw::shortened;
use crate::access::Role;
use crate::app::Panel;
use crate::body;
use crate::page;
use crate::refusal::{AnswerWrong, AskedWrong, Refused, StepUnknown};
use crate::trial::Trial;

/// What was found at a step.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FindAsked {
    /// The key of the step.
    step: String,
    answer: AnswerAsked,
    /// What the meter shows, for the answer `reading`.
    #[serde(default)]
    reading: String,
    /// The volts on the label of a supply whose reading is judged by that.
    #[serde(default)]
    label: String,
    /// What is seen instead, for the answer `saw`.
    #[serde(default)]
    saw: String,
    #[serde(default)]
    note: String,
    /// The name of whoever tried it; without it, that of `by`.
    #[serde(default)]
    who: String,
    /// When, in milliseconds since 1970, by the clock of the browser.
    when_ms: u64,
    #[serde(default)]
    by: String,
}

#[derive(Clone, Copy, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum AnswerAsked {
    /// What the meter shows.
    Reading,
    /// All is as it should be.
    Good,
    /// This is seen instead.
    Saw,
    /// Something else is wrong.
    Wrong,
    /// The step is left out.
    Skip,
}

/// Which step to turn to.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TurnAsked {
    /// The key of the step.
    step: String,
    #[serde(default)]
    by: String,
}

/// Commissioning as it is.
#[derive(Serialize, ToSchema)]
pub(super) struct TrialTold {
    schema: u8,
    /// The key of the step to try now; null when all were tried.
    step: Option<String>,
    /// Its number, from 1.
    number: Option<usize>,
    /// How many steps there are.
    steps: usize,
    /// What was found, in the order of the steps.
    found: Vec<FoundTold>,
    /// The keys of the steps that are not found good.
    open: Vec<String>,
}

/// What was found at a step.
#[derive(Serialize, ToSchema)]
pub(super) struct FoundTold {
    step: String,
    /// One of `good`, `bad`, `wrong way`, `skipped`.
    verdict: &'static str,
    who: String,
    /// Day and time, UTC.
    when: String,
    reading: Option<String>,
    saw: Option<String>,
    note: Option<String>,
}

pub(super) async fn answer(
    State(panel): State<Panel>,
    Extension(role): Extension<Role>,
) -> Result<Html<String>, Refused> {
    let trial = Trial::see(panel.bench().await?, &panel.desk().snapshot());
    Ok(Html(page::commissioning::write(&panel, role, &trial).into_string()))
}

pub(super) async fn now(
    State(panel): State<Panel>,
    Extension(role): Extension<Role>,
) -> Result<Html<String>, Refused> {
    let trial = Trial::see(panel.bench().await?, &panel.desk().snapshot());
    Ok(Html(page::commissioning::now(&panel, role, &trial).into_string()))
}

pub(super) async fn told(State(panel): State<Panel>) -> Result<Json<TrialTold>, Refused> {
    Ok(Json(told_of(&Trial::see(panel.bench().await?, &panel.desk().snapshot()))))
}

pub(super) async fn find(
    State(panel): State<Panel>,
    request: Request,
) -> Result<(StatusCode, Json<TrialTold>), Refused> {
    let (head, body) = request.into_parts();
    let asked: FindAsked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let bench = panel.bench().await?;
    let step = bench.step(&asked.step).ok_or_else(|| StepUnknown { key: shortened(&asked.step) })?;
    let answer = match asked.answer {
        AnswerAsked::Reading => Judging::Reading { shown: asked.reading.clone(), label: asked.label.clone() },
        AnswerAsked::Good => Judging::Good,
        AnswerAsked::Saw => Judging::Saw(asked.saw.clone()),
        AnswerAsked::Wrong => Judging::Wrong,
        AnswerAsked::Skip => Judging::Skip,
    };
    let judged = trial::judge(&bench.system, step, &answer, &asked.note);
    let Judged { verdict, reading, saw, label } =
        judged.map_err(|why| AnswerWrong { why: why.to_string() })?;
    let label = label.map(|label| format!("label {label}"));
    let note: Vec<&str> =
        label.as_deref().into_iter().chain([asked.note.trim()]).filter(|part| !part.is_empty()).collect();
    let found = Found {
        step: Said::whole(&step.key),
        verdict,
        when: Moment(asked.when_ms),
        who: Said::new(if asked.who.trim().is_empty() { &asked.by } else { &asked.who }),
        reading: Said::new(&reading.unwrap_or_default()),
        saw: Said::whole(&saw.unwrap_or_default()),
        note: Said::new(&note.join("; ")),
    };
    let snapshot = panel.desk().ask(Event::Find(found), body::key(&head.headers)?).await?;
    Ok((StatusCode::ACCEPTED, Json(told_of(&Trial::see(bench, &snapshot)))))
}

pub(super) async fn turn(
    State(panel): State<Panel>,
    request: Request,
) -> Result<(StatusCode, Json<TrialTold>), Refused> {
    let (head, body) = request.into_parts();
    let asked: TurnAsked = body::read(&head.headers, body, || AskedWrong {}.into()).await?;
    let bench = panel.bench().await?;
    let step = bench.step(&asked.step).ok_or_else(|| StepUnknown { key: shortened(&asked.step) })?;
    let event = Event::TurnTo { step: Said::whole(&step.key), by: Said::new(&asked.by) };
    let snapshot = panel.desk().ask(event, body::key(&head.headers)?).await?;
    Ok((StatusCode::ACCEPTED, Json(told_of(&Trial::see(bench, &snapshot)))))
}

fn told_of(trial: &Trial) -> TrialTold {
    let (steps, findings) = (&trial.bench.order.steps, &trial.findings);
    let found = steps.iter().filter_map(|step| {
        let finding = findings.get(&step.key)?;
        let tried = finding.tried.as_ref()?;
        Some(FoundTold {
            step: step.key.clone(),
            verdict: tried.verdict.word(),
            who: tried.who.clone(),
            when: tried.when.clone(),
            reading: tried.reading.clone(),
            saw: tried.saw.clone(),
            note: finding.note.clone(),
        })
    });
    let open = trial::open(&trial.bench.order, findings).into_iter().map(|step| steps[step].key.clone());
    TrialTold {
        schema: 1,
        step: trial.now.map(|now| steps[now].key.clone()),
        number: trial.now.map(|now| now + 1),
        steps: steps.len(),
        found: found.collect(),
        open: open.collect(),
    }
}
