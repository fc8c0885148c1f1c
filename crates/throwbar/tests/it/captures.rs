//! `capture`, on the reference capture, on signals that the tool wrote, and on files that are none.
//!
//! # Source
//! `reference/dcc/captures/`: made by another program, with the packets that a decoder must report.

use crate::{Folder, Ran, program, read_elsewhere, root, run};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;

fn capture(folder: &Path, words: &[&str]) -> Ran {
    run(folder, &[&["capture"], words].concat())
}

/// Start of the start bit in microseconds, and bytes, of every packet with a right error byte.
fn good(answer: &Value) -> Vec<(f64, String)> {
    let packets = answer["packets"].as_array().unwrap().iter();
    let good = packets.filter(|packet| packet["checksum_ok"] == true);
    good.map(|packet| {
        let at = (packet["at_s"].as_f64().unwrap() * 1e9).round() / 1e3;
        (at, packet["bytes"].as_str().unwrap().to_owned())
    })
    .collect()
}

fn whats(answer: &Value) -> Vec<&str> {
    answer["faults"].as_array().unwrap().iter().map(|fault| fault["what"].as_str().unwrap()).collect()
}

#[test]
fn the_reference_capture_gives_the_packets_it_must() {
    let folder = root().join("reference/dcc/captures");
    let text = std::fs::read_to_string(folder.join("simple.expected.json")).unwrap();
    let expected: Value = serde_json::from_str(&text).unwrap();
    let must: Vec<(f64, String)> = expected["packets"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|packet| packet["must_be_reported_as_packet"] == true)
        .map(|packet| {
            (packet["start_bit_us"].as_f64().unwrap(), packet["bytes"].as_str().unwrap().to_owned())
        })
        .collect();
    assert_eq!(must.len(), 23);
    for file in ["simple.vcd", "simple.csv"] {
        let ran = capture(&folder, &[file, "--json"]);
        // One of its packets has a wrong error byte.
        assert_eq!((ran.status, ran.err.as_str()), (1, ""));
        let answer = ran.json();
        assert_eq!(good(&answer), must);
        let members: Vec<&str> = answer.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(members[..4], ["schema", "packets", "faults", "timing"]);
        let first: Vec<&str> =
            answer["packets"][3].as_object().unwrap().keys().map(String::as_str).take(6).collect();
        assert_eq!(first, ["at_s", "bytes", "kind", "address", "position", "checksum_ok"]);
        assert_eq!(answer["timing"]["preamble_bits"]["median"], 17.0);
        assert_eq!(answer["timing"]["zero_half_us"]["max"], 700.0);
        let errors = answer["faults"].as_array().unwrap().iter().filter(|fault| fault["severity"] == "error");
        let errors: Vec<&Value> = errors.map(|fault| &fault["what"]).collect();
        assert_eq!(errors, ["checksum error: the error byte has to be 7D; decoders ignore the packet"]);
    }
}

#[test]
fn a_capture_in_words_lists_packets_faults_and_timing() {
    let ran = capture(&root(), &["reference/dcc/captures/simple.csv"]);
    assert_eq!(ran.status, 1);
    for row in [
        "     0.020399  81 F9 78                 1  normal    basic accessory\n",
        "     0.097980  error: checksum error",
        "24 packets, 23 of them good: 9 basic accessory, 1 extended accessory, 14 idle\n",
        "half of a 1: 57 to 59 µs, 58 in the middle\n",
    ] {
        assert!(ran.out.contains(row), "{row} is not in\n{}", ran.out);
    }
    assert!(
        !ran.out.contains("FF 00 FF")
            && capture(&root(), &["reference/dcc/captures/simple.csv", "--all"]).out.contains("FF 00 FF")
    );
}

/// What was written as a signal is read back: the same bytes at the same moments.
#[test]
fn a_signal_of_its_own_is_read_back() {
    let folder = Folder::new("read-back");
    let requests = [
        "1 normal",
        "5 reverse",
        "encode --extended 77 31",
        "encode --cv 29 --write 255 9",
        "accessory-stop",
        "idle",
    ];
    for (file, more) in [("a.vcd", &[][..]), ("b.csv", &["--stretch", "700", "--preamble", "17"])] {
        let words = [&["packet", "stream", "-o", file, "--others", "1", "--json"], more, &requests].concat();
        let sent = run(folder.path(), &words).json();
        let ran = capture(folder.path(), &[file, "--json"]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""));
        let answer = ran.json();
        let sent: Vec<(&Value, &Value)> =
            sent["packets"].as_array().unwrap().iter().map(|row| (&row["at_s"], &row["bytes"])).collect();
        let read: Vec<(&Value, &Value)> =
            answer["packets"].as_array().unwrap().iter().map(|row| (&row["at_s"], &row["bytes"])).collect();
        assert_eq!(read, sent, "{file}");
        assert!(sent.len() >= 20);
        assert_eq!(whats(&answer), [""; 0]);
    }
}

/// Moment of the start bit, bytes and checksum of every packet, as another program tells them, which is written in another
/// language with the rules of the standards written out.
fn elsewhere(path: &Path) -> Vec<(u64, String, bool)> {
    let told = read_elsewhere("rails/read_vcd.py", path);
    let packets = told["packets"].as_array().unwrap().iter();
    let row = |packet: &Value| {
        let bytes = packet["bytes"].as_str().unwrap().to_owned();
        (packet["at_ns"].as_u64().unwrap(), bytes, packet["checksum_ok"] == true)
    };
    packets.map(row).collect()
}

/// Every address thrown both ways, and packets of each length, written as a dump that the other program reads: the same
/// bytes at the same moments, and the same as the product reads itself.
#[test]
fn another_program_reads_the_same_bytes_in_its_dumps() {
    let folder = Folder::new("elsewhere");
    let mut requests: Vec<String> = (0..60u16)
        .map(|step| format!("{} {}", 1 + step * 34, if step % 2 == 0 { "normal" } else { "reverse" }))
        .collect();
    requests.extend(
        ["encode --extended 77 31", "encode --cv 29 --write 255 9", "reset", "extended-stop", "loco-stop"]
            .map(str::to_owned),
    );
    for (file, more) in
        [("a.vcd", &[][..]), ("b.vcd", &["--stretch", "9000", "--preamble", "17", "--others", "1"])]
    {
        let mut words = vec!["packet", "stream", "-o", file, "--json", "--times", "1"];
        words.extend(more);
        words.extend(requests.iter().map(String::as_str));
        let sent = run(folder.path(), &words).json();
        let sent: Vec<(u64, String, bool)> = sent["packets"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| (nanoseconds(&row["at_s"]), row["bytes"].as_str().unwrap().to_owned(), true))
            .collect();
        assert!(sent.len() >= 65);
        assert_eq!(elsewhere(&folder.path().join(file)), sent, "{file}");
    }
    let reference = root().join("reference/dcc/captures/simple.vcd");
    let own = capture(&root(), &["reference/dcc/captures/simple.vcd", "--json"]).json();
    let own: Vec<(u64, String, bool)> = own["packets"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            (nanoseconds(&row["at_s"]), row["bytes"].as_str().unwrap().to_owned(), row["checksum_ok"] == true)
        })
        .collect();
    assert_eq!(elsewhere(&reference), own);
}

fn nanoseconds(seconds: &Value) -> u64 {
    format!("{:.0}", seconds.as_f64().unwrap() * 1e9).parse().unwrap()
}

/// The reference capture as rows, with a heading and cells made from time and level.
fn rewritten(heading: &str, cells: impl Fn(u64, bool) -> String) -> String {
    let rows = std::fs::read_to_string(root().join("reference/dcc/captures/simple.csv")).unwrap();
    let mut text = format!("{heading}\n");
    for row in rows.lines().skip(1) {
        let (time, level) = row.split_once(',').unwrap();
        let us = time.strip_suffix(".0").unwrap().parse().unwrap();
        writeln!(text, "{}", cells(us, level == "1")).unwrap();
    }
    text
}

#[test]
fn the_signal_and_its_unit_are_found() {
    let folder = Folder::new("found");
    let seconds = |us: u64| format!("{}.{:06}", us / 1_000_000, us % 1_000_000);
    for (name, text, signal) in [
        ("units.csv", rewritten("Time,D0", |us, level| format!("{us},{}", u8::from(level))), "D0"),
        (
            "channels.csv",
            rewritten("Time [s],clock,slow,rail", |us, level| {
                format!("{},{},{},{}", seconds(us), us % 2, us / 50_000 % 2, u8::from(level))
            }),
            "rail",
        ),
        (
            "volts.csv",
            rewritten("t (us);U", |us, level| format!("{us};{}14,{}", if level { "" } else { "-" }, us % 7)),
            "U",
        ),
        (
            "wires.vcd",
            rewritten(
                "$timescale 1us $end $var wire 1 a one $end $var wire 1 bb two $end $enddefinitions $end",
                |us, level| format!("#{us} {}a {}bb", us / 3_000 % 2, u8::from(level)),
            ),
            "two",
        ),
    ] {
        folder.write(name, text);
        let ran = capture(folder.path(), &[name, "--json"]);
        let answer = ran.json();
        assert_eq!((&answer["signal"]["name"], good(&answer).len()), (&signal.into(), 23), "{name}");
        assert_eq!(answer["signal"]["first_half"], "low");
        assert!((good(&answer)[3].0 - 20_399.0).abs() < 1e-6, "{name}");
    }
    folder.write("turned.csv", rewritten("time_us,d", |us, level| format!("{us},{}", u8::from(!level))));
    assert_eq!(capture(folder.path(), &["turned.csv", "--json"]).json()["signal"]["first_half"], "high");
    let one = capture(folder.path(), &["channels.csv", "--signal", "2", "--json"]);
    assert_eq!((one.status, &one.json()["signal"]["name"]), (1, &"slow".into()));
    let unknown = capture(folder.path(), &["channels.csv", "--signal", "rial"]);
    assert_eq!(unknown.status, 2);
    assert!(unknown.err.contains("did you mean `rail`?"), "{}", unknown.err);
}

#[test]
fn a_capture_that_is_cut_gives_what_was_whole() {
    let folder = Folder::new("cut");
    let whole = std::fs::read(root().join("reference/dcc/captures/simple.csv")).unwrap();
    folder.write("cut.csv", &whole[..whole.len() * 2 / 3]);
    let answer = capture(folder.path(), &["cut.csv", "--json"]).json();
    let all = capture(&root(), &["reference/dcc/captures/simple.csv", "--json"]).json();
    let (cut, all) = (good(&answer), good(&all));
    assert!(cut.len() > 10 && cut.len() < all.len());
    assert_eq!(cut, all[..cut.len()]);
    assert!(whats(&answer).contains(&"the capture ends in the middle of a packet"), "{answer}");
}

/// A row of nonsense, a row from the past, and edges that are missing.
#[test]
fn bad_rows_are_told_and_reading_goes_on() {
    let folder = Folder::new("bad-rows");
    let text = std::fs::read_to_string(root().join("reference/dcc/captures/simple.csv")).unwrap();
    let mut rows: Vec<&str> = text.lines().collect();
    rows.insert(500, "what,ever");
    rows.insert(1_000, "3.0,1");
    rows.remove(1_500);
    folder.write("bad.csv", rows.join("\n"));
    let ran = capture(folder.path(), &["bad.csv", "--json"]);
    assert_eq!(ran.status, 1);
    let answer = ran.json();
    assert_eq!(good(&answer).len(), 22, "the missing edge costs one packet");
    let told = whats(&answer).join("\n");
    assert!(
        told.contains("row 501 of the file") && told.contains("row 1001 of the file: time goes backward"),
        "{told}"
    );
    assert!(told.contains("bad bit: its halves") || told.contains("bad half bit"), "{told}");
}

#[test]
fn addresses_are_compared_with_the_plan() {
    let folder = Folder::new("conflict");
    let requests = ["1 normal", "2000 reverse"];
    run(folder.path(), &[&["packet", "stream", "-o", "rails.vcd"][..], &requests].concat());
    let demo = root().join("demo/first-module");
    let ran = capture(folder.path(), &["rails.vcd", "--layout", demo.to_str().unwrap(), "--json"]);
    assert_eq!(ran.status, 1);
    assert_eq!(
        whats(&ran.json()),
        ["address conflict: 2000 is commanded, and nothing in the plan answers it"]
    );
}

/// A layout that counts from board 0, and a station that counts from board 1: every address is four off.
#[test]
fn a_station_that_counts_otherwise_is_told() {
    let folder = Folder::new("off-by-four");
    let text = std::fs::read_to_string(root().join("demo/first-module/layout.toml")).unwrap();
    let system = "[system]\naddress_scheme = \"zero-based\"\ntaken = [\"900-910\"]\n";
    assert!(text.contains("[system]\n"));
    folder.write("layout.toml", text.replace("[system]\n", system));
    let stream = |scheme: &'static str, requests: &[&str]| {
        let words = ["packet", "stream", "-o", "rails.vcd", "--scheme", scheme];
        let ran = run(folder.path(), &[&words[..], requests].concat());
        assert_eq!(ran.status, 0, "{}", ran.err);
        let ran = capture(folder.path(), &["rails.vcd", "--layout", ".", "--json"]);
        (ran.status, ran.json())
    };
    let (status, answer) = stream("zero-based", &["1 normal", "5 reverse"]);
    assert_eq!((status, whats(&answer)), (0, vec![]));
    // The layout says how addresses are counted, so that these are listed as the plan has them.
    let listed =
        |answer: &Value| answer["packets"].as_array().unwrap().iter().any(|packet| packet["address"] == 5);
    assert!(listed(&answer));
    let (status, answer) = stream("linear", &["1 normal", "2 normal", "5 reverse", "8 reverse"]);
    assert_eq!(status, 1);
    assert!(
        whats(&answer).contains(
            &"address conflict: of 4 addresses that are commanded the plan has 2 counted zero-based, and all 4 counted linear: 9 is \
              5 there. Let the station count so, or write `address_scheme = \"linear\"` in [system]"
        ),
        "{:?}",
        whats(&answer)
    );
    let (status, answer) = stream("zero-based", &["905 normal", "accessory-stop"]);
    assert_eq!(status, 0, "something else's address, and a stop, are no errors");
    assert_eq!(
        whats(&answer),
        [
            "address conflict: 905 is commanded, which is something else's: `taken` of [system] has 900 to 910, and nothing in the \
             plan answers it",
            "address conflict: all accessory decoders are told to stop or switch off, and 8 addresses of the plan hear it",
        ]
    );
}

#[test]
fn one_packet_is_drawn_along_time() {
    let folder = Folder::new("packet-picture");
    let file = root().join("reference/dcc/captures/simple.vcd");
    let file = file.to_str().unwrap();
    let ran = capture(folder.path(), &[file, "--picture", "one.svg", "--packet", "18"]);
    assert_eq!(ran.status, 1);
    let drawn = std::fs::read_to_string(folder.path().join("one.svg")).unwrap();
    for words in [
        "83 F8 7B, basic accessory",
        "preamble, 17 bits",
        "byte 1 83",
        "error byte 7B",
        "700 µs",
        "110.528 ms",
    ] {
        assert!(drawn.contains(words), "{words}");
    }
    let none = capture(folder.path(), &[file, "--picture", "two.svg", "--packet", "25"]);
    assert_eq!(none.status, 2);
    assert!(none.err.contains("there is no packet 25 to draw; the capture has 24"), "{}", none.err);
    let told = capture(folder.path(), &[file, "--picture", "two.svg", "--packet", "25", "--json"]);
    assert_eq!((told.status, told.json()["packets"].as_array().unwrap().len()), (2, 24));
    assert!(told.json()["failure"].as_str().unwrap().contains("no packet 25"), "{}", told.out);
    let kind = capture(folder.path(), &[file, "--picture", "two.png"]);
    assert!(kind.status == 2 && kind.err.contains(".svg"), "{}", kind.err);
    assert_eq!(folder.names(), ["one.svg"]);
}

#[test]
fn what_is_no_capture_is_said() {
    let folder = Folder::new("no-capture");
    folder.write("empty.csv", "");
    folder.write("words.csv", "a letter\nto nobody\n");
    folder.write("bus.vcd", "$timescale 1 us $end $var wire 8 ! bus $end $enddefinitions $end #0 b1 !");
    folder.write("noise.csv", "time_us,d\n0,0\n5,1\n9,0\n");
    folder.write("binary.csv", [0xFF, 0xFE, 0, 1, b',', 0x80, b'\n', 0xC3]);
    for (file, said) in [
        ("missing.csv", "cannot read the capture missing.csv"),
        (".", "cannot read the capture ."),
        ("empty.csv", "no column holds times"),
        ("words.csv", "no column holds times"),
        ("binary.csv", "no column holds times"),
        ("bus.vcd", "no channel of one bit is named"),
    ] {
        let ran = capture(folder.path(), &[file]);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{file}");
        assert!(ran.err.contains(said), "{file}: {}", ran.err);
    }
    folder.write("letter.csv", format!("time_us,d\n{}", "dear reader,\n".repeat(500)));
    let letter = capture(folder.path(), &["letter.csv", "--json"]);
    assert_eq!(
        (letter.status, &letter.json()["faults_total"], whats(&letter.json()).len()),
        (1, &501.into(), 21)
    );
    let noise = capture(folder.path(), &["noise.csv", "--json"]);
    assert_eq!((noise.status, whats(&noise.json())), (1, vec!["no whole packet was found in this signal"]));
}

/// A pipe can be read once only, and whoever reads the answer may stop.
#[test]
fn a_capture_may_come_through_a_pipe() {
    let file = root().join("reference/dcc/captures/simple.vcd");
    let whole = program().args(["capture", "--json"]).arg(&file).output().unwrap();
    let mut cat =
        std::process::Command::new("cat").arg(&file).stdout(std::process::Stdio::piped()).spawn().unwrap();
    let piped = program()
        .args(["capture", "--json", "/dev/stdin"])
        .stdin(cat.stdout.take().unwrap())
        .output()
        .unwrap();
    cat.wait().unwrap();
    assert_eq!(String::from_utf8_lossy(&piped.stdout), String::from_utf8_lossy(&whole.stdout));
    let mut child = program()
        .args(["capture", "--json"])
        .arg(&file)
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    assert!(child.wait().unwrap().code().is_some_and(|code| code < 2));
}
