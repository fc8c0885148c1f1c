//! How long a throw takes to reach every other page: 200 event streams, 50 throws a second for 20 seconds, on a real server and
//! a real journal. Then how much memory 1,000 streams take, and what the panel costs while nothing happens. Streams and server share
//! one process, so the figures are the worse for it.
//!
//!     cargo bench -p serve --bench fan_out
//!
//! `fan_out.py` beside it does the same with a message broker.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a measurement that cannot go on should stop there"
)]
#![allow(clippy::disallowed_methods, reason = "it measures time and keeps a file")]

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use serve::{Options, serve};
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;
use tokio::sync::oneshot;

const STREAMS: usize = 200;
const STREAMS_HELD: usize = 1_000;
const THROWS_A_SECOND: u64 = 50;
const SECONDS: u64 = 20;

/// When each stream saw each name that a throw was given.
type Seen = Arc<Mutex<Vec<(usize, Instant)>>>;

#[tokio::main(flavor = "multi_thread", worker_threads = 2)]
async fn main() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("fan-out");
    drop(std::fs::remove_dir_all(&folder));
    std::fs::create_dir_all(&folder).unwrap();
    let mut options = Options::new(folder.join("evening.journal"));
    options.listen.set_port(0);
    let (opened, when_open) = oneshot::channel();
    let plan = testkit::plan_of(include_str!("../../../demo/first-module/layout.toml"));
    let server = serve(plan, options, |open| opened.send(open.address).unwrap(), std::future::pending());
    tokio::spawn(async { server.await.unwrap() });
    let address = when_open.await.unwrap();

    let before = resident_kb();
    let seen: Seen = Arc::default();
    for _ in 0..STREAMS {
        follow(address, Arc::clone(&seen)).await;
    }
    throws(address, &seen).await;
    for _ in STREAMS..STREAMS_HELD {
        follow(address, Arc::clone(&seen)).await;
    }
    tokio::time::sleep(Duration::from_secs(2)).await;
    println!(
        "{STREAMS_HELD} streams, both ends: {} MB more than none, {} MB in all",
        (resident_kb() - before) / 1_000,
        resident_kb() / 1_000
    );
    let (busy, started) = (cpu_ticks(), Instant::now());
    tokio::time::sleep(Duration::from_secs(20)).await;
    let used = cpu_ticks() - busy;
    // A tick is 10 ms on Linux.
    println!("idle with {STREAMS_HELD} streams: {used} ticks of 10 ms in {} s", started.elapsed().as_secs());
}

/// Throws levers in turn, each to the other position than before, and prints how long answers and events took.
async fn throws(address: SocketAddr, seen: &Seen) {
    let mut poster = TcpStream::connect(address).await.unwrap();
    poster.set_nodelay(true).unwrap();
    let mut sent = Vec::new();
    let mut answered = Vec::new();
    let mut beat = tokio::time::interval(Duration::from_micros(1_000_000 / THROWS_A_SECOND));
    for number in 0..(THROWS_A_SECOND * SECONDS) {
        beat.tick().await;
        let position = position(number);
        let body = format!("{{\"position\":\"{position}\",\"by\":\"n{number}\"}}");
        let lever = number % 8 + 1;
        let started = Instant::now();
        sent.push(started);
        let request = format!(
            "POST /levers/{lever}/throw HTTP/1.1\r\nhost: {address}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
            body.len()
        );
        poster.write_all(request.as_bytes()).await.unwrap();
        let mut answer = vec![0; 4_096];
        let read = poster.read(&mut answer).await.unwrap();
        assert!(answer[..read].starts_with(b"HTTP/1.1 202"), "{}", String::from_utf8_lossy(&answer[..read]));
        answered.push(started.elapsed());
    }
    tokio::time::sleep(Duration::from_secs(1)).await;
    answered.sort_unstable();
    let mut times: Vec<Duration> = Vec::new();
    for (number, at) in seen.lock().unwrap().iter() {
        if let Some(sent) = sent.get(*number) {
            times.push(at.saturating_duration_since(*sent));
        }
    }
    times.sort_unstable();
    let of = |times: &[Duration], percent: usize| {
        times[(times.len() * percent / 100).min(times.len() - 1)].as_secs_f64() * 1_000.0
    };
    println!("answer to a throw: p50 {:.1} ms, p99 {:.1} ms", of(&answered, 50), of(&answered, 99));
    println!(
        "{} throws seen by {STREAMS} streams: p50 {:.1} ms, p99 {:.1} ms, longest {:.1} ms",
        times.len(),
        of(&times, 50),
        of(&times, 99),
        of(&times, 100)
    );
}

/// Opens a stream and notes, for every event that shows a throw, when it came.
async fn follow(address: SocketAddr, seen: Seen) {
    let mut stream = TcpStream::connect(address).await.unwrap();
    stream.write_all(format!("GET /events HTTP/1.1\r\nhost: {address}\r\n\r\n").as_bytes()).await.unwrap();
    let mut rows = BufReader::new(stream).lines();
    let mut throws = 0;
    while let Some(row) = rows.next_line().await.unwrap() {
        if row.starts_with("data: ") {
            break;
        }
    }
    tokio::spawn(async move {
        while let Ok(Some(row)) = rows.next_line().await {
            let at = Instant::now();
            let Some(data) = row.strip_prefix("data: ") else { continue };
            let Ok(told) = serde_json::from_str(data) else { continue };
            // A stream that was behind is told of several at once.
            while shown(&told, throws) {
                seen.lock().unwrap().push((throws, at));
                throws += 1;
            }
        }
    });
}

/// Whether what is told shows the throw of this number: its lever on its way there.
fn shown(told: &serde_json::Value, throws: usize) -> bool {
    let number = throws as u64;
    let (lever, state) = (number % 8 + 1, format!("to-{}", position(number)));
    let mut levers = told["levers"].as_array().into_iter().flatten();
    levers.any(|told| told["number"] == lever && told["state"] == state.as_str())
}

/// Where the throw of this number goes.
fn position(number: u64) -> &'static str {
    if (number / 8).is_multiple_of(2) { "reverse" } else { "normal" }
}

/// Resident memory of this process, in kilobytes; nothing where there is no `/proc`.
fn resident_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let row = status.lines().find_map(|row| row.strip_prefix("VmRSS:"));
    row.and_then(|row| row.split_whitespace().next()?.parse().ok()).unwrap_or_default()
}

/// Time that this process has used, in ticks.
fn cpu_ticks() -> u64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let columns: Vec<&str> = stat.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    [11, 12].iter().filter_map(|&column| columns.get(column)?.parse::<u64>().ok()).sum()
}
