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

    /// The odds of it against the part being good.
    pub fn odds(self) -> f64 {
        let share = f64::from(self.in_thousand()) / 1000.0;
        share / (1.0 - share)
    }
}
