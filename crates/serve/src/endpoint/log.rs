//! The operating log: `GET /log`, the newest rows as JSON; `GET /log.csv`, all of it as a table.
//!
//! # Source
//! RFC 4180 for the table; times are those of ISO 8601 in UTC.

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use journal::{Record, Replay};
use live::Entry;
use serde::Serialize;
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;
use utoipa::ToSchema;

use crate::app::Panel;
use crate::logbook::words;
use crate::refusal::Refused;

/// How many rows are sent in one piece.
const PIECE_ROWS: usize = 500;

/// How many pieces may wait for a slow reader.
const PIECES_WAITING_MAX: usize = 4;

#[derive(Serialize, ToSchema)]
pub(super) struct LogTold {
    schema: u8,
    /// The newest first.
    rows: Vec<RowTold>,
}

#[derive(Serialize, ToSchema)]
pub(super) struct RowTold {
    number: u64,
    at_ms: u64,
    says: String,
}

pub(super) async fn newest(State(panel): State<Panel>) -> Json<LogTold> {
    let rows = panel.desk().logbook().newest().into_iter();
    let rows = rows.map(|row| RowTold { number: row.number, at_ms: row.at.0, says: row.says });
    Json(LogTold { schema: 1, rows: rows.collect() })
}

pub(super) async fn all(State(panel): State<Panel>) -> Result<Response, Refused> {
    let replay = panel.desk().replay().await?;
    let (pieces, taken) = mpsc::channel(PIECES_WAITING_MAX);
    tokio::task::spawn_blocking(move || write(replay, &pieces));
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"operating-log.csv\""),
    ];
    Ok((headers, Body::from_stream(ReceiverStream::new(taken))).into_response())
}

/// Writes the table piece by piece, until it ends or nobody reads on.
fn write(replay: Replay, pieces: &mpsc::Sender<Result<Bytes, journal::ReadError>>) {
    let mut piece = String::from("row,time,what,entry\r\n");
    for (index, record) in replay.enumerate() {
        match record {
            Ok(record) => piece.push_str(&row(&record)),
            Err(error) => return drop(pieces.blocking_send(Err(error))),
        }
        if index % PIECE_ROWS == PIECE_ROWS - 1
            && pieces.blocking_send(Ok(std::mem::take(&mut piece).into())).is_err()
        {
            return;
        }
    }
    drop(pieces.blocking_send(Ok(piece.into())));
}

fn row(record: &Record) -> String {
    let (time, what) = match Entry::read(&record.row) {
        Ok(entry) => (time(entry.at.0), words(&entry.what)),
        Err(error) => (String::new(), format!("cannot be read here: {error}")),
    };
    format!("{},{time},{},{}\r\n", record.sequence, quoted(&what), quoted(&record.row))
}

/// A cell between quotes. One that a spreadsheet would take for a formula is kept from that by an apostrophe.
fn quoted(cell: &str) -> String {
    let guard = if cell.starts_with(['=', '+', '-', '@']) { "'" } else { "" };
    format!("\"{guard}{}\"", cell.replace('"', "\"\""))
}

/// Milliseconds since 1970 as a date and time in UTC.
///
/// # Source
/// Days to year, month and day in the proleptic Gregorian calendar: E. G. Richards, Mapping Time, 1998, algorithm F (from
/// memory); the test compares with dates of the calendar.
pub(crate) fn time(ms: u64) -> String {
    let (days, rest) = (ms / 86_400_000, ms % 86_400_000);
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

#[cfg(test)]
mod tests {
    use super::time;

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
            assert_eq!(time(ms), written);
        }
    }
}
