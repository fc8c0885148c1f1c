//! Whole sessions on a false clock and a modelled layout. A failing case prints what was done in it.

use live::link::Simulator;
use live::{Effect, Entry, Event, Moment, Railroad, Said, Sight, State, Wait, step};
use network::Position;
use proptest::prelude::*;

use crate::{by_hand, rows::positions};

/// One thing that someone does, after this many milliseconds.
type Deed = (u64, u16, Position);

/// A panel with its modelled layout and everything that was written down.
struct Evening {
    railroad: Railroad,
    state: State,
    simulator: Simulator,
    journal: Vec<String>,
    now: Moment,
}

impl Evening {
    fn new() -> Self {
        let railroad = by_hand::railroad(&[(1, &["1"]), (2, &["2"]), (4, &["4A", "4B"]), (7, &["7"])]);
        let state = State::unknown(&railroad);
        let simulator = Simulator::new(&railroad);
        Self { railroad, state, simulator, journal: Vec::new(), now: Moment(0) }
    }

    fn happen(&mut self, event: &Event) {
        for effect in step(&self.railroad, &self.state, event, self.now) {
            match effect {
                Effect::Record(entry) => {
                    self.journal.push(entry.write());
                    self.state.apply(&self.railroad, &entry).unwrap();
                }
                Effect::Send { machine, position } => self.simulator.send(machine, position, self.now),
                Effect::Announce { lever } => assert!(self.railroad.lever(lever).is_some()),
                Effect::Refuse(_) | Effect::StopLinks | Effect::ResumeLinks | Effect::AnnouncePanel => {}
            }
        }
    }

    /// Lets time pass up to this moment, with every report in its time.
    fn pass_until(&mut self, then: Moment) {
        while let Some(due) = self.simulator.next_due().filter(|&due| due <= then) {
            self.now = due;
            for report in self.simulator.reports(due) {
                self.happen(&report);
            }
        }
        self.now = then;
        self.happen(&Event::Tick);
    }

    fn run(&mut self, deeds: &[Deed]) {
        for &(pause, lever, position) in deeds {
            self.pass_until(self.now.after(Wait(pause)));
            self.happen(&Event::Throw { lever, position, by: Said::default() });
        }
    }

    fn replayed(&self) -> State {
        let mut state = State::unknown(&self.railroad);
        for row in &self.journal {
            state.apply(&self.railroad, &Entry::read(row).unwrap()).unwrap();
        }
        state
    }
}

fn deeds() -> impl Strategy<Value = Vec<Deed>> {
    // Levers 3, 5 and 6 are not there; a pause of nothing makes two throws at one moment.
    prop::collection::vec((prop_oneof![Just(0), 0..2_000u64], 1..8u16, positions()), 0..60)
}

proptest! {
    #[test]
    fn prop_a_replayed_journal_ends_in_the_same_state(deeds in deeds()) {
        let mut evening = Evening::new();
        evening.run(&deeds);
        prop_assert_eq!(&evening.replayed(), &evening.state);
    }

    #[test]
    fn prop_when_all_is_quiet_every_lever_stands_where_it_was_thrown_last(deeds in deeds()) {
        let mut evening = Evening::new();
        evening.run(&deeds);
        evening.pass_until(evening.now.after(Wait(10_000)));
        for lever in evening.railroad.levers() {
            let last = deeds.iter().rev().find(|(_, number, _)| *number == lever.number);
            let expected = last.map_or(Sight::NotKnown, |&(_, _, position)| Sight::At(position));
            prop_assert_eq!(evening.state.sight(lever), expected, "lever {}", lever.number);
        }
    }

    #[test]
    fn prop_a_panel_stopped_at_any_time_and_opened_again_ends_where_it_would_have(
        deeds in deeds(),
        stop_after in 0..60usize,
    ) {
        let mut through = Evening::new();
        through.run(&deeds);
        through.pass_until(through.now.after(Wait(10_000)));

        let (before, after) = deeds.split_at(stop_after.min(deeds.len()));
        let mut stopped = Evening::new();
        stopped.run(before);
        stopped.state = stopped.replayed();
        stopped.simulator = Simulator::holding(&stopped.railroad, &stopped.state, stopped.now);
        stopped.run(after);
        stopped.pass_until(stopped.now.after(Wait(10_000)));
        for lever in through.railroad.levers() {
            prop_assert_eq!(stopped.state.sight(lever), through.state.sight(lever));
        }
    }

    #[test]
    fn prop_no_lever_is_shown_in_a_position_that_its_machines_have_not_reported(deeds in deeds()) {
        let mut evening = Evening::new();
        for deed in deeds {
            evening.run(&[deed]);
            for lever in evening.railroad.levers() {
                if let Sight::At(position) = evening.state.sight(lever) {
                    for &machine in &lever.machines {
                        prop_assert_eq!(evening.state.standing(machine).confirmed, Some(position));
                        prop_assert_eq!(evening.state.standing(machine).commanded, Some(position));
                    }
                }
            }
        }
    }
}
