//! What may truly be shown of the whole panel at one moment, and the words for it.

use live::{Railroad, Sight, State};
use network::Position;
use plan::model::LeverNumber;

/// The panel at one moment.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// Which opening of the panel this is: when it was opened, in milliseconds since 1970.
    pub run: u64,
    /// How many changes there have been since.
    pub change: u64,
    /// False once the panel is closing.
    pub open: bool,
    /// What keeps throws from being taken, in words for the operator; none when nothing does.
    pub trouble: Option<String>,
    /// Every lever, by number.
    pub levers: Vec<LeverNow>,
}

/// One lever at one moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeverNow {
    /// Its number.
    pub number: LeverNumber,
    /// What the description calls it, and with it the diagram.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What may be said of it.
    pub sight: Sight,
    /// Where it was thrown last.
    pub commanded: Option<Position>,
    /// Each machine's name and what may be said of it.
    pub machines: Vec<(String, Sight)>,
    /// The change that touched it last.
    pub changed: u64,
}

impl Snapshot {
    /// The lever of this number.
    pub fn lever(&self, number: LeverNumber) -> Option<&LeverNow> {
        self.levers.iter().find(|lever| lever.number == number)
    }

    /// The name of this state of the panel, for a stream that wants to go on from it.
    pub fn id(&self) -> String {
        format!("{}.{}", self.run, self.change)
    }

    /// The change that an id names, when it is an id of this opening of the panel.
    pub fn change_of(&self, id: &str) -> Option<u64> {
        let (run, change) = id.split_once('.')?;
        let change = change.parse().ok().filter(|&change| change <= self.change)?;
        (run.parse() == Ok(self.run)).then_some(change)
    }
}

impl LeverNow {
    pub(crate) fn see(railroad: &Railroad, state: &State, lever: &live::Lever, changed: u64) -> Self {
        let machines = lever.machines.iter().filter_map(|&id| {
            let machine = railroad.machine(id)?;
            Some((machine.name.clone(), state.standing(id).sight()))
        });
        Self {
            number: lever.number,
            id: lever.id.clone(),
            name: lever.name.clone(),
            sight: state.sight(lever),
            commanded: state.commanded(lever),
            machines: machines.collect(),
            changed,
        }
    }

    /// Where one press throws it: to the other position; to the same one again when no report came.
    pub fn next(&self) -> Position {
        match self.sight {
            Sight::At(position) | Sight::Moving(position) => position.other(),
            Sight::Overdue(position) => position,
            Sight::NotKnown | Sight::Apart => self.commanded.unwrap_or(Position::Normal),
        }
    }
}

/// The word by which style sheet and script know it.
pub(crate) fn look(sight: Sight) -> &'static str {
    match sight {
        Sight::NotKnown => "unknown",
        Sight::Moving(Position::Normal) => "to-normal",
        Sight::Moving(Position::Reverse) => "to-reverse",
        Sight::Overdue(_) => "overdue",
        Sight::At(position) => position.word(),
        Sight::Apart => "apart",
    }
}

/// The words that people read and hear about a lever.
pub(crate) fn words(lever: &LeverNow) -> String {
    match lever.sight {
        Sight::NotKnown => "not known".to_owned(),
        Sight::Moving(to) => format!("moving to {}", to.word()),
        Sight::Overdue(to) => format!("sent to {}, no report", to.word()),
        Sight::At(position) => position.word().to_owned(),
        Sight::Apart => {
            let machines = lever.machines.iter().filter_map(|(machine, sight)| match sight {
                Sight::At(position) => Some(format!("{machine} {}", position.word())),
                Sight::NotKnown | Sight::Moving(_) | Sight::Overdue(_) | Sight::Apart => None,
            });
            format!("apart: {}", machines.collect::<Vec<_>>().join(", "))
        }
    }
}

/// What people call a lever: its name where it has one that says more than its number.
pub(crate) fn called(lever: &LeverNow) -> String {
    if lever.name.is_empty() || lever.name == lever.number.to_string() {
        format!("Lever {}", lever.number)
    } else {
        lever.name.clone()
    }
}
