//! How parts fail, and how often: the one table of priors.
//!
//! # Source
//! Common practice, no source: the figures are guesses that put what builders meet often before what they meet seldom. They
//! order suspects and choose tests; no suspect is ever left out because of them.

/// A way in which a part of one kind fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mode {
    /// A supply or booster gives nothing.
    SupplyDead,
    /// A supply gives too little.
    SupplyWeak,
    /// A run of a bus is interrupted.
    RunOpen,
    /// A joint in a run of a bus has too much resistance.
    RunJoint,
    /// The two conductors of a run touch.
    RunShort,
    /// The wires from the track bus to a decoder are interrupted.
    FeedOpen,
    /// A decoder is dead.
    DecoderDead,
    /// A decoder listens to the board before or after its own.
    OffByFour,
    /// A decoder listens to addresses that nobody sends.
    AddressUnused,
    /// An output of a decoder is dead.
    OutputDead,
    /// The wires from an output to a motor are interrupted.
    MotorOpen,
    /// They touch.
    MotorShort,
    /// They are swapped.
    MotorSwapped,
    /// A motor does not move.
    MotorStuck,
    /// A motor is worn: it moves slowly.
    MotorWorn,
    /// A pair of buttons does nothing.
    PairDead,
    /// A strip is dead.
    StripDead,
    /// The cable to a strip is interrupted.
    CableOpen,
    /// The link from the screen to the system is lost.
    LinkLost,
    /// A dropper is off its rail or its bus.
    DropperOpen,
    /// What turns a reversing section over is dead.
    UnitDead,
    /// The wire to a frog is interrupted.
    FrogOpen,
    /// A contact that feeds a frog stays as it is in normal.
    ContactStuck,
    /// A contact that feeds a frog has its two rails swapped.
    ContactSwapped,
    /// A gap was not cut, or has closed.
    GapMissing,
    /// A lamp is out.
    LampOut,
    /// The wires to a lamp are interrupted.
    LampOpen,
}

impl Mode {
    /// In how many of a thousand such parts this is wrong on an evening when something is.
    pub fn in_thousand(self) -> u16 {
        match self {
            Self::SupplyDead | Self::OutputDead | Self::MotorShort | Self::StripDead => 4,
            Self::RunOpen | Self::RunShort => 3,
            Self::DecoderDead => 5,
            Self::SupplyWeak
            | Self::FeedOpen
            | Self::AddressUnused
            | Self::PairDead
            | Self::UnitDead
            | Self::GapMissing => 6,
            Self::RunJoint
            | Self::OffByFour
            | Self::CableOpen
            | Self::FrogOpen
            | Self::ContactStuck
            | Self::ContactSwapped
            | Self::LampOpen => 8,
            Self::MotorSwapped | Self::MotorStuck | Self::DropperOpen => 10,
            Self::MotorOpen | Self::LinkLost | Self::LampOut => 15,
            Self::MotorWorn => 20,
        }
    }

    /// The key under which `[likelihood]` of a description overrides that.
    pub fn key(self) -> &'static str {
        match self {
            Self::SupplyDead => "supply_dead",
            Self::SupplyWeak => "supply_weak",
            Self::RunOpen => "run_open",
            Self::RunJoint => "run_joint",
            Self::RunShort => "run_short",
            Self::FeedOpen => "feed_open",
            Self::DecoderDead => "decoder_dead",
            Self::OffByFour => "off_by_four",
            Self::AddressUnused => "address_unused",
            Self::OutputDead => "output_dead",
            Self::MotorOpen => "motor_open",
            Self::MotorShort => "motor_short",
            Self::MotorSwapped => "motor_swapped",
            Self::MotorStuck => "motor_stuck",
            Self::MotorWorn => "motor_worn",
            Self::PairDead => "pair_dead",
            Self::StripDead => "strip_dead",
            Self::CableOpen => "cable_open",
            Self::LinkLost => "link_lost",
            Self::DropperOpen => "dropper_open",
            Self::UnitDead => "unit_dead",
            Self::FrogOpen => "frog_open",
            Self::ContactStuck => "contact_stuck",
            Self::ContactSwapped => "contact_swapped",
            Self::GapMissing => "gap_missing",
            Self::LampOut => "lamp_out",
            Self::LampOpen => "lamp_open",
        }
    }

    /// Every way.
    pub const ALL: [Self; 27] = [
        Self::SupplyDead,
        Self::SupplyWeak,
        Self::RunOpen,
        Self::RunJoint,
        Self::RunShort,
        Self::FeedOpen,
        Self::DecoderDead,
        Self::OffByFour,
        Self::AddressUnused,
        Self::OutputDead,
        Self::MotorOpen,
        Self::MotorShort,
        Self::MotorSwapped,
        Self::MotorStuck,
        Self::MotorWorn,
        Self::PairDead,
        Self::StripDead,
        Self::CableOpen,
        Self::LinkLost,
        Self::DropperOpen,
        Self::UnitDead,
        Self::FrogOpen,
        Self::ContactStuck,
        Self::ContactSwapped,
        Self::GapMissing,
        Self::LampOut,
        Self::LampOpen,
    ];
}

/// The odds of what is there in so many of a thousand against its not being there.
pub(crate) fn odds(in_thousand: u16) -> f64 {
    let share = f64::from(in_thousand.clamp(1, 999)) / 1000.0;
    share / (1.0 - share)
}
