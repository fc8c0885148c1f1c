//! A conductor that carries more than it bears before anything opens.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for planned in plan.buses.iter().filter(|planned| planned.overload.is_none()) {
        let bus = &plan.network.buses[planned.bus];
        let Some(run) = planned.runs.iter().min_by(|a, b| a.bears_amps.total_cmp(&b.bears_amps)) else {
            continue;
        };
        // A fuse that fits protects it, and so does a breaker that opens in time.
        let bare = planned.supplies.iter().find(|supply| {
            let protects = supply.trip_amps.is_some_and(|trip| trip <= run.bears_amps * (1.0 + 1e-9));
            supply.fuse_amps.value.is_none() && !protects
        });
        let Some(supply) = bare else { continue };
        let opens = match supply.trip_amps {
            Some(trip) => format!("the breaker opens at {trip:.2} A"),
            None => "nothing opens".to_owned(),
        };
        let message = format!(
            "bus `{}` is laid in {}, which bears {:.2} A for good, and {opens}; no fuse bears its load of {:.2} A and protects it",
            bus.name, run.conductor.value, run.bears_amps, supply.amps
        );
        let described = &plan.network.described.buses[bus.described];
        let span = described.conductor.map_or(bus.span, |conductor| conductor.span);
        let note = Diagnostic::warning(code::BUS_CONDUCTOR_THIN, span, message);
        found
            .push(note.help("lay a heavier conductor, or feed the bus through a breaker that opens earlier"));
    }
    found
}
