//! `GET /faults?saw=WORDS&saw=WORDS&here=PLACE`: the page of fault-finding, for what was seen so far.

use axum::Extension;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, State};
use axum::response::Html;
use commission::say::understand;

use super::throw::shortened;
use crate::access::Role;
use crate::app::Panel;
use crate::page;
use crate::page::faults::Asked;
use crate::refusal::{AskedWrong, Refused, SawUnknown};

/// The most things seen in one address.
const SAW_MAX: usize = 60;

pub(super) async fn answer(
    State(panel): State<Panel>,
    Extension(role): Extension<Role>,
    asked: Result<Form<Vec<(String, String)>>, FormRejection>,
) -> Result<Html<String>, Refused> {
    let Form(members) = asked.map_err(|_| AskedWrong {})?;
    let bench = panel.bench().await?;
    let mut asked = Asked { saw: Vec::new(), seen: Vec::new(), here: None };
    for (key, value) in members {
        match key.as_str() {
            "saw" if asked.saw.len() < SAW_MAX => {
                let unknown = |_| SawUnknown { words: shortened(&value) };
                let seen = understand(&bench.system, &value).map_err(unknown)?;
                // What was seen of one thing last is so now.
                asked.seen.retain(|old| seen.iter().all(|new| new.check != old.check));
                asked.seen.extend(seen);
                asked.saw.push(value);
            }
            "here" if bench.system.checks.iter().any(|check| check.at.as_deref() == Some(value.as_str())) => {
                asked.here = Some(value);
            }
            _ => return Err(AskedWrong {}.into()),
        }
    }
    Ok(Html(page::faults::write(&panel, role, &bench, &asked).into_string()))
}
