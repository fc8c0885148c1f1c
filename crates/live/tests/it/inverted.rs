//! A machine that the as-built record calls inverted: its commands go out the other way round, and what is drawn is where it stands.

use live::link::{Fault, Wire};
use live::{Elsewhere, Event, Moment, Railroad, Sight, Stands};
use network::Position::{Normal, Reverse};

use crate::panel::{FIRST_MODULE, Panel};

/// A railroad whose record calls these machines inverted. Lever 5 moves `y1`, lever 4 moves `crossA` and `crossB`.
fn railroad(layout: &str, inverted: &[&str]) -> Railroad {
    let findings = inverted.iter().map(|name| format!("\"machine {name}\" = {{ inverted = true }}\n"));
    let record = format!(
        "schema = 1\nlayout = \"Tern Harbor, first module\"\n[findings]\n{}\n[end]\nwhole = true\n",
        findings.collect::<String>()
    );
    let outcome = testkit::kept(layout, &record);
    assert!(!outcome.has_errors(), "{}", testkit::list(layout, &outcome.diagnostics));
    Railroad::new(outcome.value).unwrap()
}

#[test]
fn an_inverted_machine_is_thrown_right() {
    let mut panel = Panel::on(railroad(FIRST_MODULE, &["y1"]));
    panel.happen(&Event::Opened).unwrap();
    let machine = panel.machine("y1");
    for position in [Reverse, Normal] {
        panel.throw(5, position).unwrap();
        panel.pass(2_000);
        assert_eq!(panel.sight(5), Sight::At(position));
        assert_eq!(panel.simulator.stands(machine), Some(position));
    }
    // Wired back by someone who did not tell the record, it goes the wrong way again.
    panel.simulator.spoil(machine, Some(Fault::WrongWayRound));
    panel.throw(5, Reverse).unwrap();
    panel.pass(7_000);
    assert_eq!(panel.sight(5), Sight::Overdue(Reverse));
}

/// Two machines at one address hear the same packet: where only one is inverted, no command is right for both.
#[test]
fn half_a_crossover_cannot_be_turned() {
    for (inverted, expected) in
        [(&["crossA", "crossB"][..], Sight::At(Reverse)), (&["crossA"][..], Sight::Overdue(Reverse))]
    {
        let mut panel = Panel::on(railroad(FIRST_MODULE, inverted));
        panel.happen(&Event::Opened).unwrap();
        panel.throw(4, Reverse).unwrap();
        panel.pass(7_000);
        assert_eq!(panel.sight(4), expected, "{inverted:?}");
    }
}

#[test]
fn what_goes_over_a_wire_and_comes_back_is_turned() {
    let link = "[link.yard]\nkind = \"bytes\"\nto = \"127.0.0.1:4000\"\nthrow = \"{address} {position}\\n\"\n\
        confirm = \"{address} at {position}\"\n";
    let layout = format!("{FIRST_MODULE}\n{link}");
    for (inverted, word) in [(&[][..], "reverse"), (&["y1"][..], "normal")] {
        let railroad = railroad(&layout, inverted);
        let reach = railroad.links().iter().find(|reach| !reach.is_simulated()).unwrap();
        let mut wire = Wire::of(&railroad, reach).unwrap();
        wire.connected(Moment(0));
        let machine = railroad.machine_named("y1").unwrap();
        assert!(wire.throw(machine, Reverse));
        let sent = String::from_utf8(wire.take()).unwrap();
        let (address, position) = sent.trim().split_once(' ').unwrap();
        assert_eq!(position, word);
        let heard = wire.read(format!("{address} at {word}\n").as_bytes(), Moment(0));
        assert_eq!(heard, [Event::Confirmed { machine, position: Reverse }]);
    }
}

/// What was reported before is not taken for true when the record says otherwise now, and again after the next restart.
#[test]
fn a_machine_that_the_record_turns_is_not_known_until_it_reports() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.throw(5, Reverse).unwrap();
    panel.pass(2_000);
    panel.railroad = railroad(FIRST_MODULE, &["y1"]);
    panel.restart();
    assert_eq!(panel.sight(5), Sight::NotKnown);
    let rows = panel.journal.len();
    panel.throw(5, Reverse).unwrap();
    panel.pass(2_000);
    assert_eq!(panel.sight(5), Sight::At(Reverse));
    panel.restart();
    assert_eq!(panel.sight(5), Sight::At(Reverse));
    let inverted = |row: &&String| row.contains("\tinverted\t");
    assert_eq!(panel.journal.iter().filter(inverted).count(), 1);
    assert!(
        panel.journal[..rows].iter().any(|row| row.ends_with("\tinverted\t-\ty1")),
        "{:?}",
        panel.journal
    );
    // The checkpoint says the same.
    let rows = panel.state.write(&panel.railroad);
    assert_eq!(live::State::read(&panel.railroad, &rows).as_ref(), Some(&panel.state));
}

/// Which way round it moves is what the record says, not what the panel says that drives it: opened again, nothing is forgotten.
#[test]
fn an_inverted_machine_that_another_panel_drives_stays_inverted_and_known() {
    for stands in [
        Stands::Unknown,
        Stands::At(Reverse),
        Stands::Moving(Reverse),
        Stands::Sent(Reverse),
        Stands::Overdue(Reverse),
    ] {
        let mut panel = Panel::on(railroad(FIRST_MODULE, &["y1"]));
        panel.happen(&Event::Opened).unwrap();
        panel.happen(&Event::Elsewhere(Elsewhere::Stands { machine: "y1".into(), stands })).unwrap();
        let before = panel.state.standing(panel.machine("y1"));
        assert!(before.inverted, "{stands:?}");
        panel.happen(&Event::Opened).unwrap();
        assert_eq!(panel.state.standing(panel.machine("y1")), before, "{stands:?}");
    }
}
