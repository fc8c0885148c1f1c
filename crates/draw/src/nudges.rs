//! What `[drawing]` asks for and the diagram cannot give.

use crate::schematic::{Schematic, schematic};
use network::{Network, Nudged};
use notice::{Diagnostic, code};
use plan::model::Plan;

/// A warning for every nudge of a plan that its diagram does not hold to. Draws the diagram, unless nothing is pinned.
pub fn unheld_nudges(plan: &Plan) -> Vec<Diagnostic> {
    if plan.network.nudges.is_empty() { Vec::new() } else { unheld(&plan.network, &schematic(plan)) }
}

/// The same, of a diagram that is drawn already.
pub fn unheld(network: &Network, drawn: &Schematic) -> Vec<Diagnostic> {
    drawn
        .unheld
        .iter()
        .filter_map(|&nudge| network.nudges.get(nudge))
        .map(|nudge| {
            let message = match nudge.what {
                Nudged::Straight(joint) => {
                    format!("`{}` cannot be drawn with its other leg straight on", network.joint(joint).id)
                }
                Nudged::LeftOf(left, right) => format!(
                    "`{}` cannot be drawn to the left of `{}`: the tracks ask for the other order",
                    network.joint(left).id,
                    network.joint(right).id
                ),
                Nudged::Level(track, level) => format!(
                    "`{}` cannot be drawn on level {level}: what lies above and below it leaves no room there",
                    network.track(track).name
                ),
            };
            Diagnostic::warning(code::DRAWING_NUDGE_UNHELD, nudge.span, message)
                .help("ask for another one, or leave it to throwbar")
        })
        .collect()
}
