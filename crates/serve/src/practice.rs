//! Faults that people may put into machines of the modelled layout, to practise on: the one table of their words.

use live::Wait;
use live::link::Fault;
use serde::Deserialize;
use utoipa::ToSchema;

/// How long a slow machine takes: longer than the panel waits for a report, and short enough to wait for.
const SLOW: Wait = Wait(10_000);

/// How a machine is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Practice {
    /// Nothing is wrong with it.
    Sound,
    /// It does not move.
    Stuck,
    /// It moves, and nobody hears of it.
    ReportLost,
    /// It moves to the other position than it is told.
    WrongWayRound,
    /// It takes its time.
    Slow,
    /// The decoder's output that drives it gives nothing.
    OutputDead,
}

impl Practice {
    pub(crate) const ALL: [Self; 6] =
        [Self::Sound, Self::Stuck, Self::ReportLost, Self::WrongWayRound, Self::Slow, Self::OutputDead];

    /// The word for programs.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Sound => "sound",
            Self::Stuck => "stuck",
            Self::ReportLost => "report-lost",
            Self::WrongWayRound => "wrong-way-round",
            Self::Slow => "slow",
            Self::OutputDead => "output-dead",
        }
    }

    /// The words that people read.
    pub(crate) fn says(self) -> &'static str {
        match self {
            Self::Sound => "sound",
            Self::Stuck => "sticks: it does not move",
            Self::ReportLost => "moves, but its report is lost",
            Self::WrongWayRound => "wired the wrong way round",
            Self::Slow => "slow: takes 10 seconds",
            Self::OutputDead => "its output is dead: nothing wired to it moves",
        }
    }

    /// What the modelled layout makes of it; none when the machine is sound.
    pub(crate) fn fault(self) -> Option<Fault> {
        match self {
            Self::Sound => None,
            Self::Stuck => Some(Fault::Stuck),
            Self::ReportLost => Some(Fault::FeedbackLost),
            Self::WrongWayRound => Some(Fault::WrongWayRound),
            Self::Slow => Some(Fault::Slow(SLOW)),
            Self::OutputDead => Some(Fault::OutputDead),
        }
    }

    /// Which of these a fault is.
    pub(crate) fn of(fault: Option<Fault>) -> Self {
        match fault {
            None => Self::Sound,
            Some(Fault::Stuck) => Self::Stuck,
            Some(Fault::FeedbackLost) => Self::ReportLost,
            Some(Fault::WrongWayRound) => Self::WrongWayRound,
            Some(Fault::Slow(_)) => Self::Slow,
            Some(Fault::OutputDead) => Self::OutputDead,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Practice;

    #[test]
    fn each_fault_is_known_by_its_own_word() {
        for practice in Practice::ALL {
            assert_eq!(Practice::of(practice.fault()), practice);
            let read: Practice = serde_json::from_value(practice.word().into()).unwrap();
            assert_eq!(read, practice, "the word that is told is the word that is taken");
        }
    }
}
