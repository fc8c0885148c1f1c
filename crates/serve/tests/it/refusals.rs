//! Every way in which a request is refused: status, code, and one plain sentence.

use axum::body::Body;
use axum::http::{Method, Request, StatusCode};
use serve::refusal::{BodyTooLarge, LeverUnknown, PositionUnknown};

use crate::panels::{ask, get, json_of, panel, throw, throw_with};

/// Sends a request, which must be refused like this; and no lever may have moved.
async fn check(request: Request<Body>, status: StatusCode, code: &str) -> String {
    let panel = panel();
    let response = ask(&panel, request).await;
    assert_eq!(response.status(), status, "{code}");
    let answer = json_of(response).await;
    assert_eq!(answer["schema"], 1);
    assert_eq!(answer["refused"]["code"], code);
    let message = answer["refused"]["message"].as_str().unwrap().to_owned();
    assert!(message.ends_with('.') && message.len() > 20, "no sentence: {message}");
    assert_eq!(panel.desk().snapshot().change, 0, "something happened although it was refused");
    message
}

fn with(mut request: Request<Body>, name: &'static str, value: &str) -> Request<Body> {
    request.headers_mut().insert(name, value.parse().unwrap());
    request
}

#[tokio::test]
async fn a_lever_that_is_not_there() {
    for number in ["99", "0", "-1", "65536", "four", "4%2F..%2F5"] {
        let request = throw_with(&format!("/levers/{number}/throw"), r#"{"position":"normal"}"#);
        let message = check(request, StatusCode::NOT_FOUND, "lever-unknown").await;
        assert!(message.starts_with("There is no lever "), "{message}");
    }
    let message = LeverUnknown { number: "99".into() }.to_string();
    assert_eq!(message, "There is no lever 99 on this railroad.");
}

#[tokio::test]
async fn a_body_that_is_no_json() {
    for body in ["", "{", "position=normal", r#"{"position":"normal"} and more"#, "\u{0}"] {
        check(throw_with("/levers/1/throw", body), StatusCode::BAD_REQUEST, "body-unreadable").await;
    }
    check(throw_with("/levers/1/throw", vec![0xFF, 0xFE]), StatusCode::BAD_REQUEST, "body-unreadable").await;
}

#[tokio::test]
async fn a_body_of_the_wrong_kind() {
    for body in [
        r#"{"position":5}"#,
        r#"{"position":"sideways"}"#,
        r#"{"position":null}"#,
        r#"{"position":["normal"]}"#,
        r#"{"position":"normal","lever":2}"#,
        r#"{"position":"normal","position":"reverse"}"#,
        r#"["normal"]"#,
        "{}",
        "[]",
        "7",
        "\"normal\"",
    ] {
        let request = throw_with("/levers/1/throw", body);
        let message = check(request, StatusCode::UNPROCESSABLE_ENTITY, "position-unknown").await;
        assert_eq!(message, PositionUnknown {}.to_string());
    }
}

#[tokio::test]
async fn a_body_that_is_not_declared_as_json() {
    for kind in ["text/plain", "application/x-www-form-urlencoded", "application/jsonp"] {
        let request = with(throw(1, "normal"), "content-type", kind);
        check(request, StatusCode::UNSUPPORTED_MEDIA_TYPE, "body-not-json").await;
    }
}

#[tokio::test]
async fn a_body_of_a_megabyte() {
    let body = format!(r#"{{"position":"{}"}}"#, "n".repeat(1_000_000));
    let undeclared = throw_with("/levers/1/throw", body.clone());
    let message = check(undeclared, StatusCode::PAYLOAD_TOO_LARGE, "body-too-large").await;
    assert_eq!(message, BodyTooLarge {}.to_string());
    let declared =
        with(throw_with("/levers/1/throw", body.clone()), "content-length", &body.len().to_string());
    check(declared, StatusCode::PAYLOAD_TOO_LARGE, "body-too-large").await;
}

#[tokio::test]
async fn a_name_that_was_made_to_point_here() {
    for host in ["evil.example", "evil.example:7417", "127.0.0.1.evil.example", "localhost.evil.example", ""]
    {
        for request in [throw(1, "normal"), get("/"), get("/levers"), get("/events"), get("/assets/panel.js")]
        {
            check(with(request, "host", host), StatusCode::MISDIRECTED_REQUEST, "host-unknown").await;
        }
    }
    for host in ["10.0.0.5", "0.0.0.0", "user@127.0.0.1", "[2001:db8::1]:7417"] {
        check(with(get("/"), "host", host), StatusCode::MISDIRECTED_REQUEST, "host-unknown").await;
    }
    let mut none = get("/");
    none.headers_mut().remove("host");
    check(none, StatusCode::MISDIRECTED_REQUEST, "host-unknown").await;
    let mut two = get("/");
    two.headers_mut().append("host", "evil.example".parse().unwrap());
    check(two, StatusCode::MISDIRECTED_REQUEST, "host-unknown").await;
}

#[tokio::test]
async fn a_throw_from_a_page_of_another_site() {
    for origin in [
        "http://evil.example",
        "http://127.0.0.1:9999",
        "https://127.0.0.1:7417",
        "http://localhost:7417",
        "null",
        "",
    ] {
        check(with(throw(1, "normal"), "origin", origin), StatusCode::FORBIDDEN, "origin-foreign").await;
    }
    for site in ["cross-site", "same-site", "elsewhere"] {
        check(with(throw(1, "normal"), "sec-fetch-site", site), StatusCode::FORBIDDEN, "origin-foreign")
            .await;
    }
}

#[tokio::test]
async fn a_throw_from_our_own_page_or_from_a_program_is_taken() {
    for host in ["127.0.0.1:7417", "localhost:7417", "[::1]:7417", "LOCALHOST", "127.0.0.1"] {
        let from_page = with(with(throw(1, "normal"), "host", host), "origin", &format!("http://{host}"));
        let from_page = with(from_page, "sec-fetch-site", "same-origin");
        assert_eq!(ask(&panel(), from_page).await.status(), StatusCode::ACCEPTED, "{host}");
        let from_program = with(throw(1, "normal"), "host", host);
        assert_eq!(ask(&panel(), from_program).await.status(), StatusCode::ACCEPTED, "{host}");
    }
}

#[tokio::test]
async fn an_address_that_is_not_served() {
    for path in ["/nowhere", "/assets/nothing.js", "/assets/..%2Fpanel.css", "/levers/1"] {
        check(get(path), StatusCode::NOT_FOUND, "page-unknown").await;
    }
}

#[tokio::test]
async fn a_request_of_the_wrong_method() {
    let mut request = get("/levers/1/throw");
    check(request, StatusCode::METHOD_NOT_ALLOWED, "method-wrong").await;
    request = throw_with("/levers", "{}");
    *request.method_mut() = Method::DELETE;
    check(request, StatusCode::METHOD_NOT_ALLOWED, "method-wrong").await;
}

#[tokio::test]
async fn a_throw_while_the_panel_closes() {
    let panel = panel();
    panel.desk().close();
    let response = ask(&panel, throw(1, "normal")).await;
    assert_eq!(response.status(), StatusCode::SERVICE_UNAVAILABLE);
    assert_eq!(json_of(response).await["refused"]["code"], "panel-closing");
}
