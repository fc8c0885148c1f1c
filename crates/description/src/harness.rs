//! What the user says about wire: colours and sizes of conductors.

use crate::model::Name;
use measure::Conductor;
use notice::Spanned;
use std::collections::BTreeMap;

/// What one conductor of a wire does; its colour goes by that.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Job {
    /// One side of a stall motor.
    MotorOne,
    /// Its other side.
    MotorTwo,
    /// The coil that moves to normal.
    CoilNormal,
    /// The coil that moves to reverse.
    CoilReverse,
    /// What both coils share.
    CoilCommon,
    /// What tells a servo where to go.
    ServoSignal,
    /// A servo's supply.
    ServoPlus,
    /// A servo's return.
    ServoMinus,
    /// One rail, or the conductor of a bus that feeds it.
    RailA,
    /// The other rail.
    RailB,
    /// A frog.
    Frog,
    /// A button or toggle, to what it commands.
    Button,
    /// A lamp, from what it shows.
    Lamp,
    /// What buttons, toggles and lamps of a panel share.
    PanelCommon,
    /// The lamps of a light, or the lamp of a signal that shows at reverse.
    LampOn,
    /// The lamp of a signal that shows at normal.
    LampNormal,
    /// What the lamps of a light or signal share.
    LampCommon,
    /// A supply's positive side.
    SupplyPlus,
    /// A supply's negative side.
    SupplyMinus,
    /// The ready-made cable between strips.
    CabBus,
}

impl Job {
    /// Every job with its key in `[colours]`, in the order of the handbook. The cab bus has none: its cable is bought as it is.
    pub const KEYS: [(&'static str, Self); 19] = [
        ("motor_one", Self::MotorOne),
        ("motor_two", Self::MotorTwo),
        ("coil_normal", Self::CoilNormal),
        ("coil_reverse", Self::CoilReverse),
        ("coil_common", Self::CoilCommon),
        ("servo_signal", Self::ServoSignal),
        ("servo_plus", Self::ServoPlus),
        ("servo_minus", Self::ServoMinus),
        ("rail_a", Self::RailA),
        ("rail_b", Self::RailB),
        ("frog", Self::Frog),
        ("button", Self::Button),
        ("lamp", Self::Lamp),
        ("panel_common", Self::PanelCommon),
        ("lamp_on", Self::LampOn),
        ("lamp_normal", Self::LampNormal),
        ("lamp_common", Self::LampCommon),
        ("supply_plus", Self::SupplyPlus),
        ("supply_minus", Self::SupplyMinus),
    ];

    /// What it is called at the end of a wire: the words of its key.
    pub fn words(self) -> &'static str {
        match self {
            Self::MotorOne => "motor one",
            Self::MotorTwo => "motor two",
            Self::CoilNormal => "coil normal",
            Self::CoilReverse => "coil reverse",
            Self::CoilCommon => "coil common",
            Self::ServoSignal => "servo signal",
            Self::ServoPlus => "servo plus",
            Self::ServoMinus => "servo minus",
            Self::RailA => "rail a",
            Self::RailB => "rail b",
            Self::Frog => "frog",
            Self::Button => "button",
            Self::Lamp => "lamp",
            Self::PanelCommon => "common",
            Self::LampOn => "lamp on",
            Self::LampNormal => "lamp normal",
            Self::LampCommon => "lamp common",
            Self::SupplyPlus => "plus",
            Self::SupplyMinus => "minus",
            Self::CabBus => "cab bus",
        }
    }
}

/// What a wire is for; the size of its conductors goes by that.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WireUse {
    /// To a stall motor or a servo.
    Motor,
    /// To a coil machine, which takes much for a moment.
    Coil,
    /// To a frog, and to the contact or unit that feeds it.
    Frog,
    /// From a bus to the rails, to a decoder or to a polarity unit.
    Feeder,
    /// To buttons, toggles and lamps, and to signals and lights.
    Panel,
    /// From a supply to what it feeds.
    Supply,
}

impl WireUse {
    /// Every use with its key in `[conductors]`, in the order of the handbook.
    pub const KEYS: [(&'static str, Self); 6] = [
        ("motor", Self::Motor),
        ("coil", Self::Coil),
        ("frog", Self::Frog),
        ("feeder", Self::Feeder),
        ("panel", Self::Panel),
        ("supply", Self::Supply),
    ];

    /// Its key in `[conductors]`.
    pub fn word(self) -> &'static str {
        Self::KEYS.iter().find(|(_, which)| *which == self).map_or("", |(word, _)| word)
    }
}

/// Where colours come from when the user writes none for a job.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ColourPreset {
    /// Any colour will do.
    #[default]
    None,
    /// The colours that NEM 605 recommends.
    Nem605,
}

/// `[colours]`.
#[derive(Clone, Debug, Default)]
pub struct Colours {
    /// Where colours come from.
    pub preset: ColourPreset,
    /// The user's own, which win over the preset.
    pub own: BTreeMap<Job, Name>,
}

/// `[conductors]`: the user's own sizes.
#[derive(Clone, Debug, Default)]
pub struct Conductors {
    /// The size for each use that has one.
    pub own: BTreeMap<WireUse, Spanned<Conductor>>,
}
