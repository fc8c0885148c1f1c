//! What the panel publishes about itself: the document of its addresses, and measurements.

use std::path::PathBuf;
use std::process::Stdio;

use axum::http::StatusCode;
use serde_json::Value;
use tokio::process::Command;
use tokio::time::timeout;

use crate::panels::{PATIENCE, ask, folder, get, json_of, panel, text, throw_with, thrown};
use crate::sockets::Server;

#[tokio::test]
async fn every_address_of_the_document_is_served_and_takes_only_its_own_methods() {
    let panel = panel();
    let document = json_of(ask(&panel, get("/api.json")).await).await;
    assert_eq!(document["openapi"], "3.1.0");
    let paths = document["paths"].as_object().unwrap();
    assert!(paths.len() >= 20, "{}", paths.len());
    for (path, methods) in paths {
        let filled = path.replace("{number}", "1").replace("{name}", "panel.css");
        for method in ["get", "post"] {
            let request = if method == "get" { get(&filled) } else { throw_with(&filled, "{}") };
            let status = ask(&panel, request).await.status();
            let is_served = status != StatusCode::METHOD_NOT_ALLOWED && status != StatusCode::NOT_FOUND;
            assert_eq!(is_served, methods.get(method).is_some(), "{method} {path}: {status}");
        }
    }
}

#[tokio::test]
async fn what_is_answered_has_the_members_that_the_document_names() {
    let panel = panel();
    thrown(&panel, 1, "reverse").await;
    let document = json_of(ask(&panel, get("/api.json")).await).await;
    for path in ["/levers", "/health", "/log", "/routes"] {
        let named = &document["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
            ["$ref"];
        let name = named.as_str().unwrap().rsplit('/').next().unwrap();
        let schema = &document["components"]["schemas"][name];
        let answer = json_of(ask(&panel, get(path)).await).await;
        let members = |value: &Value| {
            value.as_object().unwrap().keys().cloned().collect::<std::collections::BTreeSet<_>>()
        };
        assert_eq!(members(&answer), members(&schema["properties"]), "{path}");
    }
}

/// The text format's rows: a comment, or a name, labels and a number.
#[tokio::test]
async fn measurements_are_rows_that_collectors_read() {
    let panel = panel();
    thrown(&panel, 1, "reverse").await;
    let response = ask(&panel, get("/metrics")).await;
    assert_eq!(response.headers()["content-type"], "text/plain; version=0.0.4; charset=utf-8");
    let text = text(response).await;
    let mut kinds = Vec::new();
    for row in text.lines() {
        if let Some(rest) = row.strip_prefix("# TYPE ") {
            kinds.push(rest.split(' ').next().unwrap().to_owned());
        } else if !row.starts_with("# HELP ") {
            let (name, value) = row.rsplit_once(' ').unwrap();
            assert!(value.parse::<f64>().is_ok(), "{row}");
            assert!(kinds.iter().any(|kind| name.starts_with(kind.as_str())), "{row} has no kind");
        }
    }
    for row in [
        "throwbar_asked_seconds_count 1",
        "throwbar_answers_total{class=\"2xx\"} 1",
        "throwbar_link_up{link=\"simulated layout\"} 1",
        "throwbar_asked_seconds_bucket{le=\"+Inf\"} 1",
    ] {
        assert!(text.lines().any(|told| told == row), "{row} is missing from:\n{text}");
    }
}

/// Requests made up from the document by schemathesis, right ones and wrong ones: none may break the panel, and every answer must
/// be as the document says. The stream is left out, because it does not end.
#[tokio::test(flavor = "multi_thread")]
async fn the_panel_answers_as_its_document_says_whatever_is_sent() {
    let tests = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/api");
    let program = tests.join(".venv/bin/schemathesis");
    assert!(program.exists(), "schemathesis is missing: run `cargo xtask setup`");
    let folder = folder("made-up");
    let server = Server::start(folder.join("evening.journal"), 0).await;
    let run = Command::new(program)
        .args(["run", &format!("{}api.json", server.open.url)])
        .args([
            "--exclude-path",
            "/events",
            "--phases",
            "examples,coverage,fuzzing",
            "--max-examples",
            "10",
            "--seed",
            "1",
        ])
        .args([
            "--checks",
            "not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance",
        ])
        .args(["--no-color", "--generation-database", "none"])
        .current_dir(folder)
        .stdout(Stdio::piped())
        .kill_on_drop(true)
        .output();
    let output = timeout(PATIENCE * 3, run).await.unwrap().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{said}");
    let generated = said.lines().find_map(|row| row.trim().split_once(" generated")?.0.parse::<u32>().ok());
    assert!(generated.is_some_and(|cases| cases > 300), "{said}");
    server.close().await;
}
