//! The questions that several sheets ask of a plan: what a lever is called, where its buttons are, which machine
//! stands where. Answers come as values for the templates.
//!
//! A lever travels as `(id, number, name)`: `id` is its row in the plan, which links on every sheet lead to. A machine
//! travels as `(name, motor, at)`. Everything a user wrote passes through [`Letters`] here.

use std::collections::BTreeMap;

use network::{LeverId, MachineId, TrackId};
use notice::Because;
use plan::model::{Plan, PlannedLever};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::letters::Letters;
use crate::world::Fonts;

/// A plan, made ready to be asked.
pub(crate) struct Ledger<'a> {
    /// The plan.
    pub(crate) plan: &'a Plan,
    row_of: BTreeMap<LeverId, usize>,
    letters: Letters,
}

impl<'a> Ledger<'a> {
    /// The ledger of a plan.
    pub(crate) fn of(plan: &'a Plan) -> Self {
        let row_of = plan.levers.iter().enumerate().map(|(row, planned)| (planned.lever, row)).collect();
        Self { plan, row_of, letters: Letters::of(Fonts::embedded()) }
    }

    /// A user's words, as they can be printed.
    pub(crate) fn words(&self, words: &str) -> Value {
        self.letters.set(words).into_value()
    }

    /// A user's words, or none where there are none to print.
    pub(crate) fn words_if(&self, words: Option<&str>) -> Value {
        words.map(|words| self.letters.set(words)).filter(|words| !words.is_empty()).into_value()
    }

    /// What was decided about a lever.
    pub(crate) fn planned(&self, lever: LeverId) -> Option<&'a PlannedLever> {
        self.row_of.get(&lever).and_then(|&row| self.plan.levers.get(row))
    }

    /// A lever: `(id, number, name)`; number and id are none where the plan leaves it out.
    pub(crate) fn lever(&self, lever: LeverId) -> Dict {
        dict! {
            "id" => self.row_of.get(&lever).copied(),
            "number" => self.planned(lever).map(|planned| planned.number.value),
            "name" => self.words(&self.plan.network.lever(lever).name),
        }
    }

    /// A machine: `(name, motor, at)`.
    pub(crate) fn machine(&self, machine: MachineId) -> Dict {
        let network = &self.plan.network;
        let machine = network.machine(machine);
        dict! {
            "name" => self.words(&machine.name),
            "motor" => self.words(&machine.motor),
            "at" => self.words_if(network.joint(machine.joint).at.as_deref()),
        }
    }

    /// Several machines.
    pub(crate) fn machines(&self, machines: &[MachineId]) -> Array {
        machines.iter().map(|&machine| self.machine(machine).into_value()).collect()
    }

    /// The name of a track.
    pub(crate) fn track(&self, track: TrackId) -> Value {
        self.words(&self.plan.network.track(track).name)
    }

    /// Reasons: each `(sentence, rule)`.
    pub(crate) fn reasons<'b>(&self, because: impl Iterator<Item = &'b Because>) -> Array {
        let reason = |because: &Because| {
            let spoken = because.to_string();
            let cited = format!(" ({})", because.rule.name);
            let sentence = spoken.strip_suffix(&cited).unwrap_or(&spoken);
            dict! { "sentence" => self.words(sentence), "rule" => because.rule.name }.into_value()
        };
        because.map(reason).collect()
    }
}
