//! The node on the layout bus, held to the frames that the standards print.
//!
//! # Source
//! `reference/dcc/lcc.json`: LCC S-9.7.2.1, sections 4 and 6.2.1; S-9.7.3, section 3.3.1; S-9.7.3.1, section 6; frames printed in the technical
//! notes. Numbers of messages that the file does not have are from memory: verify 490 and 170, identify events 970, rejected 068.

use live::Moment;
use live::link::{Heard, LayoutBus, NodeId};
use packet::{BinaryAddress, Direction, Scheme, UserAddress};
use proptest::prelude::*;
use serde_json::Value;

fn file() -> Value {
    serde_json::from_str(include_str!("../../../../reference/dcc/lcc.json")).unwrap()
}

fn address(user: u16) -> BinaryAddress {
    UserAddress::new(user).unwrap().binary(Scheme::Linear)
}

fn node(name: &str, users: &[u16]) -> LayoutBus {
    LayoutBus::new(NodeId::read(name).unwrap(), users.iter().map(|user| address(*user)))
}

fn frames(bus: &mut LayoutBus) -> Vec<String> {
    bus.take_text().lines().map(str::to_owned).collect()
}

/// A node that has come up, and its alias in three digits.
fn present(users: &[u16]) -> (LayoutBus, String) {
    let mut bus = node("12.34.56.78.9A.BC", users);
    bus.connected(Moment(1_000));
    let first = frames(&mut bus).remove(0);
    bus.tick(Moment(1_200));
    frames(&mut bus);
    assert!(bus.is_present());
    (bus, first[7..10].to_owned())
}

#[test]
fn an_alias_is_asked_for_as_the_standard_prints_it_and_reserved_after_200_ms() {
    let example = &file()["alias_reservation_example_node_12.34.56.78.9A.BC_alias_FED"];
    let printed: Vec<String> =
        example.as_array().unwrap().iter().map(|row| row["frame"].as_str().unwrap().to_owned()).collect();
    let mut bus = node("12.34.56.78.9A.BC", &[]);
    bus.connected(Moment(1_000));
    let asked = frames(&mut bus);
    let alias = asked[0][7..10].to_owned();
    let with_alias: Vec<String> =
        printed.iter().map(|frame| frame.replace("FEDN", &format!("{alias}N"))).collect();
    assert_eq!(asked, with_alias[..4]);
    bus.tick(Moment(1_199));
    assert_eq!(frames(&mut bus), Vec::<String>::new());
    assert!(!bus.is_present());
    assert_eq!(bus.next_due(), Some(Moment(1_200)));
    bus.tick(Moment(1_200));
    let said = frames(&mut bus);
    assert_eq!(said[0], with_alias[4]);
    assert_eq!(said[1], format!(":X10701{alias}N123456789ABC;"));
    // As in `:X191004AAN1A2A3A4A5A6A;` of the technical note.
    assert_eq!(said[2], format!(":X19100{alias}N123456789ABC;"));
    assert!(bus.is_present());
}

#[test]
fn every_event_is_named_before_it_is_reported_and_asked_about() {
    let mut bus = node("12.34.56.78.9A.BC", &[1]);
    bus.connected(Moment(0));
    let alias = frames(&mut bus)[0][7..10].to_owned();
    bus.tick(Moment(200));
    let said = frames(&mut bus)[3..].join("\n");
    let expected = "\
:X19547aaaN0101020000FF0009;
:X194C7aaaN0101020000FD0009;
:X19547aaaN0101020000FF0008;
:X194C7aaaN0101020000FD0008;
:X19914aaaN0101020000FD0009;
:X19914aaaN0101020000FD0008;";
    assert_eq!(said, expected.replace("aaa", &alias));
}

#[test]
fn a_throw_is_an_event_report_and_feedback_is_heard() {
    let (mut bus, alias) = present(&[1]);
    assert!(bus.throw(address(1), Direction::One));
    assert_eq!(frames(&mut bus), [format!(":X195B4{alias}N0101020000FF0009;")]);
    assert!(!bus.throw(address(2), Direction::One), "address 2 is not this node's");
    assert_eq!(frames(&mut bus), Vec::<String>::new());
    let heard = bus.read(b":X195B43CCN0101020000FD0009;\n:X195443CCN0101020000FD0008;", Moment(2_000));
    assert_eq!(
        heard,
        [Heard::Stands(address(1), Direction::One), Heard::Stands(address(1), Direction::Zero)]
    );
    let heard = bus.read(b":X195B43CCN0101020000FF0008;:X195B43CCN010000000000FFFD;", Moment(2_000));
    assert_eq!(heard, [Heard::ThrownElsewhere(address(1), Direction::Zero), Heard::Stopped]);
    // What it says of itself follows what it heard.
    bus.read(b":X199143CCN0101020000FF0009;:X198F43CCN0101020000FD0008;", Moment(2_000));
    assert_eq!(
        frames(&mut bus),
        [format!(":X19545{alias}N0101020000FF0009;"), format!(":X194C4{alias}N0101020000FD0008;")]
    );
}

#[test]
fn whoever_asks_is_answered() {
    let (mut bus, alias) = present(&[]);
    let mut ask = |frame: &str| {
        bus.read(frame.replace("aaa", &alias).as_bytes(), Moment(2_000));
        frames(&mut bus).join(" ").replace(&alias, "aaa")
    };
    // Protocol support, as the technical note prints the question (198283CC, 04AA) and the answer (196684AA, 03CC).
    assert_eq!(ask(":X198283CCN0aaa;"), ":X19668aaaN03CC040000000000;");
    assert_eq!(ask(":X198283CCN04AA;"), "", "it is for another node");
    assert_eq!(ask(":X194903CCN;"), ":X19170aaaN123456789ABC;");
    assert_eq!(ask(":X194903CCN123456789ABC;"), ":X19170aaaN123456789ABC;");
    assert_eq!(ask(":X194903CCN123456789ABD;"), "");
    assert_eq!(ask(":X194883CCN0aaa;"), ":X19170aaaN123456789ABC;");
    assert_eq!(ask(":X107023CCN;"), ":X10701aaaN123456789ABC;");
    assert_eq!(ask(":X19DE83CCN0aaa;"), ":X19068aaaN03CC10430DE8;", "what it does not know it refuses");
    assert_eq!(ask(":X190683CCN0aaa10430DE8;"), "", "but never a refusal");
}

#[test]
fn an_alias_that_another_node_uses_is_defended_once_and_given_up_after() {
    let (mut bus, alias) = present(&[1]);
    bus.read(format!(":X17123{alias}N;").as_bytes(), Moment(2_000));
    assert_eq!(frames(&mut bus), [format!(":X10700{alias}N;")], "someone asks whether it is free");
    assert!(bus.is_present());
    bus.read(format!(":X195B4{alias}N0101020000FF0009;").as_bytes(), Moment(2_000));
    let said = frames(&mut bus);
    assert_eq!(said[0], format!(":X10703{alias}N123456789ABC;"));
    assert_ne!(&said[1][7..10], alias, "another alias is asked for");
    assert!(!bus.is_present());
    assert!(!bus.throw(address(1), Direction::One));
    bus.tick(Moment(2_200));
    assert!(bus.is_present());
}

#[test]
fn a_connection_that_broke_off_leaves_nothing_to_be_sent_late() {
    let (mut bus, _) = present(&[1]);
    assert!(bus.throw(address(1), Direction::One));
    bus.disconnected();
    assert_eq!(bus.take_text(), "");
    assert!(!bus.throw(address(1), Direction::Zero));
    bus.connected(Moment(5_000));
    bus.tick(Moment(5_200));
    assert!(!bus.take_text().contains("X195B4"), "no throw is reported again");
}

/// Another node that draws the alias of the first one too.
fn rival(alias: &str) -> LayoutBus {
    let mut names = (0..=u16::MAX).map(|last| format!("12.34.56.78.{:02X}.{:02X}", last >> 8, last & 0xFF));
    let drawn = |name: &String| {
        let mut bus = node(name, &[]);
        bus.connected(Moment(0));
        bus.take_text()[7..10].to_owned()
    };
    let name = names.find(|name| name != "12.34.56.78.9A.BC" && drawn(name) == alias).unwrap();
    node(&name, &[3])
}

/// Two nodes that draw the same alias first, one frame at a time between them, in any order.
fn talk(order: &[bool]) -> [LayoutBus; 2] {
    let (_, alias) = present(&[]);
    let mut nodes = [node("12.34.56.78.9A.BC", &[1, 2]), rival(&alias)];
    let mut at = Moment(0);
    for bus in &mut nodes {
        bus.connected(at);
    }
    let mut wires: [Vec<String>; 2] = Default::default();
    for turn in order.iter().copied().chain([true, false].repeat(600)) {
        let (from, to) = if turn { (0, 1) } else { (1, 0) };
        wires[from].extend(nodes[from].take_text().lines().map(str::to_owned));
        if wires[from].is_empty() {
            at = Moment(at.0 + 40);
            nodes[from].tick(at);
        } else {
            let frame = wires[from].remove(0);
            nodes[to].read(frame.as_bytes(), at);
        }
    }
    nodes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_bytes_are_read_without_harm(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let (mut bus, _) = present(&[1]);
        bus.read(&bytes, Moment(3_000));
        prop_assert!(bus.take_text().len() < 10_000);
    }

    /// Both draw the same alias first. One asks, hears the other ask, and so on: whoever comes first, in the end both are there.
    #[test]
    fn two_nodes_that_want_one_alias_both_come_up(order in prop::collection::vec(any::<bool>(), 0..60)) {
        let nodes = talk(&order);
        prop_assert!(nodes.iter().all(LayoutBus::is_present));
        let aliases = nodes.map(|mut bus| {
            bus.stop(true);
            bus.take_text()[7..10].to_owned()
        });
        prop_assert_ne!(&aliases[0], &aliases[1]);
    }
}
