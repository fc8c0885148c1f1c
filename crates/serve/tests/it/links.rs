//! Links over real sockets and a real pseudo-terminal, with the far end played by the test.
//!
//! # Source
//! Frames of the layout bus by hand, as in the tests of `live` that hold them to the standards: a throw of accessory address 1 is the event
//! `01.01.02.00.00.FF.00.08` or `…09`, its feedback `…FD…`; check-id frames begin with 17, 16, 15, 14, initialization complete is 19100.

use axum::http::StatusCode;
use journal::{Journal, Memory};
use live::Sight;
use network::Position;
use plan::model::LeverNumber;
use serde_json::Value;
use serve::Panel;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::timeout;

use crate::asked::MAIN;
use crate::panels::{
    PATIENCE, ask, get, json_of, panel_on, text, throw, throw_with, thrown, until, until_at,
};

const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");

/// The far end of a link.
struct Far {
    listener: TcpListener,
    stream: BufReader<TcpStream>,
}

/// A panel of the first module with these links, each `TO` the address of the far end.
async fn panel_to(links: &str) -> (Panel, Far) {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let to = listener.local_addr().unwrap().to_string();
    let panel = panel_with(&links.replace("TO", &to));
    let stream = accepted(&listener).await;
    (panel, Far { listener, stream })
}

fn panel_with(links: &str) -> Panel {
    let plan = testkit::plan_of(&format!("{FIRST_MODULE}\n{links}"));
    panel_on(&plan, Journal::open(Memory::new(), "Tern Harbor, first module").unwrap()).0
}

async fn accepted(listener: &TcpListener) -> BufReader<TcpStream> {
    BufReader::new(timeout(PATIENCE, listener.accept()).await.unwrap().unwrap().0)
}

impl Far {
    /// The next row that came over the wire.
    async fn row(&mut self) -> String {
        let mut row = String::new();
        let count = timeout(PATIENCE, self.stream.read_line(&mut row)).await.unwrap().unwrap();
        assert!(count > 0, "the panel closed the link");
        row.trim_end().to_owned()
    }

    /// Reads until a row begins so; gives that row.
    async fn until_row(&mut self, begins: &str) -> String {
        loop {
            let row = self.row().await;
            if row.starts_with(begins) {
                return row;
            }
        }
    }

    async fn say(&mut self, words: &[u8]) {
        self.stream.get_mut().write_all(words).await.unwrap();
    }
}

async fn until_in_touch(panel: &Panel, link: &str, is: bool) {
    until(panel, |snapshot| snapshot.links.contains(&(link.to_owned(), is))).await;
}

async fn refused(panel: &Panel, lever: LeverNumber) -> String {
    let response = ask(panel, throw(lever, "reverse")).await;
    assert_ne!(response.status(), StatusCode::ACCEPTED);
    json_of(response).await["refused"]["code"].as_str().unwrap().to_owned()
}

async fn log(panel: &Panel) -> Vec<String> {
    let log = json_of(ask(panel, get("/log")).await).await;
    log["rows"].as_array().unwrap().iter().map(|row| row["says"].as_str().unwrap().to_owned()).collect()
}

fn sight(panel: &Panel, lever: LeverNumber) -> Sight {
    panel.desk().snapshot().lever(lever).unwrap().sight
}

const BUS: &str = "[link.bus]\nkind = \"layout bus\"\nto = \"TO\"\nnode = \"05.01.01.01.7F.21\"\n";

/// The frame that says so of accessory address 1, from another node.
const FEEDBACK_REVERSE: &[u8] = b":X195B4123N0101020000FD0008;\n";

#[tokio::test(flavor = "multi_thread")]
async fn a_throw_goes_out_on_the_bus_and_its_feedback_confirms_it() {
    let (panel, mut far) = panel_to(BUS).await;
    for begins in [":X17", ":X16", ":X15", ":X14"] {
        assert!(far.row().await.starts_with(begins));
    }
    let complete = far.until_row(":X19100").await;
    assert!(complete.ends_with("N050101017F21;"), "{complete}");
    until_in_touch(&panel, "link bus", true).await;
    thrown(&panel, 1, "reverse").await;
    let frame = far.until_row(":X195B4").await;
    assert!(frame.ends_with("N0101020000FF0008;"), "{frame}");
    assert_eq!(sight(&panel, 1), Sight::Moving(Position::Reverse), "sent is not arrived");
    far.say(FEEDBACK_REVERSE).await;
    until_at(&panel, 1, Position::Reverse).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bus_that_is_lost_in_a_throw_comes_back_and_nothing_is_sent_late() {
    let (panel, mut far) = panel_to(BUS).await;
    until_in_touch(&panel, "link bus", true).await;
    thrown(&panel, 1, "reverse").await;
    far.until_row(":X195B4").await;
    drop(far.stream);
    until_in_touch(&panel, "link bus", false).await;
    assert_eq!(refused(&panel, 1).await, "link-down");
    assert_eq!(refused(&panel, 2).await, "link-down");
    assert_ne!(sight(&panel, 1), Sight::At(Position::Reverse));

    let stream = accepted(&far.listener).await;
    let mut far = Far { listener: far.listener, stream };
    until_in_touch(&panel, "link bus", true).await;
    thrown(&panel, 2, "normal").await;
    let mut asked = false;
    // The first event reported on the new connection is the throw that was asked for now.
    let frame = loop {
        let row = far.row().await;
        asked |= row.starts_with(":X19914") && row.ends_with("N0101020000FD0008;");
        if row.starts_with(":X195B4") {
            break row;
        }
    };
    assert!(frame.ends_with("N0101020000FF000B;"), "{frame}");
    assert!(asked, "where lever 1 stands is asked of whoever knows");
    // Producer identified as valid: 19544.
    far.say(b":X19544123N0101020000FD0008;\n").await;
    until_at(&panel, 1, Position::Reverse).await;
    let log = log(&panel).await;
    let touched = |words: &str| log.iter().filter(|row| *row == words).count();
    assert_eq!(touched("The link bus is in touch"), 2);
    assert_eq!(
        touched("The link bus is out of touch"),
        2,
        "before the first connection, and after it: {log:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn garbage_on_the_bus_says_nothing_and_hurts_nothing() {
    let (panel, mut far) = panel_to(BUS).await;
    until_in_touch(&panel, "link bus", true).await;
    let garbage: Vec<u8> = (0..100_000_u32).map(|at| (at * 7 % 251) as u8).collect();
    far.say(&garbage).await;
    far.say(b"\n:X195B4123N0101020000FD00;\n:X195B4;;;:XZZ\n:X1").await;
    thrown(&panel, 1, "reverse").await;
    far.until_row(":X195B4").await;
    far.say(b"\n").await;
    far.say(FEEDBACK_REVERSE).await;
    until_at(&panel, 1, Position::Reverse).await;
    assert!(panel.desk().snapshot().links[0].1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stop_goes_to_the_bus_and_one_of_another_node_stops_the_panel_once() {
    let (panel, mut far) = panel_to(BUS).await;
    until_in_touch(&panel, "link bus", true).await;
    // Emergency stop of all operations, well-known event 01.00.00.00.00.00.FF.FD, and its clearing (reference/dcc/lcc.json).
    far.say(b":X195B4123N010000000000FFFD;\n").await;
    until(&panel, |snapshot| snapshot.stopped.as_ref().is_some_and(|stop| stop.by.as_str() == "link bus"))
        .await;
    let frame = far.until_row(":X195B4").await;
    assert!(frame.ends_with("N010000000000FFFD;"), "every link is asked: {frame}");
    // Said again, as another panel would: the panel does not answer, or the two would go on for ever.
    far.say(b":X195B4123N010000000000FFFD;\n").await;
    assert_eq!(refused(&panel, 1).await, "stopped");
    assert_eq!(ask(&panel, throw_with("/resume", "{}")).await.status(), StatusCode::ACCEPTED);
    let frame = far.until_row(":X195B4").await;
    assert!(frame.ends_with("N010000000000FFFC;"), "{frame}");
}

const BYTES: &str = r#"
[link.wire]
kind = "bytes"
to = "TO"
throw = "throw {address} {position}\n"
stop = "halt\n"
free = "go\n"
confirm = "{any} {address} stands {position}"
"#;

#[tokio::test(flavor = "multi_thread")]
async fn each_machine_goes_to_its_link_and_a_stop_to_all() {
    let links = format!("{BYTES}moves = [\"cross\"]\n[link.model]\nkind = \"simulator\"\n");
    let (panel, mut far) = panel_to(&links).await;
    until_in_touch(&panel, "link wire", true).await;
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    thrown(&panel, 4, "reverse").await;
    assert_eq!(far.row().await, "throw 4 reverse", "lever 1 went to the modelled layout");
    // Both machines of the crossover are at its one address, and each is sent its command.
    assert_eq!(far.row().await, "throw 4 reverse");
    far.say(b"noise \xFF\xFE\r\nreport 4 stands reverse\r\n").await;
    until_at(&panel, 4, Position::Reverse).await;
    assert_eq!(ask(&panel, throw_with("/stop", "{}")).await.status(), StatusCode::ACCEPTED);
    assert_eq!(far.row().await, "halt");
    assert_eq!(ask(&panel, throw_with("/resume", "{}")).await.status(), StatusCode::ACCEPTED);
    assert_eq!(far.row().await, "go");
    let page = text(ask(&panel, get("/")).await).await;
    assert!(page.contains("Real points move under the benchwork; some machines are only simulated."));
    // The title block of each page: a phone shows nothing else of it above the diagram.
    for path in ["/", "/commissioning", "/faults"] {
        let page = text(ask(&panel, get(path)).await).await;
        assert!(page.contains("<dd>Real points</dd>") && !page.contains("<dd>Simulated</dd>"), "{path}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_link_that_is_lost_keeps_only_its_own_levers_from_being_thrown() {
    let links = format!("{BYTES}moves = [\"cross\"]\n[link.model]\nkind = \"simulator\"\n");
    let (panel, far) = panel_to(&links).await;
    until_in_touch(&panel, "link wire", true).await;
    drop(far);
    until_in_touch(&panel, "link wire", false).await;
    assert_eq!(refused(&panel, 4).await, "link-down");
    thrown(&panel, 1, "reverse").await;
    until_at(&panel, 1, Position::Reverse).await;
    until(&panel, |snapshot| snapshot.link_troubles.contains_key("link wire")).await;
    let health = json_of(ask(&panel, get("/health")).await).await;
    assert!(health["link_troubles"]["link wire"].is_string(), "{health}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_machine_that_cannot_report_is_shown_as_sent_and_its_route_as_not_proven() {
    let links = "[link.wire]\nkind = \"bytes\"\nto = \"TO\"\nthrow = \"{packet}\\n\"\n";
    let (panel, mut far) = panel_to(links).await;
    until_in_touch(&panel, "link wire", true).await;
    let response = ask(&panel, throw(1, "normal")).await;
    let told: Value = json_of(response).await;
    assert_eq!(told["lever"]["says"], "sent to normal; it cannot report");
    assert_eq!(told["lever"]["position"], Value::Null, "nobody has seen it stand there");
    assert_eq!(told["lever"]["commanded"], "normal");
    // The packet of address 1 thrown to normal, bit 1: LCC TN-9.7.0.4, section 2.5.3.3.
    assert_eq!(far.row().await, "81 F9 78");
    let body = serde_json::json!({ "route": MAIN }).to_string();
    assert_eq!(ask(&panel, throw_with("/routes/set", body)).await.status(), StatusCode::ACCEPTED);
    let snapshot = panel.desk().snapshot();
    let says = &snapshot.routes[0].says;
    assert!(says.starts_with("thrown, not proven: machine "), "{says}");
}

/// A pseudo-terminal: its near end has a path, as a serial port has.
fn terminal() -> (std::fs::File, String) {
    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&far).unwrap();
    unlockpt(&far).unwrap();
    let path = ptsname(&far, Vec::new()).unwrap().into_string().unwrap();
    (std::fs::File::from(far), path)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_serial_port_takes_throws_and_gives_reports() {
    let (far, path) = terminal();
    let panel = panel_with(&BYTES.replace("TO", &path));
    until_in_touch(&panel, "link wire", true).await;
    thrown(&panel, 1, "reverse").await;
    let mut stream = std::io::BufReader::new(far);
    let (row, mut stream) = tokio::task::spawn_blocking(move || {
        let mut row = String::new();
        std::io::BufRead::read_line(&mut stream, &mut row).unwrap();
        (row, stream)
    })
    .await
    .unwrap();
    assert_eq!(row, "throw 1 reverse\n");
    let garbage: Vec<u8> = (0..3_000_u16).map(|at| (at * 13).to_le_bytes()[0]).collect();
    let stream = tokio::task::spawn_blocking(move || {
        let far = stream.get_mut();
        std::io::Write::write_all(far, &garbage).unwrap();
        std::io::Write::write_all(far, b"\nreport 1 stands reverse\n").unwrap();
        stream
    })
    .await
    .unwrap();
    until_at(&panel, 1, Position::Reverse).await;
    // As a converter that is pulled out.
    drop(stream);
    until_in_touch(&panel, "link wire", false).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_slow_port_cannot_send_in_time_is_dropped_and_said() {
    let (far, path) = terminal();
    // Sixteen bytes at 300 bits a second take more than half a second; four throws wait for one another.
    let links = format!("{}baud = 300\n", BYTES.replace("TO", &path));
    let panel = panel_with(&links);
    until_in_touch(&panel, "link wire", true).await;
    for lever in [1, 2, 3, 5, 6, 7] {
        thrown(&panel, lever, "reverse").await;
    }
    until(&panel, |snapshot| matches!(snapshot.lever(7).unwrap().sight, Sight::Overdue(_))).await;
    let dropped = "Nothing was sent to machine";
    assert!(log(&panel).await.iter().any(|row| row.starts_with(dropped)));
    panel.desk().close();
    drop(panel);
    let rows = tokio::task::spawn_blocking(move || {
        let mut rows = Vec::new();
        let mut far = std::io::BufReader::new(far);
        let mut row = String::new();
        // Reading a terminal whose other end was closed fails.
        while std::io::BufRead::read_line(&mut far, &mut row).is_ok_and(|count| count > 0) {
            rows.push(std::mem::take(&mut row));
        }
        rows
    });
    let rows = timeout(PATIENCE, rows).await.unwrap().unwrap();
    assert_eq!(rows[0], "throw 1 reverse\n");
    assert!(rows.len() < 6, "{rows:?}");
    assert!(!rows.contains(&"throw 7 reverse\n".to_owned()), "{rows:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lever_that_no_link_moves_is_refused() {
    let panel = panel_with("[link.model]\nkind = \"simulator\"\nmoves = [\"cross\"]\n");
    assert_eq!(refused(&panel, 1).await, "link-missing");
    thrown(&panel, 4, "reverse").await;
    until_at(&panel, 4, Position::Reverse).await;
}
