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

/// The first row of the table.
pub(crate) const HEAD: &str = "row,time,what,entry\r\n";

/// How many rows are sent in one piece.
const PIECE_ROWS: usize = 500;

/// How many pieces may wait for a slow reader.
const PIECES_WAITING_MAX: usize = 4;

#[derive(Serialize, ToSchema)]
pub(super) struct LogTold {
    schema: u8,
    /// The newest first.
    rows: Vec<RowTold>,
    /// From which row on the journal has them: older ones were put aside in files beside it.
    first_row: u64,
    /// When that row was written, in milliseconds since 1970; null when nothing was put aside.
    reaches_back_ms: Option<u64>,
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
    let from = panel.desk().snapshot().rows_from;
    Json(LogTold {
        schema: 1,
        rows: rows.collect(),
        first_row: from.map_or(1, |(first, _)| first),
        reaches_back_ms: from.map(|(_, at)| at.0),
    })
}

pub(super) async fn all(State(panel): State<Panel>) -> Result<Response, Refused> {
    let replay = panel.desk().replay().await?;
    let (pieces, taken) = mpsc::channel(PIECES_WAITING_MAX);
    tokio::task::spawn_blocking(move || write(replay, &pieces));
    let from = panel.desk().snapshot().rows_from.map(|(_, at)| time(at.0));
    let from = from.as_ref().and_then(|time| time.get(..10)).map(|day| format!("-from-{day}"));
    let name = format!("attachment; filename=\"operating-log{}.csv\"", from.unwrap_or_default());
    let headers =
        [(header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()), (header::CONTENT_DISPOSITION, name)];
    Ok((headers, Body::from_stream(ReceiverStream::new(taken))).into_response())
}

/// Writes the table piece by piece, until it ends or nobody reads on.
fn write(replay: Replay, pieces: &mpsc::Sender<Result<Bytes, journal::ReadError>>) {
    let mut piece = String::from(HEAD);
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

/// One row of the table.
pub(crate) fn row(record: &Record) -> String {
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
pub(crate) fn time(ms: u64) -> String {
    live::Moment(ms).written()
}
