//! Small advice with its reason in numbers: feeder spacing, where one more feeder helps most, supply size, fuse.

use crate::circuit::{Circuit, Run};
use crate::preferred::Fuse;
use crate::steady::Answer;
use crate::system::System;
use measure::Current;

/// A fuse is loaded to this share of its rating at most, so that it does not age (common practice, no source).
pub const FUSE_LOADED_MAX: f64 = 0.75;

/// The farthest that two feeders may be apart along a rail, so that `amps` midway lose at most `drop_volts`.
///
/// Midway the current comes from both sides, through a quarter of the loop between them.
pub fn feeder_spacing_m(drop_volts: f64, amps: f64, rail_loop_ohm_per_m: f64) -> f64 {
    4.0 * drop_volts / (amps * rail_loop_ohm_per_m)
}

/// What a supply has to be rated at, for this sum and headroom factor. The factor is a choice, no standard.
pub fn supply_amps(sum_amps: f64, headroom: f64) -> f64 {
    sum_amps * headroom
}

/// The fuse for a conductor, or why none fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FuseChoice {
    /// This one: the smallest that bears the load for good.
    Fits(Current),
    /// The load needs at least the first, the conductor bears no more than the second.
    ConductorTooThin {
        /// The smallest fuse that bears the load.
        needed: Current,
        /// What the conductor bears.
        bears: Current,
    },
    /// No fuse of the series is large enough.
    TooLarge,
}

/// The smallest fuse of a series that bears the load and is not above what the conductor bears.
pub fn fuse_for(load: Current, bears: Current, series: Fuse) -> FuseChoice {
    let Some(fuse) = series.at_or_above(Current::new(load.value() / FUSE_LOADED_MAX)) else {
        return FuseChoice::TooLarge;
    };
    if fuse.value() <= bears.value() * (1.0 + 1e-9) {
        FuseChoice::Fits(fuse)
    } else {
        FuseChoice::ConductorTooThin { needed: fuse, bears }
    }
}

/// A feeder tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeederGain {
    /// Its place in the list of candidates.
    pub candidate: usize,
    /// The lowest volts at any load with it.
    pub volts_min: f64,
    /// The lowest volts at any load without it.
    pub volts_min_before: f64,
}

/// Of these runs, the one whose laying lifts the lowest voltage most; none if none lifts it, or the circuit has no steady state
/// even with them.
pub fn best_feeder(circuit: &Circuit, candidates: &[Run]) -> Option<FeederGain> {
    let lowest = |circuit: &Circuit| {
        let system = System::new(circuit, &[]).ok()?;
        let Ok(Answer::Steady(state)) = system.steady() else { return None };
        state.load_volts.iter().flatten().copied().min_by(f64::total_cmp)
    };
    let volts_min_before = lowest(circuit).unwrap_or(0.0);
    let mut best: Option<FeederGain> = None;
    for (candidate, run) in candidates.iter().enumerate() {
        let mut fed = circuit.clone();
        fed.runs.push(run.clone());
        let Some(volts_min) = lowest(&fed) else { continue };
        let enough = best.map_or(volts_min_before, |best| best.volts_min);
        if volts_min > enough {
            best = Some(FeederGain { candidate, volts_min, volts_min_before });
        }
    }
    best
}
