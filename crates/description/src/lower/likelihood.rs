//! `[likelihood]`: how often parts fail on this railroad, where its builder knows better than the usual figures.

use std::collections::BTreeMap;

use notice::code;

use super::table::Table;
use crate::keys::TableKeys;

/// In how many of a thousand such parts each is wrong, of those that are written.
pub(super) fn likelihood(mut table: Table<'_, '_>) -> BTreeMap<&'static str, u16> {
    let failures = TableKeys::find("likelihood").map_or(&[][..], |listed| listed.keys);
    let written = failures.iter().filter_map(|failure| {
        let share = table.number(failure.name, code::NUMBER_OUT_OF_RANGE)?;
        Some((failure.name, share.value))
    });
    let likelihood = written.collect();
    table.close();
    likelihood
}
