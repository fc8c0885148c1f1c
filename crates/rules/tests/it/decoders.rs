//! Decoders that have no room, machines without one, outputs that are too weak: worked out by hand.

use testkit::{check, check_kept};

/// A row of turnouts, each with further keys, all on one strip.
fn row(keys: &[&str], rest: &str) -> String {
    let mut text = String::from("[layout]\nname = \"Tern Harbor\"\n[panel.harbor]\nkind = \"strip\"\n");
    for (from, keys) in keys.iter().enumerate() {
        let to = from + 1;
        text += &format!(
            "[turnout.w{to}]{keys}\npoints = \"t{from}\"\nthrough = \"t{to}\"\ndiverging = \"s{to}\"\nhand = \"left\"\n\
             [end.s{to}]\ntrack = \"s{to}\"\n"
        );
    }
    text + &format!("[end.west]\ntrack = \"t0\"\n[end.east]\ntrack = \"t{}\"\n", keys.len()) + rest
}

/// Nine levers on pairs 1 to 9 take two blocks of eight: with room for one at each of two places both fit, with room for one in all
/// the rooms are not counted, and both stand at the place of the machines.
#[test]
fn room_is_counted_place_by_place() {
    let keys = ["\nat = \"bay 1\""; 9];
    let bench = "[bench]\ndrop = \"0.3 m\"\nruns = [{ from = \"bay 1\", to = \"bay 2\", length = \"2 m\" }]\n[place.\"bay 1\"]\n";
    check(&row(&keys, &format!("{bench}decoders = 1\n")));
    check(&row(
        &keys,
        &format!(
            "{bench}decoders = 1\n\
             #          ^ error[place-full]: 2 decoders are planned at `bay 1`, where 1 fits: D1, D2\n\
             # | make room and write decoders = 2, give another place more, or take decoders with more outputs\n\
             [place.\"bay 2\"]\ndecoders = 0\n"
        ),
    ));
}

/// What is built stays where it is, whatever room is said to be there afterwards.
#[test]
fn what_is_built_counts_too() {
    check_kept(
        &row(
            &["\nat = \"bay 1\""],
            "[place.\"bay 1\"]\ndecoders = 0\n\
             #          ^ error[place-full]: 1 decoder is planned at `bay 1`, where 0 fit: D4\n",
        ),
        "schema = 1\nlayout = \"Tern Harbor\"\n[decoders]\n\
         D4 = { part = \"eight output decoder\", at = \"bay 1\", first_address = 1, outputs = 8 }\n[end]\nwhole = true\n",
    );
}

/// Two servos are one mistake; the stall motor beside them is driven.
#[test]
fn a_drive_that_no_part_knows_is_said_once() {
    check(&row(
        &[
            "\n#        ^^ error[machine-no-decoder]: machine `w1` and 1 more like it is a `servo`, driven as `servo`, and no decoder drives that\nmotor = \"servo\"",
            "",
            "\nmotor = \"servo\"",
        ],
        "[part.\"eight output servo decoder\"]\ndrives = [\"coil\"]\n",
    ));
}

/// A motor that is no part of the library is one mistake, and not one of decoders.
#[test]
fn an_unknown_motor_is_no_second_mistake() {
    let text = row(&["\nmotor = \"windlass\""], "");
    let notes = testkit::planned(&text).diagnostics;
    assert!(!notes.is_empty());
    assert!(
        notes.iter().all(|note| note.code != notice::code::MACHINE_NO_DECODER),
        "{}",
        testkit::list(&text, &notes)
    );
}

/// A motor with its decoder inside needs none.
#[test]
fn a_decoder_inside_is_one() {
    check(&row(
        &["\nmotor = \"servo\""],
        "[part.\"eight output servo decoder\"]\ndrives = [\"coil\"]\n[part.servo]\ndecoder = \"inside\"\n",
    ));
}

/// Decoders of two outputs that start on boards of four answer 1, 2, 5, 6 and so on: 3 is out of reach, and 5 is not.
#[test]
fn an_address_that_no_block_reaches_is_named() {
    let text = |note: &str, address: u16| {
        row(
            &["\naddress = 5", &format!("{note}\naddress = {address}")],
            "[part.\"eight output decoder\"]\noutputs = 2\n[part.\"four output decoder\"]\ndrives = [\"coil\"]\n",
        )
        .replace("kind = \"strip\"\n", "kind = \"fascia\"\n")
    };
    check(&text("", 6));
    check(&text(
        "\n#        ^^ error[machine-no-decoder]: no output of a decoder that drives `stall` can answer address 3 for machine `w2`",
        3,
    ));
}

/// Both sides of the boundary: 18 mA are borne by 18 mA and not by 17 mA. Two machines on one lever get an output each where one
/// does not bear both, so they are no mistake.
#[test]
fn an_output_bears_what_it_gives() {
    let part = |amps: &str| format!("[part.\"eight output decoder\"]\ngives = \"{amps}\"\n");
    check(&row(&["", ""], &part("18 mA")));
    let both = format!("{}[lever.both]\nmoves = [\"w1\", \"w2\"]\n", part("20 mA"));
    let notes = testkit::planned(&row(&["", ""], &both)).diagnostics;
    assert!(notes.iter().all(|note| note.code != notice::code::OUTPUT_OVERLOADED));
    let note = "\n#        ^^ error[output-overloaded]: machine `w1`, a `stall motor`, takes 18 mA, and an output of \
                `eight output decoder` gives 17 mA (and 1 more alike)";
    check(&row(&[note, ""], &part("17 mA")));
}

/// What a decoder that is pinned cannot be: more levers than outputs, an address elsewhere, another decoder for the same lever, one inside.
#[test]
fn a_decoder_that_cannot_be_kept_is_said() {
    let four =
        "[part.\"eight output decoder\"]\noutputs = 4\n[part.\"four output decoder\"]\ndrives = [\"coil\"]\n";
    let fascia = |text: String| text.replace("kind = \"strip\"\n", "kind = \"fascia\"\n");
    let pin = "\ndecoder = \"D7\"";
    check(&fascia(row(&[pin; 4], four)));
    let fifth = "\ndecoder = \"D7\"\n\
        #         ^^^^ error[pin-differs]: `w5` is pinned to decoder D7, but its address 5 is not one of 1–4, which that has";
    check(&fascia(row(&[pin, pin, pin, pin, fifth], four)));
    let far = "\naddress = 30\ndecoder = \"D7\"\n\
        #         ^^^^ error[pin-differs]: `w2` is pinned to decoder D7, but its address 30 is not one of 1–8, which that has\n\
        # | give it a free address of 1–8, pin it to another decoder if none is left, or leave `decoder` out";
    check(&fascia(row(&["\naddress = 3\ndecoder = \"D7\"", far], "")));
    let inside = "\nmotor = \"servo\"\ndecoder = \"D7\"\n\
        #         ^^^^ error[pin-differs]: `w1` is pinned to decoder D7, but its motor has a decoder inside";
    check(&fascia(row(&[inside], "[part.servo]\ndecoder = \"inside\"\n")));
}

/// Levers on a strip have the addresses of their pairs, and a decoder that is pinned covers these.
#[test]
fn a_pinned_decoder_serves_a_strip() {
    check(&row(
        &["\ndecoder = \"D7\"", "", "\ndecoder = \"east end\""],
        "[part.\"eight output decoder\"]\noutputs = 2\naligned = 1\n",
    ));
}
