//! Members and order of the JSON answers, against the contract in the handbook.

use crate::{Folder, root, run};
use serde_json::Value;

fn members(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

fn demo(words: &[&str]) -> Value {
    let ran = run(&root(), &[words, &["demo/first-module", "--json"]].concat());
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    ran.json()
}

/// # Source
/// The product's own contract for `check`: errors, warnings, diagnostics with code, severity, message, file, line, column,
/// end line, end column, help, related.
#[test]
fn check_answers_with_every_place() {
    let folder = Folder::new("check-json");
    folder.write(
        "layout.toml",
        "[layout]\nname = \"Pier\"\n\n[end.west]\ntrack = \"wharf\"\nsied = \"left\"\n",
    );
    let ran = run(folder.path(), &["check", "--json"]);
    assert_eq!(ran.status, 1);
    let answer = ran.json();
    assert_eq!(members(&answer), ["schema", "errors", "warnings", "diagnostics"]);
    assert_eq!(
        (&answer["schema"], &answer["errors"], &answer["warnings"]),
        (&1.into(), &2.into(), &0.into())
    );
    let codes: Vec<_> = answer["diagnostics"].as_array().unwrap().iter().map(|row| &row["code"]).collect();
    assert_eq!(codes, ["track-one-end", "key-unknown"]);
    let first = &answer["diagnostics"][0];
    for member in
        ["code", "severity", "message", "file", "line", "column", "end_line", "end_column", "help", "related"]
    {
        assert!(first.get(member).is_some(), "{member}");
    }
    assert_eq!(
        [&first["line"], &first["column"], &first["end_line"], &first["end_column"]],
        [5, 9, 5, 16].map(Value::from).each_ref()
    );
}

#[test]
fn levers_answer_with_numbers_pairs_and_reasons() {
    let answer = demo(&["show", "levers"]);
    assert_eq!(members(&answer), ["schema", "levers"]);
    let fourth = &answer["levers"][3];
    assert_eq!(
        members(fourth),
        ["number", "name", "machines", "line", "panel", "pair", "addresses", "because"]
    );
    assert_eq!(fourth["machines"], serde_json::json!(["crossA", "crossB"]));
    assert_eq!((&fourth["number"], &fourth["pair"]), (&4.into(), &4.into()));
    for lever in answer["levers"].as_array().unwrap() {
        assert!(!lever["because"].as_array().unwrap().is_empty(), "{lever}");
    }
}

#[test]
fn routes_answer_with_tracks_levers_and_machines() {
    let answer = demo(&["show", "routes"]);
    assert_eq!(members(&answer), ["schema", "stops", "routes", "complete"]);
    let row = &answer["routes"][0];
    assert_eq!(
        members(row),
        [
            "id",
            "from",
            "to",
            "tracks",
            "levers",
            "machines",
            "length_m",
            "name",
            "preferred",
            "because",
            "throws"
        ]
    );
    assert_eq!(row["length_m"], Value::Null, "the first module gives no lengths");
    let mut ids: Vec<_> =
        answer["routes"].as_array().unwrap().iter().map(|row| row["id"].to_string()).collect();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), answer["routes"].as_array().unwrap().len(), "every route has an id of its own");
}

#[test]
fn addresses_answer_with_boards_decoders_and_strips() {
    let answer = demo(&["show", "addresses"]);
    assert_eq!(members(&answer)[..6], ["schema", "addresses", "decoders", "strips", "programming", "cost"]);
    let program = &answer["programming"][0];
    assert_eq!(
        members(program),
        ["step", "decoder", "cv", "value", "why", "method", "where", "on_main", "check", "if_wrong"]
    );
    assert_eq!(
        (&program["decoder"], &program["cv"], &program["value"]),
        (&"D1".into(), &1.into(), &1.into())
    );
    assert_eq!(members(&answer["cost"]), ["metres", "lower_bound", "bought", "bought_least", "proven"]);
    assert_eq!((&answer["cost"]["bought"], &answer["cost"]["proven"]), (&1.into(), &true.into()));
    let fifth = &answer["addresses"][4];
    assert_eq!((&fifth["address"], &fifth["board"], &fifth["output"]), (&5.into(), &2.into(), &1.into()));
    let strip = &answer["strips"][0];
    assert_eq!(
        (&strip["first_address"], &strip["last_address"], &strip["cab"]),
        (&1.into(), &12.into(), &5.into())
    );
    assert_eq!(strip["pairs"].as_array().unwrap().len(), 12);
}

/// # Source
/// The product's own contract for `wiring`: runs with id, from, to, conductor, colour, length in metres and two labels; more follow them.
#[test]
fn wiring_answers_with_every_conductor() {
    let ran = run(&root(), &["show", "wiring", "demo/tern-harbor", "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let answer = ran.json();
    assert_eq!(members(&answer), ["schema", "runs", "terminal_strips", "joints"]);
    let runs = answer["runs"].as_array().unwrap();
    for run in runs {
        assert_eq!(members(run)[..7], ["id", "from", "to", "conductor", "colour", "length_m", "label"]);
        let because = run["because"].as_array().unwrap();
        assert!(
            because.len() >= 5 && because.iter().all(|why| why.as_str().unwrap().ends_with(')')),
            "{run}"
        );
        assert_eq!(run["label"].as_array().unwrap().len(), 2);
    }
    // By hand, from the description: 4 ft from bay to bay with 15 % slack, and 18 in at each end. Whatever goes to the bay beside is
    // 7 ft 7.2 in, which is 2.3165 m.
    let bay = |end: &serde_json::Value| end.as_str()?.strip_prefix("bay ")?.parse::<u32>().ok();
    let is_beside = |run: &&serde_json::Value| {
        bay(&run["from"]).zip(bay(&run["to"])).is_some_and(|(from, to)| from.abs_diff(to) == 1)
    };
    // A bus is not led down at each end: 4 ft with 15 % slack are 4.6 ft, which is 1.4021 m.
    for (is_bus, by_hand) in [(false, 2.3165), (true, 1.4021)] {
        let one_bay = runs.iter().filter(is_beside).filter(|run| (run["kind"] == "bus") == is_bus);
        let lengths: Vec<f64> = one_bay.map(|run| run["length_m"].as_f64().unwrap()).collect();
        let is_right = |length: &f64| (length - by_hand).abs() < 1e-4;
        assert!(!lengths.is_empty() && lengths.iter().all(is_right), "{lengths:?}");
    }
    let red = runs.iter().filter(|run| run["does"] == "rail a").map(|run| &run["colour"]);
    assert!(red.clone().count() > 0 && red.clone().all(|colour| colour == "red"));
    let words = run(&root(), &["show", "wiring", "demo/tern-harbor"]);
    assert!(
        words.out.contains("violet") && words.out.contains("where modules meet, bay 2 – bay 3"),
        "{}",
        words.out
    );
}

/// What is bought of a kind of wire is what its conductors are together, a tenth more, in whole feet.
#[test]
fn parts_answer_with_what_to_buy() {
    let parts = run(&root(), &["show", "parts", "demo/tern-harbor", "--json"]).json();
    assert_eq!(members(&parts), ["schema", "parts", "wire"]);
    let wiring = run(&root(), &["show", "wiring", "demo/tern-harbor", "--json"]).json();
    let mut rows = 0;
    for row in parts["wire"].as_array().unwrap().iter().filter(|row| row["buy_unit"] == "ft") {
        let of_kind = wiring["runs"].as_array().unwrap().iter().filter(|run| {
            run["conductor"] == row["conductor"] && run["colour"] == row["colour"] && run["existing"] == false
        });
        let metres: f64 = of_kind.map(|run| run["length_m"].as_f64().unwrap()).sum();
        assert!((metres - row["length_m"].as_f64().unwrap()).abs() < 1e-6, "{row}");
        let feet = metres / 0.3048 * 1.1;
        let buy = row["buy"].as_f64().unwrap();
        assert!(buy >= feet - 1e-6 && buy < feet + 1.0, "{row}");
        rows += 1;
    }
    assert!(rows >= 3, "{parts}");
    let motors = parts["parts"].as_array().unwrap().iter().find(|row| row["what"] == "stall motor").unwrap();
    assert_eq!((&motors["count"], &motors["buy"]), (&21.into(), &21.into()));
}

#[test]
fn plan_answers_with_a_reason_for_every_decision() {
    let answer = demo(&["plan"]);
    for list in ["levers", "addresses", "decoders", "strips", "parts"] {
        for row in answer[list].as_array().unwrap() {
            let because = row["because"].as_array().unwrap();
            assert!(!because.is_empty(), "{list}: {row}");
            // A reason ends with its rule's name in brackets.
            assert!(because.iter().all(|why| why.as_str().unwrap().ends_with(')')), "{list}: {row}");
        }
    }
}

#[test]
fn a_command_that_cannot_work_still_answers_in_json() {
    let folder = Folder::new("no-layout");
    let ran = run(folder.path(), &["show", "levers", "--json"]);
    assert_eq!(ran.status, 2);
    assert!(ran.json()["failure"].as_str().unwrap().contains("holds no layout.toml"));
}

#[test]
fn every_code_is_explained() {
    let listed = run(&root(), &["explain", "--json"]).json();
    let codes = listed["codes"].as_array().unwrap();
    assert!(codes.len() >= 25, "{} codes", codes.len());
    for code in codes {
        let ran = run(&root(), &["explain", code.as_str().unwrap()]);
        assert_eq!(ran.status, 0);
        assert!(ran.out.contains("## Example"), "{code}");
    }
}
