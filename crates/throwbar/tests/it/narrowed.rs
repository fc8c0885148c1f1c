//! `show routes` between stops, over tracks, around others; and the options that other tables have no use for.

use crate::{Folder, run};
use serde_json::Value;

/// Two ways between west and east: the main reverses nothing, the siding is shorter.
const LAYOUT: &str = r#"
[layout]
name = "made up"
[end.west]
track = "west"
[end.east]
track = "east"
[end.spur]
track = "spur"
[turnout.1]
points = "west"
through = "main"
diverging = "siding"
hand = "left"
[turnout.2]
points = "east"
through = "main 2"
diverging = "siding"
hand = "right"
[turnout.3]
points = "main"
through = "main 2"
diverging = "spur"
hand = "left"
[track.main]
length = "3 m"
[track."main 2"]
length = "1 m"
[track.siding]
length = "2 m"
[route.meet]
from = "west"
to = "spur"
[panel.fascia]
kind = "strip"
"#;

fn ids(options: &[&str]) -> Vec<String> {
    let folder = Folder::new("narrowed");
    folder.write("layout.toml", LAYOUT);
    let ran = run(folder.path(), &[&["show", "routes", "--json"], options].concat());
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{options:?}");
    let answer: Value = ran.json();
    answer["routes"].as_array().unwrap().iter().map(|row| row["id"].as_str().unwrap().to_owned()).collect()
}

/// By hand: spur – west; east – west over the siding and over the main.
#[test]
fn a_wish_narrows_the_list() {
    let all = ["east – west (1)", "east – west (2)", "spur – west"];
    let (main, siding) = (all[0], all[1]);
    for (options, expected) in [
        (&[][..], &all[..]),
        (&["--from", "spur"], &[all[2]]),
        (&["--from", "west", "--to", "east"], &[main, siding]),
        (&["--from", "west", "--to", "east", "--via", "main"], &[main]),
        (&["--avoid", "3"], &[siding]),
        (&["--from", "west", "--to", "east", "--best", "shortest"], &[siding]),
        (&["--from", "west", "--to", "east", "--best", "fewest-reverse"], &[main]),
        (&["--most", "1"], &[all[0]]),
    ] {
        let found = ids(options);
        // The count behind an id follows from the list it is in.
        let expected: Vec<&str> =
            if options == ["--most", "1"] { vec!["east – west"] } else { expected.to_vec() };
        assert_eq!(found, expected, "{options:?}");
    }
}

#[test]
fn a_list_that_is_cut_says_so() {
    let folder = Folder::new("cut");
    folder.write("layout.toml", LAYOUT);
    assert_eq!(run(folder.path(), &["show", "routes", "--most", "2", "--json"]).json()["complete"], false);
    assert_eq!(run(folder.path(), &["show", "routes", "--json"]).json()["complete"], true);
    assert!(run(folder.path(), &["show", "routes", "--most", "2"]).out.contains("there are more"));
}

#[test]
fn names_and_preferences_are_told() {
    let folder = Folder::new("named");
    folder.write("layout.toml", LAYOUT);
    let answer = run(folder.path(), &["show", "routes", "--json"]).json();
    let rows = answer["routes"].as_array().unwrap();
    let told: Vec<_> = rows.iter().map(|row| (&row["name"], &row["preferred"])).collect();
    let (none, yes, no) = (Value::Null, Value::Bool(true), Value::Bool(false));
    assert_eq!(told, [(&none, &yes), (&none, &no), (&Value::from("meet"), &yes)]);
    assert!(rows[0]["because"][0].as_str().unwrap().contains("fewest-reversed"));
}

#[test]
fn an_unknown_name_and_a_stray_option_are_refused() {
    let folder = Folder::new("stray");
    folder.write("layout.toml", LAYOUT);
    let unknown = run(folder.path(), &["show", "routes", "--from", "wset"]);
    assert_eq!((unknown.status, unknown.out.as_str()), (2, ""));
    assert_eq!(unknown.err, "throwbar: the layout has no stop `wset`; did you mean `west`?\n");
    let stray = run(folder.path(), &["show", "levers", "--via", "main"]);
    assert_eq!((stray.status, stray.err.as_str()), (2, "throwbar: --via is for `show routes`\n"));
    assert_eq!(run(folder.path(), &["show", "routes", "--flank"]).status, 2);
}

/// The spur is trailed: whatever runs off it runs in, and nothing can be thrown against it.
#[test]
fn flank_protection_is_printed_when_asked_for() {
    let folder = Folder::new("flank");
    folder.write("layout.toml", LAYOUT);
    assert!(!run(folder.path(), &["show", "locking"]).out.contains("no lever can help"));
    let asked = run(folder.path(), &["show", "locking", "--flank"]).out;
    assert!(asked.contains("open to spur: no lever can help"), "{asked}");
}
