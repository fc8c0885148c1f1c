//! A bus that is asked for more than its conductors can bring: there is no steady state.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let overloaded = plan.buses.iter().filter_map(|planned| {
        let bus = &plan.network.buses[planned.bus];
        let (message, help) = planned.overload.as_ref()?;
        let note =
            Diagnostic::error(code::BUS_OVERLOADED, bus.span, format!("bus `{}`: {message}", bus.name));
        Some(note.help(help.clone()))
    });
    overloaded.collect()
}
