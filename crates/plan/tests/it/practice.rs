//! Strips, chains, cab-bus addresses, supplies and numbers as builders do them by hand.
//!
//! # Source
//! Common practice, no source, unless a test says otherwise. The expected figures are written down here as a builder
//! would count them; none is copied from what the plan gave.

use notice::{Severity, code};
use plan::model::{Plan, StripFeed};
use std::fmt::Write as _;
use testkit::{list, plan_of, planned};

const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");

/// A ladder of this many turnouts, `t1` on, all on the line `ladder`, with no panel.
fn ladder(turnout_count: usize) -> String {
    let mut text =
        String::from("[layout]\nname = \"Tern Harbor Terminal\"\n[end.west]\ntrack = \"lead 0\"\n");
    for turnout in 1..=turnout_count {
        let before = turnout - 1;
        write!(
            text,
            "[turnout.t{turnout}]\npoints = \"lead {before}\"\nthrough = \"lead {turnout}\"\n\
             diverging = \"yard {turnout}\"\nhand = \"left\"\n[end.\"yard {turnout}\"]\ntrack = \"yard {turnout}\"\n"
        )
        .unwrap();
    }
    write!(
        text,
        "[end.east]\ntrack = \"lead {turnout_count}\"\n[line.ladder]\nfrom = \"west\"\nto = \"east\"\n"
    )
    .unwrap();
    text
}

/// A strip panel; its levers are whatever the strips before it have no room for.
fn strip(name: &str, keys: &str) -> String {
    format!("[panel.{name}]\nkind = \"strip\"\n{keys}\n")
}

/// First and last address of each strip.
fn ranges(plan: &Plan) -> Vec<(u16, u32)> {
    plan.strips.iter().map(|strip| (strip.first.value.number(), strip.last())).collect()
}

fn addresses(plan: &Plan) -> Vec<u16> {
    plan.levers.iter().map(|lever| lever.address.value.number()).collect()
}

/// # Source
/// Common practice, no source: a strip of twelve pairs commands twelve consecutive addresses from its start address.
#[test]
fn a_strip_of_twelve_pairs_commands_twelve_addresses_from_its_start() {
    for (start, last) in [(1, 12), (5, 16), (1001, 1012)] {
        let plan = plan_of(&(ladder(12) + &strip("west", &format!("start = {start}"))));
        assert_eq!(ranges(&plan), [(start, u32::from(last))]);
        assert_eq!(addresses(&plan), (start..=last).collect::<Vec<u16>>());
    }
}

/// # Source
/// Common practice, no source: strips on one chain continue the sequence.
#[test]
fn three_chained_strips_from_one_command_one_to_thirty_six() {
    let strips =
        strip("west", "chain = 1\nstart = 1") + &strip("middle", "chain = 1") + &strip("east", "chain = 1");
    let plan = plan_of(&(ladder(36) + &strips));
    assert_eq!(ranges(&plan), [(1, 12), (13, 24), (25, 36)]);
    assert_eq!(addresses(&plan), (1..=36).collect::<Vec<u16>>());
    assert_eq!(plan.chains.len(), 1, "one chain has one cab-bus address");
}

/// # Source
/// Common practice, no source: over 2,000 accessory addresses can be reached, 2040 of them safely.
#[test]
fn over_two_thousand_addresses_can_be_reached() {
    let plan = plan_of(&(ladder(12) + &strip("west", "start = 2029")));
    assert_eq!(ranges(&plan), [(2029, 2040)]);
    let text = ladder(12) + &strip("west", "start = 2030");
    let outcome = planned(&text);
    let note = outcome.diagnostics.iter().find(|note| note.code == code::STRIP_START_MISFIT);
    assert!(
        note.is_some_and(|note| note.message.contains("2030–2041")),
        "{}",
        list(&text, &outcome.diagnostics)
    );
}

#[test]
fn two_thousand_and_forty_levers_have_an_address_each() {
    let outcome = planned(&ladder(2040));
    let plan = &outcome.value;
    assert!(!outcome.has_errors() && plan.unplaced.is_empty());
    assert_eq!(addresses(plan), (1..=2040).collect::<Vec<u16>>());
}

/// # Source
/// Common practice, no source: a chain takes the cab-bus address one higher than the highest in use.
#[test]
fn a_chain_takes_the_cab_address_after_the_highest_in_use() {
    let cab = |in_use: &str| {
        let system = format!("[system]\ncabs_in_use = {in_use}\n");
        let plan = plan_of(&(ladder(1) + &strip("west", "") + &system));
        plan.chains.iter().map(|chain| chain.cab.value).collect::<Vec<u16>>()
    };
    assert_eq!(cab("[2, 3, 4]"), [5]);
    assert_eq!(cab("[4, 2, 3]"), [5], "the order they are listed in does not matter");
    assert_eq!(cab("[7]"), [8]);
}

#[test]
fn two_chains_take_two_cab_addresses() {
    let strips = strip("west", "chain = 1") + &strip("east", "chain = 2");
    let plan = plan_of(&(ladder(24) + &strips + "[system]\ncabs_in_use = [2, 3, 4]\n"));
    let cabs: Vec<u16> = plan.chains.iter().map(|chain| chain.cab.value).collect();
    assert_eq!(cabs, [5, 6]);
}

/// # Source
/// Common practice, no source: up to four strips run from the cab bus; a fifth needs a separate regulated supply of
/// 12–18 V DC, centre positive.
#[test]
fn the_fifth_strip_needs_a_supply_of_its_own() {
    let strips =
        |count: usize| (1..=count).map(|at| strip(&format!("p{at}"), "chain = 1")).collect::<String>();
    let supply = |what: &str| {
        what.contains("regulated") && what.contains("12–18 V DC") && what.contains("centre positive")
    };

    let four = planned(&(ladder(48) + &strips(4)));
    assert!(four.diagnostics.is_empty());
    assert!(four.value.strips.iter().all(|strip| strip.feed.value == StripFeed::CabBus));
    assert!(!four.value.parts.iter().any(|part| supply(&part.what)));

    let text = ladder(60) + &strips(5);
    let five = planned(&text);
    let notes: Vec<_> =
        five.diagnostics.iter().map(|note| (note.code, note.severity, note.message.as_str())).collect();
    let expected = (code::STRIPS_NEED_SUPPLY, Severity::Warning, "the cab bus does not feed strip `p5`");
    assert_eq!(notes, [expected]);
    assert!(five.diagnostics[0].help.as_deref().is_some_and(supply));
    let feeds: Vec<StripFeed> = five.value.strips.iter().map(|strip| strip.feed.value).collect();
    assert_eq!(feeds[..4], [StripFeed::CabBus; 4]);
    assert_eq!(feeds[4], StripFeed::OwnSupply);
    let counts: Vec<u32> =
        five.value.parts.iter().filter(|part| supply(&part.what)).map(|part| part.count.value).collect();
    assert_eq!(counts, [1], "one supply is among the parts");
}

/// # Source
/// Common practice, no source: numbers run along the main from left to right, then down the yard ladder, both ends of a
/// crossover under one number.
#[test]
fn the_eight_levers_of_the_first_module_are_numbered_along_the_main_then_down_the_ladder() {
    let plan = plan_of(FIRST_MODULE);
    let numbered: Vec<(u16, &str)> = plan
        .levers
        .iter()
        .map(|lever| (lever.number.value, plan.network.lever(lever.lever).id.as_str()))
        .collect();
    let as_walked = ["team", "meet", "yard", "cross", "y1", "y2", "y3", "y4"];
    assert_eq!(numbered, (1..=8).zip(as_walked).collect::<Vec<_>>());
    let crossover = &plan.levers[3];
    let machines: Vec<&str> = plan
        .network
        .lever(crossover.lever)
        .machines
        .iter()
        .map(|machine| plan.network.machine(*machine).name.as_str())
        .collect();
    assert_eq!(machines, ["crossA", "crossB"]);
}

/// # Source
/// Common practice, no source (see above): start 1, cabs 2, 3, 4 in use.
#[test]
fn the_first_module_has_its_strip_at_one_and_cab_five() {
    let plan = plan_of(FIRST_MODULE);
    assert_eq!(ranges(&plan), [(1, 12)]);
    assert_eq!(addresses(&plan), (1..=8).collect::<Vec<u16>>());
    assert_eq!(plan.chains[0].cab.value, 5);
}
