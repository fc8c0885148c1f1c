//! What is served, and how it may be kept.

use axum::http::StatusCode;
use network::Position;
use serde_json::json;

use crate::panels::{ask, get, json_of, panel, text, throw, thrown, until_at};

#[tokio::test]
async fn every_lever_has_buttons_that_say_number_name_and_position() {
    let panel = panel();
    let page = text(ask(&panel, get("/")).await).await;
    assert_eq!(page.matches("<div class=\"lever\"").count(), 8);
    for (number, name) in [(1, "team"), (4, "cross"), (8, "y4")] {
        let from = page.find(&format!("data-number=\"{number}\"")).unwrap();
        let row = &page[from..from + page[from..].find("</div></div>").unwrap()];
        for position in ["normal", "reverse"] {
            let label = format!("Lever {number}, {name}, not known. Throw to {position}");
            assert!(row.contains(&label), "{row}");
        }
    }
    for said in ["simulated", "no safety device", "reachable switch for track power"] {
        assert!(page.contains(said), "the page does not say “{said}”");
    }
}

#[tokio::test]
async fn the_diagram_has_every_lever_with_its_number_and_its_three_marks() {
    let page = text(ask(&panel(), get("/")).await).await;
    let ids = ["team", "meet", "yard", "cross", "y1", "y2", "y3", "y4"];
    for (id, number) in ids.iter().zip(1..) {
        let drawn: Vec<&str> =
            page.split('<').filter(|tag| tag.contains(&format!("data-lever=\"{id}\""))).collect();
        let count =
            |class: &str| drawn.iter().filter(|tag| tag.contains(&format!("class=\"{class}\""))).count();
        let machines = if *id == "cross" { 2 } else { 1 };
        assert_eq!(count("mark"), 3 * machines, "{id}");
        assert!(count("leg") >= 2 * machines, "{id}");
        assert!(count("number") >= 1, "{id}");
        let numbered =
            drawn.iter().any(|tag| tag.starts_with("text ") && tag.ends_with(&format!(">{number}")));
        assert!(numbered, "{id} is not drawn with its number {number}");
    }
}

#[tokio::test]
async fn the_page_holds_nothing_that_its_own_content_policy_forbids() {
    let page = text(ask(&panel(), get("/")).await).await;
    for forbidden in ["<style", " style=", "<script>", " onclick=", "javascript:", "http://", "https://"] {
        let found = page.replace("http://www.w3.org/", "").contains(forbidden);
        assert!(!found, "the page holds `{forbidden}`");
    }
}

#[tokio::test]
async fn a_throw_is_taken_at_once_and_shown_as_reached_only_when_it_is_reported() {
    let panel = panel();
    let response = ask(&panel, throw(4, "reverse")).await;
    assert_eq!(response.status(), StatusCode::ACCEPTED);
    let lever = &json_of(response).await["lever"];
    assert_eq!(
        (&lever["position"], &lever["commanded"], &lever["state"], &lever["says"], &lever["next"]),
        (
            &json!(null),
            &json!("reverse"),
            &json!("to-reverse"),
            &json!("moving to reverse"),
            &json!("normal")
        )
    );
    until_at(&panel, 4, Position::Reverse).await;
    let told = json_of(ask(&panel, get("/levers")).await).await;
    assert_eq!(
        (&told["schema"], &told["whole"], &told["simulated"]),
        (&json!(1), &json!(true), &json!(true))
    );
    assert_eq!(
        told["levers"][3],
        json!({
            "number": 4, "id": "cross", "name": "cross", "position": "reverse", "commanded": "reverse", "state": "reverse",
            "says": "reverse", "hint": null, "faults": null, "next": "normal", "lock": null, "route": null,
            "machines": [
                { "machine": "crossA", "position": "reverse", "state": "reverse" },
                { "machine": "crossB", "position": "reverse", "state": "reverse" },
            ],
        })
    );
}

#[tokio::test]
async fn of_two_throws_at_once_the_later_one_counts() {
    let panel = panel();
    for _ in 0..20 {
        thrown(&panel, 1, "reverse").await;
        thrown(&panel, 1, "normal").await;
    }
    until_at(&panel, 1, Position::Normal).await;
}

#[tokio::test]
async fn every_answer_carries_the_strict_headers() {
    let panel = panel();
    for path in ["/", "/levers", "/assets/panel.js", "/nowhere"] {
        let response = ask(&panel, get(path)).await;
        let headers = response.headers();
        let policy = headers["content-security-policy"].to_str().unwrap();
        assert!(policy.starts_with("default-src 'none'; script-src 'self';"), "{path}: {policy}");
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(headers["x-content-type-options"], "nosniff", "{path}");
        assert_eq!(headers["x-frame-options"], "DENY", "{path}");
        assert_eq!(headers["cross-origin-resource-policy"], "same-origin", "{path}");
        assert!(headers.contains_key("cache-control"), "{path}");
    }
}

#[tokio::test]
async fn an_asset_that_has_not_changed_is_not_sent_again() {
    let panel = panel();
    let first = ask(&panel, get("/assets/panel.css")).await;
    assert_eq!(first.headers()["content-type"], "text/css; charset=utf-8");
    let mut again = get("/assets/panel.css");
    again.headers_mut().insert("if-none-match", first.headers()["etag"].clone());
    let second = ask(&panel, again).await;
    assert_eq!(second.status(), StatusCode::NOT_MODIFIED);
    assert_eq!(text(second).await, "");
}

#[tokio::test]
async fn everything_the_page_and_its_style_name_is_served() {
    let panel = panel();
    let page = text(ask(&panel, get("/")).await).await;
    let style = text(ask(&panel, get("/assets/panel.css")).await).await;
    let linked = page.split('"').filter(|word| word.starts_with("/assets/")).map(str::to_owned);
    let fonts =
        style.split("url(").skip(1).map(|rest| format!("/assets/{}", rest.split(')').next().unwrap()));
    let named: Vec<String> = linked.chain(fonts).collect();
    assert!(named.len() >= 7, "{named:?}");
    for path in named {
        assert_eq!(ask(&panel, get(&path)).await.status(), StatusCode::OK, "{path}");
    }
}

/// The codes on labels lead to `#` and the decoder's anchor.
#[tokio::test]
async fn the_page_has_the_place_that_each_decoders_label_leads_to() {
    let plan = crate::panels::first_module();
    assert!(!plan.decoders.is_empty());
    let page = text(ask(&panel(), get("/")).await).await;
    for decoder in &plan.decoders {
        let anchor = format!("id=\"{}\"", decoder.anchor());
        assert_eq!(page.matches(&anchor).count(), 1, "{anchor}");
    }
}
