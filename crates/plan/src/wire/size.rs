//! How thick conductors are, by what they are for: what `[conductors]` says, or what is usual.
//!
//! # Source
//! 0.5 mm² to the rails: NEM 933/1 CH (2015), section 5, rail connections of module track. Every other size: common
//! practice, no source.

use crate::model::Strand;
use crate::reason::{SIZE_USUAL, SIZE_WRITTEN};
use description::{Description, WireUse};
use measure::{Conductor, Units};
use notice::{Because, Decided};

/// The usual size, in square millimetres and as an American gauge.
const fn usual(which: WireUse) -> (f64, u8) {
    match which {
        WireUse::Motor => (0.25, 24),
        WireUse::Coil | WireUse::Feeder | WireUse::Supply => (0.5, 20),
        WireUse::Frog => (0.5, 22),
        WireUse::Panel => (0.14, 26),
    }
}

/// The size of the conductors of a wire.
pub(super) fn size_of(described: &Description, which: WireUse) -> Decided<Strand> {
    if let Some(own) = described.conductors.own.get(&which) {
        let why = Because::new(&SIZE_WRITTEN, [own.value.to_string().into(), which.word().into()]);
        return Decided::new(Strand::Size(own.value, which), why);
    }
    let (area, gauge) = usual(which);
    let size = match described.layout.units {
        Units::Metric => Conductor::SquareMm(area),
        Units::Imperial => Conductor::Awg(gauge),
    };
    let why = Because::new(&SIZE_USUAL, [size.to_string().into(), which.word().into()]);
    Decided::new(Strand::Size(size, which), why)
}
