//! `packet`, against the vectors and the contract.
//!
//! # Source
//! `reference/dcc/packets.json`: bits after NMRA S-9.2.1 (July 2012), section D.

use crate::{Folder, Ran, program, root, run};
use serde_json::Value;
use std::io::Write;
use std::process::Stdio;

fn vectors() -> Vec<Value> {
    let file = std::fs::read_to_string(root().join("reference/dcc/packets.json")).unwrap();
    serde_json::from_str::<Value>(&file).unwrap()["vectors"].as_array().unwrap().clone()
}

/// Runs with these rows on standard input.
fn batch(words: &[&str], rows: &str) -> Ran {
    let mut child = program()
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let rows = rows.to_owned();
    let writer = std::thread::spawn(move || input.write_all(rows.as_bytes()));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    Ran {
        status: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn objects(ran: &Ran) -> Vec<Value> {
    ran.out.lines().map(|row| serde_json::from_str(row).unwrap()).collect()
}

fn scheme(vector: &Value) -> &'static str {
    match vector["numbering"].as_str().unwrap() {
        "first_board_1" => "linear",
        "first_board_0" => "zero-based",
        "blockwise_256" => "blocks-of-256",
        other => panic!("{other}"),
    }
}

/// The words that ask for a vector.
fn request(vector: &Value) -> Option<String> {
    let address = &vector["user_address"];
    match vector["kind"].as_str().unwrap() {
        "basic" => {
            let off = if vector["activate"] == 1 { "" } else { " --off" };
            let position = vector["position"].as_str().unwrap();
            Some(format!("{address} {position} --scheme {}{off}", scheme(vector)))
        }
        "extended" => Some(format!("--extended {address} {} --scheme {}", vector["data"], scheme(vector))),
        "idle" => Some("idle".to_owned()),
        "reset" => Some("reset".to_owned()),
        "extended_broadcast_stop" => Some("extended-stop".to_owned()),
        "basic_broadcast_stop_rcn213" => Some("accessory-stop".to_owned()),
        _ => None,
    }
}

#[test]
fn every_vector_is_made_in_one_batch() {
    let asked: Vec<(Value, String)> =
        vectors().into_iter().filter_map(|vector| request(&vector).map(|words| (vector, words))).collect();
    assert_eq!(asked.len(), 209);
    let rows: String = asked.iter().flat_map(|(_, words)| [words.as_str(), "\n"]).collect();
    let ran = batch(&["packet", "encode", "--batch"], &rows);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let answers = objects(&ran);
    assert_eq!(answers.len(), asked.len());
    for ((vector, words), answer) in asked.iter().zip(&answers) {
        assert_eq!(answer["bytes"], vector["bytes"], "{words}");
        if vector["kind"] == "basic" {
            assert_eq!(answer["address"], vector["user_address"], "{words}");
            assert_eq!(answer["position"], vector["position"], "{words}");
            assert_eq!(answer["board"], vector["board"], "{words}");
            assert_eq!(answer["pair"].as_u64(), vector["pair"].as_u64().map(|pair| pair + 1), "{words}");
        }
    }
}

#[test]
fn every_vector_is_read_in_one_batch() {
    let vectors = vectors();
    let rows: String = vectors.iter().flat_map(|vector| [vector["bytes"].as_str().unwrap(), "\n"]).collect();
    let ran = batch(&["packet", "decode", "--batch"], &rows);
    // Three of them have a wrong error byte.
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    let answers = objects(&ran);
    assert_eq!(answers.len(), 243);
    for (vector, answer) in vectors.iter().zip(&answers) {
        assert_eq!(answer["bytes"], vector["bytes"]);
        assert_eq!(answer["checksum_ok"], vector["must_be_rejected"] != true);
        if vector["numbering"] == "first_board_1" {
            assert_eq!(answer["address"], vector["user_address"]);
        }
        let warned = answer["warnings"].to_string().contains("obsolete");
        assert_eq!(warned, vector["must_never_be_sent"] == true);
    }
}

/// # Source
/// The product's own contract for `packet`: its members and their order.
#[test]
fn a_packet_answers_with_the_members_of_the_contract() {
    for words in
        [&["packet", "encode", "1", "normal", "--json"][..], &["packet", "decode", "81 F9 78", "--json"]]
    {
        let ran = run(&root(), words);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""));
        let answer = ran.json();
        let members: Vec<&str> = answer.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(
            members[..8],
            ["schema", "bytes", "address", "position", "board", "pair", "checksum_ok", "bits"]
        );
        assert_eq!(
            [&answer["bytes"], &answer["address"], &answer["position"], &answer["board"], &answer["pair"]],
            ["81 F9 78".into(), 1.into(), "normal".into(), 1.into(), 1.into()].each_ref() as [&Value; 5]
        );
        assert_eq!(answer["checksum_ok"], true);
        assert_eq!(answer["bits"], "11111111111111 0 10000001 0 11111001 0 01111000 1");
    }
}

#[test]
fn a_wrong_error_byte_is_said_and_ends_with_1() {
    for words in [&["packet", "decode", "81 F9 79"][..], &["packet", "decode", "81", "0xF9", "79"]] {
        let ran = run(&root(), words);
        assert_eq!(ran.status, 1);
        assert!(ran.out.contains("the error byte is 79 and has to be 78"), "{}", ran.out);
        let ran = run(&root(), &[words, &["--json"]].concat());
        assert_eq!((ran.status, &ran.json()["checksum_ok"]), (1, &false.into()));
    }
}

/// The user chooses where texts differ: each choice, both ways.
#[test]
fn choices_change_what_the_same_bits_mean() {
    let read = |words: &[&str]| run(&root(), &[&["packet", "--json"], words].concat()).json();
    assert_eq!(read(&["decode", "81F978", "--normal-is", "0"])["position"], "reverse");
    assert_eq!(read(&["encode", "1", "reverse", "--normal-is", "0"])["bytes"], "81 F9 78");
    assert_eq!(read(&["decode", "81F978", "--scheme", "zero-based"])["address"], 5);
    let broadcast = read(&["decode", "BF8F30"]);
    assert_eq!(
        (&broadcast["kind"], &broadcast["address"]),
        (&"basic accessory broadcast".into(), &2044.into())
    );
    assert_eq!(read(&["decode", "BF8F30", "--last-address", "2040"])["address"], Value::Null);
    assert!(read(&["encode", "2041", "normal", "--last-address", "2040"])["failure"].is_string());
    assert!(
        read(&["encode", "1", "normal", "--preamble", "17"])["bits"]
            .as_str()
            .unwrap()
            .starts_with(&"1".repeat(17))
    );
    assert_eq!(read(&["decode", "7C1C0666", "--programming"])["cv"]["number"], 29);
}

#[test]
fn what_cannot_be_a_packet_is_said_and_ends_with_2() {
    for (words, said) in [
        (&["encode", "0", "normal"][..], "`0` is no accessory address; write a number from 1 to 2048"),
        (&["encode", "2049", "normal"], "from 1 to 2048"),
        (&["encode", "1", "left"], "`left` is no position; write normal or reverse"),
        (&["encode", "1"], "write an address and a position"),
        (&["encode", "--extended", "1", "256"], "`256` is no aspect"),
        (&["encode", "--extended", "1"], "write an address and an aspect"),
        (&["encode", "--cv", "29", "1"], "say what to do"),
        (&["encode", "--cv", "1025", "--write", "1", "1"], "variables are numbered 1 to 1024"),
        (&["encode", "--cv", "1", "--write-bit", "8=1", "1"], "a number from 0 to 7"),
        (&["encode", "1", "normal", "--preamble", "13"], "a station sends 14 bits or more"),
        (&["decode", "81 F9"], "a packet has 3 to 6 bytes"),
        (&["decode", "81 F9 7"], "`7` is no byte"),
        (&["decode", "81 F9 ü8"], "is no byte"),
        (&["decode", "0x"], "`0x` is no byte"),
        (&["decode", "00 00 00 00 00 00 00"], "and this has 7"),
        (&["stream", "1 normal", "--stretch", "9901"], "95 to 9900"),
        (&["stream", "1 normal", "--stretch", "94"], "95 to 9900"),
        (&["stream", "decode 81 F9 78"], "no packet to make"),
        (&["stream", "1 normal", "-o", "signal.txt"], "does not end in .vcd or .csv"),
    ] {
        let ran = run(&root(), &[&["packet"], words].concat());
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{words:?}");
        assert!(ran.err.contains(said), "{words:?}: {}", ran.err);
    }
}

/// Every row is answered, the bad ones with what is wrong, and the good ones after them still are.
#[test]
fn a_batch_goes_on_after_a_bad_row() {
    let long = "1 ".repeat(600);
    let rows = format!("1 normal\nnonsense\n\n{long}\ndecode 81 F9 78\nthrowbar packet encode 2 reverse");
    let ran = batch(&["packet", "--batch"], &rows);
    assert_eq!(ran.status, 2);
    let answers = objects(&ran);
    let bytes: Vec<&Value> = answers.iter().map(|answer| &answer["bytes"]).collect();
    assert_eq!(
        bytes,
        [&"81 F9 78".into(), &Value::Null, &Value::Null, &"81 F9 78".into(), &"81 FA 7B".into()]
    );
    assert_eq!((&answers[1]["line"], &answers[2]["line"]), (&2.into(), &4.into()));
    assert!(answers[2]["failure"].as_str().unwrap().contains("longer"));
}

#[test]
fn the_bits_are_drawn_with_the_letters_of_the_standard() {
    let ran = run(&root(), &["packet", "encode", "253", "normal", "--explain"]);
    expect_test::expect![[r"
        80 E9 69   basic accessory, the error byte is right
        address 253, normal, board 64, pair 1, binary address 256
        bits: 11111111111111 0 10000000 0 11101001 0 01101001 1

        byte 1 is 80
           bit  7 6 5 4 3 2 1 0
                1 0 0 0 0 0 0 0
                1 0 A A A A A A
                    └─────────┘  address: the low six of the nine bits of board 64, 001000000

        byte 2 is E9
           bit  7 6 5 4 3 2 1 0
                1 1 1 0 1 0 0 1
                1 A A A C D D D
                  └───┘          address: the high three bits of board 64, turned over: 001 is sent as 110
                        │        1 switches the output on, 0 off; this is 1
                          └───┘  pair 1 of the board, which the bits count from 0, then the direction bit: 1

        byte 3 is 69
           bit  7 6 5 4 3 2 1 0
                0 1 1 0 1 0 0 1
                E E E E E E E E
                └─────────────┘  error detection: the exclusive or of all bytes before it

        These bits are address 253 counted linear, and 257 counted zero-based, 509 counted blocks-of-256. A
        decoder that counts in another way than the system answers to another number.

        The standard does not say which direction bit is normal. Here 1 is normal; where it is the other way
        round this packet throws to reverse.
    "]]
    .assert_eq(&ran.out);
}

/// # Source
/// By hand: a throw of user 1 lasts 6,132 µs and an idle packet 5,796 µs (`reference/dcc/timing.json`).
#[test]
fn a_signal_says_how_long_it_takes_and_is_written_whole() {
    let folder = Folder::new("stream");
    let ran =
        run(folder.path(), &["packet", "stream", "1 normal", "--times", "2", "-o", "rails.vcd", "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let answer = ran.json();
    assert_eq!((&answer["once_s"], &answer["seconds"]), (&0.006_132.into(), &0.018_06.into()));
    let kinds: Vec<&Value> = answer["packets"].as_array().unwrap().iter().map(|row| &row["kind"]).collect();
    assert_eq!(kinds, ["basic accessory", "idle", "basic accessory"]);
    assert_eq!(answer["packets"][0]["at_s"], 0.001_624);
    assert_eq!(folder.names(), ["rails.vcd"]);
    let second = run(folder.path(), &["packet", "stream", "1 normal", "--times", "2", "-o", "rails.csv"]);
    assert_eq!(second.status, 0);
    let rows = std::fs::read_to_string(folder.path().join("rails.csv")).unwrap();
    assert!(rows.starts_with("time_us,level\n0.000,0\n58.000,1\n116.000,0\n"), "{rows}");
}
