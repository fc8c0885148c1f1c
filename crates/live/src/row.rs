//! The written form of an entry: time, word, position, and what it is about, with tabs between them.
//!
//! ```text
//! 1719835200000   thrown     reverse    4
//! 1719835200900   confirmed  reverse    4A
//! 1719835205000   overdue    -          4B
//! 1719835206000   asked      1N,4R      fascia tablet   west – siding east
//! 1719835207000   locked     -          7   Ruth   wheel in the frog
//! 1719835208000   found      -          good   1719835207900   Ruth   12.31 V         bus motors at bay 2
//! 1719835208000   whole      -          the layout was changed: machine 9 is new
//! 1719835208000   still      -          machine   R   R   -   -   -   4A
//! ```
//!
//! The fourth column is further divided by tabs where there is more to say. A machine's name runs to the end of the row, so
//! that any letter may stand in it. A lever without a person behind it is the whole fourth column: rows of versions that
//! knew no persons read as before.

mod elsewhere;

use description::record::Verdict;
use network::Position;
use plan::model::LeverNumber;

use crate::{Entry, EntryUnreadable, Found, Happened, Moment, RouteName, Said};

impl Entry {
    /// The entry as one row of text.
    pub fn write(&self) -> String {
        let (word, position, about) = columns(&self.what);
        format!("{}\t{word}\t{position}\t{about}", self.at.0)
    }

    /// The entry that such a row stands for.
    ///
    /// # Errors
    /// When the row was written by something else, or by a version that knows more.
    pub fn read(row: &str) -> Result<Self, EntryUnreadable> {
        let mut columns = row.splitn(4, '\t');
        let mut column = || columns.next().ok_or(EntryUnreadable::Short);
        let (at, word, position, about) = (column()?, column()?, column()?, column()?);
        let at = Moment(at.parse().map_err(|_| EntryUnreadable::Time)?);
        Ok(Self { at, what: read(word, position, about)? })
    }
}

fn columns(what: &Happened) -> (&'static str, String, String) {
    let none = || "-".to_owned();
    let lever = |lever: LeverNumber, by: &Said| {
        if by.is_empty() { lever.to_string() } else { format!("{lever}\t{by}") }
    };
    match what {
        Happened::Thrown { lever: number, position, by } => {
            ("thrown", position.word().into(), lever(*number, by))
        }
        Happened::Waits { lever: number, position, by } => {
            ("waits", position.word().into(), lever(*number, by))
        }
        Happened::Fired { lever, position } => ("fired", position.word().into(), lever.to_string()),
        Happened::Undone { lever: number, position, by } => {
            ("undone", position.word().into(), lever(*number, by))
        }
        Happened::Dropped => ("dropped", none(), none()),
        Happened::Confirmed { machine, position } => ("confirmed", position.word().into(), machine.clone()),
        Happened::Overdue { machine } => ("overdue", none(), machine.clone()),
        Happened::NotSent { machine } => ("not-sent", none(), machine.clone()),
        Happened::Inverted { machine, inverted: true } => ("inverted", none(), machine.clone()),
        Happened::Inverted { machine, inverted: false } => ("not-inverted", none(), machine.clone()),
        Happened::Asked { route, by } => ("asked", levers(route), format!("{by}\t{}", route.id)),
        Happened::AskedOnce { route, by } => ("asked-once", levers(route), format!("{by}\t{}", route.id)),
        Happened::Set { route } => ("set", levers(route), format!("\t{}", route.id)),
        Happened::Released { route, by } => ("released", levers(route), format!("{by}\t{}", route.id)),
        Happened::Locked { lever, by, note } => ("locked", none(), format!("{lever}\t{by}\t{note}")),
        Happened::Unlocked { lever: number, by } => ("unlocked", none(), lever(*number, by)),
        Happened::Stopped { by } => ("stopped", none(), by.to_string()),
        Happened::Resumed { by } => ("resumed", none(), by.to_string()),
        Happened::Found(found) => ("found", none(), write_found(found)),
        Happened::Turned { step, by } => ("turned", none(), format!("{by}\t{step}")),
        Happened::LinkUp { link } => ("link-up", none(), link.to_string()),
        Happened::LinkDown { link } => ("link-down", none(), link.to_string()),
        Happened::Whole { why } => ("whole", none(), why.replace(['\n', '\r'], " ")),
        Happened::Still { row } => ("still", none(), row.clone()),
        Happened::Elsewhere(said) => elsewhere::columns(said),
    }
}

/// `1N,4R`; a dash for none.
fn levers(route: &RouteName) -> String {
    let letter = |position| if position == Position::Normal { 'N' } else { 'R' };
    let each: Vec<String> =
        route.levers.iter().map(|&(lever, position)| format!("{lever}{}", letter(position))).collect();
    if each.is_empty() { "-".to_owned() } else { each.join(",") }
}

fn read(word: &str, position: &str, about: &str) -> Result<Happened, EntryUnreadable> {
    let of = || match position {
        "normal" => Ok(Position::Normal),
        "reverse" => Ok(Position::Reverse),
        _ => Err(EntryUnreadable::Position),
    };
    let machine = || about.to_owned();
    let lever_by = || {
        let (lever, by) = about.split_once('\t').unwrap_or((about, ""));
        Ok((lever.parse().map_err(|_| EntryUnreadable::Lever)?, Said::new(by)))
    };
    Ok(match word {
        "thrown" => {
            let (lever, by) = lever_by()?;
            Happened::Thrown { lever, position: of()?, by }
        }
        "waits" => {
            let (lever, by) = lever_by()?;
            Happened::Waits { lever, position: of()?, by }
        }
        "undone" => {
            let (lever, by) = lever_by()?;
            Happened::Undone { lever, position: of()?, by }
        }
        "fired" => {
            Happened::Fired { lever: about.parse().map_err(|_| EntryUnreadable::Lever)?, position: of()? }
        }
        "dropped" => Happened::Dropped,
        "confirmed" => Happened::Confirmed { machine: machine(), position: of()? },
        "overdue" => Happened::Overdue { machine: machine() },
        "not-sent" => Happened::NotSent { machine: machine() },
        "inverted" => Happened::Inverted { machine: machine(), inverted: true },
        "not-inverted" => Happened::Inverted { machine: machine(), inverted: false },
        "asked" | "asked-once" | "set" | "released" => read_route(word, position, about)?,
        "locked" => {
            let mut parts = about.splitn(3, '\t');
            let lever = parts.next().and_then(|lever| lever.parse().ok()).ok_or(EntryUnreadable::Lever)?;
            let by = Said::new(parts.next().ok_or(EntryUnreadable::Short)?);
            Happened::Locked { lever, by, note: Said::new(parts.next().ok_or(EntryUnreadable::Short)?) }
        }
        "unlocked" => {
            let (lever, by) = lever_by()?;
            Happened::Unlocked { lever, by }
        }
        "stopped" => Happened::Stopped { by: Said::new(about) },
        "resumed" => Happened::Resumed { by: Said::new(about) },
        "found" => Happened::Found(read_found(about)?),
        "turned" => {
            let (by, step) = about.split_once('\t').ok_or(EntryUnreadable::Short)?;
            Happened::Turned { step: Said::whole(step), by: Said::new(by) }
        }
        "link-up" => Happened::LinkUp { link: Said::new(about) },
        "link-down" => Happened::LinkDown { link: Said::new(about) },
        "whole" => Happened::Whole { why: about.to_owned() },
        "still" => Happened::Still { row: about.to_owned() },
        _ => Happened::Elsewhere(elsewhere::read(word, position, about)?),
    })
}

/// `verdict  when  who  reading  saw  note  step`, with tabs; the step comes last, since it may be as long as names are.
pub(crate) fn write_found(found: &Found) -> String {
    let Found { step, verdict, when, who, reading, saw, note } = found;
    format!("{}\t{}\t{who}\t{reading}\t{saw}\t{note}\t{step}", verdict.word(), when.0)
}

pub(crate) fn read_found(row: &str) -> Result<Found, EntryUnreadable> {
    let mut columns = row.splitn(7, '\t');
    let mut column = || columns.next().ok_or(EntryUnreadable::Short);
    Ok(Found {
        verdict: Verdict::of_word(column()?).ok_or(EntryUnreadable::Verdict)?,
        when: Moment(column()?.parse().map_err(|_| EntryUnreadable::Time)?),
        who: Said::new(column()?),
        reading: Said::new(column()?),
        saw: Said::whole(column()?),
        note: Said::new(column()?),
        step: Said::whole(column()?),
    })
}

fn read_route(word: &str, levers: &str, about: &str) -> Result<Happened, EntryUnreadable> {
    let (by, id) = about.split_once('\t').ok_or(EntryUnreadable::Short)?;
    let lever = |text: &str| {
        let position = match text.chars().last() {
            Some('N') => Position::Normal,
            Some('R') => Position::Reverse,
            _ => return Err(EntryUnreadable::Position),
        };
        let number = text.get(..text.len() - 1).and_then(|number| number.parse().ok());
        Ok((number.ok_or(EntryUnreadable::Lever)?, position))
    };
    let levers = match levers {
        "-" => Vec::new(),
        some => some.split(',').map(lever).collect::<Result<_, _>>()?,
    };
    let (route, by) = (RouteName { id: Said::whole(id), levers }, Said::new(by));
    Ok(match word {
        "asked" => Happened::Asked { route, by },
        "asked-once" => Happened::AskedOnce { route, by },
        "set" => Happened::Set { route },
        _ => Happened::Released { route, by },
    })
}
