//! One row of the operating log: what happened, and when.
//!
//! An entry names levers by number and machines by name, as the builder does, and not by their places in a list: so it
//! keeps its meaning when the description grows. Written out it is one row of text with tabs between the columns, which a
//! person can read in an export and a later version of the tool can still read:
//!
//! ```text
//! 1719835200000   thrown     reverse   4
//! 1719835200900   confirmed  reverse   4A
//! 1719835205000   overdue    -         4B
//! ```
//!
//! The name comes last and runs to the end of the row, so that any letter may stand in it.

use network::Position;
use plan::model::LeverNumber;

use crate::Moment;

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
    },
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
    /// The lever is no number.
    #[error("its lever is no number")]
    Lever,
}

impl Entry {
    /// The entry as one row of text.
    pub fn write(&self) -> String {
        let at = self.at.0;
        match &self.what {
            Happened::Thrown { lever, position } => format!("{at}\tthrown\t{}\t{lever}", position.word()),
            Happened::Confirmed { machine, position } => {
                format!("{at}\tconfirmed\t{}\t{machine}", position.word())
            }
            Happened::Overdue { machine } => format!("{at}\toverdue\t-\t{machine}"),
        }
    }

    /// The entry that such a row stands for.
    ///
    /// # Errors
    /// When the row was written by something else, or by a version that knows more.
    pub fn read(row: &str) -> Result<Self, EntryUnreadable> {
        let mut columns = row.splitn(4, '\t');
        let mut column = || columns.next().ok_or(EntryUnreadable::Short);
        let (at, word, position, name) = (column()?, column()?, column()?, column()?);
        let at = Moment(at.parse().map_err(|_| EntryUnreadable::Time)?);
        let position = || match position {
            "normal" => Ok(Position::Normal),
            "reverse" => Ok(Position::Reverse),
            _ => Err(EntryUnreadable::Position),
        };
        let what = match word {
            "thrown" => Happened::Thrown {
                lever: name.parse().map_err(|_| EntryUnreadable::Lever)?,
                position: position()?,
            },
            "confirmed" => Happened::Confirmed { machine: name.to_owned(), position: position()? },
            "overdue" => Happened::Overdue { machine: name.to_owned() },
            _ => return Err(EntryUnreadable::Word),
        };
        Ok(Self { at, what })
    }
}
