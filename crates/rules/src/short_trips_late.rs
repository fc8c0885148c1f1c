//! A short that opens the breaker only just: late, or not at all when a joint ages.

use notice::{Diagnostic, code};
use plan::model::Plan;
use plan::model::power::Trip;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for planned in plan.buses.iter().filter(|planned| planned.overload.is_none()) {
        let bus = &plan.network.buses[planned.bus];
        let late = planned.points.iter().filter(|point| point.trip == Trip::Late);
        let Some(least) =
            late.min_by(|a, b| a.times_trip.unwrap_or(0.0).total_cmp(&b.times_trip.unwrap_or(0.0)))
        else {
            continue;
        };
        let message = format!(
            "a short at `{}` on bus `{}` draws only {:.2} times what opens the breaker",
            least.place,
            bus.name,
            least.times_trip.unwrap_or(0.0)
        );
        found.push(
            Diagnostic::warning(code::SHORT_TRIPS_LATE, bus.span, message)
                .help("aim for twice the trip current everywhere: a heavier conductor, or a second feeder"),
        );
    }
    found
}
