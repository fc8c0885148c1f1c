//! A short that the breaker never notices: the wire glows instead.

use notice::{Diagnostic, code};
use plan::model::Plan;
use plan::model::power::Trip;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for planned in plan.buses.iter().filter(|planned| planned.overload.is_none()) {
        let bus = &plan.network.buses[planned.bus];
        let never = planned.points.iter().filter(|point| point.trip == Trip::Never);
        let Some(least) =
            never.min_by(|a, b| a.times_trip.unwrap_or(0.0).total_cmp(&b.times_trip.unwrap_or(0.0)))
        else {
            continue;
        };
        let message = format!(
            "a short at `{}` on bus `{}` draws {:.2} A, which is {:.2} times what opens the breaker",
            least.place,
            bus.name,
            least.short_amps.unwrap_or(0.0),
            least.times_trip.unwrap_or(0.0)
        );
        found.push(
            Diagnostic::error(code::SHORT_NEVER_TRIPS, bus.span, message)
                .help("lay a heavier conductor, or feed that end through a breaker that opens earlier"),
        );
    }
    found
}
