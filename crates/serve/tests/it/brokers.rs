//! Panels that share a railroad over a real message broker: `mosquitto`, on a port and with a folder of its own.
//!
//! Leases last seconds, so these tests take some. They wait for what the panels show, never for a time.
//!
//! # Source
//! OASIS MQTT Version 5.0, by a broker that others wrote: what a kept message, a last will and an order of messages are is held to it here.

use std::fs;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use axum::http::StatusCode;
use journal::{Journal, Memory};
use live::Sight;
use network::Position;
use plan::model::LeverNumber;
use rumqttc::v5::mqttbytes::QoS;
use rumqttc::v5::mqttbytes::v5::Packet;
use rumqttc::v5::{AsyncClient, Event, EventLoop, MqttOptions};
use serde_json::{Value, json};
use serve::{Panel, Snapshot};
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::tcp::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{TcpListener, TcpStream};
use tokio::process::{Child, Command};
use tokio::sync::{broadcast, watch};
use tokio::time::timeout;

use crate::asked::MAIN;
use crate::panels::{
    PATIENCE, ask, folder, get, json_of, panel_on, throw, throw_with, thrown, until, until_at,
};

const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");

/// A real broker.
struct Mosquitto {
    folder: PathBuf,
    port: u16,
    child: Option<Child>,
}

impl Mosquitto {
    async fn start(name: &str) -> Self {
        let folder = folder(&format!("broker-{name}"));
        // Free a moment ago; nobody else asks for one in between but by accident.
        let port = TcpListener::bind("127.0.0.1:0").await.unwrap().local_addr().unwrap().port();
        let mut own = Self { folder, port, child: None };
        own.go().await;
        own
    }

    /// Starts it, without any memory.
    async fn go(&mut self) {
        let told = self.folder.join("mosquitto.conf");
        let port = self.port;
        fs::write(&told, format!("listener {port} 127.0.0.1\nallow_anonymous true\npersistence false\n"))
            .unwrap();
        let log = fs::File::create(self.folder.join("log")).unwrap();
        // Debian keeps it where only the administrator's path leads.
        let found =
            ["/usr/sbin/mosquitto", "/usr/bin/mosquitto"].into_iter().find(|path| fs::exists(path).unwrap());
        let mut command = Command::new(found.unwrap_or("mosquitto"));
        command.arg("-c").arg(&told).stdout(log.try_clone().unwrap()).stderr(log).kill_on_drop(true);
        self.child = Some(
            command
                .spawn()
                .unwrap_or_else(|error| panic!("is the Debian package mosquitto installed? {error}")),
        );
        let answers = async {
            while TcpStream::connect(("127.0.0.1", port)).await.is_err() {
                tokio::task::yield_now().await;
            }
        };
        timeout(PATIENCE, answers).await.unwrap();
    }

    async fn kill(&mut self) {
        self.child.take().unwrap().kill().await.unwrap();
    }
}

/// A wire to the broker that the test can cut, or hold still.
struct Cuttable {
    address: SocketAddr,
    wire: watch::Sender<Wire>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wire {
    Whole,
    /// Nothing moves, and what is sent waits.
    Still,
    Cut,
}

impl Cuttable {
    async fn to(port: u16) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (wire, is) = watch::channel(Wire::Whole);
        tokio::spawn(async move {
            while let Ok((near, _)) = listener.accept().await {
                let mut is = is.clone();
                if *is.borrow() == Wire::Cut {
                    continue;
                }
                tokio::spawn(async move {
                    let far = TcpStream::connect(("127.0.0.1", port)).await.unwrap();
                    let (near, far) = (near.into_split(), far.into_split());
                    tokio::select! {
                        () = carry(near.0, far.1, is.clone()) => {}
                        () = carry(far.0, near.1, is.clone()) => {}
                        _ = is.wait_for(|wire| *wire == Wire::Cut) => {}
                    }
                });
            }
        });
        Self { address, wire }
    }
}

async fn carry(mut from: OwnedReadHalf, mut to: OwnedWriteHalf, mut wire: watch::Receiver<Wire>) {
    let mut buffer = vec![0; 4_096];
    while let Ok(count @ 1..) = from.read(&mut buffer).await {
        if wire.wait_for(|wire| *wire != Wire::Still).await.is_err()
            || to.write_all(&buffer[..count]).await.is_err()
        {
            return;
        }
    }
}

/// What moves the points, for every panel that has a wire to it: it writes down what comes and tells all.
struct Device {
    address: SocketAddr,
    rows: Arc<Mutex<Vec<String>>>,
}

impl Device {
    async fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let rows = Arc::new(Mutex::new(Vec::new()));
        let (told, _) = broadcast::channel::<String>(64);
        let kept = Arc::clone(&rows);
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                let (rows, told) = (Arc::clone(&kept), told.clone());
                let mut hear = told.subscribe();
                tokio::spawn(async move {
                    let (reader, mut writer) = stream.into_split();
                    let mut lines = BufReader::new(reader).lines();
                    loop {
                        tokio::select! {
                            row = lines.next_line() => {
                                let Ok(Some(row)) = row else { return };
                                // `east throws 1 reverse`
                                let words: Vec<&str> = row.split(' ').collect();
                                let report = format!("report {} stands {}\n", words[2], words[3]);
                                rows.lock().unwrap().push(row);
                                let _ = told.send(report);
                            }
                            Ok(report) = hear.recv() => {
                                if writer.write_all(report.as_bytes()).await.is_err() {
                                    return;
                                }
                            }
                        }
                    }
                });
            }
        });
        Self { address, rows }
    }

    fn rows(&self) -> Vec<String> {
        self.rows.lock().unwrap().clone()
    }
}

/// A panel of the first module, with these links besides the one to the broker.
fn panel_of(name: &str, broker: SocketAddr, links: &str) -> Panel {
    let club = format!(
        "[link.club]\nkind = \"broker\"\nto = \"{broker}\"\ntopic = \"tern harbor\"\nname = \"{name}\"\n"
    );
    let plan = testkit::plan_of(&format!("{FIRST_MODULE}\n{links}\n{club}"));
    panel_on(&plan, Journal::open(Memory::new(), "Tern Harbor, first module").unwrap()).0
}

const MODEL: &str = "[link.model]\nkind = \"simulator\"\n";

fn wire(name: &str, device: SocketAddr) -> String {
    format!(
        "[link.wire]\nkind = \"bytes\"\nto = \"{device}\"\nthrow = \"{name} throws {{address}} {{position}}\\n\"\nconfirm = \"report {{address}} stands {{position}}\"\n"
    )
}

fn at(port: u16) -> SocketAddr {
    SocketAddr::from(([127, 0, 0, 1], port))
}

/// Waits until a lever can be thrown from here, or cannot.
async fn until_in_touch(panel: &Panel, lever: LeverNumber, is: bool) {
    until(panel, |snapshot| notes(snapshot, lever).contains("out of touch") != is).await;
}

fn notes(snapshot: &Snapshot, lever: LeverNumber) -> String {
    snapshot.lever(lever).unwrap().elsewhere.join("; ")
}

/// The code and the sentence with which something is refused.
async fn refused(panel: &Panel, path: &str, body: serde_json::Value) -> (String, String) {
    let response = ask(panel, throw_with(path, body.to_string())).await;
    assert_ne!(response.status(), StatusCode::ACCEPTED);
    let refused = json_of(response).await["refused"].clone();
    (refused["code"].as_str().unwrap().to_owned(), refused["message"].as_str().unwrap().to_owned())
}

async fn taken(panel: &Panel, path: &str, body: serde_json::Value) {
    let response = ask(panel, throw_with(path, body.to_string())).await;
    let status = response.status();
    assert_eq!(status, StatusCode::ACCEPTED, "{}", json_of(response).await);
}

async fn log(panel: &Panel) -> Vec<String> {
    let log = json_of(ask(panel, get("/log")).await).await;
    log["rows"].as_array().unwrap().iter().map(|row| row["says"].as_str().unwrap().to_owned()).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_thrown_locked_and_set_on_one_panel_holds_on_the_other() {
    let broker = Mosquitto::start("holds").await;
    let yard = panel_of("yard", at(broker.port), MODEL);
    let tower = panel_of("tower", at(broker.port), "");
    let (code, _) = refused(&tower, "/levers/1/throw", json!({ "position": "reverse" })).await;
    assert!(["link-down", "lever-out-of-touch"].contains(&code.as_str()), "{code}");
    until_in_touch(&yard, 1, true).await;
    until_in_touch(&tower, 1, true).await;

    thrown(&tower, 1, "reverse").await;
    until_at(&yard, 1, Position::Reverse).await;
    until_at(&tower, 1, Position::Reverse).await;
    assert!(log(&yard).await.contains(&"Lever 1 thrown to reverse by the panel tower".to_owned()));
    thrown(&yard, 2, "normal").await;
    until_at(&tower, 2, Position::Normal).await;
    // Two machines, one throw.
    thrown(&tower, 4, "reverse").await;
    until_at(&tower, 4, Position::Reverse).await;
    let thrown_rows = log(&yard).await;
    assert_eq!(
        thrown_rows.iter().filter(|row| row.starts_with("Lever 4 thrown")).count(),
        1,
        "{thrown_rows:?}"
    );

    taken(&yard, "/levers/3/lock", json!({ "note": "wheel in the frog", "by": "Ruth" })).await;
    until(&tower, |snapshot| snapshot.lever(3).unwrap().lock.is_some()).await;
    let (code, says) = refused(&tower, "/levers/3/throw", json!({ "position": "reverse" })).await;
    assert_eq!(code, "held-elsewhere");
    assert_eq!(
        says,
        "Lever 3 is locked on the panel yard by Ruth: “wheel in the frog”. Ask there whether that is over, and for it to be let go."
    );
    taken(&tower, "/levers/5/lock", json!({ "note": "paint is wet" })).await;
    until(&yard, |snapshot| snapshot.lever(5).unwrap().lock.is_some()).await;
    assert_eq!(refused(&yard, "/levers/5/throw", json!({ "position": "reverse" })).await.0, "held-elsewhere");
    taken(&tower, "/levers/5/unlock", json!({})).await;
    taken(&yard, "/levers/3/unlock", json!({})).await;
    until(&yard, |snapshot| snapshot.lever(5).unwrap().lock.is_none()).await;
    until(&tower, |snapshot| snapshot.lever(3).unwrap().lock.is_none()).await;

    taken(&tower, "/routes/set", json!({ "route": MAIN })).await;
    until(&tower, |snapshot| snapshot.routes[0].sight == live::RouteSight::Set).await;
    until(&yard, |snapshot| says_of_route(snapshot)).await;
    let held =
        (1..=8).find(|lever| notes(&yard.desk().snapshot(), *lever).contains("held by the route")).unwrap();
    let (code, says) =
        refused(&yard, &format!("/levers/{held}/throw"), json!({ "position": "reverse" })).await;
    assert_eq!(code, "held-elsewhere");
    assert!(says.contains("set on the panel tower"), "{says}");

    taken(&tower, "/stop", json!({})).await;
    until(&yard, |snapshot| {
        snapshot.stopped.as_ref().is_some_and(|stop| stop.by.as_str() == "the panel tower")
    })
    .await;
    taken(&yard, "/resume", json!({})).await;
    assert!(tower.desk().snapshot().stopped.is_some(), "people there have not let it go on");
    taken(&tower, "/resume", json!({})).await;

    // Closed without a word, as when its power is gone.
    tower.desk().close();
    until(&yard, |snapshot| !says_of_route(snapshot)).await;
    assert!(yard.desk().snapshot().stopped.is_none());
    thrown(&yard, held, "reverse").await;
}

fn says_of_route(snapshot: &Snapshot) -> bool {
    (1..=8).any(|lever| notes(snapshot, lever).contains("held by the route"))
}

#[tokio::test(flavor = "multi_thread")]
async fn a_broker_that_is_gone_is_said_and_nothing_is_thrown_until_it_is_back() {
    let mut broker = Mosquitto::start("gone").await;
    let yard = panel_of("yard", at(broker.port), MODEL);
    let tower = panel_of("tower", at(broker.port), "");
    until_in_touch(&yard, 1, true).await;
    until_in_touch(&tower, 1, true).await;
    thrown(&yard, 1, "reverse").await;
    until_at(&tower, 1, Position::Reverse).await;
    broker.kill().await;
    until(&tower, |snapshot| snapshot.lever(1).unwrap().sight == Sight::NotKnown).await;
    until_in_touch(&yard, 1, false).await;
    let (code, says) = refused(&yard, "/levers/1/throw", json!({ "position": "normal" })).await;
    assert_eq!(code, "lever-out-of-touch");
    assert!(says.contains("the message broker is out of touch"), "{says}");
    let health = json_of(ask(&tower, get("/health")).await).await;
    assert!(health["links"].as_array().unwrap().contains(&json!(["link club", false])), "{health}");
    assert!(health["link_troubles"]["link club"].is_string(), "{health}");
    let before = log(&yard).await.iter().filter(|row| row.starts_with("Lever 1 thrown")).count();
    broker.go().await;
    until_in_touch(&yard, 1, true).await;
    until_at(&tower, 1, Position::Reverse).await;
    let after = log(&yard).await.iter().filter(|row| row.starts_with("Lever 1 thrown")).count();
    assert_eq!(before, after, "nothing was thrown late");
    thrown(&tower, 1, "normal").await;
    until_at(&yard, 1, Position::Normal).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn two_panels_with_a_wire_to_one_machine_drive_it_one_after_the_other() {
    let broker = Mosquitto::start("two").await;
    let (cut, device) = (Cuttable::to(broker.port).await, Device::start().await);
    let east = panel_of("east", cut.address, &wire("east", device.address));
    until_in_touch(&east, 1, true).await;
    let west = panel_of("west", at(broker.port), &wire("west", device.address));
    until_in_touch(&west, 1, true).await;
    thrown(&west, 1, "reverse").await;
    until_at(&west, 1, Position::Reverse).await;
    assert_eq!(device.rows(), ["east throws 1 reverse"], "who holds it drives it");

    cut.wire.send_replace(Wire::Cut);
    // Pressed all the time on both sides, as people do.
    let mut is_over = false;
    while !is_over {
        drop(ask(&east, throw(1, "normal")).await);
        is_over = ask(&west, throw(1, "normal")).await.status() == StatusCode::ACCEPTED
            && device.rows().iter().any(|row| row.starts_with("west"));
        tokio::task::yield_now().await;
    }
    until_in_touch(&east, 1, false).await;
    let rows = device.rows();
    let first = rows.iter().position(|row| row.starts_with("west")).unwrap();
    assert!(rows[first..].iter().all(|row| row.starts_with("west")), "{rows:?}");

    cut.wire.send_replace(Wire::Whole);
    until_in_touch(&east, 1, true).await;
    thrown(&east, 1, "reverse").await;
    until_at(&east, 1, Position::Reverse).await;
    let rows = device.rows();
    assert!(rows[first..].iter().all(|row| row.starts_with("west")), "east asks west: {rows:?}");
    assert_eq!(rows.last().unwrap(), "west throws 1 reverse");

    west.desk().close();
    until(&east, |snapshot| !notes(snapshot, 1).is_empty()).await;
    until_in_touch(&east, 1, true).await;
    thrown(&east, 1, "normal").await;
    until_at(&east, 1, Position::Normal).await;
    assert_eq!(device.rows().last().unwrap(), "east throws 1 normal");
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_broker_that_answers_every_lever_is_out_of_touch_and_says_why() {
    // Nobody listens on the port of a listener that is gone.
    let port = TcpListener::bind("127.0.0.1:0").await.unwrap().local_addr().unwrap().port();
    let panel = panel_of("tower", at(port), "");
    until(&panel, |snapshot| snapshot.link_troubles.contains_key("link club")).await;
    let (code, _) = refused(&panel, "/levers/1/throw", json!({ "position": "normal" })).await;
    assert_eq!(code, "link-down");
    let snapshot = panel.desk().snapshot();
    assert!(snapshot.levers.iter().all(|lever| lever.elsewhere.join("; ").starts_with("out of touch: ")));
    assert!(snapshot.link_troubles["link club"].contains("refused"), "{:?}", snapshot.link_troubles);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_asked_over_a_wire_that_stands_still_is_never_done_late() {
    let broker = Mosquitto::start("still").await;
    let (cut, device) = (Cuttable::to(broker.port).await, Device::start().await);
    let yard = panel_of("yard", at(broker.port), &wire("yard", device.address));
    let tower = panel_of("tower", cut.address, "");
    until_in_touch(&yard, 1, true).await;
    until_in_touch(&tower, 1, true).await;
    cut.wire.send_replace(Wire::Still);
    // Taken, for nobody can know yet that it goes nowhere.
    thrown(&tower, 1, "reverse").await;
    until_in_touch(&tower, 1, false).await;
    cut.wire.send_replace(Wire::Whole);
    until_in_touch(&tower, 1, true).await;
    thrown(&tower, 2, "reverse").await;
    until_at(&tower, 2, Position::Reverse).await;
    assert_eq!(device.rows(), ["yard throws 2 reverse"], "lever 1 was asked for seconds before");
}

/// A device that somebody wrote by `docs/links.md`.
struct Stranger {
    client: AsyncClient,
    events: EventLoop,
}

impl Stranger {
    async fn join(port: u16, topics: &[&str]) -> Self {
        let options = MqttOptions::new("stranger", "127.0.0.1", port);
        let (client, events) = AsyncClient::new(options, 16);
        for topic in topics {
            client.subscribe(*topic, QoS::AtLeastOnce).await.unwrap();
        }
        Self { client, events }
    }

    /// The next payload on a topic that is as wanted, and whether the broker had kept it.
    async fn hear(&mut self, topic: &str, is: impl Fn(&Value, bool) -> bool) -> Value {
        let heard = async {
            loop {
                if let Event::Incoming(Packet::Publish(publish)) = self.events.poll().await.unwrap()
                    && publish.topic == topic.as_bytes()
                {
                    let said: Value = serde_json::from_slice(&publish.payload).unwrap();
                    if is(&said, publish.retain) {
                        return said;
                    }
                }
            }
        };
        timeout(PATIENCE, heard).await.unwrap()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_speaks_as_documented_throws_and_is_answered() {
    let broker = Mosquitto::start("stranger").await;
    let yard = panel_of("yard", at(broker.port), MODEL);
    until_in_touch(&yard, 1, true).await;
    let topics =
        ["tern harbor/lease/+", "tern harbor/machine/+", "tern harbor/answer/box-1", "tern harbor/server/+"];
    let mut stranger = Stranger::join(broker.port, &topics).await;
    let machine = yard.desk().snapshot().lever(1).unwrap().machines[0].0.clone();
    let lease = stranger
        .hear(&format!("tern harbor/lease/{machine}"), |said, is_kept| said["held"] == true && !is_kept)
        .await;
    let mut ask = json!({
        "ask": "1", "server": "box-1", "position": "reverse",
        "epoch": lease["epoch"], "serial": lease["serial"], "by": "a box of buttons",
    });
    let topic = format!("tern harbor/ask/{machine}");
    stranger.client.publish(&topic, QoS::AtLeastOnce, false, ask.to_string()).await.unwrap();
    let answer = stranger.hear("tern harbor/answer/box-1", |_, _| true).await;
    assert_eq!(answer, json!({ "ask": "1", "machine": machine, "done": true, "says": "" }));
    let is_at = |said: &Value, _| said["state"] == "at" && said["position"] == "reverse";
    stranger.hear(&format!("tern harbor/machine/{machine}"), is_at).await;

    taken(&yard, "/levers/1/lock", json!({ "note": "wheel in the frog" })).await;
    let (mut answer, mut count) = (json!({ "says": "too long" }), 1);
    // A computer that is busy elsewhere may take seconds from the lease to the ask.
    while answer["says"].as_str().unwrap().contains("too long") {
        count += 1;
        ask["ask"] = json!(count.to_string());
        let lease =
            stranger.hear(&format!("tern harbor/lease/{machine}"), |said, _| said["held"] == true).await;
        ask["serial"] = lease["serial"].clone();
        stranger.client.publish(&topic, QoS::AtLeastOnce, false, ask.to_string()).await.unwrap();
        answer = stranger.hear("tern harbor/answer/box-1", |_, _| true).await;
    }
    assert_eq!(answer["done"], false);
    assert!(answer["says"].as_str().unwrap().contains("wheel in the frog"), "{answer}");

    yard.desk().close();
    let server = lease["server"].as_str().unwrap();
    let gone = stranger.hear(&format!("tern harbor/server/{server}"), |said, _| said["here"] == false).await;
    assert_eq!(gone["holds"], json!([]));
}
