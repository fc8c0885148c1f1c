//! What colour a conductor has, by what it does: what `[colours]` says, or the preset's, or any.
//!
//! # Source
//! NEM 605 (2014), "marking of electrical conductors", a recommendation. Table 1: common return black; positive to ground red;
//! digital, positive pulses red, negative pulses brown; control of turnouts, signals and other accessories green; other
//! violet. Table 2: turnouts green alone. Table 3: feedback of a turnout's position brown-green. A frog changes between the two
//! rails, which the table does not foresee, so it is "other"; a lamp shows a position, so it is feedback.

use crate::model::ANY_COLOUR;
use crate::reason::{COLOUR_ANY, COLOUR_BOUGHT, COLOUR_NEM605, COLOUR_WRITTEN};
use description::{ColourPreset, Description, Job};
use notice::{Because, Decided};

/// The colour that NEM 605 recommends, and the use that its table gives it for.
fn nem605(job: Job) -> Option<(&'static str, &'static str)> {
    match job {
        Job::MotorOne
        | Job::MotorTwo
        | Job::CoilNormal
        | Job::CoilReverse
        | Job::ServoSignal
        | Job::Button
        | Job::LampOn
        | Job::LampNormal => Some(("green", "control of turnouts, signals and other accessories")),
        Job::CoilCommon | Job::ServoMinus | Job::PanelCommon | Job::LampCommon | Job::SupplyMinus => {
            Some(("black", "common return"))
        }
        Job::ServoPlus | Job::SupplyPlus => Some(("red", "positive to ground")),
        Job::RailA => Some(("red", "digital, positive pulses")),
        Job::RailB => Some(("brown", "digital, negative pulses")),
        Job::Frog => Some(("violet", "other")),
        Job::Lamp => Some(("brown-green", "feedback of a turnout's position")),
        Job::CabBus => None,
    }
}

/// The colour of a conductor.
pub(super) fn colour_of(described: &Description, job: Job) -> Decided<String> {
    let any = |why| Decided::new(ANY_COLOUR.to_owned(), why);
    if job == Job::CabBus {
        return any(Because::new(&COLOUR_BOUGHT, []));
    }
    if let Some(own) = described.colours.own.get(&job) {
        let why = Because::new(&COLOUR_WRITTEN, [own.value.as_str().into(), job.words().into()]);
        return Decided::new(own.value.clone(), why);
    }
    match (described.colours.preset, nem605(job)) {
        (ColourPreset::Nem605, Some((colour, group))) => {
            Decided::new(colour.to_owned(), Because::new(&COLOUR_NEM605, [colour.into(), group.into()]))
        }
        (ColourPreset::None, _) | (_, None) => any(Because::new(&COLOUR_ANY, [job.words().into()])),
    }
}
