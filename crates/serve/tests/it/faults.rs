//! What goes wrong in a room full of people, devices and cables.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};

use axum::http::StatusCode;
use journal::Journal;
use live::{Entry, Happened, Moment, Said, Sight};
use network::Position;
use serde_json::{Value, json};
use testkit::disk::Disk;
use tokio::task::spawn_blocking;
use tokio::time::timeout;

use crate::panels::{PATIENCE, ask, folder, get, json_of, panel, panel_on, throw_with, thrown, until_at};
use crate::sockets::Server;

#[tokio::test]
async fn of_two_people_who_throw_one_lever_at_once_the_later_has_the_last_word_and_both_are_written_down() {
    for _ in 0..20 {
        let panel = panel();
        let throw = |position: &str, by: &str| {
            let body = json!({ "position": position, "by": by });
            ask(&panel, throw_with("/levers/1/throw", body.to_string()))
        };
        let (one, two) = tokio::join!(throw("normal", "Ruth"), throw("reverse", "Adam"));
        assert_eq!((one.status(), two.status()), (StatusCode::ACCEPTED, StatusCode::ACCEPTED));
        let log = json_of(ask(&panel, get("/log")).await).await;
        let says = |row: &Value| row["says"].as_str().unwrap().to_owned();
        let thrown: Vec<String> = log["rows"]
            .as_array()
            .unwrap()
            .iter()
            .map(says)
            .filter(|says| says.contains(" thrown to "))
            .collect();
        assert_eq!(thrown.len(), 2, "{log}");
        let last = panel.desk().snapshot().lever(1).unwrap().commanded.unwrap();
        assert!(thrown[0].contains(&format!("thrown to {} by", last.word())), "{thrown:?}, {last:?}");
    }
}

fn head(address: SocketAddr, length: usize) -> String {
    format!(
        "POST /levers/3/throw HTTP/1.1\r\nhost: {address}\r\ncontent-type: application/json\r\ncontent-length: {length}\r\n\r\n"
    )
}

#[tokio::test(flavor = "multi_thread")]
async fn a_client_that_vanishes_in_the_middle_of_a_request_asked_for_nothing() {
    let server = Server::start(folder("vanishes").join("evening.journal"), 0).await;
    let address = server.open.address;
    let body = r#"{"position":"reverse"}"#;
    let whole = head(address, body.len()) + body;
    let (log, after) = spawn_blocking(move || {
        // It vanishes after each number of bytes but the last, and once after the last, before it was answered.
        for bytes in (0..whole.len()).step_by(7) {
            let mut stream = TcpStream::connect(address).unwrap();
            stream.write_all(&whole.as_bytes()[..bytes]).unwrap();
        }
        let before = answer(address, "GET /log");
        // Once all of it is there it may be done, and is done once.
        TcpStream::connect(address).unwrap().write_all(whole.as_bytes()).unwrap();
        (before, answer(address, "GET /log"))
    })
    .await
    .unwrap();
    assert!(!log.contains("Lever 3 thrown"), "{log}");
    assert!(after.matches("Lever 3 thrown to reverse").count() <= 1, "{after}");
    let again = spawn_blocking(move || answer(address, "GET /levers")).await.unwrap();
    assert!(again.starts_with("HTTP/1.1 200"), "{again}");
    server.close().await;
}

fn answer(address: SocketAddr, request: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "{request} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n\r\n").unwrap();
    let mut told = String::new();
    stream.read_to_string(&mut told).unwrap();
    told
}

/// A page whose device takes little at a time; with the id that it saw last, if it comes back.
fn follow(address: SocketAddr, last: Option<&str>) -> TcpStream {
    let socket = socket2::Socket::new(socket2::Domain::IPV4, socket2::Type::STREAM, None).unwrap();
    socket.set_recv_buffer_size(2_048).unwrap();
    socket.connect(&address.into()).unwrap();
    let mut stream = TcpStream::from(socket);
    let last = last.map(|id| format!("last-event-id: {id}\r\n")).unwrap_or_default();
    write!(stream, "GET /events HTTP/1.1\r\nhost: {address}\r\n{last}\r\n").unwrap();
    stream
}

/// The next event that says something of a lever.
fn next(reader: &mut impl BufRead) -> Value {
    let mut row = String::new();
    loop {
        row.clear();
        assert!(reader.read_line(&mut row).unwrap() > 0, "the stream ended");
        if let Some(data) = row.strip_prefix("data: ") {
            return serde_json::from_str(data).unwrap();
        }
    }
}

fn shows(told: &Value, lever: u64, by: &str) -> bool {
    let mut levers = told["levers"].as_array().unwrap().iter();
    levers.any(|each| each["number"] == lever && each["lock"]["by"] == by)
}

const SLOW: usize = 200;
const CHANGES: usize = 400;

#[tokio::test(flavor = "multi_thread")]
async fn readers_that_never_read_hold_up_nobody_and_what_waits_for_them_does_not_grow() {
    let server = Server::start(folder("slow-readers").join("evening.journal"), 0).await;
    let address = server.open.address;
    let seen = spawn_blocking(move || {
        let slow: Vec<TcpStream> = (0..SLOW).map(|_| follow(address, None)).collect();
        let mut quick = BufReader::new(follow(address, None));
        let first = next(&mut quick)["id"].as_str().unwrap().to_owned();
        let mut asking = BufReader::new(TcpStream::connect(address).unwrap());
        for change in 0..CHANGES {
            let (what, body) = if change % 2 == 0 {
                ("lock", format!("{{\"note\":\"x\",\"by\":\"{change}\"}}"))
            } else {
                ("unlock", "{}".to_owned())
            };
            let lever = change / 2 % 8 + 1;
            let length = body.len();
            write!(
                asking.get_mut(),
                "POST /levers/{lever}/{what} HTTP/1.1\r\nhost: {address}\r\ncontent-type: application/json\r\ncontent-length: {length}\r\n\r\n{body}"
            )
            .unwrap();
            assert!(status(&mut asking).contains("202"), "{change}");
        }
        let lock = "POST /levers/8/lock HTTP/1.1";
        let body = r#"{"note":"last","by":"the last"}"#;
        write!(
            asking.get_mut(),
            "{lock}\r\nhost: {address}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
            body.len()
        )
        .unwrap();
        assert!(status(&mut asking).contains("202"));
        // Who reads sees the last of it, whoever else does not.
        while !shows(&next(&mut quick), 8, "the last") {}
        // Who did not read has what its system kept for it, then the last: not every one.
        let mut events = 0;
        let mut late = BufReader::new(&slow[0]);
        let last = loop {
            let told = next(&mut late);
            events += 1;
            if shows(&told, 8, "the last") {
                break told;
            }
        };
        assert!(last["levers"].as_array().unwrap().len() > 1, "what it missed comes together: {last}");
        // And who comes back by what it saw first gets one event.
        let mut back = BufReader::new(follow(address, Some(&first)));
        let told = next(&mut back);
        assert!(shows(&told, 8, "the last") && told["whole"] == json!(false), "{told}");
        drop(slow);
        events
    });
    let events = timeout(PATIENCE, seen).await.unwrap().unwrap();
    assert!(events < CHANGES * 3 / 4, "{events} events were kept for one that did not read");
    server.close().await;
}

/// Reads one answer whole; gives back its first row.
fn status(reader: &mut BufReader<TcpStream>) -> String {
    let (mut first, mut length) = (String::new(), 0);
    reader.read_line(&mut first).unwrap();
    loop {
        let mut row = String::new();
        reader.read_line(&mut row).unwrap();
        if row == "\r\n" {
            break;
        }
        if let Some(bytes) = row.to_ascii_lowercase().strip_prefix("content-length: ") {
            length = bytes.trim().parse().unwrap();
        }
    }
    let mut body = vec![0; length];
    reader.read_exact(&mut body).unwrap();
    first
}

/// While the panel was closed someone set the computer's clock: the journal speaks of hours that are yet to come, or long gone.
#[tokio::test]
async fn a_clock_that_was_set_while_the_panel_was_closed_keeps_nobody_from_throwing() {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    let now = u64::try_from(now.as_millis()).unwrap();
    let coils = include_str!("../../../../demo/first-module/layout.toml")
        .replace("[turnout.team]\n", "[turnout.team]\nmotor = \"coil machine\"\n")
        .replace("[turnout.meet]\n", "[turnout.meet]\nmotor = \"coil machine\"\n");
    let plan = testkit::plan_of(&coils);
    for at in [now + 10 * 365 * 24 * 3_600_000, now + 3_600_000, now - 3_600_000, 0, u64::MAX] {
        let disk = Disk::default();
        let mut journal = Journal::open(disk.clone(), "Tern Harbor, first module").unwrap().journal;
        let what = Happened::Thrown { lever: 1, position: Position::Reverse, by: Said::default() };
        journal.append(&[Entry { at: Moment(at), what }.write()]).unwrap();
        drop(journal);
        let (panel, notes) = panel_on(&plan, Journal::open(disk, "Tern Harbor, first module").unwrap());
        assert_eq!(notes, Vec::<String>::new());
        for lever in [2, 1] {
            thrown(&panel, lever, "normal").await;
        }
        for lever in [2, 1] {
            until_at(&panel, lever, Position::Normal).await;
        }
        assert_eq!(panel.desk().snapshot().lever(3).unwrap().sight, Sight::NotKnown);
    }
}
