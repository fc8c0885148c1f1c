//! A ring that keeps its limits only as long as it is whole.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for planned in plan.buses.iter().filter(|planned| planned.overload.is_none()) {
        let bus = &plan.network.buses[planned.bus];
        let limit = planned.drop_limit.value * (1.0 + 1e-9);
        let lost = |opened: &&plan::model::power::Opened| opened.drop.unwrap_or(1.0);
        let worst = planned.opened.iter().max_by(|a, b| lost(a).total_cmp(&lost(b)));
        // A ring that loses too much even whole is told of that.
        let whole = planned.worst.as_ref().is_none_or(|worst| worst.value.drop <= limit);
        let Some(opened) = worst.filter(|opened| whole && (lost(opened) > limit || !opened.trips)) else {
            continue;
        };
        let place = |point: usize| &planned.points[point].place;
        let run = &planned.runs[opened.run];
        let cut = format!("cut between `{}` and `{}`", place(run.from), place(run.to));
        let message = match opened.drop {
            Some(drop) if drop > limit => {
                format!(
                    "ring `{}`, {cut}, loses {:.1} % at `{}`",
                    bus.name,
                    drop * 100.0,
                    place(opened.point)
                )
            }
            Some(_) => {
                format!("ring `{}`, {cut}, has places where a short no longer opens the breaker", bus.name)
            }
            None => format!("ring `{}`, {cut}, no longer brings what is asked of it", bus.name),
        };
        found.push(
            Diagnostic::warning(code::RING_OPENED_DROPS, bus.span, message).help(
                "lay a heavier conductor, or test the ring for breaks: a cut one looks like a whole one",
            ),
        );
    }
    found
}
