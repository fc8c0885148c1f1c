//! Routes that are set once: held while their points move, and no longer.

use live::link::Fault;
use live::{Event, Refusal, RouteSight, State};
use network::Position;

use crate::panel::{FIRST_MODULE, Panel};

const MAIN: &str = "main 4 – west approach";
const TEAM: &str = "team track – west approach";

fn held(panel: &Panel) -> Vec<(&str, bool, RouteSight)> {
    let name = |route| panel.railroad.route(route).unwrap().id.as_str();
    let sight = |held| panel.state.route_sight(&panel.railroad, held);
    panel.state.held().iter().map(|held| (name(held.route), held.once, sight(held))).collect()
}

#[test]
fn a_route_set_once_is_held_until_its_last_machine_reports_and_no_longer() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set_once(MAIN).unwrap();
    assert_eq!(held(&panel), [(MAIN, true, RouteSight::Setting(4))]);
    assert!(matches!(panel.throw(1, Position::Reverse), Err(Refusal::LeverHeld { .. })), "its points move");
    assert!(matches!(panel.set(TEAM), Err(Refusal::RouteInTheWay { .. })));
    panel.pass(899);
    assert_eq!(held(&panel).len(), 1);
    panel.pass(1);
    assert_eq!(held(&panel), []);
    let words: Vec<_> = panel.journal.iter().map(|row| row.split('\t').nth(1).unwrap()).collect();
    assert_eq!((words[0], &words[words.len() - 2..]), ("asked-once", &["set", "released"][..]));
    panel.throw(1, Position::Reverse).unwrap();
}

#[test]
fn one_that_stands_right_already_is_over_at_once() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set_once(MAIN).unwrap();
    panel.pass(2_000);
    panel.sent.clear();
    panel.set_once(MAIN).unwrap();
    assert_eq!((held(&panel), panel.sent.len()), (vec![], 0));
}

#[test]
fn one_that_cannot_be_set_stays_with_what_is_wrong_until_it_is_mended_or_released() {
    let mut panel = Panel::of(FIRST_MODULE);
    let machine = panel.machine("yard");
    panel.simulator.spoil(machine, Some(Fault::Stuck));
    panel.set_once(MAIN).unwrap();
    panel.pass(60_000);
    assert_eq!(held(&panel), [(MAIN, true, RouteSight::NoReport(machine))]);
    panel.restart();
    assert_eq!(held(&panel), [(MAIN, true, RouteSight::NoReport(machine))]);
    panel.simulator.spoil(machine, None);
    panel.set_once(MAIN).unwrap();
    panel.pass(2_000);
    assert_eq!(held(&panel), []);
}

#[test]
fn what_someone_wants_held_is_held_whoever_else_sets_it_once() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set_once(MAIN).unwrap();
    panel.set(MAIN).unwrap();
    panel.pass(2_000);
    assert_eq!(held(&panel), [(MAIN, false, RouteSight::Set)]);
    assert!(matches!(panel.set_once(MAIN), Err(Refusal::RouteSetAlready(_))));
    let machine = panel.machine("meet");
    panel.simulator.move_by_hand(machine, Position::Reverse, panel.now);
    panel.pass(10);
    panel.set_once(MAIN).unwrap();
    panel.pass(2_000);
    assert_eq!(held(&panel), [(MAIN, false, RouteSight::Set)], "set again, and held as before");
}

#[test]
fn a_checkpoint_between_set_and_released_loses_nothing() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set_once(MAIN).unwrap();
    panel.pass(2_000);
    assert!(panel.journal.pop().unwrap().contains("\treleased\t"), "the power failed before this row");
    panel.state = panel.replayed();
    let rows = panel.state.write(&panel.railroad);
    assert_eq!(State::read(&panel.railroad, &rows).as_ref(), Some(&panel.state));
    panel.happen(&Event::Tick).unwrap();
    assert_eq!(held(&panel), []);
}
