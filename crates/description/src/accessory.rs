//! `[signal.*]` and `[light.*]`: what has an accessory address and moves no points.

use crate::model::{Name, Pins};
use measure::Current;
use notice::Spanned;

/// What kind of accessory it is: the table that describes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AccessoryKind {
    /// `[signal.*]`.
    Signal,
    /// `[light.*]`.
    Light,
}

impl AccessoryKind {
    /// The word for it: the name of its table.
    pub fn word(self) -> &'static str {
        match self {
            Self::Signal => "signal",
            Self::Light => "light",
        }
    }
}

/// `[signal.*]` or `[light.*]`.
#[derive(Clone, Debug)]
pub struct Accessory {
    /// Which of the two tables it is from.
    pub kind: AccessoryKind,
    /// Its id.
    pub id: Name,
    /// What plates call it, where that is another name.
    pub name: Option<String>,
    /// The track or end that a signal stands on.
    pub on: Option<Name>,
    /// The turnout, lever or machine that a signal guards.
    pub guards: Option<Name>,
    /// The place it stands at.
    pub at: Option<Name>,
    /// The part that its lamps are.
    pub part: Option<Name>,
    /// The current that it draws while it is on.
    pub draw: Option<Spanned<Current>>,
    /// What the user pinned.
    pub pins: Pins,
}
