//! What an open page is told, from the first event to the last.

use axum::body::BodyDataStream;
use axum::http::StatusCode;
use network::Position;
use serde_json::Value;
use serve::Panel;
use tokio::time::timeout;
use tokio_stream::StreamExt;

use crate::panels::{PATIENCE, ask, get, json_of, panel, thrown, until_at};

/// An open event stream, read event by event.
struct Reader {
    body: BodyDataStream,
    text: String,
}

impl Reader {
    async fn open(panel: &Panel, last_id: Option<&str>) -> Self {
        let mut request = get("/events");
        if let Some(id) = last_id {
            request.headers_mut().insert("last-event-id", id.parse().unwrap());
        }
        let response = ask(panel, request).await;
        assert_eq!(response.status(), StatusCode::OK);
        assert_eq!(response.headers()["content-type"], "text/event-stream");
        Self { body: response.into_body().into_data_stream(), text: String::new() }
    }

    /// The next event's data; none when the stream has ended.
    async fn next(&mut self) -> Option<Value> {
        loop {
            if let Some(end) = self.text.find("\n\n") {
                let event: String = self.text.drain(..end + 2).collect();
                let data = event.lines().find_map(|row| row.strip_prefix("data: ")).map(str::to_owned);
                let id = event.lines().find_map(|row| row.strip_prefix("id: ")).map(str::to_owned);
                if let Some(data) = data {
                    let told: Value = serde_json::from_str(&data).unwrap();
                    assert_eq!(told["id"].as_str(), id.as_deref(), "the id inside is the id of the event");
                    return Some(told);
                }
            }
            let bytes = timeout(PATIENCE, self.body.next()).await.unwrap()?.unwrap();
            self.text.push_str(std::str::from_utf8(&bytes).unwrap());
        }
    }

    /// Reads on until a lever is told in this state.
    async fn until(&mut self, lever: u64, state: &str) {
        loop {
            let told = self.next().await.unwrap();
            let mut levers = told["levers"].as_array().unwrap().iter();
            if levers.any(|told| told["number"] == lever && told["state"] == state) {
                return;
            }
        }
    }
}

fn numbers(told: &Value) -> Vec<u64> {
    told["levers"].as_array().unwrap().iter().map(|lever| lever["number"].as_u64().unwrap()).collect()
}

#[tokio::test]
async fn a_new_page_is_told_everything_first_and_then_what_changes() {
    let panel = panel();
    let mut reader = Reader::open(&panel, None).await;
    let first = reader.next().await.unwrap();
    assert_eq!((first["whole"].as_bool(), numbers(&first).len()), (Some(true), 8));
    thrown(&panel, 3, "reverse").await;
    let second = reader.next().await.unwrap();
    assert_eq!((second["whole"].as_bool(), numbers(&second)), (Some(false), vec![3]));
    reader.until(3, "reverse").await;
}

#[tokio::test]
async fn two_pages_are_told_the_same() {
    let panel = panel();
    let (mut one, mut two) = (Reader::open(&panel, None).await, Reader::open(&panel, None).await);
    thrown(&panel, 4, "reverse").await;
    one.until(4, "reverse").await;
    two.until(4, "reverse").await;
}

#[tokio::test]
async fn a_page_that_comes_back_is_told_only_what_it_missed() {
    let panel = panel();
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    let seen = panel.desk().snapshot().id();
    thrown(&panel, 2, "reverse").await;
    until_at(&panel, 2, Position::Reverse).await;
    let told = Reader::open(&panel, Some(&seen)).await.next().await.unwrap();
    assert_eq!((told["whole"].as_bool(), numbers(&told)), (Some(false), vec![2]));
}

#[tokio::test]
async fn a_page_that_missed_nothing_is_told_nothing_until_something_changes() {
    let panel = panel();
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    let mut reader = Reader::open(&panel, Some(&panel.desk().snapshot().id())).await;
    thrown(&panel, 5, "reverse").await;
    assert_eq!(numbers(&reader.next().await.unwrap()), [5]);
}

#[tokio::test]
async fn a_page_from_another_opening_or_with_a_made_up_id_is_told_everything() {
    let panel = panel();
    let snapshot = panel.desk().snapshot();
    for id in [format!("{}.0", snapshot.run - 1), format!("{}.999", snapshot.run), "x".into(), "1.2.3".into()]
    {
        let told = Reader::open(&panel, Some(&id)).await.next().await.unwrap();
        assert_eq!((told["whole"].as_bool(), numbers(&told).len()), (Some(true), 8), "{id}");
    }
}

#[tokio::test]
async fn a_page_that_reads_slowly_gets_many_changes_in_one() {
    let panel = panel();
    let mut reader = Reader::open(&panel, None).await;
    reader.next().await.unwrap();
    for lever in 1..=8 {
        thrown(&panel, lever, "reverse").await;
    }
    for lever in 1..=8 {
        until_at(&panel, lever, Position::Reverse).await;
    }
    let told = reader.next().await.unwrap();
    assert_eq!(numbers(&told), [1, 2, 3, 4, 5, 6, 7, 8]);
    assert!(told["levers"].as_array().unwrap().iter().all(|lever| lever["state"] == "reverse"));
}

#[tokio::test]
async fn streams_end_when_the_panel_closes() {
    let panel = panel();
    let mut reader = Reader::open(&panel, None).await;
    reader.next().await.unwrap();
    panel.desk().close();
    assert_eq!(reader.next().await, None);
    assert_eq!(Reader::open(&panel, None).await.next().await, None, "and none begins after that");
}

#[tokio::test]
async fn a_stream_too_many_is_refused_and_there_is_room_when_one_ends() {
    let panel = panel();
    let mut open = Vec::new();
    let refused = loop {
        let response = ask(&panel, get("/events")).await;
        if response.status() != StatusCode::OK {
            break response;
        }
        open.push(response);
        assert!(open.len() <= 1_000, "there is no limit");
    };
    assert_eq!((refused.status(), open.len()), (StatusCode::SERVICE_UNAVAILABLE, 1_000));
    assert_eq!(json_of(refused).await["refused"]["code"], "pages-full");
    drop(open.pop());
    assert_eq!(ask(&panel, get("/events")).await.status(), StatusCode::OK);
}
