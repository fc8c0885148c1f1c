//! Time as the core sees it: numbers that the edge hands in.
//!
//! The edge promises that moments do not run backwards while it runs. Across a restart they may, when someone sets the
//! computer's clock; so differences saturate at nothing instead of wrapping.

/// A point in time.
///
/// # Units
/// Milliseconds since 1 January 1970, UTC, as the edge counts them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(pub u64);

/// A length of time.
///
/// # Units
/// Milliseconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Wait(pub u64);

impl Moment {
    /// The moment that is this much later.
    #[must_use]
    pub fn after(self, wait: Wait) -> Self {
        Self(self.0.saturating_add(wait.0))
    }

    /// How long ago `earlier` was; nothing when it is yet to come.
    pub fn since(self, earlier: Self) -> Wait {
        Wait(self.0.saturating_sub(earlier.0))
    }
}
