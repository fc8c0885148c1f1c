//! `GET /api.json`: what this panel takes and gives, as a document of the `OpenAPI` format.
//!
//! The addresses come from the table of endpoints, which is the router too; the types come from the types that are read and
//! written. A refusal is the same everywhere.
//!
//! # Source
//! `OpenAPI` Specification 3.1.0.

use std::collections::BTreeMap;

use axum::Json;
use axum::http::{HeaderName, header};
use serde_json::{Map, Value, json};
use utoipa::{PartialSchema, ToSchema};

use super::{
    Endpoint, Gives, all, commissioning, enter, health, layout, log, practice, routes, throw, whole,
};
use crate::access::Role;
use crate::told::{PanelTold, ThrowTold};

pub(super) async fn answer() -> ([(HeaderName, &'static str); 1], Json<Value>) {
    ([(header::CONTENT_TYPE, "application/json")], Json(document()))
}

fn document() -> Value {
    let mut paths: Map<String, Value> = Map::new();
    for endpoint in all() {
        let path = paths.entry(endpoint.path).or_insert_with(|| json!({}));
        path[endpoint.method.as_str().to_ascii_lowercase()] = operation(&endpoint);
    }
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "throwbar live panel",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "Software is no safety device: keep a reachable switch for track power.",
            "license": { "name": "MIT OR Apache-2.0" },
        },
        "paths": paths,
        "components": {
            "schemas": schemas(),
            "securitySchemes": { "key": { "type": "http", "scheme": "bearer", "description": "A key of the panel. One that only its own computer reaches asks for none." } },
        },
    })
}

fn operation(endpoint: &Endpoint) -> Value {
    let about = match endpoint.needs {
        Some(role) => format!("{} For who may {}.", endpoint.about, role.word()),
        None => endpoint.about.to_owned(),
    };
    let mut operation =
        json!({ "summary": about, "parameters": parameters(endpoint), "responses": responses(endpoint) });
    if let Some(name) = endpoint.takes {
        operation["requestBody"] =
            json!({ "required": true, "content": { "application/json": { "schema": schema(name) } } });
    }
    if endpoint.needs.is_some() {
        operation["security"] = json!([{}, { "key": [] }]);
    }
    operation
}

fn parameters(endpoint: &Endpoint) -> Vec<Value> {
    let mut parameters = Vec::new();
    let text = || json!({ "type": "string" });
    if endpoint.path.contains("{number}") {
        let number = json!({ "type": "integer", "minimum": 0, "maximum": u16::MAX });
        parameters.push(json!({ "name": "number", "in": "path", "required": true, "schema": number }));
    }
    if endpoint.path.contains("{name}") {
        parameters.push(json!({ "name": "name", "in": "path", "required": true, "schema": text() }));
    }
    if endpoint.path == "/faults" {
        let several = json!({ "type": "array", "items": text() });
        parameters.push(json!({ "name": "saw", "in": "query", "schema": several, "explode": true }));
        parameters.push(json!({ "name": "here", "in": "query", "schema": text() }));
    }
    if endpoint.path == "/routes" {
        for name in ["from", "to"] {
            parameters.push(json!({ "name": name, "in": "query", "schema": text() }));
        }
    }
    if endpoint.needs >= Some(Role::Look) && endpoint.takes.is_some() {
        let key = json!({ "type": "string", "minLength": 1, "maxLength": 100, "pattern": "^[!-~]+$" });
        parameters.push(json!({
            "name": "Idempotency-Key", "in": "header", "schema": key,
            "description": "What is asked for twice under one key is done once.",
        }));
    }
    parameters
}

fn responses(endpoint: &Endpoint) -> Value {
    let (status, content) = match endpoint.gives {
        Gives::Json(name) => ("200", Some(("application/json", schema(name)))),
        Gives::Taken(name) => ("202", Some(("application/json", schema(name)))),
        Gives::Text(kind) => ("200", Some((kind, json!({})))),
        Gives::Nothing => ("204", None),
    };
    let mut done = json!({ "description": "Done." });
    if let Some((kind, schema)) = content {
        done["content"][kind]["schema"] = schema;
    }
    let mut responses = json!({ status: done });
    if endpoint.path == "/assets/{name}" {
        responses["304"] = json!({ "description": "It has not changed." });
    }
    if endpoint.path == "/" {
        responses["303"] = json!({ "description": "Show a key first." });
    }
    let refused = json!({ "description": "Refused, in words.", "content": { "application/json": { "schema": schema("Refused") } } });
    for status in REFUSALS.into_iter().filter(|status| *status < 500 || endpoint.needs.is_some()) {
        responses[status.to_string()] = refused.clone();
    }
    responses
}

/// Every status with which something can be refused.
const REFUSALS: [u16; 14] = [400, 401, 403, 404, 405, 408, 409, 412, 413, 415, 421, 422, 429, 503];

fn schema(name: &str) -> Value {
    json!({ "$ref": format!("#/components/schemas/{name}") })
}

fn schemas() -> BTreeMap<String, Value> {
    let mut schemas = BTreeMap::from([
        ("Document".to_owned(), json!({ "type": "object", "required": ["openapi", "info", "paths"] })),
        (
            "Refused".to_owned(),
            json!({
                "type": "object",
                "required": ["schema", "refused"],
                "properties": {
                    "schema": { "const": 1 },
                    "refused": {
                        "type": "object",
                        "required": ["code", "message"],
                        "properties": { "code": { "type": "string" }, "message": { "type": "string" } },
                        "additionalProperties": false,
                    },
                },
                "additionalProperties": false,
            }),
        ),
    ]);
    add::<PanelTold>(&mut schemas);
    add::<ThrowTold>(&mut schemas);
    add::<routes::OfferTold>(&mut schemas);
    add::<routes::RouteAsked>(&mut schemas);
    add::<routes::RouteToSet>(&mut schemas);
    add::<practice::PracticeTold>(&mut schemas);
    add::<practice::PracticeAsked>(&mut schemas);
    add::<log::LogTold>(&mut schemas);
    add::<health::HealthTold>(&mut schemas);
    add::<enter::KeyShown>(&mut schemas);
    add::<enter::EnteredTold>(&mut schemas);
    add::<enter::Leaving>(&mut schemas);
    add::<throw::Throw>(&mut schemas);
    add::<throw::Lock>(&mut schemas);
    add::<throw::Unlock>(&mut schemas);
    add::<whole::WholeAsked>(&mut schemas);
    add::<commissioning::TrialTold>(&mut schemas);
    add::<commissioning::FindAsked>(&mut schemas);
    add::<commissioning::TurnAsked>(&mut schemas);
    add::<layout::LayoutAsked>(&mut schemas);
    add::<layout::LayoutTold>(&mut schemas);
    schemas
}

/// A type and all that it is made of.
fn add<T: ToSchema + PartialSchema>(schemas: &mut BTreeMap<String, Value>) {
    let mut parts = vec![(T::name().into_owned(), T::schema())];
    T::schemas(&mut parts);
    for (name, part) in parts {
        let mut part = serde_json::to_value(part).unwrap_or_default();
        spread_pairs(&mut part);
        schemas.insert(name, part);
    }
}

/// Says of a pair how long it is and what may be in it, not what stands where: many readers do not understand the latter.
fn spread_pairs(schema: &mut Value) {
    if let Value::Object(members) = schema
        && let Some(Value::Array(parts)) = members.remove("prefixItems")
    {
        let count = parts.len();
        members.extend([
            ("minItems".to_owned(), count.into()),
            ("maxItems".to_owned(), count.into()),
            ("items".to_owned(), json!({ "anyOf": parts })),
        ]);
    }
    match schema {
        Value::Object(members) => members.values_mut().for_each(spread_pairs),
        Value::Array(parts) => parts.iter_mut().for_each(spread_pairs),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn everything_the_document_names_is_in_it() {
        let text = document().to_string();
        let schemas = schemas();
        let named = text
            .split("#/components/schemas/")
            .skip(1)
            .map(|rest| rest.split('"').next().unwrap().to_owned());
        let named: BTreeSet<String> = named.collect();
        assert!(named.len() > 15, "{named:?}");
        for name in &named {
            assert!(schemas.contains_key(name), "{name} is named and not there");
        }
        for name in schemas.keys() {
            assert!(named.contains(name), "{name} is there and never named");
        }
    }

    #[test]
    fn what_changes_something_needs_more_than_looking_but_for_the_stop() {
        for endpoint in all() {
            let changes = endpoint.method == axum::http::Method::POST;
            let is_door = ["/enter", "/leave"].contains(&endpoint.path);
            match endpoint.needs {
                None => assert!(is_door || !changes, "{}", endpoint.path),
                Some(Role::Look) => assert!(!changes || endpoint.path == "/stop", "{}", endpoint.path),
                Some(Role::Operate) => assert!(changes, "{}", endpoint.path),
                Some(Role::Maintain) => {
                    let is_kept = ["/commissioning/", "/layout/", "/practice"];
                    let is_kept = is_kept.into_iter().any(|path| endpoint.path.starts_with(path));
                    assert!(!changes || is_kept, "{}", endpoint.path);
                }
            }
        }
    }
}
