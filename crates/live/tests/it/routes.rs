//! Routes set and released beside levers, locks and stops, on the demo's first module.

use live::{Event, Refusal, RouteId, RouteSight, Said, Sight, why_not};
use network::{Position, lock};

use crate::panel::{FIRST_MODULE, Panel, TERN_HARBOR, by};

const MAIN: &str = "main 4 – west approach";
const TEAM: &str = "team track – west approach";

fn sight(panel: &Panel, id: &str) -> Option<RouteSight> {
    let route = panel.route(id);
    let held = panel.state.held().iter().find(|held| held.route == route)?;
    Some(panel.state.route_sight(&panel.railroad, held))
}

/// The words of a refusal.
fn says(refused: Result<(), Refusal>) -> String {
    refused.unwrap_err().to_string()
}

#[test]
fn a_route_is_set_only_when_every_machine_has_reported() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Setting(4)), "team, meet, yard and the crossover");
    panel.pass(899);
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Setting(4)));
    panel.pass(1);
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Set));
    let set = panel.journal.iter().filter(|row| row.contains("\tset\t")).count();
    assert_eq!(set, 1, "{:?}", panel.journal);
}

#[test]
fn a_lever_of_a_set_route_is_not_thrown_until_the_route_is_released() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    for _ in 0..2 {
        assert_eq!(
            says(panel.throw(4, Position::Reverse)),
            format!(
                "Lever 4 is held by the route {MAIN}, set by Ruth. Release that route first, then throw lever 4."
            )
        );
        panel.pass(2_000);
    }
    panel.throw(5, Position::Reverse).unwrap();
    panel.release(MAIN).unwrap();
    panel.throw(4, Position::Reverse).unwrap();
}

#[test]
fn a_route_that_conflicts_with_a_set_one_is_refused_by_what_both_want() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    assert_eq!(
        says(panel.set(TEAM)),
        format!(
            "The route {TEAM} cannot be set while {MAIN} is set: both need lever 1, in different positions. \
             Release {MAIN} first."
        )
    );
    panel.release(MAIN).unwrap();
    panel.set(TEAM).unwrap();
}

/// The plan's own table of conflicts is found by another method, rows of bits.
#[test]
fn two_routes_are_held_at_once_exactly_when_the_plans_locking_lets_them() {
    let mut panel = Panel::of(TERN_HARBOR);
    let locking = lock(&panel.railroad.plan().network, &panel.railroad.plan().routes);
    let unknown = panel.state.clone();
    let (mut together, mut apart) = (0, 0);
    for a in 0..locking.route_count() {
        panel.state.clone_from(&unknown);
        panel.happen(&Event::SetRoute { route: RouteId::at(a), by: by() }).unwrap();
        for b in (0..locking.route_count()).filter(|&b| b != a) {
            let refusal = why_not(&panel.railroad, &panel.state, RouteId::at(b));
            assert_eq!(refusal.is_some(), locking.conflict(a, b), "{a} and {b}: {refusal:?}");
            if refusal.is_none() { together += 1 } else { apart += 1 }
        }
    }
    assert!(together > 100 && apart > together, "{together} pairs together, {apart} not");
}

#[test]
fn only_levers_that_stand_wrong_are_thrown() {
    let mut panel = Panel::of(FIRST_MODULE);
    for lever in 1..=4 {
        panel.throw(lever, Position::Normal).unwrap();
    }
    panel.throw(2, Position::Reverse).unwrap();
    panel.pass(2_000);
    panel.sent.clear();
    panel.set(MAIN).unwrap();
    let sent: Vec<_> = panel.sent.iter().map(|sent| sent.1).collect();
    assert_eq!(sent, [panel.machine("meet")]);
    panel.pass(2_000);
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Set));
    panel.release(MAIN).unwrap();
    panel.sent.clear();
    panel.set(MAIN).unwrap();
    assert_eq!(
        (panel.sent.len(), sight(&panel, MAIN)),
        (0, Some(RouteSight::Set)),
        "it stands right already"
    );
}

#[test]
fn points_that_move_under_a_set_route_are_a_fault_of_that_route() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    panel.pass(2_000);
    let yard = panel.machine("yard");
    panel.happen(&Event::Confirmed { machine: yard, position: Position::Reverse }).unwrap();
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Strayed(yard)));
    panel.set(MAIN).unwrap();
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Setting(1)), "asked for again, it is put right");
    panel.pass(2_000);
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Set));
    assert_eq!(says(panel.set(MAIN)), format!("The route {MAIN} is set already."));
}

#[test]
fn a_locked_lever_is_thrown_neither_by_hand_nor_by_a_route() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.throw(1, Position::Normal).unwrap();
    panel.pass(2_000);
    let lock = |note: &str| Event::Lock { lever: 1, note: Said::new(note), by: by() };
    assert_eq!(
        says(panel.happen(&lock("  "))),
        "Say why lever 1 is locked, so that whoever finds it knows when to unlock it."
    );
    panel.happen(&lock("wheel in the frog")).unwrap();
    assert_eq!(says(panel.happen(&lock("again"))), "Lever 1 is locked already: “wheel in the frog”.");
    assert_eq!(
        says(panel.throw(1, Position::Reverse)),
        "Lever 1 is locked by Ruth: “wheel in the frog”. Ask whether that is over; then unlock it."
    );
    assert_eq!(
        says(panel.set(TEAM)),
        format!(
            "The route {TEAM} needs lever 1 reverse, and lever 1 is locked: “wheel in the frog”. Ask whether that is \
             over; then unlock it, or choose another way."
        )
    );
    panel.restart();
    assert!(panel.throw(1, Position::Reverse).is_err(), "a lock outlives the panel");
    panel.set(MAIN).unwrap();
    panel.release(MAIN).unwrap();
    panel.happen(&Event::Unlock { lever: 1, by: by() }).unwrap();
    assert_eq!(says(panel.happen(&Event::Unlock { lever: 1, by: by() })), "Lever 1 is not locked.");
    panel.throw(1, Position::Reverse).unwrap();
}

#[test]
fn a_stop_is_never_refused_and_nothing_is_thrown_until_it_is_lifted() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    panel.happen(&Event::Stop { by: by() }).unwrap();
    panel.happen(&Event::Stop { by: by() }).unwrap();
    assert!(panel.simulator.trains_stopped());
    let stopped = "Everything is stopped by Ruth. When all is clear, press “Let it go on”, then try again.";
    assert_eq!(says(panel.throw(8, Position::Reverse)), stopped);
    assert_eq!(says(panel.set(TEAM)), stopped);
    assert_eq!(says(panel.happen(&Event::Undo { by: by() })), "There is no throw to undo.");
    panel.restart();
    assert_eq!(says(panel.throw(8, Position::Reverse)), stopped);
    assert!(panel.simulator.trains_stopped());
    panel.release(MAIN).unwrap();
    panel.happen(&Event::Resume { by: by() }).unwrap();
    assert!(!panel.simulator.trains_stopped());
    assert!(panel.happen(&Event::Resume { by: by() }).is_err());
    panel.throw(8, Position::Reverse).unwrap();
}

#[test]
fn the_last_throw_is_taken_back_and_then_the_one_before() {
    let mut panel = Panel::of(FIRST_MODULE);
    let undo = Event::Undo { by: by() };
    panel.throw(1, Position::Normal).unwrap();
    panel.throw(1, Position::Reverse).unwrap();
    panel.throw(8, Position::Reverse).unwrap();
    assert_eq!(
        says(panel.happen(&undo)),
        "Where lever 8 stood before its last throw is not known, so it cannot be put back. Throw it to where you want it."
    );
    panel.throw(8, Position::Normal).unwrap();
    panel.happen(&undo).unwrap();
    panel.pass(2_000);
    assert_eq!(panel.sight(8), Sight::At(Position::Reverse));
    panel.restart();
    assert_eq!(panel.state.last_throw(), Some((8, None)), "what can be undone outlives the panel");
    panel.set(MAIN).unwrap();
    assert!(
        !format!("{:?}", panel.state).contains("(1, Some(Normal))"),
        "a lever that a route has moved since is not put back"
    );
}

#[test]
fn a_restart_keeps_routes_and_throws_nothing() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    let before = panel.state.clone();
    panel.sent.clear();
    panel.restart();
    assert_eq!((&panel.state, panel.sent.len()), (&before, 0));
    panel.pass(2_000);
    assert_eq!(sight(&panel, MAIN), Some(RouteSight::Set), "what was on its way has arrived");
}

#[test]
fn without_its_link_nothing_is_thrown() {
    let mut panel = Panel::of(FIRST_MODULE);
    let link = || Said::new(live::link::SIMULATOR);
    panel.happen(&Event::LinkDown { link: link() }).unwrap();
    let says = says(panel.throw(1, Position::Reverse));
    assert!(says.starts_with("The simulated layout is out of touch"), "{says}");
    assert!(panel.set(MAIN).is_err());
    panel.happen(&Event::LinkUp { link: link() }).unwrap();
    panel.throw(1, Position::Reverse).unwrap();
    panel.happen(&Event::QueueFull { machine: panel.machine("team") }).unwrap();
    assert_eq!(panel.sight(1), Sight::Overdue(Position::Reverse));
}

#[test]
fn routes_whose_names_differ_in_their_last_letter_are_not_taken_for_one_another() {
    let long = "long ".repeat(60);
    let text = format!(
        "[layout]\nname = \"Tern Harbor\"\n[end.lead]\ntrack = \"lead\"\n[end.a]\ntrack = \"{long}a\"\n[end.b]\ntrack = \"{long}b\"\n[turnout.1]\n\
         points = \"lead\"\nthrough = \"{long}a\"\ndiverging = \"{long}b\"\nhand = \"left\"\n"
    );
    let mut panel = Panel::of(&text);
    let ids: Vec<String> = panel.railroad.routes().map(|(_, route)| route.id.clone()).collect();
    assert_eq!(ids.len(), 2);
    for (index, id) in ids.iter().enumerate() {
        assert_eq!(panel.route(id), RouteId::at(index));
        panel.set(id).unwrap();
        panel.restart();
        assert_eq!(panel.state.held()[0].route, RouteId::at(index));
        panel.release(id).unwrap();
    }
}

/// The first module with coil machines on its ladder, on a supply that bears two at once.
fn with_coils() -> String {
    let coils = |turnout: &str| {
        (format!("[turnout.{turnout}]\n"), format!("[turnout.{turnout}]\nmotor = \"coil machine\"\n"))
    };
    ["y1", "y2", "y3", "y4"]
        .iter()
        .map(|turnout| coils(turnout))
        .fold(FIRST_MODULE.to_owned(), |text, (a, b)| text.replace(&a, &b))
}

#[test]
fn coils_fire_in_bursts_that_the_supply_bears() {
    let mut panel = Panel::of(&with_coils());
    let most = panel.railroad.coils_at_once();
    assert_eq!(most, 1, "nothing says what the supply gives");
    let route = "west approach – yard 5";
    panel.set(route).unwrap();
    assert_eq!(panel.sight(8), Sight::Waiting(Position::Normal));
    panel.throw(2, Position::Reverse).unwrap_err();
    panel.pass(10_000);
    assert_eq!(sight(&panel, route), Some(RouteSight::Set));
    let coils: Vec<u64> = panel
        .sent
        .iter()
        .filter(|(_, machine, _)| (5..=8).contains(&panel.railroad.machine(*machine).unwrap().lever.unwrap()))
        .map(|sent| sent.0.0 - 1_000_000)
        .collect();
    assert_eq!(coils, [0, 1_000, 2_000, 3_000]);
}

#[test]
fn a_route_that_is_released_throws_nothing_more() {
    let mut panel = Panel::of(&with_coils());
    panel.set("west approach – yard 5").unwrap();
    let sent = panel.sent.len();
    panel.release("west approach – yard 5").unwrap();
    panel.pass(10_000);
    assert_eq!(panel.sent.len(), sent, "what waited for the supply is not fired late");
    assert_eq!(panel.sight(8), Sight::NotKnown);
}

#[test]
fn a_throw_waits_for_the_supply_and_is_dropped_by_a_restart() {
    let mut panel = Panel::of(&with_coils());
    panel.throw(5, Position::Reverse).unwrap();
    panel.throw(6, Position::Reverse).unwrap();
    panel.throw(7, Position::Reverse).unwrap();
    panel.throw(7, Position::Normal).unwrap();
    assert_eq!(
        (panel.sight(6), panel.sight(7)),
        (Sight::Waiting(Position::Reverse), Sight::Waiting(Position::Normal))
    );
    panel.pass(1_000);
    assert_eq!(panel.sight(6), Sight::Moving(Position::Reverse));
    panel.sent.clear();
    panel.restart();
    panel.pass(10_000);
    assert_eq!(
        (panel.sight(7), panel.sent.len()),
        (Sight::NotKnown, 0),
        "nothing moves because a computer was started"
    );
    assert_eq!(panel.state, panel.replayed());
}
