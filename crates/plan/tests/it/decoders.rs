//! Which decoders a layout gets, where they go and what they drive: small layouts worked out by hand.

use crate::plan_of;
use plan::model::Plan;
use std::fmt::Write as _;

/// Turnouts in a row, each at its place, and whatever else the description says.
fn layout(places: &[&str], rest: &str) -> String {
    let mut text = String::from("[layout]\nname = \"Tern Harbor\"\n");
    for (index, at) in places.iter().enumerate() {
        let (from, to) = (index, index + 1);
        write!(
            text,
            "[turnout.{to}]\npoints = \"t{from}\"\nthrough = \"t{to}\"\ndiverging = \"s{to}\"\nhand = \"left\"\nat = \"{at}\"\n\
             [end.s{to}]\ntrack = \"s{to}\"\n"
        )
        .unwrap();
    }
    write!(text, "[end.west]\ntrack = \"t0\"\n[end.east]\ntrack = \"t{}\"\n", places.len()).unwrap();
    text + rest
}

/// Three bays in a row, two metres apart, without slack.
const BENCH: &str = "[bench]\nruns = [\n{ from = \"bay 1\", to = \"bay 2\", length = \"2 m\" },\n\
    { from = \"bay 2\", to = \"bay 3\", length = \"2 m\" },\n]\n";

/// Each decoder: id, part, place, first address, and the machines it drives.
fn decoders(plan: &Plan) -> Vec<String> {
    let row = |(index, decoder): (usize, &plan::model::Decoder)| {
        let driven = plan.addresses.iter().filter(|row| row.decoder == Some(index));
        let machines = driven.flat_map(|row| &row.machines);
        let names: Vec<&str> = machines.map(|machine| plan.network.machine(*machine).name.as_str()).collect();
        let at = decoder.at.as_ref().map_or("nowhere", |at| at.value.as_str());
        let (id, part, first) = (&decoder.id, &decoder.part, decoder.first.value.number());
        format!("{id} {part} at {at} from {first}: {}", names.join(" "))
    };
    plan.decoders.iter().enumerate().map(row).collect()
}

fn metres(plan: &Plan) -> Option<f64> {
    plan.cable.metres.map(measure::Length::value)
}

/// Five machines in bay 1 and three in bay 3: one decoder in bay 1 takes 3 × 4 m, in bay 3 it would take 5 × 4 m.
#[test]
fn a_decoder_goes_where_the_cables_are_shortest() {
    let places = ["bay 1", "bay 1", "bay 1", "bay 1", "bay 1", "bay 3", "bay 3", "bay 3"];
    let plan = plan_of(&layout(&places, BENCH));
    assert_eq!(decoders(&plan), ["D1 eight output decoder at bay 1 from 1: 1 2 3 4 5 6 7 8"]);
    assert_eq!((metres(&plan), plan.cable.bought, plan.cable.proven), (Some(12.0), 1, true));
}

/// With another decoder owned, each bay has its own, nothing is bought, and no cable leaves a bay.
#[test]
fn what_is_on_the_shelf_is_used_to_save_cable() {
    let places = ["bay 1", "bay 3", "bay 1", "bay 3", "bay 1"];
    let shelf = "[part.\"my decoder\"]\nrole = \"decoder\"\noutputs = 4\naligned = 4\ndrives = [\"stall\"]\ncount = 2\n";
    let plan = plan_of(&layout(&places, &format!("{BENCH}{shelf}")));
    assert_eq!(
        decoders(&plan),
        ["D1 my decoder at bay 1 from 1: 1 3 5", "D2 my decoder at bay 3 from 5: 2 4"]
    );
    assert_eq!((metres(&plan), plan.cable.bought, plan.cable.proven), (Some(0.0), 0, true));
}

/// No decoder fits in bay 1, so it goes next door: five cables of 2 m.
#[test]
fn a_place_without_room_is_passed_over() {
    let places = ["bay 1"; 5];
    let plan = plan_of(&layout(&places, &format!("{BENCH}[place.\"bay 1\"]\ndecoders = 0\n")));
    assert_eq!(decoders(&plan), ["D1 eight output decoder at bay 2 from 1: 1 2 3 4 5"]);
    assert_eq!((metres(&plan), plan.cable.proven), (Some(10.0), true));
}

/// A strip's addresses are as they are: twelve pairs from 1 take two blocks of eight, and the four spare outputs of the second serve the
/// levers of no panel.
#[test]
fn strips_keep_their_addresses_and_their_blocks_serve_the_rest() {
    let places = ["bay 1"; 14];
    let controls: Vec<String> = (1..=12).map(|number| format!("\"{number}\"")).collect();
    let strip =
        format!("[panel.west]\nkind = \"strip\"\nat = \"bay 1\"\ncontrols = [{}]\n", controls.join(", "));
    let plan = plan_of(&layout(&places, &format!("{BENCH}{strip}")));
    let addresses: Vec<u16> = plan.levers.iter().map(|lever| lever.address.value.number()).collect();
    assert_eq!(addresses, (1..=14).collect::<Vec<u16>>());
    assert_eq!((plan.decoders.len(), plan.cable.bought_least), (2, 2));
}

/// What is driven otherwise has decoders of its own, and a motor with a decoder inside needs none; both ends of a crossover answer one
/// address even so.
#[test]
fn each_way_of_driving_has_decoders_of_its_own() {
    let text = "[layout]\nname = \"Tern Harbor\"\n\
        [part.\"clever motor\"]\nrole = \"motor\"\ndrive = \"servo\"\ndecoder = \"inside\"\n\
        [crossover.1]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\nmotor = \"clever motor\"\n\
        [turnout.2]\npoints = \"b\"\nthrough = \"e\"\ndiverging = \"f\"\nhand = \"left\"\nmotor = \"coil machine\"\n\
        [turnout.3]\npoints = \"d\"\nthrough = \"g\"\ndiverging = \"h\"\nhand = \"left\"\n\
        [end.a]\ntrack = \"a\"\n[end.c]\ntrack = \"c\"\n[end.e]\ntrack = \"e\"\n[end.f]\ntrack = \"f\"\n\
        [end.g]\ntrack = \"g\"\n[end.h]\ntrack = \"h\"\n";
    let plan = plan_of(text);
    let parts: Vec<&str> = plan.decoders.iter().map(|decoder| decoder.part.as_str()).collect();
    assert_eq!(parts, ["four output decoder", "eight output decoder"]);
    let inside: Vec<_> = plan.addresses.iter().filter(|row| row.inside).collect();
    assert_eq!((inside.len(), inside[0].machines.len(), inside[0].decoder), (1, 2, None));
}

/// An output that bears one machine drives one: the other end of the crossover hangs on a second decoder at the same address.
#[test]
fn an_output_too_weak_for_both_ends_is_doubled() {
    let text = "[layout]\nname = \"Tern Harbor\"\n[defaults]\ndecoder = \"weak decoder\"\n\
        [part.\"weak decoder\"]\nrole = \"decoder\"\noutputs = 4\naligned = 4\ndrives = [\"stall\"]\ngives = \"20 mA\"\n\
        [crossover.1]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\n\
        [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n[end.d]\ntrack = \"d\"\n";
    let plan = plan_of(text);
    assert_eq!(
        decoders(&plan),
        ["D1 weak decoder at nowhere from 1: 1A", "D2 weak decoder at nowhere from 1: 1B"]
    );
    let plan = plan_of(&text.replace("20 mA", "40 mA"));
    assert_eq!(decoders(&plan), ["D1 weak decoder at nowhere from 1: 1A 1B"]);
}

/// A layout of turnouts in places, each with further keys.
fn pinned(rows: &[(&str, &str)], rest: &str) -> String {
    let places: Vec<&str> = rows.iter().map(|(at, _)| *at).collect();
    let mut text = layout(&places, rest);
    for (index, (_, keys)) in rows.iter().enumerate() {
        let heading = format!("[turnout.{}]\n", index + 1);
        text = text.replace(&heading, &format!("{heading}{keys}"));
    }
    text
}

const D7: &str = "decoder = \"D7\"\n";

/// Two of four are pinned to a decoder of their own, which takes the first block; it stands at bay 2, 2 m from each of its two. The others
/// get a decoder of their own only where its spare outputs would not do: they do, from bay 1 and bay 3 with 2 m each.
#[test]
fn levers_pinned_to_one_id_share_a_new_decoder() {
    let plan = plan_of(&pinned(&[("bay 1", D7), ("bay 2", ""), ("bay 3", D7), ("bay 2", D7)], BENCH));
    assert_eq!(decoders(&plan), ["D7 eight output decoder at bay 2 from 1: 1 3 4 2"]);
    assert_eq!((metres(&plan), plan.cable.bought, plan.cable.proven), (Some(4.0), 1, false));
    let names: Vec<&str> = plan.levers[0].address.because().map(|because| because.rule.name).collect();
    assert_eq!(names, ["pinned", "output-of-pinned"]);
    let names: Vec<&str> = plan.decoders[0].first.because().map(|because| because.rule.name).collect();
    assert_eq!(names, ["pinned", "fresh-block"]);
}

/// Pinned addresses decide the block: 13 lies in that of 9–16 or of 13–20; with 10 pinned too only the first covers both.
#[test]
fn a_pinned_decoder_covers_the_pinned_addresses() {
    let with = |address: u16| format!("{D7}address = {address}\n");
    let (a, b) = (with(13), with(10));
    let plan = plan_of(&pinned(&[("bay 1", &a), ("bay 1", &b), ("bay 1", D7)], ""));
    assert_eq!(decoders(&plan), ["D7 eight output decoder at bay 1 from 9: 3 2 1"]);
}

/// A decoder of the record stays what it is, and drives what is pinned to it beside what it drove; one that nobody has gets another name.
#[test]
fn a_pin_to_a_built_decoder_uses_its_outputs() {
    let record = "schema = 1\nlayout = \"Tern Harbor\"\n[decoders]\n\
        D1 = { part = \"eight output decoder\", at = \"bay 1\", first_address = 1, outputs = 8 }\n\
        D2 = { part = \"four output decoder\", at = \"bay 3\", first_address = 9, outputs = 4 }\n[end]\nwhole = true\n";
    let record = description::record::read(record).value;
    let d2 = "decoder = \"D2\"\n";
    let text = pinned(&[("bay 1", d2), ("bay 1", "")], BENCH);
    let network = description::read(&text).then(network::resolve);
    let plan = network.then(|network| plan::make_kept(network, &record)).value;
    assert_eq!(
        decoders(&plan),
        ["D1 eight output decoder at bay 1 from 1: 2", "D2 four output decoder at bay 3 from 9: 1"]
    );
    assert_eq!(plan.cable.bought, 0);
}

/// Of two on the shelf one is the pinned decoder, so a third has to be bought where four outputs each are needed for nine levers.
#[test]
fn a_pinned_decoder_comes_from_the_shelf_too() {
    let part = "[part.\"eight output decoder\"]\noutputs = 4\ncount = 2\n[part.\"four output decoder\"]\ndrives = [\"coil\"]\n";
    let mut rows = vec![("bay 1", ""); 9];
    rows[8].1 = D7;
    let plan = plan_of(&pinned(&rows, &format!("{BENCH}{part}")));
    assert_eq!((plan.decoders.len(), plan.cable.bought), (3, 1));
    assert!(decoders(&plan).iter().any(|row| row.starts_with("D7 ") && row.contains('9')));
}

/// What was pinned and kept stays when the pin is taken away, whatever its id holds.
#[test]
fn a_pinned_decoder_is_kept() {
    let pin = "decoder = \"east \\\"end\\\" 3\"\n";
    let rows = [("bay 1", ""), ("bay 3", pin), ("bay 3", "")];
    let plan = plan_of(&pinned(&rows, BENCH));
    let written =
        description::record::write(&plan::record_of(&plan, &description::record::Record::default()));
    let record = description::record::read(&written);
    assert!(record.diagnostics.is_empty(), "{:?}\n{written}", record.diagnostics);
    let again = description::read(&pinned(&rows.map(|(at, _)| (at, "")), BENCH)).then(network::resolve);
    let again = again.then(|network| plan::make_kept(network, &record.value)).value;
    assert_eq!(decoders(&again), decoders(&plan));
    assert_eq!(again.decoders[0].id, "east \"end\" 3");
}

/// A coil machine and a stall motor that share a pin: the default decoder drives one of them, the one of four outputs both. Five
/// stall motors want more outputs than that has.
#[test]
fn a_new_decoder_that_is_pinned_is_of_a_part_that_drives_all() {
    let pinned = |count: usize, rest: &str| {
        let text = layout(&["bay 1"].repeat(count), rest);
        text.replace("hand = \"left\"\n", "hand = \"left\"\ndecoder = \"D7\"\n")
    };
    let mixed = pinned(2, BENCH).replace("[turnout.1]", "[turnout.1]\nmotor = \"coil machine\"");
    assert_eq!(decoders(&plan_of(&mixed)), ["D7 four output decoder at bay 1 from 1: 1 2"]);
    assert_eq!(decoders(&plan_of(&pinned(2, BENCH))), ["D7 eight output decoder at bay 1 from 1: 1 2"]);
    let four = format!("{BENCH}[defaults]\ndecoder = \"four output decoder\"\n");
    assert_eq!(decoders(&plan_of(&pinned(4, &four))), ["D7 four output decoder at bay 1 from 1: 1 2 3 4"]);
    assert_eq!(decoders(&plan_of(&pinned(5, &four))), ["D7 eight output decoder at bay 1 from 1: 1 2 3 4 5"]);
    // An output of the default decoder that does not bear the motor.
    let weak = format!("{BENCH}[part.\"eight output decoder\"]\ngives = \"10 mA\"\n");
    assert_eq!(decoders(&plan_of(&pinned(1, &weak))), ["D7 four output decoder at bay 1 from 1: 1"]);
}
