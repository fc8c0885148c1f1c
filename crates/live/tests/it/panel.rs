//! A panel with its modelled layout and everything that was written down, on a false clock.

use live::link::Simulator;
use live::{Effect, Entry, Event, Moment, Railroad, Refusal, RouteId, Said, Sight, State, Wait, step};
use network::{MachineId, Position};
use plan::model::LeverNumber;

/// The eight levers of the demo: 4 is the crossover.
pub(crate) const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");

/// The whole demo.
pub(crate) const TERN_HARBOR: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

pub(crate) struct Panel {
    pub(crate) railroad: Railroad,
    pub(crate) state: State,
    pub(crate) simulator: Simulator,
    pub(crate) journal: Vec<String>,
    pub(crate) now: Moment,
    /// What was sent to machines, and when.
    pub(crate) sent: Vec<(Moment, MachineId, Position)>,
}

impl Panel {
    pub(crate) fn of(text: &str) -> Self {
        Self::on(Railroad::new(testkit::plan_of(text)).unwrap())
    }

    pub(crate) fn on(railroad: Railroad) -> Self {
        let (state, simulator) = (State::unknown(&railroad), Simulator::new(&railroad));
        Self { railroad, state, simulator, journal: Vec::new(), now: Moment(1_000_000), sent: Vec::new() }
    }

    /// Runs one event; gives back why it was refused.
    pub(crate) fn happen(&mut self, event: &Event) -> Result<(), Refusal> {
        for effect in step(&self.railroad, &self.state, event, self.now) {
            match effect {
                Effect::Record(entry) => {
                    self.journal.push(entry.write());
                    self.state.apply(&self.railroad, &entry).unwrap();
                }
                Effect::Send { machine, position } => {
                    self.sent.push((self.now, machine, position));
                    self.simulator.send(machine, position, self.now);
                }
                Effect::StopLinks => self.simulator.stop_trains(self.now),
                Effect::ResumeLinks => self.simulator.let_trains_run(),
                Effect::Announce { lever } => assert!(self.railroad.lever(lever).is_some()),
                Effect::AnnouncePanel => {}
                Effect::Refuse(refusal) => return Err(refusal),
            }
        }
        Ok(())
    }

    /// Lets so many milliseconds pass, with every report and every burst in its time.
    pub(crate) fn pass(&mut self, milliseconds: u64) {
        let then = self.now.after(Wait(milliseconds));
        loop {
            let due = [self.simulator.next_due(), self.state.next_burst()].into_iter().flatten().min();
            let Some(due) = due.filter(|&due| due <= then) else { break };
            self.now = self.now.max(due);
            for report in self.simulator.reports(self.now) {
                self.happen(&report).unwrap();
            }
            self.happen(&Event::Tick).unwrap();
        }
        self.now = then;
        self.happen(&Event::Tick).unwrap();
    }

    /// The power fails, and the panel is opened again from what was written down.
    pub(crate) fn restart(&mut self) {
        self.state = self.replayed();
        self.simulator = Simulator::holding(&self.railroad, &self.state, self.now);
        self.happen(&Event::Opened).unwrap();
    }

    pub(crate) fn replayed(&self) -> State {
        let mut state = State::unknown(&self.railroad);
        for row in &self.journal {
            state.apply(&self.railroad, &Entry::read(row).unwrap()).unwrap();
        }
        state
    }

    pub(crate) fn throw(&mut self, lever: LeverNumber, position: Position) -> Result<(), Refusal> {
        self.happen(&Event::Throw { lever, position, by: by() })
    }

    pub(crate) fn route(&self, id: &str) -> RouteId {
        let known = || self.railroad.routes().map(|(_, route)| route.id.as_str()).collect::<Vec<_>>();
        self.railroad.route_called(id).unwrap_or_else(|| panic!("{:?}", known()))
    }

    pub(crate) fn set(&mut self, id: &str) -> Result<(), Refusal> {
        let route = self.route(id);
        self.happen(&Event::SetRoute { route, by: by() })
    }

    pub(crate) fn set_once(&mut self, id: &str) -> Result<(), Refusal> {
        let route = self.route(id);
        self.happen(&Event::SetOnce { route, by: by() })
    }

    pub(crate) fn release(&mut self, id: &str) -> Result<(), Refusal> {
        let route = self.route(id);
        self.happen(&Event::ReleaseRoute { route, by: by() })
    }

    pub(crate) fn sight(&self, lever: LeverNumber) -> Sight {
        self.state.sight(self.railroad.lever(lever).unwrap())
    }

    pub(crate) fn machine(&self, name: &str) -> MachineId {
        self.railroad.machine_named(name).unwrap()
    }
}

pub(crate) fn by() -> Said {
    Said::new("Ruth")
}
