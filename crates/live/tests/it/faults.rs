//! The modelled layout down to its bits, with machines that are not sound.

use live::link::{Fault, Simulator};
use live::{Event, Moment, RouteSight, Sight, Wait};
use network::Position;

use crate::panel::{FIRST_MODULE, Panel};

#[test]
fn every_machine_at_an_address_answers_the_packet_for_it() {
    let panel = Panel::of(FIRST_MODULE);
    let mut simulator = Simulator::new(&panel.railroad);
    let [a, b] = ["crossA", "crossB"].map(|name| panel.machine(name));
    simulator.send(a, Position::Reverse, Moment(0));
    assert_eq!(simulator.packets_read(), 1, "a decoder has read the packet from the signal");
    let position = Position::Reverse;
    assert_eq!(
        simulator.reports(Moment(10_000)),
        [Event::Confirmed { machine: a, position }, Event::Confirmed { machine: b, position }]
    );
}

#[test]
fn a_machine_turned_round_on_its_way_reports_once() {
    let panel = Panel::of(FIRST_MODULE);
    let mut simulator = Simulator::new(&panel.railroad);
    let machine = panel.machine("y1");
    simulator.send(machine, Position::Reverse, Moment(0));
    simulator.send(machine, Position::Normal, Moment(500));
    assert_eq!(simulator.next_due(), Some(Moment(1_400)));
    let position = Position::Normal;
    assert_eq!(simulator.reports(Moment(1_400)), [Event::Confirmed { machine, position }]);
}

/// What the panel says of lever 5, and of a route over it, seven seconds after the route was asked for.
fn after(fault: Fault) -> (Sight, RouteSight) {
    let mut panel = Panel::of(FIRST_MODULE);
    let machine = panel.machine("y1");
    panel.simulator.spoil(machine, Some(fault));
    panel.set("west approach – yard 1").unwrap();
    panel.pass(7_000);
    let held = &panel.state.held()[0];
    (panel.sight(5), panel.state.route_sight(&panel.railroad, held))
}

#[test]
fn a_machine_that_is_not_sound_never_lets_its_route_be_shown_as_set() {
    let machine = Panel::of(FIRST_MODULE).machine("y1");
    for fault in [
        Fault::Stuck,
        Fault::FeedbackLost,
        Fault::WrongWayRound,
        Fault::Slow(Wait(30_000)),
        Fault::OutputDead,
    ] {
        let (sight, route) = after(fault);
        assert_eq!(sight, Sight::Overdue(Position::Reverse), "{fault:?}");
        assert_eq!(route, RouteSight::NoReport(machine), "{fault:?}");
    }
    assert_eq!(after(Fault::Slow(Wait(5_000))).1, RouteSight::Set, "slow, but in time");
}

#[test]
fn a_machine_wired_the_wrong_way_round_is_told_from_one_that_is_silent() {
    for (fault, contrary) in
        [(Fault::WrongWayRound, true), (Fault::FeedbackLost, false), (Fault::Stuck, false)]
    {
        let mut panel = Panel::of(FIRST_MODULE);
        let machine = panel.machine("y1");
        panel.simulator.spoil(machine, Some(fault));
        panel.throw(5, Position::Reverse).unwrap();
        panel.pass(7_000);
        assert_eq!(panel.state.standing(machine).contrary, contrary, "{fault:?}");
        panel.simulator.spoil(machine, None);
        panel.throw(5, Position::Reverse).unwrap();
        assert!(!panel.state.standing(machine).contrary, "{fault:?}");
        panel.pass(2_000);
        assert_eq!(panel.sight(5), Sight::At(Position::Reverse), "mended, it is thrown");
    }
}

#[test]
fn a_dead_output_moves_no_machine_that_is_wired_to_it() {
    let mut panel = Panel::of(FIRST_MODULE);
    let [a, b] = ["crossA", "crossB"].map(|name| panel.machine(name));
    for (fault, b_moved) in [(Fault::Stuck, true), (Fault::OutputDead, false)] {
        panel.simulator.spoil(a, Some(fault));
        panel.throw(4, if b_moved { Position::Reverse } else { Position::Normal }).unwrap();
        panel.pass(7_000);
        let moved = |machine| panel.state.standing(machine).waiting_since.is_none();
        assert_eq!((moved(a), moved(b)), (false, b_moved), "{fault:?}");
    }
}

#[test]
fn points_moved_by_hand_are_reported_under_the_route_that_holds_them() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set("west approach – yard 1").unwrap();
    panel.pass(2_000);
    let machine = panel.machine("y1");
    panel.simulator.move_by_hand(machine, Position::Normal, panel.now);
    panel.pass(10);
    let held = &panel.state.held()[0];
    assert_eq!(panel.state.route_sight(&panel.railroad, held), RouteSight::Strayed(machine));
}
