//! Bad input, case by case: each gets a clear diagnostic at its place, once, and never a panic.
//!
//! A case is a layout with the diagnostics drawn under the letters they are about; what is not drawn must not come, so
//! that what merely follows from a mistake is held back.

use description::{TEXT_MAX, decode};
use notice::{Severity, code};
use testkit::{check, list, planned};

const TERN_HARBOR: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

/// Puts `[layout]` above a fixture and checks it.
fn check_below_layout(rows: &str) {
    check(&format!("  [layout]\n  name = \"Tern Harbor Terminal\"\n{rows}"));
}

/// A turnout with its three ends and a strip, all sound: `keys` go to the turnout, `rows` below everything.
fn check_turnout(keys: &str, rows: &str) {
    let text = r#"
  [end.yard]
  track = "lead"
  [end.pier]
  track = "pier"
  [end.wharf]
  track = "wharf"
  [panel.harbor]
  kind = "strip"
  [turnout.1]
  points = "lead"
  through = "pier"
  diverging = "wharf"
  hand = "left"
"#;
    check_below_layout(&format!("{text}{keys}{rows}"));
}

#[test]
fn an_empty_file_is_called_empty() {
    for text in ["", "\n", "  \n\n"] {
        let notes = planned(text).diagnostics;
        let found: Vec<_> = notes.iter().map(|note| (note.code, note.message.as_str())).collect();
        assert_eq!(found, [(code::LAYOUT_MISSING, "the file is empty")], "{text:?}");
    }
}

#[test]
fn a_file_that_is_no_text_is_refused_at_its_first_bad_byte() {
    // The first bytes of a PNG picture, of a compressed file, of UTF-16, and a letter cut in half at the end.
    let files: [(&[u8], usize); 4] = [
        (b"\x89PNG\r\n\x1a\n", 1),
        (b"\x1f\x8b\x08\x00", 2),
        (b"\xff\xfe[\x00l\x00", 1),
        (b"name = \"Caf\xc3", 12),
    ];
    for (bytes, byte) in files {
        let note = decode(bytes).unwrap_err();
        assert_eq!((note.code, note.severity), (code::TEXT_NOT_UTF8, Severity::Error));
        assert!(note.message.starts_with(&format!("byte {byte} ")), "{}", note.message);
        assert_eq!(note.span.start, byte - 1);
    }
}

#[test]
fn a_text_of_unprintable_letters_is_refused_and_not_read() {
    let bytes: Vec<u8> = (0..2_000u16).map(|at| u8::try_from(at * 7 % 32).unwrap()).collect();
    assert!(planned(decode(&bytes).unwrap()).has_errors());
}

#[test]
fn a_hundred_megabytes_of_brackets_are_refused_by_their_length() {
    let note = decode(&vec![b'['; 100 << 20]).unwrap_err();
    assert_eq!(note.code, code::TEXT_TOO_LONG);
    assert!(decode(&vec![b'['; TEXT_MAX]).is_ok());
}

/// Each of these costs its length, or this test does not end in our time.
#[test]
fn a_long_text_of_brackets_is_read_in_a_moment() {
    let long = 200_000;
    let texts = [
        "[".repeat(long),
        "[\n".repeat(long / 2),
        "]".repeat(long),
        format!("a = {}", "[".repeat(long)),
        format!("a = {}", "{".repeat(long)),
        format!("a = [{}", ",".repeat(long)),
        "a={".repeat(long / 3),
        format!("[a]\n[b]\n[a]\n{}", "x = 1\n".repeat(long / 6)),
        "\"".repeat(long),
        "a.".repeat(long / 2),
    ];
    for text in texts {
        let outcome = planned(&text);
        assert!(outcome.has_errors());
        assert!(outcome.diagnostics.len() <= 110, "{} findings", outcome.diagnostics.len());
    }
}

/// Names that are looked for in vain: each look-up has to cost less than all names together.
#[test]
fn many_unknown_names_are_reported_in_a_moment() {
    let mut text = String::from("[layout]\nname = \"Tern Harbor Terminal\"\n");
    for pier in 0..3_000 {
        text += &format!("[end.\"pier {pier}\"]\ntrack = \"pier track {pier}\"\n[track.\"wharf {pier}\"]\n");
        text += &format!("[lever.l{pier}]\nmoves = [\"turnout {pier}\"]\n[place.\"bay {pier}\"]\n");
    }
    assert!(planned(&text).has_errors());
}

/// A line along another, over and over: the search is bounded as a whole.
#[test]
fn many_long_lines_are_followed_up_to_a_limit() {
    let mut text = String::from("[layout]\nname = \"Tern Harbor Terminal\"\n[end.a]\ntrack = \"t0\"\n");
    for at in 0..300 {
        let next = at + 1;
        text += &format!(
            "[turnout.n{at}]\npoints = \"t{at}\"\nthrough = \"t{next}\"\ndiverging = \"s{at}\"\nhand = \"left\"\n\
             [end.s{at}]\ntrack = \"s{at}\"\n"
        );
    }
    text += "[end.b]\ntrack = \"t300\"\n";
    for line in 0..1_500 {
        text += &format!("[line.l{line}]\nfrom = \"a\"\nto = \"b\"\n");
    }
    let notes = description::read(&text).then(network::resolve).diagnostics;
    let lines: Vec<_> = notes.iter().filter(|note| note.code == code::LINE_NO_PATH).collect();
    let [note] = lines.as_slice() else { panic!("{}", list(&text, &notes)) };
    assert!(note.message.contains("and those after it are not followed"), "{}", note.message);
}

#[test]
fn a_file_cut_short_anywhere_is_read_or_says_what_is_wrong() {
    let whole = planned(TERN_HARBOR).value;
    for at in (0..TERN_HARBOR.len()).step_by(37) {
        let Some(text) = TERN_HARBOR.get(..at) else {
            assert_eq!(decode(&TERN_HARBOR.as_bytes()[..at]).unwrap_err().code, code::TEXT_NOT_UTF8);
            continue;
        };
        let outcome = planned(text);
        if !outcome.has_errors() {
            // A layout is sound before its first track and after its last one, not in between.
            let cut = outcome.value.network;
            let names = |network: &network::Network| -> Vec<String> {
                network.tracks.iter().map(|track| track.name.clone()).collect()
            };
            let sound = cut.tracks.is_empty() || names(&cut) == names(&whole.network);
            assert!(sound, "cut at byte {at}: {:?}", names(&cut));
            assert!(toml_ends_well(text), "cut at byte {at}:\n{}", &text[text.len().saturating_sub(80)..]);
        }
    }
}

/// Whether a text ends at the end of a row, or in a row that could stand as it is.
fn toml_ends_well(text: &str) -> bool {
    let last = text.lines().next_back().unwrap_or_default().trim();
    let even =
        last.matches('"').count().is_multiple_of(2) && last.matches('[').count() == last.matches(']').count();
    last.is_empty() || last.starts_with('#') || (even && !last.ends_with('='))
}

#[test]
fn a_key_given_twice_is_shown_once() {
    check_below_layout(
        r#"
  [end.gate]
  track = "wharf"
  track = "pier"
# ^^^^^ error[key-twice]: `track` is given twice
# | keep one of the two
  [end.pier]
  track = "wharf"
"#,
    );
}

#[test]
fn a_heading_that_stands_twice_is_one_mistake() {
    check_below_layout(
        r#"
  [end."pier 1"]
  track = "wharf"
  [end.gate]
  track = "wharf"
  [ end . "pier 1" ] # again
#         ^^^^^^^^ error[key-twice]: the heading `[ end . "pier 1" ]` stands twice
# | put all keys of it under one heading, or give one of the two another id
  track = "wharf"
  is = "bumper"
"#,
    );
}

#[test]
fn a_track_named_once_or_three_times_is_named_with_its_places() {
    check_below_layout(
        r#"
  [end.gate]
  track = "shore"
#         ^^^^^^^ error[track-one-end]: `shore` has one end named, by the end `gate`; a track has two
# | name what is at its other end, such as
# | [end."shore"]
# | track = "shore"
  [end.a]
  track = "wharf"
  [end.b]
  track = "wharf"
  [end.c]
  track = "wharf"
#         ^^^^^^^ error[track-many-ends]: `wharf` is named at 3 ends, a track has two
# | give the tracks on the two sides of a joint different names, such as `main 1` and `main 2`
"#,
    );
}

#[test]
fn one_slip_in_a_track_name_is_one_mistake() {
    check_below_layout(
        r#"
  [end.gate]
  track = "cannery spur"
  [end.cannery]
  track = "canery spur"
#         ^^^^^^^^^^^^^ error[track-one-end]: `canery spur` has one end named, by the end `cannery`; a track has two
# | did you mean `cannery spur`, which also has one end?
"#,
    );
}

#[test]
fn tracks_that_differ_by_their_number_are_two_tracks() {
    check_below_layout(
        r#"
  [end.a]
  track = "yard 1"
#         ^^^^^^^^ error[track-one-end]: `yard 1` has one end named, by the end `a`; a track has two
# | name what is at its other end, such as
# | [end."yard 1"]
# | track = "yard 1"
  [end.b]
  track = "yard 2"
#         ^^^^^^^^ error[track-one-end]: `yard 2` has one end named, by the end `b`; a track has two
"#,
    );
}

#[test]
fn a_turnout_whose_legs_are_one_track_is_one_mistake() {
    check_below_layout(
        r#"
  [turnout.1]
  points = "wharf"
#          ^^^^^^^ error[legs-same-track]: all legs of `1` are the same track `wharf`
# | name for each leg the track that it leads to
  through = "wharf"
  diverging = "wharf"
  hand = "left"
  [panel.harbor]
  kind = "strip"
"#,
    );
}

#[test]
fn quantities_below_zero_without_unit_or_with_a_strange_one_are_refused() {
    check_turnout(
        "",
        r#"
  [track.pier]
  length = "-4 ft"
#          ^^^^^^^ error[quantity-negative]: `length`: a length is not below zero
  feeders = 3
#           ^ error[unit-missing]: `feeders` is a bare number, so its unit is not known
# | write it with its unit and in quotation marks, such as "3 ft"
  [track.wharf]
  length = "4"
#          ^^^ error[unit-missing]: `length`: `4` has no unit, so the length is not known
# | write it such as "7 ft"; the units are mm, cm, m, in, ft, yd
  feeders = "1 furlong"
#           ^^^^^^^^^^^ error[unit-unknown]: `feeders`: `furlong` is not a unit of length
  [bench]
  runs = []
  slack = ""
#         ^^ error[quantity-unreadable]: `slack`: the text is empty where a share belongs
"#,
    );
}

#[test]
fn an_unknown_key_names_the_nearest_and_nothing_follows_from_it() {
    check_below_layout(
        r#"
  [end.gate]
  trak = "wharf"
# ^^^^ error[key-unknown]: [end.gate] has no key `trak`
# | did you mean `track`?
  [end.pier]
  track = "wharf"
  [ende.pier]
#  ^^^^ error[key-unknown]: there is no table called `ende`
# | did you mean `end`?
  track = "wharf"
"#,
    );
}

#[test]
fn an_id_with_a_dot_is_one_mistake() {
    check_below_layout(
        r#"
  [end.gate]
  track = "wharf"
  [end.pier.2]
#           ^ error[key-unknown]: [end.pier] has no key `2`
# | an id that holds a dot has to stand in quotation marks: [end."a.b"]
  track = "wharf"
"#,
    );
}

#[test]
fn addresses_that_do_not_exist_are_refused() {
    check_turnout(
        r"
  address = 0
#           ^ error[address-out-of-range]: `address` is 0, which is not from 1 to 2048
# | write a whole number from 1 to 2048
",
        r#"
  [system]
  last_address = 99999
#                ^^^^^ error[address-out-of-range]: `last_address` is 99999, which is not from 1 to 2048
  taken = ["0-3", "2049", "7"]
#          ^^^^^ error[range-unreadable]: `0-3` is not a range of addresses
#                 ^^^^^^ error[range-unreadable]: `2049` is not a range of addresses
"#,
    );
}

/// # Source
/// NMRA S-9.2.1 (July 2012), section D: 2041 is the first address of the broadcast board; that 2040 is the usual last
/// address: common practice, no source.
#[test]
fn an_address_past_the_last_one_is_refused_at_its_pin() {
    check_below_layout(
        r#"
  [turnout.1]
#          ^ warning[lever-no-control]: no panel has a control for any lever
  points = "lead"
  through = "pier"
  diverging = "wharf"
  hand = "left"
  address = 2041
#           ^^^^ error[address-out-of-range]: `1` is at address 2041, past the last address 2040
  [end.yard]
  track = "lead"
  [end.pier]
  track = "pier"
  [end.wharf]
  track = "wharf"
"#,
    );
}

#[test]
fn a_number_pinned_twice_is_shown_at_the_second_pin() {
    check_turnout(
        "  number = 7\n",
        r#"
  [crossover.2]
  one = ["a", "b"]
  other = ["c", "d"]
  number = 7
#          ^ error[number-used-twice]: `1` and `2` both have number 7
# | pin another number for one of them, or leave one pin out
  [end.a]
  track = "a"
  [end.b]
  track = "b"
  [end.c]
  track = "c"
  [end.d]
  track = "d"
"#,
    );
}

#[test]
fn two_pins_on_one_lever_that_differ_are_refused() {
    check_turnout(
        "  number = 7\n",
        r#"
  [lever.gate]
  moves = ["1"]
  number = 8
  [turnout.9]
  points = "a"
  through = "b"
  diverging = "c"
  hand = "left"
  [end.a]
  track = "a"
  [end.b]
  track = "b"
  [end.c]
  track = "c"
  # @ error[pin-differs]: `gate` is pinned to number 8 and to 7
  # | machines that move together share one number: leave one of the two pins out
"#,
    );
}

#[test]
fn a_machine_named_twice_by_one_lever_or_by_two_is_refused() {
    check_turnout(
        "",
        r#"
  [lever.gate]
  moves = ["1", "1"]
#               ^^^ error[machine-two-levers]: `1` stands twice in `moves`
# | delete one of the two
  [lever.pier]
  moves = ["1"]
#          ^^^ error[machine-two-levers]: `1` is moved by two levers
# | let one lever move it, and take it from the other
"#,
    );
}

#[test]
fn two_things_with_one_id_are_refused_and_nothing_follows() {
    check_turnout(
        "",
        r#"
  [wye.1]
#      ^ error[id-used-twice]: `1` is the id of two things
# | give one of them another id, and name it so wherever it is meant
  points = "shore"
  left = "cannery"
  right = "ice"
  [end.ice]
  track = "ice"
"#,
    );
}

#[test]
fn values_of_the_wrong_kind_say_what_belongs_there() {
    check_below_layout(
        r#"
  units = "feet"
#         ^^^^^^ error[choice-unknown]: `units` cannot be `feet`
# | write "metric" or "imperial"
  [[end.gate]]
# ^^^^^^^^^^^^ error[value-wrong-kind]: [end.gate] is a list, not a table
# | write [end.gate] on a row of its own, and its keys below
  track = "wharf"
  [system]
  taken = [3]
#          ^ error[value-wrong-kind]: `taken` is a whole number, where a name in quotation marks belongs
# | write "3"
  cabs_in_use = 2
#               ^ error[value-wrong-kind]: `cabs_in_use` is a whole number, where a list of numbers belongs
# | write cabs_in_use = [2, 3]
  normal_is = 2
#             ^ error[number-out-of-range]: `normal_is` is 2, which is not from 0 to 1
  [line]
  wharf = 3
#         ^ error[value-wrong-kind]: [line.wharf] is a whole number, not a table
"#,
    );
}
