//! `GET /metrics`: measurements in the text format that collecting programs read.
//!
//! # Source
//! The text exposition format, version 0.0.4: `# HELP`, `# TYPE`, then `name{label="value"} number`; backslash, quotation mark and
//! row end are escaped in a label (from memory). Names: base units, `_total` for what only grows.

use std::fmt::Write as _;

use axum::extract::State;
use axum::http::{HeaderName, header};

use crate::app::{Panel, STREAMS_MAX};
use crate::counts::BOUNDS_MS;
use crate::snapshot::look;

pub(super) async fn answer(State(panel): State<Panel>) -> ([(HeaderName, &'static str); 1], String) {
    ([(header::CONTENT_TYPE, "text/plain; version=0.0.4; charset=utf-8")], write(&panel))
}

fn write(panel: &Panel) -> String {
    let snapshot = panel.desk().snapshot();
    let mut text = String::new();
    let mut tell = |name: &str, kind: &str, help: &str, rows: Vec<(String, String)>| {
        // Writing into a string cannot fail.
        let _ = writeln!(text, "# HELP throwbar_{name} {help}\n# TYPE throwbar_{name} {kind}");
        for (labels, value) in rows {
            let _ = writeln!(text, "throwbar_{name}{labels} {value}");
        }
    };
    let one = |value: String| vec![(String::new(), value)];
    let pages = STREAMS_MAX.saturating_sub(panel.streams().available_permits());
    #[allow(clippy::cast_precision_loss, reason = "milliseconds since 1970 are far below 2^53")]
    let opened = snapshot.run as f64 / 1_000.0;
    tell("opened_timestamp_seconds", "gauge", "When the panel was opened.", one(opened.to_string()));
    tell("journal_rows", "gauge", "Rows of the journal.", one(snapshot.rows.to_string()));
    tell(
        "trouble",
        "gauge",
        "1 while nothing can be thrown.",
        one(u8::from(snapshot.trouble.is_some()).to_string()),
    );
    tell(
        "stopped",
        "gauge",
        "1 while everything is stopped.",
        one(u8::from(snapshot.stopped.is_some()).to_string()),
    );
    tell(
        "changes_total",
        "counter",
        "Changes shown since the panel was opened.",
        one(snapshot.change.to_string()),
    );
    tell("routes_held", "gauge", "Routes that someone asked for.", one(snapshot.routes.len().to_string()));
    let states = ["normal", "reverse", "to-normal", "to-reverse", "overdue", "apart", "unknown"];
    let levers = states.map(|state| {
        let count = snapshot.levers.iter().filter(|lever| look(lever.sight) == state).count();
        (format!("{{state=\"{state}\"}}"), count.to_string())
    });
    tell("levers", "gauge", "Levers by what may be said of them.", levers.to_vec());
    let links = snapshot.links.iter();
    let links =
        links.map(|(link, up)| (format!("{{link=\"{}\"}}", escaped(link)), u8::from(*up).to_string()));
    tell("link_up", "gauge", "1 while a link reaches its machines.", links.collect());
    tell("pages", "gauge", "Event streams that are open.", one(pages.to_string()));
    tell("pages_max", "gauge", "Event streams that may be open.", one(STREAMS_MAX.to_string()));
    let counts = panel.counts();
    let answers =
        counts.answers().map(|(class, count)| (format!("{{class=\"{class}\"}}"), count.to_string()));
    tell("answers_total", "counter", "Answers by class of status.", answers.to_vec());
    let (buckets, sum_us, count) = counts.asked();
    let mut rows: Vec<(String, String)> = Vec::new();
    for (bound, count) in BOUNDS_MS.iter().zip(buckets) {
        #[allow(clippy::cast_precision_loss, reason = "bounds are small")]
        let seconds = *bound as f64 / 1_000.0;
        rows.push((format!("_bucket{{le=\"{seconds}\"}}"), count.to_string()));
    }
    rows.push(("_bucket{le=\"+Inf\"}".into(), count.to_string()));
    #[allow(clippy::cast_precision_loss, reason = "2^53 microseconds are 285 years")]
    rows.push(("_sum".into(), (sum_us as f64 / 1_000_000.0).to_string()));
    rows.push(("_count".into(), count.to_string()));
    tell("asked_seconds", "histogram", "From a request that asks for something to its answer.", rows);
    text
}

fn escaped(label: &str) -> String {
    label.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n")
}
