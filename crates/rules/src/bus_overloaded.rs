//! A bus that is asked for more than its conductors can bring: there is no steady state.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let overloaded = plan.buses.iter().filter_map(|planned| {
        let bus = &plan.network.buses[planned.bus];
        let while_thrown = planned.thrown.as_ref().is_some_and(|thrown| thrown.value.volts.is_none());
        let thrown = || {
            let message = "what its levers take while they are thrown cannot be had".to_owned();
            while_thrown.then(|| (message, "lay a heavier conductor or a second feeder".to_owned()))
        };
        let (message, help) = planned.overload.clone().or_else(thrown)?;
        let note =
            Diagnostic::error(code::BUS_OVERLOADED, bus.span, format!("bus `{}`: {message}", bus.name));
        Some(note.help(help))
    });
    overloaded.collect()
}
