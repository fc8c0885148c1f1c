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

    /// Date and time in UTC: `2026-05-01T19:04:00.000Z`.
    ///
    /// # Source
    /// Form: RFC 3339. Days to year, month and day in the proleptic Gregorian calendar: E. G. Richards, Mapping Time, 1998,
    /// algorithm F (from memory); the test compares with dates of the calendar.
    pub fn written(self) -> String {
        let (days, rest) = (self.0 / 86_400_000, self.0 % 86_400_000);
        // No clock shows the year 10 000 000.
        let days = i64::try_from(days.min(3_000_000_000)).unwrap_or_default();
        let julian = days + 2_440_588;
        let f = julian + 1_401 + (((4 * julian + 274_277) / 146_097) * 3) / 4 - 38;
        let e = 4 * f + 3;
        let g = (e % 1_461) / 4;
        let h = 5 * g + 2;
        let day = (h % 153) / 5 + 1;
        let month = (h / 153 + 2) % 12 + 1;
        let year = e / 1_461 - 4_716 + (12 + 2 - month) / 12;
        let (hour, minute, second) = (rest / 3_600_000, rest / 60_000 % 60, rest / 1_000 % 60);
        format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}.{:03}Z", rest % 1_000)
    }
}

#[cfg(test)]
mod tests {
    use super::Moment;

    #[test]
    fn times_are_those_of_the_calendar() {
        for (ms, written) in [
            (0, "1970-01-01T00:00:00.000Z"),
            (951_782_400_000, "2000-02-29T00:00:00.000Z"),
            (951_868_800_000, "2000-03-01T00:00:00.000Z"),
            // 1,000,000,000 seconds after 1970: the calendar of Unix time.
            (1_000_000_000_123, "2001-09-09T01:46:40.123Z"),
            (4_102_444_799_999, "2099-12-31T23:59:59.999Z"),
        ] {
            assert_eq!(Moment(ms).written(), written);
        }
    }
}
