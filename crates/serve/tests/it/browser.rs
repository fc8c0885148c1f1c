//! A real browser, driven as a person would: two pages, a throw in one seen in the other, and a restart in between; a route in
//! three taps, a lock, the keyboard, a stop, a fault; a panel behind keys; the rules of accessibility.
//!
//! The browser is Debian's Chromium and its driver a Node script, `tests/browser/live.mjs`, which says what it needs to be
//! done to the server. Where they are missing the test fails and says how to get them; it never passes without looking.

use std::path::PathBuf;
use std::process::Stdio;

use serde_json::Value;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::process::Command;
use tokio::time::timeout;
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject;

use crate::panels::{PATIENCE, folder};
use crate::sockets::Server;

pub(crate) const REMEDY: &str = "run `cargo xtask setup`, which installs what the browser test needs";

/// The folder of the browser scripts, after checking that everything they need is there.
pub(crate) fn scripts() -> PathBuf {
    let scripts = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/browser");
    let needed = [
        (PathBuf::from("/usr/bin/chromium"), "Chromium"),
        (scripts.join("node_modules/playwright-core/package.json"), "the browser's driver (playwright-core)"),
        (scripts.join("node_modules/axe-core/package.json"), "the rules of accessibility (axe-core)"),
    ];
    for (path, what) in needed {
        assert!(path.exists(), "{what} is missing at {}: {REMEDY}", path.display());
    }
    scripts
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lever_thrown_in_one_page_moves_in_another_and_both_survive_a_restart() {
    let scripts = scripts();
    let journal = folder("browser").join("evening.journal");
    let mut server = Server::start(journal.clone(), 0).await;
    let mut script = Command::new("node")
        .arg("live.mjs")
        .args(["restart", &server.open.url])
        .current_dir(scripts)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .kill_on_drop(true)
        .spawn()
        .unwrap_or_else(|error| panic!("Node cannot be started ({error}): {REMEDY}"));
    let mut rows = BufReader::new(script.stdout.take().unwrap()).lines();
    let (mut done, mut restarts) = (Vec::new(), 0);
    while let Some(row) = timeout(PATIENCE * 2, rows.next_line()).await.unwrap().unwrap() {
        let told: Value = serde_json::from_str(&row).unwrap();
        if told["please"] == "restart" {
            let port = server.open.address.port();
            server.close().await;
            server = Server::start(journal.clone(), port).await;
            script.stdin.as_mut().unwrap().write_all(b"it is back\n").await.unwrap();
            restarts += 1;
        } else {
            done.push(told["did"].as_str().unwrap().to_owned());
        }
    }
    let status = script.wait().await.unwrap();
    assert!(status.success(), "the browser saw something else than it should, after: {done:#?}");
    assert_eq!(restarts, 1);
    assert!(done.len() >= 5, "{done:#?}");
    server.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_route_is_set_in_three_taps_and_what_is_in_the_way_is_said() {
    let scripts = scripts();
    let server = Server::start(folder("browser-routes").join("evening.journal"), 0).await;
    let script = Command::new("node")
        .arg("live.mjs")
        .args(["routes", &server.open.url])
        .current_dir(scripts)
        .kill_on_drop(true)
        .output();
    let output = timeout(PATIENCE * 3, script).await.unwrap();
    let output = output.unwrap_or_else(|error| panic!("Node cannot be started ({error}): {REMEDY}"));
    let done = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "the browser saw something else than it should, after:\n{done}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(done.lines().count() >= 11, "{done}");
    server.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn who_enters_with_a_key_to_look_cannot_throw() {
    let scripts = scripts();
    let any = std::net::SocketAddr::from(([0, 0, 0, 0], 0));
    let server = Server::start_on(folder("browser-keys").join("evening.journal"), any).await;
    enter_and_throw(scripts, &server, "").await;
    server.close().await;
}

/// The flag is Chromium's for a certificate that nobody signed: this key and no other.
#[tokio::test(flavor = "multi_thread")]
async fn who_accepts_the_panels_own_certificate_enters_and_throws_enciphered() {
    let scripts = scripts();
    let any = std::net::SocketAddr::from(([0, 0, 0, 0], 0));
    let journal = folder("browser-enciphered").join("evening.journal");
    let tls = Some(serve::Tls::SelfMade);
    let options = serve::Options { listen: any, tls, ..serve::Options::new(journal.clone()) };
    let server = Server::start_with(options).await;
    let certificate = CertificateDer::from_pem_file(serve::certificate_beside(&journal)).unwrap();
    let key = webpki::EndEntityCert::try_from(&certificate).unwrap().subject_public_key_info();
    let digest = base64(&hmac_sha256::Hash::hash(&key));
    enter_and_throw(scripts, &server, &format!("--ignore-certificate-errors-spki-list={digest}")).await;
    server.close().await;
}

/// RFC 4648, section 4, of 32 bytes.
fn base64(bytes: &[u8; 32]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let bit = |index: usize| bytes.get(index / 8).map_or(0, |byte| usize::from(byte >> (7 - index % 8) & 1));
    let letter = |at: usize| (0..6).fold(0, |six, offset| six << 1 | bit(at * 6 + offset));
    (0..43).map(|at| char::from(LETTERS[letter(at)])).chain(['=']).collect()
}

/// A stranger is led to the door; who has a key to look cannot throw; who has one to operate can.
async fn enter_and_throw(scripts: PathBuf, server: &Server, flags: &str) {
    let door = |role| {
        let key = server.open.keys.iter().find(|key| key.role == role).unwrap();
        let (scheme, _) = server.open.url.split_once("://").unwrap();
        format!("{scheme}://127.0.0.1:{}/enter#{}", server.open.address.port(), key.key)
    };
    let script = Command::new("node")
        .arg("live.mjs")
        .args(["keys", &door(serve::Role::Look), &door(serve::Role::Operate)])
        .env("BROWSER_FLAGS", flags)
        .current_dir(scripts)
        .kill_on_drop(true)
        .output();
    let output = timeout(PATIENCE * 3, script).await.unwrap();
    let output = output.unwrap_or_else(|error| panic!("Node cannot be started ({error}): {REMEDY}"));
    let done = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "the browser saw something else than it should, after:\n{done}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(done.lines().count(), 4, "{done}");
}

/// # Source
/// axe-core: the rules it tags with WCAG 2.0, 2.1 and 2.2, levels A and AA, and those it calls best practices.
#[tokio::test(flavor = "multi_thread")]
async fn no_view_breaks_a_rule_of_accessibility_in_any_state() {
    let scripts = scripts();
    let server = Server::start(folder("browser-rules").join("evening.journal"), 0).await;
    let any = std::net::SocketAddr::from(([0, 0, 0, 0], 0));
    let keyed = Server::start_on(folder("browser-door").join("evening.journal"), any).await;
    let script = Command::new("node")
        .arg("live.mjs")
        .args(["rules", &server.open.url, &format!("http://127.0.0.1:{}/enter", keyed.open.address.port())])
        .current_dir(scripts)
        .kill_on_drop(true)
        .output();
    let output = timeout(PATIENCE * 3, script).await.unwrap();
    let output = output.unwrap_or_else(|error| panic!("Node cannot be started ({error}): {REMEDY}"));
    let done = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "after:\n{done}\n{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(done.lines().count(), 9, "{done}");
    server.close().await;
    keyed.close().await;
}
