//! One row of the operating log: what happened, and when.
//!
//! An entry names levers by number, machines by name and routes by id, as the builder does, and not by their places in a
//! list: so it keeps its meaning when the description grows. Written out it is one row of text with tabs between the
//! columns, which a person can read in an export and a later version of the tool can still read. How it is written stands in
//! `row`.

use description::record::{Finding, Tried, Verdict};
use network::Position;
use plan::model::LeverNumber;

use crate::{Elsewhere, Moment, Said};

/// Something that happened on the railroad.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// When.
    pub at: Moment,
    /// What.
    pub what: Happened,
}

/// What may happen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Happened {
    /// Someone threw a lever.
    Thrown {
        /// Which.
        lever: LeverNumber,
        /// To where.
        position: Position,
        /// Who.
        by: Said,
    },
    /// Someone threw a lever whose coils have to wait for the supply.
    Waits {
        /// Which.
        lever: LeverNumber,
        /// To where.
        position: Position,
        /// Who.
        by: Said,
    },
    /// A lever that had to wait for its burst was thrown.
    Fired {
        /// Which.
        lever: LeverNumber,
        /// To where.
        position: Position,
    },
    /// Someone took back the throw before, and the lever was thrown back.
    Undone {
        /// Which.
        lever: LeverNumber,
        /// Back to where.
        position: Position,
        /// Who.
        by: Said,
    },
    /// What had to wait is not thrown any more.
    Dropped,
    /// A machine reported where it stands.
    Confirmed {
        /// Its name.
        machine: String,
        /// Where it stands.
        position: Position,
    },
    /// A machine was sent off and has not reported in time.
    Overdue {
        /// Its name.
        machine: String,
    },
    /// A machine's command was dropped: its link had no room for it, or was lost before it went out.
    NotSent {
        /// Its name.
        machine: String,
    },
    /// Someone asked for a route: its levers are held from now on.
    Asked {
        /// The route.
        route: RouteName,
        /// Who.
        by: Said,
    },
    /// Someone asked for a route to be set once: its levers are held until it is set, and no longer.
    AskedOnce {
        /// The route.
        route: RouteName,
        /// Who.
        by: Said,
    },
    /// Every machine of a route has reported: the route is set.
    Set {
        /// The route.
        route: RouteName,
    },
    /// Someone released a route.
    Released {
        /// The route.
        route: RouteName,
        /// Who.
        by: Said,
    },
    /// Someone locked a lever.
    Locked {
        /// Which.
        lever: LeverNumber,
        /// Who.
        by: Said,
        /// Why.
        note: Said,
    },
    /// Someone unlocked a lever.
    Unlocked {
        /// Which.
        lever: LeverNumber,
        /// Who.
        by: Said,
    },
    /// Someone stopped everything.
    Stopped {
        /// Who.
        by: Said,
    },
    /// Someone let everything go on.
    Resumed {
        /// Who.
        by: Said,
    },
    /// Someone tried a step of commissioning.
    Found(Found),
    /// Someone turned to a step of commissioning, for everyone who follows.
    Turned {
        /// The key of the step.
        step: Said,
        /// Who.
        by: Said,
    },
    /// A link reaches its machines.
    LinkUp {
        /// Its name.
        link: Said,
    },
    /// A link does not reach its machines any more.
    LinkDown {
        /// Its name.
        link: Said,
    },
    /// The as-built record says anew which way round a machine moves. Where it stands is not known until it reports.
    Inverted {
        /// Its name.
        machine: String,
        /// Whether it moves the other way round than it is told.
        inverted: bool,
    },
    /// Another panel said something over a message broker.
    Elsewhere(Elsewhere),
    /// From here on stands only what the rows after this one say: the layout was changed, or older rows were put aside.
    Whole {
        /// Why, in words.
        why: String,
    },
    /// One row of all that was so then, as [`crate::State::write`] writes it.
    Still {
        /// The row.
        row: String,
    },
}

/// What a step of commissioning came to. Which steps there are, and whether what was found is as it should be, is not judged
/// here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The key of the step.
    pub step: Said,
    /// Whether it was as it should be.
    pub verdict: Verdict,
    /// When it was tried, as the browser gave it.
    pub when: Moment,
    /// Who tried it: a name that someone typed.
    pub who: Said,
    /// What the meter showed, with its unit; empty where none was needed.
    pub reading: Said,
    /// What was seen instead of what should be; empty when nothing was.
    pub saw: Said,
    /// Anything else to know; empty when nothing was written.
    pub note: Said,
}

impl Found {
    /// The same as a row of the as-built record, with the key that it stands under.
    pub fn for_record(&self) -> (String, Finding) {
        let some = |said: &Said| (!said.is_empty()).then(|| said.to_string());
        // The record has no parts of a second.
        let when = self.when.written();
        let when = when.split('.').next().map_or_else(|| when.clone(), |whole| format!("{whole}Z"));
        let tried = Tried {
            verdict: self.verdict,
            who: self.who.to_string(),
            when,
            reading: some(&self.reading),
            saw: some(&self.saw),
        };
        (self.step.to_string(), Finding { inverted: false, tried: Some(tried), note: some(&self.note) })
    }
}

/// How the log names a route: by its id, and by the levers it needs, so that another route that got its id later is not
/// taken for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RouteName {
    /// The id that the plan's tables give it.
    pub id: Said,
    /// Its levers, each with the position it needs.
    pub levers: Vec<(LeverNumber, Position)>,
}

/// A row that this version cannot read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EntryUnreadable {
    /// A column is missing.
    #[error("a column is missing")]
    Short,
    /// The first column is no time.
    #[error("its time is no number")]
    Time,
    /// The second column is no word that is known here.
    #[error("what happened is written in a word that this version does not know")]
    Word,
    /// The third column is no position.
    #[error("its position is neither normal nor reverse")]
    Position,
    /// The verdict is none that is known here.
    #[error("its verdict is a word that this version does not know")]
    Verdict,
    /// The lever is no number.
    #[error("its lever is no number")]
    Lever,
}
