//! The JSON that pages and programs are told: its only types, converted by hand, so that a change of the core cannot
//! change it unnoticed. Members in `snake_case`; none is removed or renamed once released.

use live::Sight;
use serde::Serialize;

use crate::snapshot::{LeverNow, Snapshot, look, words};

/// The panel, or what has changed of it.
#[derive(Serialize)]
pub(crate) struct PanelTold {
    schema: u8,
    /// To be sent back to go on from here.
    id: String,
    /// True when `levers` holds every lever; false when it holds those that changed.
    whole: bool,
    /// What the page was made from; a page made from something else loads itself again.
    sheet: String,
    /// Whether the layout is a modelled one.
    simulated: bool,
    /// What keeps throws from being taken.
    trouble: Option<String>,
    levers: Vec<LeverTold>,
}

/// One lever.
#[derive(Serialize)]
pub(crate) struct LeverTold {
    number: u16,
    /// What the description calls it.
    id: String,
    name: String,
    /// Where it stands; null while that is not known.
    position: Option<&'static str>,
    /// Where it was thrown last; null when it never was.
    commanded: Option<&'static str>,
    /// One of `normal`, `reverse`, `to-normal`, `to-reverse`, `overdue`, `apart`, `unknown`.
    state: &'static str,
    /// The state in words.
    says: String,
    /// Where one press throws it.
    next: &'static str,
    machines: Vec<MachineTold>,
}

/// One machine.
#[derive(Serialize)]
struct MachineTold {
    machine: String,
    position: Option<&'static str>,
    state: &'static str,
}

/// The answer to a throw that was taken.
#[derive(Serialize)]
pub(crate) struct ThrowTold {
    schema: u8,
    lever: LeverTold,
}

impl PanelTold {
    /// What has changed since this change; everything when there is none to go on from.
    pub(crate) fn since(snapshot: &Snapshot, since: Option<u64>, sheet: &str) -> Self {
        let news = snapshot.levers.iter().filter(|lever| since.is_none_or(|since| lever.changed > since));
        Self {
            schema: 1,
            id: snapshot.id(),
            whole: since.is_none(),
            sheet: sheet.to_owned(),
            simulated: true,
            trouble: snapshot.trouble.clone(),
            levers: news.map(LeverTold::from).collect(),
        }
    }
}

impl From<&LeverNow> for LeverTold {
    fn from(lever: &LeverNow) -> Self {
        let machines = lever.machines.iter().map(|(machine, sight)| MachineTold {
            machine: machine.clone(),
            position: position(*sight),
            state: look(*sight),
        });
        Self {
            number: lever.number,
            id: lever.id.clone(),
            name: lever.name.clone(),
            position: position(lever.sight),
            commanded: lever.commanded.map(network::Position::word),
            state: look(lever.sight),
            says: words(lever),
            next: lever.next().word(),
            machines: machines.collect(),
        }
    }
}

impl From<&LeverNow> for ThrowTold {
    fn from(lever: &LeverNow) -> Self {
        Self { schema: 1, lever: lever.into() }
    }
}

fn position(sight: Sight) -> Option<&'static str> {
    match sight {
        Sight::At(position) => Some(position.word()),
        Sight::NotKnown | Sight::Moving(_) | Sight::Overdue(_) | Sight::Apart => None,
    }
}
