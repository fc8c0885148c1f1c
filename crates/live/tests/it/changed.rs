//! The railroad is changed while the panel runs.

use std::collections::BTreeMap;

use live::{Entry, Event, Railroad, RouteSight, Said, State, change};
use network::{Locking, Position, lock};
use proptest::prelude::*;

use crate::panel::{FIRST_MODULE, Panel, by};

const MAIN: &str = "main 4 – west approach";
const TEAM: &str = "team track – west approach";

/// The first module, differently: what a builder does on an evening.
fn variants() -> Vec<(&'static str, String)> {
    let without_last = FIRST_MODULE
        .replace("\n[turnout.y4]\npoints = \"ladder 3\"\nthrough = \"yard 5\"\ndiverging = \"yard 4\"\nhand = \"left\"\n", "")
        .replace("[end.\"yard 4\"]\ntrack = \"yard 4\"\n", "")
        .replace("\"yard 5\"", "\"ladder 3\"");
    let without_team = FIRST_MODULE
        .replace(
            "[turnout.team]\npoints = \"west approach\"\nthrough = \"main 1\"\ndiverging = \"team track\"\nhand = \"right\"\n",
            "",
        )
        .replace("[end.\"team track\"]\ntrack = \"team track\"\n", "")
        .replace("\"west approach\"", "\"main 1\"");
    let (main, ladder) = (
        "[line.main]\nfrom = \"west\"\nto = \"east\"\n",
        "[line.\"yard ladder\"]\nfrom = \"yard lead\"\nto = \"yard 5\"\n",
    );
    let renumbered = FIRST_MODULE.replace(main, "").replace(ladder, &format!("{ladder}\n{main}"));
    let linked = format!(
        "{FIRST_MODULE}\n[link.bus]\nkind = \"bytes\"\nto = \"127.0.0.1:9\"\nthrow = \"T {{address}} {{bit}}\"\nmoves = [\"team\", \"meet\"]\n"
    );
    vec![
        ("the same", FIRST_MODULE.to_owned()),
        ("the last turnout is gone", without_last),
        ("the first turnout is gone", without_team),
        ("numbered from the other end", renumbered),
        ("another link", linked),
    ]
}

fn railroad(text: &str) -> Railroad {
    Railroad::new(testkit::plan_of(text)).unwrap()
}

/// What a journal comes to that was written on other railroads before: rows that do not fit come before one that does.
fn replayed(railroad: &Railroad, rows: &[String]) -> State {
    let mut state = State::unknown(railroad);
    for row in rows {
        drop(state.apply(railroad, &Entry::read(row).unwrap()));
    }
    state
}

/// Changes the railroad of a panel; gives back what was said of it.
fn changed(panel: &mut Panel, text: &str) -> (Vec<String>, Vec<String>) {
    let new = railroad(text);
    let made = change(&panel.railroad, &panel.state, &new, &by(), panel.now);
    panel.journal.extend(made.entries.iter().map(Entry::write));
    panel.railroad = new;
    panel.state = made.state;
    (made.says, made.released)
}

fn standings(panel: &Panel) -> BTreeMap<String, live::Standing> {
    panel.railroad.machines().map(|(id, machine)| (machine.name.clone(), panel.state.standing(id))).collect()
}

/// Each lock's note by what the description calls its lever.
fn locks(panel: &Panel) -> BTreeMap<String, String> {
    let lock =
        |lever: &live::Lever| Some((lever.id.clone(), panel.state.lock(lever.number)?.note.to_string()));
    panel.railroad.levers().filter_map(lock).collect()
}

fn held(panel: &Panel) -> Vec<String> {
    panel.state.held().iter().map(|held| panel.railroad.route(held.route).unwrap().id.clone()).collect()
}

#[test]
fn a_layout_that_is_read_again_unchanged_changes_nothing() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(MAIN).unwrap();
    panel.pass(5_000);
    panel.happen(&Event::Lock { lever: 7, note: Said::new("wheel in the frog"), by: by() }).unwrap();
    let before = panel.state.clone();
    assert_eq!(changed(&mut panel, FIRST_MODULE), (vec![], vec![]));
    assert_eq!(panel.state, before);
}

#[test]
fn levers_that_are_numbered_anew_keep_what_is_known_of_them() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.throw(1, Position::Reverse).unwrap();
    panel.pass(5_000);
    panel.happen(&Event::Lock { lever: 1, note: Said::new("wheel in the frog"), by: by() }).unwrap();
    let text = &variants()[3].1;
    let (says, _) = changed(&mut panel, text);
    let team = panel.railroad.levers().find(|lever| lever.id == "team").unwrap().clone();
    assert_ne!(team.number, 1);
    assert!(
        says.iter().any(|says| says == &format!("what was lever 1 is lever {} now (team)", team.number)),
        "{says:?}"
    );
    assert_eq!(panel.state.sight(&team), live::Sight::At(Position::Reverse));
    assert_eq!(panel.state.lock(team.number).unwrap().note.as_str(), "wheel in the frog");
    assert!(panel.state.lock(1).is_none(), "the lever that is 1 now was not locked");
}

#[test]
fn a_route_that_is_no_more_is_released_and_written_down() {
    let mut panel = Panel::of(FIRST_MODULE);
    panel.set(TEAM).unwrap();
    panel.pass(5_000);
    let (says, released) = changed(&mut panel, &variants()[2].1);
    assert_eq!(released, [TEAM]);
    assert!(held(&panel).is_empty());
    assert!(
        says.iter().any(|says| says == "machine 1 is gone" || says.contains("machine team is gone")),
        "{says:?}"
    );
    assert!(
        says.iter().any(|says| says.starts_with(&format!("the route {TEAM} was set and is released"))),
        "{says:?}"
    );
    assert!(panel.journal.iter().any(|row| row.contains("\treleased\t") && row.ends_with(TEAM)));
    assert_eq!(replayed(&panel.railroad, &panel.journal), panel.state);
}

#[test]
fn a_machine_that_is_moved_by_another_link_is_said() {
    let mut panel = Panel::of(FIRST_MODULE);
    let (says, _) = changed(&mut panel, &variants()[4].1);
    assert!(
        says.iter().any(|says| says.contains("is moved by the link bus, by the simulated layout before")),
        "{says:?}"
    );
}

#[test]
fn what_waits_for_the_supply_is_not_thrown_on_another_railroad() {
    let coils = FIRST_MODULE
        .replace("[turnout.team]\n", "[turnout.team]\nmotor = \"coil machine\"\n")
        .replace("[turnout.meet]\n", "[turnout.meet]\nmotor = \"coil machine\"\n");
    let mut panel = Panel::of(&coils);
    panel.throw(1, Position::Reverse).unwrap();
    panel.throw(2, Position::Reverse).unwrap();
    assert!(panel.state.next_burst().is_some(), "lever 2 waits");
    let sent = panel.sent.len();
    changed(&mut panel, &coils);
    panel.pass(10_000);
    assert_eq!(panel.sent.len(), sent);
}

#[derive(Clone, Copy, Debug)]
enum Deed {
    Throw(usize, Position),
    Set(usize),
    Release(usize),
    Lock(usize),
    Unlock(usize),
    Stop,
    Resume,
    Pass(u64),
    Change(usize),
}

fn deeds() -> impl Strategy<Value = Vec<Deed>> {
    let one = prop_oneof![
        4 => (0..9_usize, crate::rows::positions()).prop_map(|(lever, position)| Deed::Throw(lever, position)),
        4 => (0..40_usize).prop_map(Deed::Set),
        1 => (0..40_usize).prop_map(Deed::Release),
        1 => (0..9_usize).prop_map(Deed::Lock),
        1 => (0..9_usize).prop_map(Deed::Unlock),
        1 => Just(Deed::Stop),
        2 => Just(Deed::Resume),
        4 => (0..4_000_u64).prop_map(Deed::Pass),
        2 => (0..5_usize).prop_map(Deed::Change),
    ];
    prop::collection::vec(one, 0..60)
}

fn conflicts(panel: &Panel) -> bool {
    let locking: Locking = lock(&panel.railroad.plan().network, &panel.railroad.plan().routes);
    let held: Vec<usize> = panel.state.held().iter().map(|held| held.route.index()).collect();
    held.iter().any(|&a| held.iter().any(|&b| a != b && locking.conflict(a, b)))
}

proptest! {
    #[test]
    fn prop_what_stays_keeps_its_state_and_the_journal_ends_in_the_same(deeds in deeds()) {
        let variants: Vec<String> = variants().into_iter().map(|(_, text)| text).collect();
        let mut panel = Panel::of(FIRST_MODULE);
        for deed in deeds {
            let lever = |index: usize| panel.railroad.levers().nth(index).map_or(99, |lever| lever.number);
            let route = |index: usize| live::RouteId::at(index % panel.railroad.routes().count().max(1));
            let event = match deed {
                Deed::Throw(index, position) => Event::Throw { lever: lever(index), position, by: by() },
                Deed::Set(index) => Event::SetRoute { route: route(index), by: by() },
                Deed::Release(index) => Event::ReleaseRoute { route: route(index), by: by() },
                Deed::Lock(index) => Event::Lock { lever: lever(index), note: Said::new("x"), by: by() },
                Deed::Unlock(index) => Event::Unlock { lever: lever(index), by: by() },
                Deed::Stop => Event::Stop { by: by() },
                Deed::Resume => Event::Resume { by: by() },
                Deed::Pass(milliseconds) => { panel.pass(milliseconds); continue; }
                Deed::Change(index) => {
                    let (stood, locked, stopped) = (standings(&panel), locks(&panel), panel.state.stopped().cloned());
                    let were_held = held(&panel);
                    let (_, released) = changed(&mut panel, &variants[index]);
                    for (name, standing) in standings(&panel) {
                        prop_assert_eq!(standing, stood.get(&name).copied().unwrap_or_default(), "{}", name);
                    }
                    for (id, note) in locks(&panel) {
                        prop_assert_eq!(locked.get(&id), Some(&note));
                    }
                    let levers: Vec<String> = panel.railroad.levers().map(|lever| lever.id.clone()).collect();
                    prop_assert_eq!(locks(&panel).len(), locked.keys().filter(|id| levers.contains(id)).count());
                    prop_assert_eq!(panel.state.stopped(), stopped.as_ref());
                    let kept: Vec<String> = were_held.into_iter().filter(|id| !released.contains(id)).collect();
                    prop_assert_eq!(held(&panel), kept);
                    prop_assert!(panel.state.next_burst().is_none());
                    panel.simulator = live::link::Simulator::holding(&panel.railroad, &panel.state, panel.now);
                    prop_assert_eq!(&replayed(&panel.railroad, &panel.journal), &panel.state);
                    continue;
                }
            };
            drop(panel.happen(&event));
            prop_assert!(!conflicts(&panel));
        }
        prop_assert_eq!(&replayed(&panel.railroad, &panel.journal), &panel.state);
        for held in panel.state.held() {
            let sight: RouteSight = panel.state.route_sight(&panel.railroad, held);
            prop_assert!(!matches!(sight, RouteSight::NotThrown(lever) if panel.railroad.lever(lever).is_none()));
        }
    }
}
