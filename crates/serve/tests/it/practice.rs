//! Faults put into the simulated layout to practise on, and what the panel then says.

use axum::http::StatusCode;
use live::Sight;
use network::Position;
use serde_json::{Value, json};

use crate::panels::{ask, get, json_of, panel, text, throw_with, thrown, until};

async fn put(panel: &serve::Panel, machine: &str, fault: &str) -> (StatusCode, Value) {
    let asked = json!({ "machine": machine, "fault": fault, "by": "Ruth" }).to_string();
    let answer = ask(panel, throw_with("/practice", asked)).await;
    (answer.status(), json_of(answer).await)
}

#[tokio::test]
async fn a_machine_with_a_fault_is_shown_by_what_it_does_and_not_by_what_was_chosen() {
    let panel = panel();
    let (status, told) = put(&panel, "y1", "wrong-way-round").await;
    assert_eq!(status, StatusCode::ACCEPTED);
    let machines = told["machines"].as_array().unwrap();
    let spoilt: Vec<_> = machines.iter().filter(|told| told["fault"] != "sound").collect();
    assert_eq!(
        (spoilt.len(), &spoilt[0]["machine"], &spoilt[0]["lever"], &spoilt[0]["by"]),
        (1, &json!("y1"), &json!(5), &json!("Ruth"))
    );
    assert_eq!(json_of(ask(&panel, get("/health")).await).await["faults_put_in"], 1);

    thrown(&panel, 5, "reverse").await;
    until(&panel, |now| now.lever(5).unwrap().sight == Sight::Overdue(Position::Reverse)).await;
    let levers = json_of(ask(&panel, get("/levers")).await).await;
    let lever = levers["levers"].as_array().unwrap().iter().find(|told| told["number"] == 5).unwrap();
    assert_eq!(
        (&lever["position"], &lever["says"]),
        (&Value::Null, &json!("sent to reverse, but reports normal"))
    );
    assert_eq!(lever["hint"], "Look at its points. If they lie the other way, find the fault.");
    // What stands there is understood.
    let path = lever["faults"].as_str().unwrap();
    assert_eq!(path, "/faults?saw=lever%205%20moves%20the%20wrong%20way");
    let page = text(ask(&panel, get(path)).await).await;
    assert!(page.contains("wire W5 to machine y1 is connected the wrong way round"), "{page}");
    let log = text(ask(&panel, get("/log")).await).await;
    assert!(!log.contains("wrong"), "who looks for it is not told: {log}");

    assert_eq!(put(&panel, "y1", "sound").await.0, StatusCode::ACCEPTED);
    thrown(&panel, 5, "reverse").await;
    until(&panel, |now| now.lever(5).unwrap().sight == Sight::At(Position::Reverse)).await;
    assert_eq!(json_of(ask(&panel, get("/health")).await).await["faults_put_in"], 0);
}

#[tokio::test]
async fn only_a_machine_of_the_simulated_layout_can_be_spoilt_and_only_in_ways_that_are_known() {
    let panel = panel();
    let (status, told) = put(&panel, "nobody", "stuck").await;
    assert_eq!((status, &told["refused"]["code"]), (StatusCode::NOT_FOUND, &json!("machine-not-modelled")));
    for body in [json!({}), json!({ "machine": "y1" }), json!({ "machine": "y1", "fault": "lazy" })] {
        let answer = ask(&panel, throw_with("/practice", body.to_string())).await;
        assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY, "{body}");
    }
}

#[tokio::test]
async fn a_route_that_need_not_be_held_is_free_again_when_it_is_set() {
    let panel = panel();
    let main = "main 4 – west approach";
    let asked = json!({ "route": main, "hold": false }).to_string();
    let told = json_of(ask(&panel, throw_with("/routes/set", asked)).await).await;
    let route = &told["routes"][0];
    assert_eq!((&route["route"], &route["hold"]), (&json!(main), &json!(false)));
    assert_eq!(route["says"], "being set: 4 levers have yet to report; then it is released");
    until(&panel, |now| now.routes.is_empty()).await;
    assert_eq!(panel.desk().snapshot().lever(4).unwrap().sight, Sight::At(Position::Normal));
    thrown(&panel, 4, "reverse").await;

    let asked = json!({ "route": main }).to_string();
    let told = json_of(ask(&panel, throw_with("/routes/set", asked)).await).await;
    assert_eq!(told["routes"][0]["hold"], true, "who does not say wants it held");
}
