//! The questions that several sheets ask of a plan: what a lever is called, where its buttons are, which machine
//! stands where. Answers come as values for the templates.
//!
//! A lever travels as `(id, number, name)`: `id` is its row in the plan, which links on every sheet lead to. A machine
//! travels as `(name, motor, at)`. Everything a user wrote passes through [`Letters`] here.

use std::collections::BTreeMap;

use network::{AccessoryId, LeverId, MachineId, TrackId};
use notice::Because;
use plan::model::{Plan, PlannedLever};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::letters::{Letters, NAME_LETTERS_MAX, SENTENCE_LETTERS_MAX};
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
        self.words_up_to(words, NAME_LETTERS_MAX)
    }

    /// A user's words, as they can be printed, cut after `most` letters.
    pub(crate) fn words_up_to(&self, words: &str, most: usize) -> Value {
        self.letters(words, most).into_value()
    }

    /// The same, as letters that go into a drawing.
    pub(crate) fn letters(&self, words: &str, most: usize) -> String {
        self.letters.set(words, most)
    }

    /// A user's words, or none where there are none to print.
    pub(crate) fn words_if(&self, words: Option<&str>) -> Value {
        words
            .map(|words| self.letters.set(words, NAME_LETTERS_MAX))
            .filter(|words| !words.is_empty())
            .into_value()
    }

    /// What was decided about a lever.
    pub(crate) fn planned(&self, lever: LeverId) -> Option<&'a PlannedLever> {
        self.row_of.get(&lever).and_then(|&row| self.plan.levers.get(row))
    }

    /// The row of the lever that the description calls so.
    pub(crate) fn row_of_lever(&self, id: &str) -> Option<usize> {
        let levers = &self.plan.levers;
        levers.iter().position(|planned| self.plan.network.lever(planned.lever).id == id)
    }

    /// A lever: `(id, number, name)`; number and id are none where the plan leaves it out.
    pub(crate) fn lever(&self, lever: LeverId) -> Dict {
        dict! {
            "id" => self.row_of.get(&lever).copied(),
            "number" => self.planned(lever).map(|planned| planned.number.value),
            "name" => self.words(&self.plan.network.lever(lever).name),
        }
    }

    /// A signal or light in the place of a lever: `(id, number, name)`; it has no row to link to.
    pub(crate) fn accessory(&self, accessory: AccessoryId) -> Dict {
        let described = self.plan.network.accessory(accessory);
        dict! {
            "id" => Value::None,
            "number" => self.plan.accessory(accessory).map(|planned| planned.number.value),
            "name" => self.words(&format!("{} {}", described.kind.word(), described.name)),
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

    /// Whether some row of a table may be taller than a page, so that it has to be broken.
    ///
    /// A page has some 45 rows of text, and the narrowest column of names holds about 14 letters in each.
    pub(crate) fn has_tall_rows(&self) -> bool {
        const LETTERS_MAX: usize = 500;
        const SETTINGS_MAX: usize = 150;
        let network = &self.plan.network;
        let machine_letters = |machines: &[MachineId]| {
            machines.iter().map(|&machine| network.machine(machine).name.chars().count() + 2).sum::<usize>()
        };
        let track_letters = |tracks: &[TrackId]| {
            tracks.iter().map(|&track| network.track(track).name.chars().count() + 2).sum::<usize>()
        };
        network.levers.iter().any(|lever| machine_letters(&lever.machines) > LETTERS_MAX)
            || self.plan.routes.iter().any(|route| {
                route.needs.len() > SETTINGS_MAX || track_letters(&route.tracks) > 2 * LETTERS_MAX
            })
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
            dict! { "sentence" => self.words_up_to(sentence, SENTENCE_LETTERS_MAX), "rule" => because.rule.name }.into_value()
        };
        because.map(reason).collect()
    }
}
