//! A panel that the network can reach: keys, roles, sessions, and how often one may ask.

use axum::body::Body;
use axum::http::{Method, Request, StatusCode};
use axum::response::Response;
use journal::{Journal, Memory};
use serde_json::json;
use serve::{Access, Desk, Hosts, NewKey, Panel, Role};

use crate::panels::{ask, first_module, folder, get, json_of, text, throw, throw_with};

const PORT: u16 = 7_417;

/// A panel behind new keys.
struct Kept {
    panel: Panel,
    keys: Vec<NewKey>,
    path: std::path::PathBuf,
}

impl Kept {
    fn new(name: &str) -> Self {
        let path = folder(name).join("evening.journal.keys");
        let (panel, keys) = behind(&path);
        assert_eq!(keys.len(), 3);
        Self { panel, keys, path }
    }

    fn key(&self, role: Role) -> &str {
        &self.keys.iter().find(|key| key.role == role).unwrap().key
    }

    /// The cookie that a browser keeps after it has shown the key of a role.
    async fn enter(&self, role: Role) -> String {
        let response = ask(&self.panel, shown(self.key(role))).await;
        assert_eq!(response.status(), StatusCode::OK);
        let set = response.headers()["set-cookie"].to_str().unwrap().to_owned();
        assert_eq!(json_of(response).await, json!({ "schema": 1, "role": role.word() }));
        for needed in ["; Path=/", "; HttpOnly", "; SameSite=Strict", "; Max-Age="] {
            assert!(set.contains(needed), "{set}");
        }
        set.split(';').next().unwrap().to_owned()
    }
}

fn behind(path: &std::path::Path) -> (Panel, Vec<NewKey>) {
    let (access, keys) = Access::keyed(path, PORT).unwrap();
    let opened = Journal::open(Memory::new(), "Tern Harbor, first module").unwrap();
    let (plan, hosts) = (first_module(), Hosts::of([127, 0, 0, 1].into()));
    let (desk, _) = Desk::open(plan.clone(), opened).unwrap();
    (Panel::behind(&plan, desk, hosts, access), keys)
}

fn shown(key: &str) -> Request<Body> {
    throw_with("/enter", json!({ "key": key }).to_string())
}

fn with(mut request: Request<Body>, name: &'static str, value: &str) -> Request<Body> {
    request.headers_mut().append(name, value.parse().unwrap());
    request
}

async fn refused(response: Response, status: StatusCode, code: &str) {
    assert_eq!(response.status(), status, "{code}");
    assert_eq!(json_of(response).await["refused"]["code"], code);
}

#[tokio::test]
async fn without_a_key_nothing_is_shown_and_nothing_is_done() {
    let kept = Kept::new("no-key");
    for path in ["/levers", "/events", "/routes", "/log", "/log.csv", "/health", "/metrics", "/api.json"] {
        refused(ask(&kept.panel, get(path)).await, StatusCode::UNAUTHORIZED, "key-missing").await;
    }
    for path in
        ["/levers/1/throw", "/levers/1/lock", "/stop", "/resume", "/undo", "/routes/set", "/routes/release"]
    {
        refused(ask(&kept.panel, throw_with(path, "{}")).await, StatusCode::UNAUTHORIZED, "key-missing")
            .await;
    }
    let mut head = get("/levers");
    *head.method_mut() = Method::HEAD;
    assert_eq!(ask(&kept.panel, head).await.status(), StatusCode::UNAUTHORIZED);
    let page = ask(&kept.panel, get("/")).await;
    assert_eq!(
        (page.status(), &page.headers()["location"]),
        (StatusCode::SEE_OTHER, &"/enter".parse().unwrap())
    );
    assert_eq!(kept.panel.desk().snapshot().change, 0);
    let enter = text(ask(&kept.panel, get("/enter")).await).await;
    assert!(enter.contains("Show your key") && !enter.contains("Tern Harbor"), "{enter}");
    assert_eq!(ask(&kept.panel, get("/assets/enter.js")).await.status(), StatusCode::OK);
}

#[tokio::test]
async fn each_role_may_do_what_it_is_for_and_no_more() {
    let kept = Kept::new("roles");
    let lock = || throw_with("/levers/7/lock", r#"{"note":"wheel in the frog"}"#);
    for role in Role::ALL {
        let cookie = kept.enter(role).await;
        let answer = async |request| ask(&kept.panel, with(request, "cookie", &cookie)).await.status();
        assert_eq!(answer(get("/levers")).await, StatusCode::OK, "{role:?}");
        assert_eq!(answer(get("/")).await, StatusCode::OK, "{role:?}");
        // A stop needs no more than to be in the room.
        assert_eq!(answer(throw_with("/stop", "{}")).await, StatusCode::ACCEPTED, "{role:?}");
        let may = |needed: Role, done| if role >= needed { done } else { StatusCode::FORBIDDEN };
        let taken = may(Role::Operate, StatusCode::ACCEPTED);
        assert_eq!(answer(throw_with("/resume", "{}")).await, taken, "{role:?}");
        assert_eq!(answer(throw(1, "reverse")).await, taken, "{role:?}");
        assert_eq!(answer(lock()).await, taken, "{role:?}");
        assert_eq!(answer(throw_with("/levers/7/unlock", "{}")).await, taken, "{role:?}");
        for path in ["/log.csv", "/metrics"] {
            assert_eq!(answer(get(path)).await, may(Role::Maintain, StatusCode::OK), "{role:?} {path}");
        }
    }
}

#[tokio::test]
async fn what_a_key_does_not_allow_is_refused_in_words() {
    let kept = Kept::new("words");
    let cookie = kept.enter(Role::Look).await;
    let response = ask(&kept.panel, with(throw(1, "reverse"), "cookie", &cookie)).await;
    assert_eq!(response.status(), StatusCode::FORBIDDEN);
    let said = json_of(response).await["refused"].clone();
    assert_eq!(said["code"], "role-too-small");
    assert!(said["message"].as_str().unwrap().contains("it may look"), "{said}");
    assert_eq!(kept.panel.desk().snapshot().change, 0);
    let page = text(ask(&kept.panel, with(get("/"), "cookie", &cookie)).await).await;
    assert!(page.contains("This device may only look") && !page.contains("/log.csv"));
}

#[tokio::test]
async fn a_program_may_send_its_key_with_each_request() {
    let kept = Kept::new("bearer");
    let bearer = |key: &str| with(throw(1, "reverse"), "authorization", &format!("Bearer {key}"));
    let taken = ask(&kept.panel, bearer(kept.key(Role::Operate))).await;
    assert_eq!(taken.status(), StatusCode::ACCEPTED);
    refused(ask(&kept.panel, bearer(kept.key(Role::Look))).await, StatusCode::FORBIDDEN, "role-too-small")
        .await;
    for key in ["", "x", "00000000000000000000000000"] {
        refused(ask(&kept.panel, bearer(key)).await, StatusCode::UNAUTHORIZED, "key-missing").await;
    }
}

#[tokio::test]
async fn a_wrong_key_opens_nothing() {
    let kept = Kept::new("wrong");
    let (good, long) = (kept.key(Role::Maintain), "7".repeat(5_000));
    for key in ["", "maintain", &good[1..], &format!("{good}0"), "00000000000000000000000000", &long] {
        let response = ask(&kept.panel, shown(key)).await;
        assert!(!response.headers().contains_key("set-cookie"), "{key}");
        refused(response, StatusCode::FORBIDDEN, "key-unknown").await;
    }
    for cookie in ["throwbar-7417=", "throwbar-7417=00000000000000000000000000", "throwbar-7417", "other=1"] {
        refused(
            ask(&kept.panel, with(get("/levers"), "cookie", cookie)).await,
            StatusCode::UNAUTHORIZED,
            "key-missing",
        )
        .await;
    }
    // A key is no session: what a browser keeps is never what stands in a printed code.
    let cookie = format!("throwbar-7417={good}");
    refused(
        ask(&kept.panel, with(get("/levers"), "cookie", &cookie)).await,
        StatusCode::UNAUTHORIZED,
        "key-missing",
    )
    .await;
}

#[tokio::test]
async fn a_page_of_another_site_cannot_show_a_key_here() {
    let kept = Kept::new("foreign");
    let request = with(shown(kept.key(Role::Look)), "origin", "http://evil.example");
    refused(ask(&kept.panel, request).await, StatusCode::FORBIDDEN, "origin-foreign").await;
}

#[tokio::test]
async fn sessions_and_keys_outlive_a_restart_and_the_file_holds_neither() {
    let kept = Kept::new("restart");
    let cookie = kept.enter(Role::Operate).await;
    let file = std::fs::read_to_string(&kept.path).unwrap();
    let session = cookie.split_once('=').unwrap().1;
    for secret in kept.keys.iter().map(|key| key.key.as_str()).chain([session]) {
        assert!(!file.contains(secret), "the file holds a secret");
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&kept.path).unwrap().permissions().mode() & 0o777, 0o600);
    }
    let (again, fresh) = behind(&kept.path);
    assert_eq!(fresh, [], "keys are shown once");
    assert_eq!(
        ask(&again, with(throw(1, "reverse"), "cookie", &cookie)).await.status(),
        StatusCode::ACCEPTED
    );

    let left = ask(&again, with(throw_with("/leave", "{}"), "cookie", &cookie)).await;
    assert_eq!(left.status(), StatusCode::NO_CONTENT);
    assert!(left.headers()["set-cookie"].to_str().unwrap().ends_with("; Max-Age=0"));
    refused(
        ask(&again, with(get("/levers"), "cookie", &cookie)).await,
        StatusCode::UNAUTHORIZED,
        "key-missing",
    )
    .await;

    std::fs::remove_file(&kept.path).unwrap();
    let (renewed, fresh) = behind(&kept.path);
    assert_eq!(fresh.len(), 3);
    let old = with(get("/levers"), "authorization", &format!("Bearer {}", kept.key(Role::Look)));
    refused(ask(&renewed, old).await, StatusCode::UNAUTHORIZED, "key-missing").await;
}

#[test]
fn a_file_that_holds_something_else_is_left_as_it_is() {
    let path = folder("not-keys").join("evening.journal.keys");
    std::fs::write(&path, "my shopping list\n").unwrap();
    let error = Access::keyed(&path, PORT).unwrap_err();
    assert!(error.to_string().contains("row 1"), "{error}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "my shopping list\n");
}

#[tokio::test]
async fn an_open_panel_needs_no_key_and_says_so() {
    let panel = crate::panels::panel();
    let page = text(ask(&panel, get("/enter")).await).await;
    assert!(page.contains("No key is needed"), "{page}");
    refused(ask(&panel, shown("x")).await, StatusCode::FORBIDDEN, "key-unknown").await;
    assert_eq!(ask(&panel, get("/metrics")).await.status(), StatusCode::OK);
}

#[tokio::test]
async fn a_page_of_another_site_can_neither_build_the_panel_in_nor_hold_its_streams() {
    let panel = crate::panels::panel();
    for path in ["/", "/levers", "/events", "/log.csv", "/assets/panel.js"] {
        for site in ["cross-site", "same-site"] {
            let request = with(with(get(path), "sec-fetch-site", site), "sec-fetch-mode", "no-cors");
            refused(ask(&panel, request).await, StatusCode::FORBIDDEN, "origin-foreign").await;
        }
    }
    let link = with(with(get("/"), "sec-fetch-site", "cross-site"), "sec-fetch-mode", "navigate");
    assert_eq!(ask(&panel, link).await.status(), StatusCode::OK, "a link may lead here");
}
