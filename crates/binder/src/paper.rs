//! Paper sizes: which one a layout is printed on.
//!
//! Letter where the layout is measured in feet, A4 where it is measured in metres, unless the user says otherwise. How
//! a sheet lies on its paper (margins, holes, portrait or landscape) is left to the templates.

use measure::Units;

/// The paper the binder is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 × 11 in.
    Letter,
    /// 210 × 297 mm.
    A4,
}

impl Paper {
    /// The paper that goes with a system of units.
    pub fn of(units: Units) -> Self {
        match units {
            Units::Imperial => Self::Letter,
            Units::Metric => Self::A4,
        }
    }

    /// What the typesetter calls it.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Letter => "us-letter",
            Self::A4 => "a4",
        }
    }
}
