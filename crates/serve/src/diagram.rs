//! The track diagram of the page: the one place where this crate asks `draw` for it.

use plan::model::Plan;

/// The diagram of a plan as SVG; none when it has nothing to throw.
pub(crate) fn of(plan: &Plan) -> Option<String> {
    (!plan.levers.is_empty()).then(|| draw::svg::write_for_page(&draw::schematic(plan).scene))
}
