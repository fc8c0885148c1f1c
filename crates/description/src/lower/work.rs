//! `[work]`: how long work takes.

use super::table::Table;
use crate::model::Work;
use measure::{Duration, Share};
use notice::{Diagnostic, Spanned, code};

/// The longest that one piece of work can be said to take: past that it is a slip of the pen.
const WORK_MAX_SECONDS: f64 = 100.0 * 3600.0;

pub(super) fn work(mut table: Table<'_, '_>) -> Work {
    let usual = Work::default();
    let mut time = |key, usual: Duration| {
        let time: Option<Spanned<Duration>> = table.quantity(key, Duration::read);
        match time {
            Some(time) if time.value.value() > WORK_MAX_SECONDS => {
                let message = format!("`{key}` is more than 100 hours, which no piece of work takes");
                table.note(
                    Diagnostic::error(code::QUANTITY_TOO_LARGE, time.span, message)
                        .help("write it such as \"10 min\""),
                );
                usual
            }
            time => time.map_or(usual, |time| time.value),
        }
    };
    let (machine, decoder, strip) =
        (time("machine", usual.machine), time("decoder", usual.decoder), time("strip", usual.strip));
    let (accessory, wire, lever) =
        (time("accessory", usual.accessory), time("wire", usual.wire), time("lever", usual.lever));
    let (lead, relabel, reprogram) =
        (time("lead", usual.lead), time("relabel", usual.relabel), time("reprogram", usual.reprogram));
    let take_out = table.quantity("take_out", Share::read).map_or(usual.take_out, |share| share.value);
    table.close();
    Work { machine, decoder, strip, accessory, wire, lever, lead, relabel, reprogram, take_out }
}
