//! What a supply has to give, and the fuse behind it.

use super::lay::{Laid, percent, print_amps};
use crate::model::power::BusSupply;
use crate::reason::{FUSE_BEARS, FUSE_IS_BREAKER, FUSE_NONE, RATED_FOR};
use electric::{Ampacity, Fuse, FuseChoice, ampacity, fuse_for, supply_amps};
use measure::{Conductor, Current};
use notice::{Because, Decided};

/// A choice, no standard.
const HEADROOM: f64 = 1.25;

/// Each supply with what is asked of it: its share of what is held, and all that moves or is thrown, since that may be beside it.
pub(super) fn supplies(
    laid: &Laid<'_>,
    sizes: &[Conductor],
    given: &[f64],
    thrown_amps: f64,
) -> Vec<BusSupply> {
    let thinnest = thinnest(laid, sizes);
    let supplies = laid.sources.iter().enumerate().map(|(index, source)| {
        let amps = given.get(index).copied().unwrap_or(0.0).max(0.0) + laid.moving.amps() + thrown_amps;
        let facts = [print_amps(amps).into(), percent(HEADROOM - 1.0).into()];
        BusSupply {
            at: source.at,
            part: source.part.clone(),
            volts: source.volts,
            inner_ohms: source.inner.clone(),
            trip_amps: source.trip,
            amps,
            rated_amps: Decided::new(supply_amps(amps, HEADROOM), Because::new(&RATED_FOR, facts)),
            gives_amps: source.gives,
            fuse_amps: fuse(amps, source.trip, thinnest),
        }
    });
    supplies.collect()
}

/// What the thinnest conductor of the bus itself bears; feeders are short and end at one thing.
fn thinnest(laid: &Laid<'_>, sizes: &[Conductor]) -> Ampacity {
    let bears = sizes.iter().map(|&size| ampacity(size));
    let least = bears.min_by(|a, b| a.current.value().total_cmp(&b.current.value()));
    least.unwrap_or_else(|| ampacity(super::sizes::heaviest(laid)))
}

fn fuse(amps: f64, trip: Option<f64>, thinnest: Ampacity) -> Decided<Option<f64>> {
    let bears = thinnest.current.value();
    if let Some(trip) = trip.filter(|&trip| trip <= bears * (1.0 + 1e-9)) {
        let facts = [print_amps(trip).into(), print_amps(bears).into(), thinnest.source.into()];
        return Decided::new(None, Because::new(&FUSE_IS_BREAKER, facts));
    }
    // A link where one is made, or else a blade.
    let series = if amps < 7.0 { Fuse::Link } else { Fuse::Blade };
    match fuse_for(Current::new(amps), thinnest.current, series) {
        FuseChoice::Fits(fuse) => {
            let facts = [
                print_amps(fuse.value()).into(),
                print_amps(amps).into(),
                print_amps(bears).into(),
                thinnest.source.into(),
            ];
            Decided::new(Some(fuse.value()), Because::new(&FUSE_BEARS, facts))
        }
        FuseChoice::ConductorTooThin { .. } | FuseChoice::TooLarge => {
            let facts = [print_amps(amps).into(), print_amps(bears).into(), thinnest.source.into()];
            Decided::new(None, Because::new(&FUSE_NONE, facts))
        }
    }
}
