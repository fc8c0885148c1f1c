//! `plan --keep` and `changes`: what is built is written down, read again by every command, and never half written.

use crate::{Folder, program, run};
use std::fmt::Write as _;
use std::path::Path;

/// A line of this many turnouts from `first` on, with one strip after the other.
fn layout(first: usize, count: usize) -> String {
    let mut text = String::from("[layout]\nname = \"Tern Harbor\"\n[end.west]\ntrack = \"lead\"\n");
    let mut before = "lead".to_owned();
    for turnout in first..first + count {
        write!(
            text,
            "[turnout.t{turnout}]\npoints = \"{before}\"\nthrough = \"main {turnout}\"\ndiverging = \"spur {turnout}\"\n\
             hand = \"left\"\n[end.\"spur {turnout}\"]\ntrack = \"spur {turnout}\"\n"
        )
        .unwrap();
        before = format!("main {turnout}");
    }
    write!(text, "[end.east]\ntrack = \"{before}\"\n[line.main]\nfrom = \"west\"\nto = \"east\"\n").unwrap();
    for strip in 0..=count.div_ceil(12) {
        write!(text, "[panel.\"strip {strip}\"]\nkind = \"strip\"\n").unwrap();
    }
    text
}

fn record(folder: &Path) -> Option<Vec<u8>> {
    std::fs::read(folder.join("as-built.toml")).ok()
}

#[test]
fn a_kept_plan_stays_when_the_layout_grows() {
    let folder = Folder::new("kept-grows");
    folder.write("layout.toml", layout(2, 3));
    let ran = run(folder.path(), &["plan", "--keep", "--json"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(ran.json()["kept"]["changed"], true);
    let first = record(folder.path()).unwrap();
    let again = run(folder.path(), &["plan", "--keep", "--json"]);
    assert_eq!(again.json()["kept"]["changed"], false);
    assert_eq!(record(folder.path()).unwrap(), first);
    // One more in front of all: every command sees the others where they were.
    folder.write("layout.toml", layout(1, 4));
    for command in ["levers", "addresses"] {
        let shown = run(folder.path(), &["show", command, "--json"]).json();
        let rows = shown[command].as_array().unwrap();
        assert_eq!(rows.len(), 4);
        for row in rows {
            let (name, number, address) = if command == "levers" {
                let because = row["because"].as_array().unwrap();
                assert!(!because.is_empty());
                (
                    row["machines"][0].as_str().unwrap().to_owned(),
                    row["number"].clone(),
                    row["addresses"][0].clone(),
                )
            } else {
                let name = row["for"].as_str().unwrap().replace("machine ", "");
                (name, row["lever"].clone(), row["address"].clone())
            };
            let expected = ["t2", "t3", "t4", "t1"].iter().position(|id| *id == name).unwrap() + 1;
            assert_eq!((number, address), (expected.into(), expected.into()), "{name}");
        }
    }
}

#[test]
fn a_damaged_record_is_shown_at_its_place_and_never_written_over() {
    let folder = Folder::new("kept-damaged");
    folder.write("layout.toml", layout(1, 3));
    assert_eq!(run(folder.path(), &["plan", "--keep"]).status, 0);
    let whole = String::from_utf8(record(folder.path()).unwrap()).unwrap();
    let half = whole[..whole.len() / 2].to_owned();
    let clash = whole.replacen("number = 2", "number = 1", 1);
    let other = whole.replacen("Tern Harbor", "Gull Point", 1);
    for damaged in [half, clash, other, String::new(), "\u{0}".to_owned()] {
        folder.write("as-built.toml", &damaged);
        let ran = run(folder.path(), &["check", "--json"]);
        assert_eq!(ran.status, 1, "{damaged}");
        let notes = ran.json();
        let note = &notes["diagnostics"][0];
        assert!(note["file"].as_str().unwrap().ends_with("as-built.toml"), "{note}");
        assert!(note["line"].as_u64().unwrap() <= damaged.lines().count().max(1) as u64, "{note}");
        let kept = run(folder.path(), &["plan", "--keep"]);
        assert_eq!(kept.status, 1);
        assert!(kept.err.contains("as-built.toml"), "{}", kept.err);
        assert_eq!(record(folder.path()).unwrap(), damaged.as_bytes());
    }
}

/// Bytes that are no text at all, and a record that is a folder.
#[test]
fn a_record_that_is_no_text_is_said() {
    let folder = Folder::new("kept-no-text");
    folder.write("layout.toml", layout(1, 3));
    folder.write("as-built.toml", [b's', 0xFF]);
    let ran = run(folder.path(), &["check", "--json"]);
    assert_eq!(ran.json()["diagnostics"][0]["code"], "text-not-utf8");
    assert!(ran.json()["diagnostics"][0]["file"].as_str().unwrap().ends_with("as-built.toml"));
    std::fs::remove_file(folder.path().join("as-built.toml")).unwrap();
    std::fs::create_dir(folder.path().join("as-built.toml")).unwrap();
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("cannot read the record of what is built"), "{}", ran.err);
}

/// A note that speaks of both files shows both.
#[test]
fn a_pin_over_the_record_shows_both_texts() {
    let folder = Folder::new("kept-pin");
    folder.write("layout.toml", layout(1, 2));
    assert_eq!(run(folder.path(), &["plan", "--keep"]).status, 0);
    folder.write("layout.toml", layout(1, 2).replacen("[turnout.t1]", "[turnout.t1]\nnumber = 9", 1));
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.status, 0, "{}", ran.out);
    for part in ["record-pinned-over", "layout.toml:", "as-built.toml:", "number = 9", "built with 1"] {
        assert!(ran.out.contains(part), "{part} in {}", ran.out);
    }
    let json = run(folder.path(), &["check", "--json"]).json();
    let notes = json["diagnostics"].as_array().unwrap();
    let note = notes.iter().find(|note| note["code"] == "record-pinned-over").unwrap();
    assert!(note["file"].as_str().unwrap().ends_with("layout.toml"));
    assert!(note["related"][0]["file"].as_str().unwrap().ends_with("as-built.toml"));
}

/// Lets a moment pass, the longer the more rounds: what is wanted is a moment that differs, whichever it is.
fn go_round(rounds: u64) {
    for _ in 0..rounds * 10 {
        std::hint::spin_loop();
    }
}

/// The program is killed again and again while it writes, at moments that differ: what is there is the old record or the
/// new one, whole. Half of the kills wait until the new record is being written aside, so that they fall into the writing.
#[test]
fn killed_while_it_writes_the_old_or_the_new_record_is_whole() {
    let folder = Folder::new("kept-killed");
    folder.write("layout.toml", layout(1, 150));
    assert_eq!(run(folder.path(), &["plan", "--keep", "--json"]).status, 0);
    let old = record(folder.path()).unwrap();
    folder.write("layout.toml", layout(1, 160));
    assert_eq!(run(folder.path(), &["plan", "--keep", "--json"]).status, 0);
    let new = record(folder.path()).unwrap();
    assert_ne!(old, new);
    let (mut while_writing, mut olds, mut news) = (0, 0, 0);
    for round in 0..60u64 {
        folder.write("as-built.toml", &old);
        let mut command = program();
        command.args(["plan", "--keep", "--json"]).arg(folder.path());
        command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null());
        let mut child = command.spawn().unwrap();
        let aside = folder.path().join(format!(".as-built.toml.{}.part", child.id()));
        if round % 2 == 0 {
            while child.try_wait().unwrap().is_none() && !aside.exists() {}
            while_writing += u32::from(aside.exists());
            // From the first byte to past the last.
            go_round(round * 40);
        } else {
            go_round(round * 7_919 % 400_000);
        }
        // It may have ended by itself.
        let _ = child.kill();
        child.wait().unwrap();
        let found = record(folder.path()).expect("there is always a record");
        assert!(found == old || found == new, "round {round}: {} bytes, half written", found.len());
        if found == old {
            olds += 1;
        } else {
            news += 1;
        }
        let _ = std::fs::remove_file(aside);
    }
    println!("{while_writing} of 60 killed while writing; {olds} old, {news} new");
    assert!(olds + news == 60 && while_writing > 0, "{while_writing} fell into the writing");
}

/// Two folders as two branches would be: what is built, and what is to come.
#[test]
fn changes_is_a_work_order_in_json_and_in_words() {
    let (old, new) = (Folder::new("changes-old"), Folder::new("changes-new"));
    old.write("layout.toml", layout(1, 4));
    assert_eq!(run(old.path(), &["plan", "--keep"]).status, 0);
    new.write("layout.toml", layout(2, 4).replacen("[turnout.t3]", "[turnout.harbor]", 1));
    let both = [old.path().to_str().unwrap(), new.path().to_str().unwrap()];
    let ran = run(old.path(), &["changes", both[0], both[1], "--json"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let answer = ran.json();
    let of = |list: &str, kind: &str| -> Vec<String> {
        let rows = answer[list].as_array().unwrap().iter();
        rows.filter(|row| row["kind"] == kind).map(|row| row["name"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(of("remove", "lever"), ["t1"]);
    assert_eq!(of("add", "lever"), ["t5"]);
    assert_eq!(of("relabel", "lever"), ["harbor"]);
    assert_eq!(of("keep", "lever"), ["t2", "t4"]);
    assert_eq!(of("move", "lever"), [""; 0]);
    assert_eq!(of("reprogram", "lever"), [""; 0]);
    for list in ["keep", "add", "move", "remove", "relabel", "reprogram", "sheets"] {
        for row in answer[list].as_array().unwrap() {
            assert!(!row["because"].as_array().unwrap().is_empty(), "{row}");
        }
    }
    let sheets: Vec<&str> =
        answer["sheets"].as_array().unwrap().iter().map(|row| row["sheet"].as_str().unwrap()).collect();
    assert!(sheets.contains(&"Levers") && sheets.contains(&"Track diagram"), "{sheets:?}");
    // The layout that is built was not touched, and the other one got no record.
    assert!(record(new.path()).is_none());
    let words = run(old.path(), &["changes", both[0], both[1]]);
    assert!(words.out.contains("take out") && words.out.contains("print again: "), "{}", words.out);
    // Nothing leads to itself.
    let same = run(old.path(), &["changes", both[0], both[0], "--json"]).json();
    assert_eq!((same["count"].as_u64(), same["sheets"].as_array().unwrap().len()), (Some(0), 0), "{same}");
}

/// Three levers on a line, then the light: number 4, on the pair behind theirs.
#[test]
fn a_light_is_planned_shown_kept_and_listed_in_the_work() {
    let folder = Folder::new("kept-light");
    let light = format!("{}[light.depot]\nat = \"bay 2\"\n", layout(2, 3));
    folder.write("layout.toml", &light);
    let squeezed = |words: &[&str]| {
        let ran = run(folder.path(), words);
        assert_eq!(ran.status, 0, "{words:?}: {}", ran.err);
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let plan = squeezed(&["plan", "--keep"]);
    assert!(plan.contains("4 light depot 4"), "{plan}");
    let addresses = squeezed(&["show", "addresses"]);
    assert!(addresses.contains("4 1 4 D2 4 light depot"), "{addresses}");
    let kept = String::from_utf8(record(folder.path()).unwrap()).unwrap();
    assert!(kept.contains("\"light depot\" = { number = 4, address = 4 }"), "{kept}");
    // Another address: one thing to set.
    folder.write("new.toml", light.replace("at = \"bay 2\"", "at = \"bay 2\"\naddress = 44"));
    let changes = squeezed(&["changes", "layout.toml", "new.toml"]);
    assert!(
        changes.contains("bay 2 move accessory light depot 10 output 4 of D2 → output 4 of D3"),
        "{changes}"
    );
}

/// The binder of what is built has no change order; one of a plan that differs from its record has, and one of a plan since another
/// layout too, in the tables as well.
#[test]
fn the_binder_holds_the_change_order() {
    let (old, new) = (Folder::new("binder-since-old"), Folder::new("binder-since-new"));
    old.write("layout.toml", layout(1, 4));
    assert_eq!(run(old.path(), &["plan", "--keep"]).status, 0);
    new.write("layout.toml", layout(2, 4));
    let titles = |folder: &Path, words: &[&str]| -> Vec<String> {
        let ran = run(folder, words);
        assert_eq!(ran.status, 0, "{words:?}: {}", ran.err);
        let json = ran.json();
        let sheets = json["sheets"].as_array().unwrap().iter();
        sheets.map(|sheet| sheet["title"].as_str().unwrap().to_owned()).collect()
    };
    let has = |titles: &[String]| titles.iter().any(|title| title == "Change order");
    assert!(!has(&titles(old.path(), &["binder", "-o", "out", "--json"])));
    assert!(!old.path().join("out/tables/change-order.csv").exists());
    let since = ["binder", "-o", "out", "--json", "--since", old.path().to_str().unwrap()];
    assert!(has(&titles(new.path(), &since)));
    let table = std::fs::read_to_string(new.path().join("out/tables/change-order.csv")).unwrap();
    assert!(table.contains(",take out,lever,t1,") && table.contains(",fit,lever,t5,"), "{table}");
    // The record alone: the plan differs from it, so the order is there without being asked for.
    old.write("layout.toml", layout(1, 5));
    assert!(has(&titles(old.path(), &["binder", "-o", "out", "--json"])));
    let table = std::fs::read_to_string(old.path().join("out/tables/change-order.csv")).unwrap();
    assert!(table.contains(",fit,lever,t5,") && !table.contains("take out"), "{table}");
}

/// What was found on the live panel goes into the record once it is closed, and a record with findings plans the same.
#[test]
fn what_was_found_on_the_panel_is_kept_and_changes_no_plan() {
    use std::io::{BufRead as _, BufReader, Read as _, Write as _};
    let folder = Folder::new("kept-findings");
    folder.write("layout.toml", layout(1, 2));
    let bare = run(folder.path(), &["plan", "--json"]).json();
    let mut panel = program()
        .current_dir(folder.path())
        .args(["serve", ".", "--port", "0"])
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let mut url = String::new();
    BufReader::new(panel.stdout.take().unwrap()).read_line(&mut url).unwrap();
    let host = url.trim().trim_start_matches("http://").trim_end_matches('/').to_owned();
    let body =
        r#"{"step":"lever 1","answer":"skip","note":"motor on order","who":"Ruth","when_ms":1777662240000}"#;
    let mut stream = std::net::TcpStream::connect(&host).unwrap();
    write!(
        stream,
        "POST /commissioning/find HTTP/1.1\r\nhost: {host}\r\ncontent-type: application/json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n{body}",
        body.len()
    )
    .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 202"), "{answer}");
    let busy = run(folder.path(), &["plan", "--keep", "--findings", "operation.journal"]);
    assert!(busy.status != 0 && busy.err.contains("close the panel"), "{}", busy.err);
    assert!(record(folder.path()).is_none());
    // Killed, as a power cut does: what was answered is there all the same.
    panel.kill().unwrap();
    panel.wait().unwrap();
    for changed in [true, false] {
        let kept = run(folder.path(), &["plan", "--keep", "--findings", "operation.journal", "--json"]);
        assert_eq!(kept.status, 0, "{}", kept.err);
        assert_eq!(kept.json()["kept"]["changed"], changed);
    }
    let text = String::from_utf8(record(folder.path()).unwrap()).unwrap();
    let row = r#""lever 1" = { verdict = "skipped", who = "Ruth", when = "2026-05-01T19:04:00Z", note = "motor on order" }"#;
    assert!(text.contains(row), "{text}");
    let beside = run(folder.path(), &["plan", "--json"]).json();
    for member in ["levers", "decoders", "strips", "routes"] {
        assert_eq!(
            beside[member].as_array().map(Vec::len),
            bare[member].as_array().map(Vec::len),
            "{member}"
        );
    }
}
