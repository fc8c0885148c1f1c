//! A supply that gives less than is asked of it.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for planned in &plan.buses {
        let bus = &plan.network.buses[planned.bus];
        let described = &plan.network.described.buses[bus.described];
        for (supply, &(source, _)) in planned.supplies.iter().zip(&bus.sources) {
            let Some(gives) = supply.gives_amps.filter(|&gives| gives < supply.amps * (1.0 - 1e-9)) else {
                continue;
            };
            let message = format!(
                "`{}` gives {gives:.2} A, and bus `{}` may ask {:.2} A of it",
                supply.part.as_deref().unwrap_or("the supply"),
                bus.name,
                supply.amps
            );
            let span = described.sources[source].part.as_ref().map_or(bus.span, |part| part.span);
            let rated = supply.rated_amps.value;
            found.push(
                Diagnostic::warning(code::BUS_SUPPLY_SMALL, span, message)
                    .help(format!("take one that gives {rated:.2} A or more, or part the bus between two")),
            );
        }
    }
    found
}
