//! The real server on a real port.

use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpStream};

use serve::{Open, Options, ServeError, serve};
use tokio::sync::oneshot;
use tokio::task::{JoinHandle, spawn_blocking};
use tokio::time::timeout;

use crate::panels::{PATIENCE, first_module, folder};

/// A server on a port of its own, until it is closed.
pub(crate) struct Server {
    pub(crate) open: Open,
    close: oneshot::Sender<()>,
    task: JoinHandle<Result<(), ServeError>>,
}

impl Server {
    pub(crate) async fn start(journal: std::path::PathBuf, port: u16) -> Self {
        Self::start_on(journal, SocketAddr::from(([127, 0, 0, 1], port))).await
    }

    pub(crate) async fn start_on(journal: std::path::PathBuf, listen: SocketAddr) -> Self {
        let mut options = Options::new(journal);
        options.listen = listen;
        Self::start_with(options).await
    }

    pub(crate) async fn start_with(options: Options) -> Self {
        let (close, closed) = oneshot::channel::<()>();
        let (opened, when_open) = oneshot::channel();
        let task = tokio::spawn(serve(
            first_module(),
            options,
            |open| {
                let _ = opened.send(open.clone());
            },
            async {
                let _ = closed.await;
            },
        ));
        if let Ok(open) = timeout(PATIENCE, when_open).await.unwrap() {
            return Self { open, close, task };
        }
        panic!("{:?}", task.await.unwrap());
    }

    pub(crate) async fn close(self) {
        self.close.send(()).unwrap();
        timeout(PATIENCE, self.task).await.unwrap().unwrap().unwrap();
    }
}

/// Opens an event stream and reads its first event.
fn follow(address: SocketAddr) -> BufReader<TcpStream> {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "GET /events HTTP/1.1\r\nhost: {address}\r\n\r\n").unwrap();
    let mut reader = BufReader::new(stream);
    let mut row = String::new();
    while !row.starts_with("data: ") {
        row.clear();
        assert!(reader.read_line(&mut row).unwrap() > 0, "the stream ended before its first event");
    }
    reader
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_with_open_streams_closes_and_its_journal_can_be_opened_again() {
    let journal = folder("closes").join("evening.journal");
    let server = Server::start(journal.clone(), 0).await;
    let address = server.open.address;
    assert_eq!(server.open.url, format!("http://127.0.0.1:{}/", address.port()));
    assert_eq!(server.open.notes, Vec::<String>::new());
    let streams = spawn_blocking(move || (0..20).map(|_| follow(address)).collect::<Vec<_>>()).await.unwrap();
    server.close().await;
    for mut stream in streams {
        let ended = spawn_blocking(move || {
            let mut rest = String::new();
            while stream.read_line(&mut rest).unwrap_or(0) > 0 {}
        });
        timeout(PATIENCE, ended).await.unwrap().unwrap();
    }
    Server::start(journal, 0).await.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_port_or_a_journal_that_is_in_use_is_said() {
    let folder = folder("in-use");
    let server = Server::start(folder.join("one.journal"), 0).await;
    let mut options = Options::new(folder.join("two.journal"));
    options.listen = server.open.address;
    let error = serve(first_module(), options, |_| {}, async {}).await.unwrap_err();
    let says = error.to_string();
    assert!(
        says.starts_with(&format!(
            "cannot serve on {}: another program is there already",
            server.open.address
        )),
        "{says}"
    );
    assert!(says.ends_with("name another port with --port"), "{says}");

    let mut options = Options::new(folder.join("one.journal"));
    options.listen.set_port(0);
    let error = serve(first_module(), options, |_| {}, async {}).await.unwrap_err();
    assert!(error.to_string().starts_with("cannot open the journal "), "{error}");
    let source = std::error::Error::source(&error).unwrap().to_string();
    assert_eq!(source, "another throwbar is using this journal");
    server.close().await;
}

/// Sends one request on a connection of its own and gives back the first row of the answer.
fn first_row(address: SocketAddr, request: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "{request} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n\r\n").unwrap();
    let mut row = String::new();
    BufReader::new(stream).read_line(&mut row).unwrap();
    row
}

#[tokio::test(flavor = "multi_thread")]
async fn a_panel_that_the_network_can_reach_makes_keys_once_and_slows_who_asks_too_often() {
    let journal = folder("network").join("evening.journal");
    let any = SocketAddr::from(([0, 0, 0, 0], 0));
    let server = Server::start_on(journal.clone(), any).await;
    assert_eq!(server.open.keys.iter().map(|key| key.role).collect::<Vec<_>>(), serve::Role::ALL);
    assert!(server.open.network.is_some());
    assert!(server.open.notes.iter().any(|note| note.contains("reachable switch for track power")));
    let address = SocketAddr::from(([127, 0, 0, 1], server.open.address.port()));
    let asked = spawn_blocking(move || {
        let first = first_row(address, "GET /levers");
        // More than anyone has to spare.
        let slowed = (0..2_000).map(|_| first_row(address, "GET /levers")).find(|row| row.contains("429"));
        (first, slowed)
    });
    let (first, slowed) = timeout(PATIENCE, asked).await.unwrap().unwrap();
    assert!(first.contains("401"), "{first}");
    assert!(slowed.is_some(), "nobody is ever asked to wait");
    server.close().await;
    let again = Server::start_on(journal, any).await;
    assert_eq!(again.open.keys, [], "keys are shown once");
    again.close().await;
}
