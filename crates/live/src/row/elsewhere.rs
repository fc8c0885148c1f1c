//! The written form of what other panels said.
//!
//! ```text
//! reached            -        link club                                      4A
//! out-of-touch       -        no panel that moves it is in touch             4A
//! seen-moving        reverse  4A
//! held-elsewhere     -        7f3a   harbor yard   Ruth   wheel in the frog  4A
//! ```
//! `not-driven` is `out-of-touch` of a machine whose position this panel still sees. A machine's name runs to the end of the row.

use network::Position;

use crate::{Elsewhere, EntryUnreadable, HeldBy, Hold, Said, Stands};

type Columns = (&'static str, String, String);

pub(super) fn columns(said: &Elsewhere) -> Columns {
    let none = || "-".to_owned();
    match said {
        Elsewhere::Reached { machine, over } => ("reached", none(), format!("{over}\t{machine}")),
        Elsewhere::Lost { machine, why, is_seen } => {
            (if *is_seen { "not-driven" } else { "out-of-touch" }, none(), format!("{why}\t{machine}"))
        }
        Elsewhere::Stands { machine, stands } => {
            let (word, position) = match stands {
                Stands::Unknown => ("seen-unknown", None),
                Stands::At(position) => ("seen-at", Some(position)),
                Stands::Moving(to) => ("seen-moving", Some(to)),
                Stands::Sent(to) => ("seen-sent", Some(to)),
                Stands::Overdue(to) => ("seen-overdue", Some(to)),
            };
            (word, position.map_or_else(none, |position| position.word().to_owned()), machine.clone())
        }
        Elsewhere::Held { machine, server, hold } => {
            let word = match hold.held_by {
                HeldBy::Lock => "held-elsewhere",
                HeldBy::Route => "route-elsewhere",
            };
            (word, none(), format!("{server}\t{}\t{}\t{}\t{machine}", hold.panel, hold.by, hold.note))
        }
        Elsewhere::LetGo { machine, server, by } => {
            let word = match by {
                HeldBy::Lock => "let-go-elsewhere",
                HeldBy::Route => "released-elsewhere",
            };
            (word, none(), format!("{server}\t{machine}"))
        }
        Elsewhere::Declined { machine, why } => ("declined", none(), format!("{why}\t{machine}")),
    }
}

pub(super) fn read(word: &str, position: &str, about: &str) -> Result<Elsewhere, EntryUnreadable> {
    let to = || match position {
        "normal" => Ok(Position::Normal),
        "reverse" => Ok(Position::Reverse),
        _ => Err(EntryUnreadable::Position),
    };
    let two = || {
        let (first, machine) = about.split_once('\t').ok_or(EntryUnreadable::Short)?;
        Ok((Said::whole(first), machine.to_owned()))
    };
    let stands = |stands| Ok(Elsewhere::Stands { machine: about.to_owned(), stands });
    let held = |held_by| {
        let mut parts = about.splitn(5, '\t');
        let mut part = || parts.next().ok_or(EntryUnreadable::Short);
        let (server, panel, by) = (Said::whole(part()?), Said::whole(part()?), Said::whole(part()?));
        let (note, machine) = (Said::whole(part()?), part()?.to_owned());
        Ok(Elsewhere::Held { machine, server, hold: Hold { held_by, panel, note, by } })
    };
    let let_go = |by| two().map(|(server, machine)| Elsewhere::LetGo { machine, server, by });
    match word {
        "reached" => two().map(|(over, machine)| Elsewhere::Reached { machine, over }),
        "out-of-touch" => two().map(|(why, machine)| Elsewhere::Lost { machine, why, is_seen: false }),
        "not-driven" => two().map(|(why, machine)| Elsewhere::Lost { machine, why, is_seen: true }),
        "seen-unknown" => stands(Stands::Unknown),
        "seen-at" => stands(Stands::At(to()?)),
        "seen-moving" => stands(Stands::Moving(to()?)),
        "seen-sent" => stands(Stands::Sent(to()?)),
        "seen-overdue" => stands(Stands::Overdue(to()?)),
        "held-elsewhere" => held(HeldBy::Lock),
        "route-elsewhere" => held(HeldBy::Route),
        "let-go-elsewhere" => let_go(HeldBy::Lock),
        "released-elsewhere" => let_go(HeldBy::Route),
        "declined" => two().map(|(why, machine)| Elsewhere::Declined { machine, why }),
        _ => Err(EntryUnreadable::Word),
    }
}
