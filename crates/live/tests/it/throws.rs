//! Single events and what follows from them.

use live::{
    CONFIRM_WAIT, Effect, Entry, Event, Happened, Moment, Railroad, Refusal, Said, Sight, State, Wait, step,
};
use network::{MachineId, Position};
use plan::model::LeverNumber;

use crate::by_hand::{plan, railroad};

const NOON: Moment = Moment(1_000_000);

fn harbor() -> Railroad {
    railroad(&[(1, &["1"]), (4, &["4A", "4B"])])
}

/// Runs one event and applies what it records, as the running panel does.
fn happen(railroad: &Railroad, state: &mut State, event: &Event, at: Moment) -> Vec<Effect> {
    let effects = step(railroad, state, event, at);
    for effect in &effects {
        if let Effect::Record(entry) = effect {
            state.apply(railroad, entry).unwrap();
        }
    }
    effects
}

fn throw(lever: LeverNumber, position: Position) -> Event {
    Event::Throw { lever, position, by: Said::default() }
}

fn confirmed(machine: usize, position: Position) -> Event {
    Event::Confirmed { machine: MachineId::at(machine), position }
}

fn sight(railroad: &Railroad, state: &State, number: LeverNumber) -> Sight {
    state.sight(railroad.lever(number).unwrap())
}

#[test]
fn nothing_is_known_at_first() {
    let railroad = harbor();
    let state = State::unknown(&railroad);
    assert_eq!(sight(&railroad, &state, 1), Sight::NotKnown);
    assert_eq!(state.commanded(railroad.lever(1).unwrap()), None);
}

#[test]
fn a_throw_is_recorded_then_sent_to_every_machine_then_announced() {
    let railroad = harbor();
    let effects = step(&railroad, &State::unknown(&railroad), &throw(4, Position::Reverse), NOON);
    let what = Happened::Thrown { lever: 4, position: Position::Reverse, by: Said::default() };
    assert_eq!(
        effects,
        [
            Effect::Record(Entry { at: NOON, what }),
            Effect::Send { machine: MachineId::at(1), position: Position::Reverse },
            Effect::Send { machine: MachineId::at(2), position: Position::Reverse },
            Effect::Announce { lever: 4 },
        ]
    );
}

#[test]
fn a_lever_that_is_not_there_is_refused_in_plain_words() {
    let railroad = harbor();
    let effects = step(&railroad, &State::unknown(&railroad), &throw(99, Position::Normal), NOON);
    assert_eq!(effects, [Effect::Refuse(Refusal::LeverUnknown(99))]);
    assert_eq!(Refusal::LeverUnknown(99).to_string(), "There is no lever 99 on this railroad.");
}

#[test]
fn a_report_of_a_machine_that_is_not_there_is_refused() {
    let railroad = harbor();
    let effects = step(&railroad, &State::unknown(&railroad), &confirmed(17, Position::Normal), NOON);
    assert_eq!(effects, [Effect::Refuse(Refusal::MachineUnknown)]);
}

#[test]
fn two_throws_at_one_moment_keep_their_order() {
    let railroad = harbor();
    let mut state = State::unknown(&railroad);
    happen(&railroad, &mut state, &throw(1, Position::Reverse), NOON);
    happen(&railroad, &mut state, &throw(1, Position::Normal), NOON);
    assert_eq!(sight(&railroad, &state, 1), Sight::Moving(Position::Normal));
}

#[test]
fn a_crossover_is_on_its_way_until_both_ends_have_reported() {
    let railroad = harbor();
    let mut state = State::unknown(&railroad);
    happen(&railroad, &mut state, &throw(4, Position::Reverse), NOON);
    happen(&railroad, &mut state, &confirmed(1, Position::Reverse), NOON);
    assert_eq!(sight(&railroad, &state, 4), Sight::Moving(Position::Reverse));
    happen(&railroad, &mut state, &confirmed(2, Position::Reverse), NOON);
    assert_eq!(sight(&railroad, &state, 4), Sight::At(Position::Reverse));
}

#[test]
fn a_report_of_the_old_position_is_no_arrival() {
    let railroad = harbor();
    let mut state = State::unknown(&railroad);
    happen(&railroad, &mut state, &throw(1, Position::Reverse), NOON);
    happen(&railroad, &mut state, &confirmed(0, Position::Normal), NOON);
    assert_eq!(sight(&railroad, &state, 1), Sight::Moving(Position::Reverse));
}

#[test]
fn points_moved_by_hand_are_shown_where_they_stand() {
    let railroad = harbor();
    let mut state = State::unknown(&railroad);
    happen(&railroad, &mut state, &confirmed(0, Position::Reverse), NOON);
    assert_eq!(sight(&railroad, &state, 1), Sight::At(Position::Reverse));
    happen(&railroad, &mut state, &confirmed(1, Position::Normal), NOON);
    assert_eq!(sight(&railroad, &state, 4), Sight::NotKnown, "4B has never reported");
    happen(&railroad, &mut state, &confirmed(2, Position::Reverse), NOON);
    assert_eq!(sight(&railroad, &state, 4), Sight::Apart, "the two ends disagree");
}

#[test]
fn a_machine_that_does_not_report_in_time_is_said_to_be_overdue_once() {
    let railroad = harbor();
    let mut state = State::unknown(&railroad);
    happen(&railroad, &mut state, &throw(4, Position::Reverse), NOON);
    let just_before = NOON.after(Wait(CONFIRM_WAIT.0 - 1));
    assert_eq!(happen(&railroad, &mut state, &Event::Tick, just_before), []);
    let effects = happen(&railroad, &mut state, &Event::Tick, NOON.after(CONFIRM_WAIT));
    assert_eq!(effects.len(), 3, "two machines recorded, one lever announced: {effects:?}");
    assert_eq!(sight(&railroad, &state, 4), Sight::Overdue(Position::Reverse));
    assert_eq!(happen(&railroad, &mut state, &Event::Tick, NOON.after(Wait(CONFIRM_WAIT.0 * 2))), []);
    happen(&railroad, &mut state, &confirmed(1, Position::Reverse), NOON);
    happen(&railroad, &mut state, &confirmed(2, Position::Reverse), NOON);
    assert_eq!(sight(&railroad, &state, 4), Sight::At(Position::Reverse), "late is better than never");
}

#[test]
fn a_clock_that_was_set_back_makes_nothing_overdue() {
    let railroad = harbor();
    let mut state = State::unknown(&railroad);
    happen(&railroad, &mut state, &throw(1, Position::Reverse), NOON);
    assert_eq!(happen(&railroad, &mut state, &Event::Tick, Moment(0)), []);
}

#[test]
fn two_levers_of_one_number_are_not_run() {
    let error = Railroad::new(plan(&[(3, &["a"]), (3, &["b"])])).unwrap_err();
    assert_eq!(error.to_string(), "two levers carry the number 3; `throwbar check` shows both");
}
