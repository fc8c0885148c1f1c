//! A lever that no panel has: nobody can throw it.
//!
//! A lever on a fascia has buttons there. A lever that a strip names and has no pair for, or whose strip found no address, or that may stand under a name that
//! could not be read, is not counted: what is wrong there has been said.

use description::PanelKind;
use network::{Controlled, LeverId, Network};
use notice::{Diagnostic, code, quoted};
use plan::model::Plan;
use std::collections::BTreeSet;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let network = &plan.network;
    if said_elsewhere(plan) {
        return Vec::new();
    }
    let mut named = named_by_strips(network);
    named.extend(plan.fascias.iter().flat_map(|fascia| &fascia.levers));
    let idle = plan.levers.iter().filter(|lever| lever.control.is_none() && !named.contains(&lever.lever));
    let mut idle = idle.map(|lever| network.lever(lever.lever));
    if strips(network).next().is_none() && plan.fascias.is_empty() {
        let message = "no panel has a control for any lever";
        return idle
            .next()
            .map(|first| {
                Diagnostic::warning(code::LEVER_NO_CONTROL, first.span, message)
                    .help("describe a strip:\n[panel.west]\nkind = \"strip\"")
            })
            .into_iter()
            .collect();
    }
    idle.map(|lever| {
        let message = format!("no panel has a control for `{}`", lever.id);
        Diagnostic::warning(code::LEVER_NO_CONTROL, lever.span, message)
            .help(format!("add {} to the `controls` of a panel", quoted(&lever.id)))
    })
    .collect()
}

/// The strips of a network: the index of each in the description, and what it names; none when it takes what is left.
fn strips(network: &Network) -> impl Iterator<Item = (usize, Option<&[network::Control]>)> {
    let panels = network.panels.iter().map(|panel| (panel.described, panel.controls.as_deref()));
    panels.filter(|&(index, _)| network.described.panels[index].kind == PanelKind::Strip)
}

/// Whether something that was said already may be why levers have no control.
fn said_elsewhere(plan: &Plan) -> bool {
    let network = &plan.network;
    let unread = &network.described.unread;
    let mut panels = network.panels.iter().map(|panel| (&network.described.panels[panel.described], panel));
    unread.text
        || !unread.ids.is_empty()
        || panels.any(|(written, found)| match (&found.controls, &written.controls, written.kind) {
            (_, _, PanelKind::Screen) => false,
            (Some(found), Some(written), _) => found.len() < written.len(),
            (_, _, PanelKind::Fascia) => false,
            (_, _, PanelKind::Strip) => plan.strips.iter().all(|strip| strip.panel != written.id.value),
        })
}

fn named_by_strips(network: &Network) -> BTreeSet<LeverId> {
    let mut named = BTreeSet::new();
    for control in strips(network).filter_map(|(_, controls)| controls).flatten() {
        match control.what {
            Controlled::Lever(lever) => {
                named.insert(lever);
            }
            Controlled::Accessory(_) => {}
            Controlled::Line(line) => {
                for pass in &network.line(line).passes {
                    let way = &network.joint(pass.joint).moves[pass.move_index as usize];
                    named.extend(way.needs.iter().map(|(machine, _)| network.machine(*machine).lever));
                }
            }
        }
    }
    named
}
