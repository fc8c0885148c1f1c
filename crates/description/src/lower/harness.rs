//! `[colours]` and `[conductors]`.

use super::table::Table;
use crate::harness::{ColourPreset, Colours, Conductors, Job, WireUse};
use measure::Conductor;

pub(super) fn colours(mut table: Table<'_, '_>) -> Colours {
    let presets = [("none", ColourPreset::None), ("NEM 605", ColourPreset::Nem605)];
    let preset = table.choice("preset", &presets).unwrap_or_default();
    let own = Job::KEYS.iter().filter_map(|&(key, job)| Some((job, table.name(key)?))).collect();
    table.close();
    Colours { preset, own }
}

pub(super) fn conductors(mut table: Table<'_, '_>) -> Conductors {
    let own = WireUse::KEYS
        .iter()
        .filter_map(|&(key, which)| Some((which, table.quantity(key, Conductor::read)?)))
        .collect();
    table.close();
    Conductors { own }
}
