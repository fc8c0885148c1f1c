//! What a description says of the time that work takes.

use measure::{Duration, Share};

/// `[work]`: how long it takes to build and to change things.
///
/// # Source
/// The usual values: common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// Fitting one machine, with its linkage.
    pub machine: Duration,
    /// Mounting and programming one decoder.
    pub decoder: Duration,
    /// Mounting and setting up one strip.
    pub strip: Duration,
    /// Fitting one light, signal or the like.
    pub accessory: Duration,
    /// Laying one wire, both ends.
    pub wire: Duration,
    /// Putting up one control with its number plate.
    pub lever: Duration,
    /// Moving one lead to another output.
    pub lead: Duration,
    /// Changing one label or plate.
    pub relabel: Duration,
    /// Setting one address of a thing that is there.
    pub reprogram: Duration,
    /// What taking a thing out takes, as a share of fitting it.
    pub take_out: Share,
}

impl Default for Work {
    fn default() -> Self {
        let minutes = |count: u32| Duration::new(f64::from(count) * 60.0);
        Self {
            machine: minutes(45),
            decoder: minutes(30),
            strip: minutes(45),
            accessory: minutes(20),
            wire: minutes(10),
            lever: minutes(5),
            lead: minutes(10),
            relabel: minutes(2),
            reprogram: minutes(5),
            take_out: Share::new(0.5),
        }
    }
}
