//! The state that the journal's rows end in: that of its checkpoint, and then row by row.

use journal::{Checkpoint, Journal, ReadError};
use live::{Entry, Happened, Railroad, Signs, State};

use crate::logbook::{Logbook, ROWS_AT_HAND_MAX};

/// How many of the newest rows are looked through for machines that get slow.
const SIGN_ROWS: u64 = 2_000;

/// What the rows end in.
pub(super) struct Replayed {
    pub(super) state: State,
    /// What the newest rows say of machines.
    pub(super) signs: Signs,
    /// When some rows did not fit this railroad, how many and the first of them.
    pub(super) skipped: Option<(u64, String)>,
}

/// The state; and when some rows did not fit this railroad, how many and the first of them.
///
/// A checkpoint that does not fit the railroad as it is described now is left aside, and every row gone through.
pub(super) fn replay(
    railroad: &Railroad,
    journal: &Journal,
    logbook: &Logbook,
) -> Result<Replayed, ReadError> {
    let kept = journal
        .checkpoint()
        .and_then(|Checkpoint { sequence, rows }| Some((State::read(railroad, rows)?, *sequence)));
    let (mut state, known) = kept.unwrap_or_else(|| (State::unknown(railroad), 0));
    // The newest rows are kept at hand, whether the checkpoint knows them or not.
    let at_hand = SIGN_ROWS.max(ROWS_AT_HAND_MAX as u64);
    let from = known
        .min(journal.last_sequence().saturating_sub(at_hand))
        .max(journal.first_sequence().saturating_sub(1));
    let mut signs = Signs::default();
    let mut skipped: Option<(u64, String)> = None;
    for (number, record) in (from + 1..).zip(journal.replay_after(from)?) {
        let row = match record {
            Ok(record) => Ok(record.row),
            // It was good once; what it comes to may be in the checkpoint.
            Err(error @ ReadError::Record(_)) => Err(error.to_string()),
            Err(error @ ReadError::Storage(_)) => return Err(error),
        };
        let applied =
            row.and_then(|row| Entry::read(&row).map_err(|error| error.to_string())).and_then(|entry| {
                if matches!(entry.what, Happened::Whole { .. }) {
                    // Rows of a railroad that was changed since need not fit.
                    skipped = None;
                }
                if number > known {
                    state.apply(railroad, &entry).map_err(|error| error.to_string())?;
                }
                logbook.add(number, &entry);
                signs.take(railroad, &entry);
                Ok(())
            });
        if let Err(error) = applied
            && number > known
        {
            skipped.get_or_insert_with(|| (0, format!("row {number}: {error}"))).0 += 1;
        }
    }
    Ok(Replayed { state, signs, skipped })
}
