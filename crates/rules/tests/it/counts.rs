//! Parts that count addresses otherwise than the system.
//!
//! # Source
//! `reference/dcc/packets.json`: user addresses and the eleven bits they stand for in three ways of counting, from published standards.

use notice::code;
use std::collections::BTreeMap;
use testkit::{check, list, planned};

/// One turnout at an address, and a decoder with a single output for it.
fn layout(system: &str, part: &str, address: u16) -> String {
    format!(
        "[layout]\nname = \"Tern Harbor\"\n[turnout.w]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
         address = {address}\n[end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n\
         [system]\nlast_address = 2048\naddress_scheme = \"{system}\"\n\
         [part.\"eight output decoder\"]\noutputs = 1\naligned = 1\ncounts = \"{part}\"\n"
    )
}

/// The user addresses of each eleven bits, by the way of counting.
fn published() -> BTreeMap<u16, BTreeMap<&'static str, u16>> {
    let field = |row: &str, name: &str| -> Option<String> {
        let (_, behind) = row.split_once(&format!("\"{name}\": "))?;
        Some(behind.split(',').next()?.trim_matches('"').to_owned())
    };
    let mut bits: BTreeMap<u16, BTreeMap<&str, u16>> = BTreeMap::new();
    for row in include_str!("../../../../reference/dcc/packets.json").lines() {
        if field(row, "kind").as_deref() != Some("basic") {
            continue;
        }
        let words = match field(row, "numbering").as_deref() {
            Some("first_board_1") => "linear",
            Some("first_board_0") => "zero-based",
            Some("blockwise_256") => "blocks-of-256",
            _ => continue,
        };
        let number = |name| field(row, name).and_then(|text| text.parse::<u16>().ok());
        if let (Some(address), Some(b)) = (number("user_address"), number("B")) {
            bits.entry(b).or_default().insert(words, address);
        }
    }
    bits
}

/// Every two published readings of the same bits: the finding has both where they differ, and there is none where they are alike.
#[test]
fn both_readings_are_the_published_ones() {
    let (mut differing, mut alike) = (0, 0);
    for readings in published().values() {
        for (system, address) in readings {
            for (part, read) in readings.iter().filter(|(part, _)| *part != system) {
                let text = layout(system, part, *address);
                let notes = planned(&text).diagnostics;
                let found: Vec<&str> = notes
                    .iter()
                    .filter(|note| note.code == code::ADDRESS_COUNTS_DIFFER)
                    .map(|note| note.message.split(" to ").next().unwrap())
                    .collect();
                if address == read {
                    assert!(found.is_empty(), "{}", list(&text, &notes));
                    alike += 1;
                } else {
                    assert_eq!(found, [format!("address {address} of the system is {read}")], "{text}");
                    differing += 1;
                }
            }
        }
    }
    // Counted in the file: of 17 bit patterns with several readings, three have three that all differ (6 pairs each) and three have three of
    // which two are alike (4 and 2); eight have two that differ, and three two that are alike (2 each).
    assert_eq!((differing, alike), (3 * 6 + 3 * 4 + 8 * 2, 3 * 2 + 3 * 2));
}

/// A strip of twelve at 249 to 260 counts as the system does up to 252, and from 257 on again.
#[test]
fn the_last_four_of_a_block_are_named() {
    let text = |start: u16, note: &str| {
        format!(
            "[layout]\nname = \"Tern Harbor\"\n[turnout.w]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
             [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n[panel.harbor]\nkind = \"strip\"\nstart = {start}\n\
             [part.\"twelve pair strip\"]\ncounts = \"blocks-of-256\"\n{note}"
        )
    };
    check(&text(241, ""));
    check(&text(257, ""));
    check(&text(
        249,
        "#        ^^^^^^^^^^^^^^^ warning[address-counts-differ]: address 253 of the system is 509 to `twelve pair strip`, which counts blocks-of-256, not linear: strip `harbor`\n\
         # | its addresses below 253 are the same and the rest is not: `start` or `address` keeps it clear of 253–256, or take a part that counts linear\n",
    ));
}

/// A motor with its decoder inside is set to an address as well; a part that is not in the plan is no matter.
#[test]
fn only_what_is_planned_is_read() {
    let inside = "[part.\"stall motor\"]\ndecoder = \"inside\"\ncounts = \"zero-based\"\n";
    check(&format!(
        "{}{inside}#        ^^^^^^^^^^^^ warning[address-counts-differ]: address 7 of the system is 11 to `stall motor`, which counts zero-based, not linear: machine `w`\n",
        layout("linear", "blocks-of-256", 7)
            .replace("[turnout.w]", "[panel.p]\nkind = \"fascia\"\n[turnout.w]")
    ));
}
