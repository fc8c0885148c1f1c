//! The live panel as a user has it: the real program, a real browser, and a kill in between.

use crate::{Folder, program, root};
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};

/// The program serving the first module, and the address it printed first.
struct Serving {
    child: Child,
    url: String,
}

impl Serving {
    fn start(journal: &std::path::Path, port: &str) -> Self {
        Self::start_on("demo/first-module".as_ref(), journal, port)
    }

    fn start_on(layout: &std::path::Path, journal: &std::path::Path, port: &str) -> Self {
        let mut child = program()
            .current_dir(root())
            .arg("serve")
            .arg(layout)
            .args(["--port", port, "--journal"])
            .arg(journal)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut url = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut url).unwrap();
        assert!(url.starts_with("http://127.0.0.1:"), "the first row is the address: {url}");
        Self { child, url: url.trim().to_owned() }
    }

    fn port(&self) -> String {
        self.url.trim_end_matches('/').rsplit(':').next().unwrap().to_owned()
    }

    /// Ends it at once, as a power cut does.
    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

#[test]
fn a_lever_thrown_in_one_page_moves_in_another_and_both_survive_a_kill() {
    let scripts = root().join("tests/browser");
    let remedy = "run `cargo xtask setup`, which installs what the browser test needs";
    assert!(
        scripts.join("node_modules/playwright-core").exists(),
        "the browser's driver is missing: {remedy}"
    );
    let folder = Folder::new("live");
    let journal = folder.path().join("evening.journal");
    let mut serving = Serving::start(&journal, "0");
    let mut script = Command::new("node")
        .args(["live.mjs", "restart", &serving.url])
        .current_dir(scripts)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("Node cannot be started ({error}): {remedy}"));
    let mut done = Vec::new();
    let mut kills = 0;
    for row in BufReader::new(script.stdout.take().unwrap()).lines() {
        let told: Value = serde_json::from_str(&row.unwrap()).unwrap();
        if told["please"] == "restart" {
            let port = serving.port();
            serving.kill();
            serving = Serving::start(&journal, &port);
            script.stdin.as_mut().unwrap().write_all(b"it is back\n").unwrap();
            kills += 1;
        } else {
            done.push(told["did"].as_str().unwrap().to_owned());
        }
    }
    let status = script.wait().unwrap();
    serving.kill();
    assert!(status.success(), "the browser saw something else than it should, after {done:#?}");
    assert_eq!(kills, 1);
    assert!(done.iter().any(|did| did.contains("thrown in the first page moved in the second")), "{done:#?}");
}

#[test]
fn a_layout_that_is_changed_while_it_is_served_keeps_its_state_and_a_broken_one_is_said() {
    let folder = Folder::new("changed");
    let (file, journal) = (folder.path().join("layout.toml"), folder.path().join("evening.journal"));
    let first = std::fs::read_to_string(root().join("demo/first-module/layout.toml")).unwrap();
    std::fs::write(&file, &first).unwrap();
    let serving = Serving::start_on(folder.path(), &journal, "0");
    let lock = answer(&serving.url, "POST /levers/1/lock", r#"{"note":"wheel in the frog"}"#);
    assert!(lock.starts_with("HTTP/1.1 202"), "{lock}");

    std::fs::write(&file, first.replacen("hand = \"right\"", "hand = \"sideways\"", 1)).unwrap();
    let broken = answer(&serving.url, "POST /layout/read", "{}");
    assert!(broken.starts_with("HTTP/1.1 422"), "{broken}");
    assert!(broken.contains("Row 21 of the layout: `hand` cannot be `sideways`"), "{broken}");

    let (main, ladder) = (
        "[line.main]\nfrom = \"west\"\nto = \"east\"\n",
        "[line.\"yard ladder\"]\nfrom = \"yard lead\"\nto = \"yard 5\"\n",
    );
    std::fs::write(&file, first.replace(main, "").replace(ladder, &format!("{ladder}\n{main}"))).unwrap();
    let changed = answer(&serving.url, "POST /layout/read", "{}");
    assert!(changed.contains("what was lever 1 is lever 5 now (team)"), "{changed}");
    serving.kill();

    let serving = Serving::start_on(folder.path(), &journal, "0");
    let refused = answer(&serving.url, "POST /levers/5/throw", r#"{"position":"normal"}"#);
    assert!(refused.contains("wheel in the frog"), "{refused}");
    let taken = answer(&serving.url, "POST /levers/1/throw", r#"{"position":"normal"}"#);
    assert!(taken.starts_with("HTTP/1.1 202"), "{taken}");
    serving.kill();
}

#[test]
fn the_address_is_printed_without_keys_and_nothing_is_served() {
    let folder = Folder::new("address");
    let journal = folder.path().join("evening.journal");
    let output = program()
        .current_dir(root())
        .args(["serve", "demo/first-module", "--listen", "192.0.2.9", "--address", "--tls", "--journal"])
        .arg(&journal)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    let printed = String::from_utf8_lossy(&output.stdout);
    assert_eq!(printed.lines().next(), Some("https://192.0.2.9:7417/"));
    assert!(printed.contains('█') && !printed.contains('#'), "{printed}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "no journal is begun, no key made");
}

#[test]
fn a_port_in_use_is_said() {
    let folder = Folder::new("port");
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let journal = folder.path().join("evening.journal");
    let output = program()
        .current_dir(root())
        .args(["serve", "demo/first-module", "--port", &port, "--journal"])
        .arg(&journal)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(
        err.contains("cannot serve on 127.0.0.1")
            && err.contains("in use")
            && err.contains("name another port"),
        "{err}"
    );
}

/// Asks for something on a connection of its own; gives back the whole answer, as far as it came.
fn answer(url: &str, request: &str, body: &str) -> String {
    let address = url.trim_start_matches("http://").trim_end_matches('/');
    let Ok(mut stream) = std::net::TcpStream::connect(address) else { return String::new() };
    let length = body.len();
    let sent = write!(
        stream,
        "{request} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\ncontent-type: application/json\r\ncontent-length: {length}\r\n\r\n{body}"
    );
    let mut answer = String::new();
    // A panel that is killed answers nothing more, and what it did not answer it did not promise.
    if sent.is_ok() && std::io::Read::read_to_string(&mut stream, &mut answer).is_err() {
        answer.clear();
    }
    answer
}

/// `KILLS=500 cargo test -p throwbar --test it killed_under_load` kills it more often.
#[test]
fn nothing_that_was_acknowledged_is_lost_when_the_program_is_killed_under_load() {
    let kills: usize = std::env::var("KILLS").map_or(10, |kills| kills.parse().unwrap());
    let folder = Folder::new("kills");
    let journal = folder.path().join("evening.journal");
    let mut acknowledged: Vec<String> = Vec::new();
    let mut looked_for = 0;
    for kill in 0..=kills {
        let serving = Serving::start(&journal, "0");
        let log = answer(&serving.url, "GET /log", "");
        for name in acknowledged.drain(..) {
            assert!(
                log.contains(&format!("by {name}\"")),
                "{name} was acknowledged and is not in the log:\n{log}"
            );
            looked_for += 1;
        }
        if kill == kills {
            serving.kill();
            break;
        }
        let url = serving.url.clone();
        let (told, promised) = std::sync::mpsc::channel();
        let asking = std::thread::spawn(move || {
            for number in 0..60_u16 {
                let (name, lever) = (format!("{kill}-{number}"), number % 8 + 1);
                let position = if number / 8 % 2 == 0 { "reverse" } else { "normal" };
                let body = format!("{{\"position\":\"{position}\",\"by\":\"{name}\"}}");
                let answered = answer(&url, &format!("POST /levers/{lever}/throw"), &body);
                if answered.is_empty() {
                    return;
                }
                if answered.starts_with("HTTP/1.1 202") && told.send(name).is_err() {
                    return;
                }
            }
        });
        // Each time after another number of throws, and while the next is under way.
        acknowledged.extend(promised.iter().take(1 + kill % 20 * 3));
        serving.kill();
        asking.join().unwrap();
        acknowledged.extend(promised.try_iter());
    }
    println!("{kills} kills, {looked_for} acknowledged throws looked for");
    assert!(looked_for >= 100, "{looked_for}");
}
