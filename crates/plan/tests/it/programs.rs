//! What decoders are programmed with: against published values, and what wrong values do, by hand.
//!
//! # Source
//! NMRA S-9.2.2 (July 2012), table 3, as `reference/dcc/cv.json` works it out.

use packet::{AddressCvs, AddressMethod, Bytes, Decoded, Kind, OutputReading, Seen};
use plan::program::{Method, Sheet, Step, sheets};
use serde_json::Value;
use testkit::plan_of;

/// One turnout at an address, and a decoder for it.
fn layout(address: u64, more: &str) -> String {
    format!(
        "[layout]\nname = \"Tern Harbor\"\n[turnout.w]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
         address = {address}\n[end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n{more}"
    )
}

const BETWEEN_BOARDS: &str = "[part.\"eight output decoder\"]\naligned = 1\n";

fn sheet(text: &str) -> Sheet {
    sheets(&plan_of(text)).into_iter().next().unwrap()
}

fn values(steps: &[Step]) -> Vec<(u16, u8)> {
    steps.iter().map(|step| (step.cv, step.value.value)).collect()
}

fn wrong(step: &Step) -> Vec<String> {
    step.if_wrong.iter().map(ToString::to_string).collect()
}

fn reference() -> Value {
    serde_json::from_str(include_str!("../../../../reference/dcc/cv.json")).unwrap()
}

fn cv(row: &Value, name: &str) -> u8 {
    u8::try_from(row[name].as_u64().unwrap()).unwrap()
}

#[test]
fn a_decoder_between_boards_is_set_by_its_first_output() {
    let mut tried = 0;
    for row in reference()["output_address_method"].as_array().unwrap() {
        let address = row["user_address"].as_u64().unwrap();
        // A block of eight that has to stay below 2041, and boards begin at the first of every four.
        if address > 2033 || address % 4 == 1 {
            continue;
        }
        let found = sheet(&layout(address, BETWEEN_BOARDS));
        assert_eq!(found.method, Method::OutputAddress);
        assert_eq!(values(&found.steps), [(1, cv(row, "CV1")), (9, cv(row, "CV9")), (29, 192)], "{address}");
        assert!(found.other.is_empty() && found.steps.iter().all(|step| step.on_main.is_none()));
        tried += 1;
    }
    assert!(tried >= 8, "{tried} rows tried");
}

#[test]
fn a_decoder_on_a_board_may_be_set_either_way() {
    let mut tried = 0;
    for row in reference()["output_address_method"].as_array().unwrap() {
        let address = row["user_address"].as_u64().unwrap();
        if address > 2033 || address % 4 != 1 {
            continue;
        }
        let found = sheet(&layout(address, ""));
        assert_eq!(found.method, Method::DecoderAddress);
        assert_eq!(values(&found.other), [(1, cv(row, "CV1")), (9, cv(row, "CV9")), (29, 192)], "{address}");
        let literal = row["B_literal_S922"].as_u64().unwrap();
        // A part that counts from 0 reads the formula to the letter: the same packet has the number four higher.
        let counts = "[part.\"eight output decoder\"]\ncounts = \"zero-based\"\n";
        let found = values(&sheet(&layout(address, counts)).other);
        let cvs = AddressCvs { cv1: found[0].1, cv9: found[1].1 };
        let answers = cvs.first(AddressMethod::Output(OutputReading::Literal)).unwrap();
        assert_eq!(u64::from(answers.bits()), literal + 4, "{address}");
        tried += 1;
    }
    assert!(tried >= 4, "{tried} rows tried");
}

/// Boards worked out by hand: 261 is on board 66 = 64 + 2, its neighbours 65 and 67 begin at 257 and 265.
#[test]
fn what_wrong_values_do_is_worked_out() {
    let found = sheet(&layout(261, ""));
    assert_eq!(values(&found.steps), [(1, 2), (9, 1), (29, 128)]);
    assert_eq!(found.label, "D1: 261–268; CV 1 = 2, CV 9 = 1, CV 29 = 128");
    assert_eq!(
        wrong(&found.steps[0]),
        [
            "1 is one board off, and it answers 257–264: off by four (wrong-one-board)",
            "3 is one board off, and it answers 265–272: off by four (wrong-one-board)",
            "66 is the whole board, and here are only its low six bits: values above 63 are no part of a board \
             (wrong-whole-board)",
        ]
    );
    assert_eq!(
        wrong(&found.steps[1]),
        [
            "0 left over from before, and it answers 5–12 (wrong-left)",
            // Board 6 × 64 + 2 = 386 begins at 385 × 4 + 1.
            "6 is how the packet carries these bits, turned over; in the variable they are not, and it answers 1541–1548 \
             (wrong-complement)",
        ]
    );
    assert_eq!(
        wrong(&found.steps[2]),
        [
            "192 reads CV 1 and CV 9 as output 258, and it answers 258–265 (wrong-method)",
            "0, without bit 7, is a locomotive decoder's: nothing it drives moves (wrong-locomotive)",
            "160 takes extended packets only: it waits for aspects, and no throw moves it (wrong-extended)",
        ]
    );
    let last: Vec<String> = found.steps[2].check.iter().map(ToString::to_string).collect();
    assert_eq!(
        last,
        [
            "read CV 29 back: it is 128 (read-back)",
            "throw 261 and 268 both ways: outputs 1 and 8 answer; throw 260 and 269: nothing of this decoder does \
             (throw-ends)",
        ]
    );
}

/// Counted linear, board 0 is 2045 to 2048; a block of eight goes on to board 1.
#[test]
fn board_0_and_the_other_reading_are_named() {
    let first = wrong(&sheet(&layout(1, "")).steps[0]);
    assert_eq!(
        first[0],
        "0, which is board 0, is one board off, and it answers 2045–2048 and 1–4: off by four (wrong-one-board)"
    );
    let between = sheet(&layout(7, BETWEEN_BOARDS));
    assert_eq!(
        wrong(&between.steps[0]),
        [
            "S-9.2.2 can be read in two ways that lie four apart: if it answers 3–10, write CV 1 = 11 and CV 9 = 0 (wrong-literal)"
        ]
    );
    // 7 as a board begins at 25.
    assert!(wrong(&between.steps[2])[0].contains("as board 7, and it answers 25–32"), "{between:?}");
    let high = sheet(&layout(255, BETWEEN_BOARDS));
    assert!(wrong(&high.steps[2])[0].contains("with 255 in CV 1 there is none"), "{high:?}");
}

/// A wrong value that meets another decoder of the plan says whose addresses they are.
#[test]
fn whom_a_wrong_value_would_answer_for_is_named() {
    let second = "[turnout.x]\npoints = \"b\"\nthrough = \"d\"\ndiverging = \"e\"\nhand = \"left\"\naddress = 9\n\
                  [end.d]\ntrack = \"d\"\n[end.e]\ntrack = \"e\"\n";
    let text = layout(1, second).replace("[end.b]\ntrack = \"b\"\n", "");
    let plan = plan_of(&text);
    assert_eq!(plan.decoders.len(), 2, "{:?}", plan.decoders);
    let found = sheets(&plan);
    // Board 3 written as 2 begins at 5, and one as new at 1.
    let told = wrong(&found[1].steps[0]);
    assert_eq!(
        told.last().unwrap(),
        "1 left over from before, and it answers 1–8, addresses of D1 (wrong-left)"
    );
}

/// The packets for the main, read back: each goes to the board that the decoder has at that step, and writes what the step says.
#[test]
fn the_packets_on_the_main_follow_the_address() {
    let found = sheet(&layout(261, ""));
    let read: Vec<(u16, u16)> = found
        .steps
        .iter()
        .map(|step| {
            let decoded = Decoded::new(step.on_main.unwrap(), Seen::Main);
            let Kind::AccessoryCv(access) = decoded.kind else { panic!("{decoded:?}") };
            assert_eq!(access.action, packet::CvAction::Write(step.value.value));
            (access.target.address().board(), access.cv.number())
        })
        .collect();
    // New it is board 1; CV 1 makes it board 2; CV 9 makes it board 66.
    assert_eq!(read, [(1, 1), (2, 9), (66, 29)]);
    // By hand: 10AAAAAA 1AAA0000 1110CCVV VVVVVVVV DDDDDDDD with board 1, CC = 11, CV 1 as 0: 81 F0 EC 00 02, and their sum.
    assert_eq!(found.steps[0].on_main, Bytes::received(&[0x81, 0xF0, 0xEC, 0x00, 0x02, 0x9F]));
}

#[test]
fn decoders_come_in_bench_order() {
    let mut text = "[layout]\nname = \"Tern Harbor\"\n[bench]\nruns = [\
        { from = \"bay 3\", to = \"bay 1\", length = \"9 m\" }, { from = \"bay 1\", to = \"bay 2\", length = \"9 m\" }]\n\
        [place.\"bay 1\"]\ndecoders = 1\n[place.\"bay 2\"]\ndecoders = 1\n[place.\"bay 3\"]\ndecoders = 1\n[end.t0]\ntrack = \"t0\"\n"
        .to_owned();
    for (index, bay) in [1, 2, 3].into_iter().enumerate() {
        let next = index + 1;
        text.push_str(&format!(
            "[turnout.{next}]\npoints = \"t{index}\"\nthrough = \"t{next}\"\ndiverging = \"s{next}\"\nhand = \"left\"\n\
             at = \"bay {bay}\"\naddress = {}\n[end.s{next}]\ntrack = \"s{next}\"\n",
            index * 20 + 1
        ));
    }
    text.push_str("[end.t3]\ntrack = \"t3\"\n");
    let plan = plan_of(&text);
    let at = |sheet: &Sheet| plan.decoders[sheet.decoder].at.as_ref().unwrap().value.clone();
    let order: Vec<String> = sheets(&plan).iter().map(at).collect();
    assert_eq!(order, ["bay 3", "bay 1", "bay 2"]);
}
