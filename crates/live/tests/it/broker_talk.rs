//! What panels on a message broker say to one another, message by message, over a broker that hands everything on at once.

use live::link::broker::{Asked, Broker, Clocks, Message, Panel, Share, Terms, Told, level_of};
use live::{
    Elsewhere, Entry, Event, Happened, HeldBy, Hold, Moment, Railroad, Refusal, Said, Stands, State, Wait,
    step,
};
use network::Position;
use proptest::prelude::*;

use crate::broker::LAYOUT;

/// A panel with a link of its own to the machine, and one that only asks.
struct Club {
    yard: Broker,
    tower: Broker,
    now: u64,
    said: Vec<Message>,
}

const STEP: u64 = 500;

fn clocks(now: u64) -> Clocks {
    Clocks { passed: Moment(now), wall: Moment(1_800_000_000_000 + now) }
}

fn part(layout: &str, me: &str) -> Broker {
    let railroad = Railroad::new(testkit::plan_of(layout)).unwrap();
    let reach = railroad.links().iter().find(|reach| reach.name == "link club").unwrap();
    Broker::of(&railroad, reach, me, Terms::USUAL).unwrap()
}

fn asks_only() -> String {
    LAYOUT.replace("[link.model]\nkind = \"simulator\"\n", "")
}

fn shown(stands: Stands) -> Panel {
    Panel { shares: [("wharf".to_owned(), Share { may: true, stands })].into(), ..Panel::default() }
}

impl Club {
    /// Both connected, and the yard drives the machine.
    fn settled() -> Self {
        let (yard, tower) = (part(LAYOUT, "yard"), part(&asks_only(), "tower"));
        let mut club = Self { yard, tower, now: 0, said: Vec::new() };
        club.yard.show(shown(Stands::At(Position::Normal)), clocks(0));
        club.yard.connected(clocks(0));
        club.tower.connected(clocks(0));
        club.pass(15_000);
        assert_eq!(club.tower.driven("wharf", clocks(club.now)).unwrap().1, "yard");
        club
    }

    /// Time passes for both, and what they say reaches both.
    fn pass(&mut self, wait: u64) {
        let until = self.now + wait;
        loop {
            let now = clocks(self.now);
            self.yard.tick(now);
            self.tower.tick(now);
            loop {
                let said: Vec<Message> = self.yard.take().into_iter().chain(self.tower.take()).collect();
                if said.is_empty() {
                    break;
                }
                for message in &said {
                    self.yard.hear(&message.topic, &message.payload, false, now);
                    self.tower.hear(&message.topic, &message.payload, false, now);
                }
                self.said.extend(said);
            }
            if self.now >= until {
                return;
            }
            self.now += STEP;
        }
    }

    fn asked(&mut self) -> Vec<Asked> {
        let asked = |told| if let Told::Asked(asked) = told { Some(asked) } else { None };
        self.yard.told().into_iter().filter_map(asked).collect()
    }

    fn tower_told(&mut self) -> Vec<Elsewhere> {
        let said = |told| if let Told::Elsewhere(said) = told { Some(said) } else { None };
        self.tower.told().into_iter().filter_map(said).collect()
    }
}

#[test]
fn a_machine_that_is_driven_elsewhere_is_shown_as_its_driver_says() {
    let mut club = Club::settled();
    let told = club.tower_told();
    assert_eq!(told.last(), Some(&stands(Stands::At(Position::Normal))), "{told:?}");
    club.yard.show(shown(Stands::Moving(Position::Reverse)), clocks(club.now));
    club.pass(0);
    assert_eq!(club.tower_told(), [stands(Stands::Moving(Position::Reverse))]);
}

fn stands(stands: Stands) -> Elsewhere {
    Elsewhere::Stands { machine: "wharf".to_owned(), stands }
}

#[test]
fn a_machine_whose_driver_is_silent_is_out_of_touch_and_not_where_it_last_was() {
    let mut club = Club::settled();
    club.tower_told();
    club.yard.disconnected(clocks(club.now));
    club.pass(12_000);
    let lost = club.tower_told();
    assert!(
        matches!(&lost[..], [Elsewhere::Lost { is_seen: false, why, .. }] if why.as_str() == "no panel that moves it is in touch"),
        "{lost:?}"
    );
    assert!(
        !club.yard.permit("wharf").unwrap().is_good(clocks(club.now)),
        "and its driver stopped by itself"
    );
    assert!(!club.tower.throw("wharf", Position::Normal, Moment(club.now), clocks(club.now)));
}

#[test]
fn an_ask_is_done_once_and_answered_each_time() {
    let mut club = Club::settled();
    assert!(club.tower.throw("wharf", Position::Reverse, Moment(1), clocks(club.now)));
    let said = club.tower.take();
    let [ask] = &said[..] else { panic!("{said:?}") };
    assert_eq!((ask.retain, ask.expiry), (false, Some(Wait(1_000))));
    for _ in 0..2 {
        club.yard.hear(&ask.topic, &ask.payload, false, clocks(club.now));
    }
    let asked = club.asked();
    assert_eq!(asked.len(), 1);
    assert_eq!(
        (asked[0].lever, asked[0].position, asked[0].server.as_str()),
        (1, Position::Reverse, "tower")
    );
    let why = "Lever 1 is locked: “wheel in the frog”. Ask whether that is over; then unlock it.";
    club.yard.answered(&asked[0], Some(why.to_owned()));
    club.tower_told();
    club.pass(0);
    let declined = Elsewhere::Declined { machine: "wharf".to_owned(), why: Said::new(why) };
    assert_eq!(club.tower_told(), [declined, stands(Stands::At(Position::Normal))]);
    club.yard.hear(&ask.topic, &ask.payload, false, clocks(club.now));
    assert_eq!(club.asked(), []);
    assert_eq!(club.yard.take().len(), 1, "the same answer once more");
}

#[test]
fn an_ask_that_was_under_way_for_long_or_was_kept_is_not_done() {
    let mut club = Club::settled();
    club.tower.throw("wharf", Position::Reverse, Moment(1), clocks(club.now));
    let ask = club.tower.take().remove(0);
    club.yard.hear(&ask.topic, &ask.payload, true, clocks(club.now));
    assert_eq!(club.asked(), [], "an ask is never kept");
    club.pass(5_000);
    club.tower_told();
    club.yard.hear(&ask.topic, &ask.payload, false, clocks(club.now));
    assert_eq!(club.asked(), []);
    club.pass(0);
    let told = club.tower_told();
    assert!(
        matches!(&told[0], Elsewhere::Declined { why, .. } if why.as_str().contains("too long")),
        "{told:?}"
    );
}

#[test]
fn what_another_panel_holds_is_told_and_let_go_when_it_is_silent_for_long() {
    let mut club = Club::settled();
    club.tower_told();
    let hold = ("wharf".to_owned(), HeldBy::Lock, Said::new("wheel in the frog"), Said::new("Ruth"));
    club.yard
        .show(Panel { holds: vec![hold.clone()], ..shown(Stands::At(Position::Normal)) }, clocks(club.now));
    club.pass(0);
    let (note, by) = (hold.2, hold.3);
    let held = Hold { held_by: HeldBy::Lock, panel: Said::new("Tern Harbor"), note, by };
    let server = Said::new("yard");
    assert_eq!(
        club.tower_told(),
        [Elsewhere::Held { machine: "wharf".into(), server: server.clone(), hold: held }]
    );
    let will = club.yard.will();
    assert!(will.retain);
    club.yard.disconnected(clocks(club.now));
    club.tower.hear(&will.topic, &will.payload, false, clocks(club.now));
    club.pass(5_000);
    assert_eq!(club.tower_told(), [], "its last will alone lets nothing go");
    club.pass(6_000);
    let let_go = Elsewhere::LetGo { machine: "wharf".into(), server, by: HeldBy::Lock };
    assert!(club.tower_told().contains(&let_go));
}

#[test]
fn a_stop_is_heeded_once_for_each_time_it_was_asked_for() {
    let mut club = Club::settled();
    let stops =
        |broker: &mut Broker| broker.told().into_iter().filter(|told| matches!(told, Told::Stop(_))).count();
    let is = |stopped| Panel { stopped, ..shown(Stands::At(Position::Normal)) };
    club.yard.show(is(Some(Moment(5))), clocks(club.now));
    club.pass(0);
    assert!(club.said.iter().any(|message| message.topic == "harbor/stop" && !message.retain));
    assert_eq!(stops(&mut club.tower), 1);
    // Stopped here, and let go on by people here, while the yard is still stopped.
    club.tower.show(Panel { stopped: Some(Moment(6)), ..Panel::default() }, clocks(club.now));
    club.pass(2_000);
    club.tower.show(Panel::default(), clocks(club.now));
    club.pass(5_000);
    assert_eq!(stops(&mut club.tower), 0, "that the yard is still stopped is no new stop");
    assert_eq!(stops(&mut club.yard), 0, "what a panel heeds it does not say on");
    club.yard.show(is(None), clocks(club.now));
    club.yard.show(is(Some(Moment(9))), clocks(club.now));
    club.pass(0);
    assert_eq!(stops(&mut club.tower), 1);
}

#[test]
fn a_stop_that_was_missed_is_heeded_when_its_panel_is_heard_again() {
    let mut club = Club::settled();
    club.yard
        .show(Panel { stopped: Some(Moment(5)), ..shown(Stands::At(Position::Normal)) }, clocks(club.now));
    club.yard.take();
    club.pass(2_000);
    assert!(club.tower.told().iter().any(|told| matches!(told, Told::Stop(_))));
}

#[test]
fn garbage_says_nothing() {
    let mut club = Club::settled();
    club.tower_told();
    club.yard.told();
    let lease = r#"{"server":"x","epoch":9007199254740993,"serial":1,"length_ms":6000,"held":true}"#;
    let long = r#"{"server":"x","epoch":9007199254740000,"serial":1,"length_ms":60000,"held":true}"#;
    for (topic, payload) in [
        ("harbor/lease/wharf", lease),
        ("harbor/lease/wharf", long),
        ("harbor/lease/wharf", r#"{"server":"","epoch":9,"serial":1,"length_ms":6000,"held":true}"#),
        ("harbor/lease/wharf", r#"{"server":"x","epoch":-9,"serial":1,"length_ms":6000,"held":true}"#),
        ("harbor/lease/wharf", r#"{"server":"x","epoch":"9","serial":1,"length_ms":6000}"#),
        ("harbor/machine/wharf", r#"{"server":"x","epoch":9007199254740000,"state":"at","position":null}"#),
        (
            "harbor/machine/wharf",
            r#"{"server":"x","epoch":9007199254740000,"state":"flying","position":"normal"}"#,
        ),
        ("harbor/machine/wharf", ""),
        ("harbor/ask/wharf", r#"{"position":"reverse"}"#),
        ("harbor/server/x", r#"{"server":"y","name":"y","here":true,"stop":3,"holds":[]}"#),
        ("harbor/stop", "yes"),
        ("harbor/stop", "{\"server\":"),
        ("elsewhere/stop", r#"{"server":"x","name":"x","stop":1}"#),
        ("harbor", "{}"),
    ] {
        for part in [&mut club.yard, &mut club.tower] {
            part.hear(topic, payload.as_bytes(), false, clocks(club.now));
        }
    }
    assert_eq!(club.tower_told(), []);
    assert_eq!(club.yard.told(), []);
    club.pass(3_000);
    assert_eq!(club.tower.driven("wharf", clocks(club.now)).unwrap().1, "yard");
}

proptest! {
    #[test]
    fn prop_no_message_is_too_strange(topic in "(harbor/(lease|machine|server|ask|answer)/(wharf|%[0-9A-F]{0,3}|.*)|harbor/stop|.*)", payload in prop::collection::vec(any::<u8>(), 0..60)) {
        let mut tower = part(&asks_only(), "tower");
        tower.hear(&topic, &payload, false, clocks(0));
        prop_assert_eq!(tower.driven("wharf", clocks(0)), None);
    }

    #[test]
    fn prop_a_name_is_one_level_of_a_topic(name in ".+") {
        let level = level_of(&name);
        let parts_topics = |letter: char| matches!(letter, '/' | '+' | '#') || letter.is_control();
        prop_assert!(!level.contains(parts_topics));
        // Names that differ do so as levels as well: `%` is written as its bytes too.
        prop_assert_eq!(level.matches('%').count(), name.chars().filter(|letter| matches!(letter, '/' | '+' | '#' | '%') || letter.is_control()).map(char::len_utf8).sum::<usize>());
    }
}

fn heard(railroad: &Railroad, state: &mut State, said: Elsewhere) {
    for effect in step(railroad, state, &Event::Elsewhere(said), Moment(7)) {
        if let live::Effect::Record(entry) = effect {
            state.apply(railroad, &entry).unwrap();
        }
    }
}

#[test]
fn what_other_panels_said_is_refused_in_words_and_kept_in_a_checkpoint() {
    let railroad = Railroad::new(testkit::plan_of(LAYOUT)).unwrap();
    let mut state = State::unknown(&railroad);
    let machine = || "wharf".to_owned();
    let refusal = |state: &State| {
        let throw = Event::Throw { lever: 1, position: Position::Reverse, by: Said::default() };
        let effect = step(&railroad, state, &throw, Moment(8)).remove(0);
        if let live::Effect::Refuse(refusal) = effect { Some(refusal) } else { None }
    };
    heard(&railroad, &mut state, stands(Stands::At(Position::Normal)));
    let why = Said::new("no panel that moves it is in touch");
    heard(&railroad, &mut state, Elsewhere::Lost { machine: machine(), why: why.clone(), is_seen: false });
    assert_eq!(refusal(&state), Some(Refusal::OutOfTouch { lever: 1, why }));
    let lever = railroad.lever(1).unwrap();
    assert_eq!(state.sight(lever), live::Sight::NotKnown);
    assert_eq!(State::read(&railroad, &state.write(&railroad)), Some(state.clone()));

    heard(
        &railroad,
        &mut state,
        Elsewhere::Reached { machine: machine(), over: Said::new("simulated layout") },
    );
    let hold = Hold {
        held_by: HeldBy::Lock,
        panel: Said::new("yard"),
        note: Said::new("wheel in the frog"),
        by: Said::new("Ruth"),
    };
    heard(&railroad, &mut state, Elsewhere::Held { machine: machine(), server: Said::new("x"), hold });
    heard(&railroad, &mut state, Elsewhere::Declined { machine: machine(), why: Said::new("busy") });
    assert_eq!(
        refusal(&state).unwrap().to_string(),
        "Lever 1 is locked on the panel yard by Ruth: “wheel in the frog”. Ask there whether that is over, and for it to be let go."
    );
    let own = Event::ThrowFor {
        lever: 1,
        position: Position::Reverse,
        by: Said::default(),
        server: Said::new("x"),
    };
    assert!(
        matches!(
            step(&railroad, &state, &own, Moment(8))[0],
            live::Effect::Record(Entry { what: Happened::Thrown { .. }, .. })
        ),
        "what a panel holds does not keep that panel itself"
    );
    assert_eq!(State::read(&railroad, &state.write(&railroad)), Some(state.clone()));
}

#[test]
fn two_routes_set_in_one_instant_on_two_panels_are_both_shown_as_not_safe() {
    let railroad = Railroad::new(testkit::plan_of(LAYOUT)).unwrap();
    let mut state = State::unknown(&railroad);
    let ids: Vec<_> = railroad.routes().map(|(id, route)| (id, route.id.clone())).collect();
    let [(own, _), (_, other), ..] = &ids[..] else { panic!("{ids:?}") };
    for effect in step(&railroad, &state, &Event::SetRoute { route: *own, by: Said::default() }, Moment(1)) {
        if let live::Effect::Record(entry) = effect {
            state.apply(&railroad, &entry).unwrap();
        }
    }
    let hold = Hold {
        held_by: HeldBy::Route,
        panel: Said::new("yard"),
        note: Said::new(other),
        by: Said::default(),
    };
    let machine = || "wharf".to_owned();
    heard(&railroad, &mut state, Elsewhere::Held { machine: machine(), server: Said::new("x"), hold });
    assert_eq!(state.route_sight(&railroad, &state.held()[0]), live::RouteSight::Disputed(1));
    let let_go = Elsewhere::LetGo { machine: machine(), server: Said::new("x"), by: HeldBy::Route };
    heard(&railroad, &mut state, let_go);
    assert_eq!(state.route_sight(&railroad, &state.held()[0]), live::RouteSight::Setting(1));
}

#[test]
fn a_layout_that_shares_nothing_any_more_is_opened_as_one_that_never_did() {
    let railroad = Railroad::new(testkit::plan_of(LAYOUT)).unwrap();
    let mut state = State::unknown(&railroad);
    let (machine, why) = ("wharf".to_owned(), Said::new("no panel that moves it is in touch"));
    heard(&railroad, &mut state, Elsewhere::Lost { machine, why, is_seen: false });
    let (alone, _) = LAYOUT.split_once("[link.model]").unwrap();
    let alone = Railroad::new(testkit::plan_of(alone)).unwrap();
    let mut state = State::read(&alone, &state.write(&railroad)).unwrap();
    for effect in step(&alone, &state, &Event::Opened, Moment(9)) {
        if let live::Effect::Record(entry) = effect {
            state.apply(&alone, &entry).unwrap();
        }
    }
    let throw = Event::Throw { lever: 1, position: Position::Reverse, by: Said::default() };
    let effects = step(&alone, &state, &throw, Moment(9));
    assert!(!matches!(effects[0], live::Effect::Refuse(_)), "{effects:?}");
}
