//! Wires of the record: what they keep in a plan, what is written of them, and what is said where they differ.

use super::Kept;
use super::write::{entry, renamed};
use crate::model::{Plan, Wire};
use crate::wire;
use description::record::{Entries, Retired, WireBuilt};
use notice::{Diagnostic, code};
use std::collections::BTreeMap;

/// What the wires of a strip are called, behind its name.
const STRIP_WIRES: [&str; 2] = ["cab bus", "supply"];

/// The most ids that one note lists.
const IDS_MAX: usize = 6;

/// The wires of the record, under the names that their machines and strips have now.
fn wires_now(plan: &Plan, kept: &Kept<'_>) -> Entries<WireBuilt> {
    let mut wires = renamed(&kept.record.wires, &plan.network, kept);
    let other = plan.strips_built.iter().filter(|(name, panel)| name != panel);
    let key = |name: &str, what: &str| format!("strip {name} {what}");
    let moves = other.flat_map(|(name, panel)| STRIP_WIRES.map(|what| (key(name, what), key(panel, what))));
    // All are taken out before any is put back: two strips may have changed names.
    let moved: Vec<_> = moves.filter_map(|(was, now)| Some((now, wires.remove(&was)?))).collect();
    for (now, entry) in moved {
        wires.entry(now).or_insert(entry);
    }
    wires
}

impl Kept<'_> {
    /// Ids, terminals and pins that wires keep, under the names that their machines and strips have now. Retired ids are in it
    /// too, so that nothing gets them.
    pub(crate) fn wires(&self, plan: &Plan) -> wire::Kept {
        let mut kept = wire::Kept::new();
        for (key, row) in wires_now(plan, self) {
            let WireBuilt { id, to, terminals, pins, .. } = row.value;
            if let Some(at) = to {
                let terminals = terminals.iter().enumerate();
                kept.extend(
                    terminals
                        .map(|(core, position)| (wire::terminal_key(&at, &key, core), position.to_string())),
                );
            }
            let pins = pins.iter().enumerate();
            kept.extend(pins.map(|(core, pin)| (wire::pin_key(&key, core), pin.to_string())));
            kept.insert(key, id);
        }
        let retired = self.record.retired.keys().filter_map(|retired| match retired {
            Retired::Wire(id) => Some((format!("retired {id}"), id.clone())),
            Retired::Number(_) | Retired::Address(_) | Retired::Decoder(_) => None,
        });
        kept.extend(retired);
        kept
    }
}

/// What to write down of every wire.
pub(super) fn wires_built(plan: &Plan, kept: &Kept<'_>) -> Entries<WireBuilt> {
    let was = wires_now(plan, kept);
    let row = |wire: &Wire| {
        let remarks = was.get(&wire.key).map(|entry| &entry.remarks);
        (wire.key.clone(), entry(built(wire), remarks))
    };
    plan.wires.iter().map(row).collect()
}

fn built(wire: &Wire) -> WireBuilt {
    let [from, to] = wire.ends.each_ref().map(|end| end.at.clone());
    // All conductors of a wire have a terminal, or none has; likewise pins.
    WireBuilt {
        id: wire.id.value.clone(),
        from,
        to,
        terminals: wire.cores.iter().filter_map(|core| Some(core.terminal?.position)).collect(),
        pins: wire.cores.iter().filter_map(|core| core.pin).collect(),
    }
}

/// Wires that are laid and needed no more, and wires that are laid between other places than planned: one note for each, since
/// they mostly have one cause. Where a machine, a signal or a light is gone, that is the cause, and its note says it.
pub(super) fn explain_wires(plan: &Plan, kept: &Kept<'_>) -> Vec<Diagnostic> {
    let now: BTreeMap<&str, &Wire> = plan.wires.iter().map(|wire| (wire.key.as_str(), wire)).collect();
    let record = kept.record;
    let is_there = |name: &String| kept.machine_now(name).is_some();
    let nothing_gone = record.machines.keys().all(is_there)
        && record.levers.keys().all(|id| kept.lever_now(id).is_some())
        && kept.accessories_gone().next().is_none();
    let mut gone = Vec::new();
    let mut moved = Vec::new();
    for (key, row) in wires_now(plan, kept) {
        match now.get(key.as_str()).map(|wire| built(wire)) {
            None if nothing_gone => gone.push((row.value.id, row.span)),
            None => {}
            Some(planned) => {
                let ends = |wire: &WireBuilt| [wire.from.clone(), wire.to.clone()];
                if ends(&planned) != ends(&row.value) && row.value.from.is_some() && row.value.to.is_some() {
                    moved.push((row.value.id, row.span));
                }
            }
        }
    }
    let mut notes = Vec::new();
    if let Some(&(_, span)) = gone.first() {
        let says = format!("{} laid, and needed no more", listed(&gone));
        notes.push(Diagnostic::warning(code::RECORD_GONE, span, says).help(
            "take them out, then `throwbar plan --keep`; if what they serve is there all the same, put it back into layout.toml",
        ));
    }
    if let Some(&(_, span)) = moved.first() {
        let says = format!("{} laid between other places than planned", listed(&moved));
        notes.push(
            Diagnostic::warning(code::RECORD_DIFFERS, span, says)
                .help("lay them as `throwbar show wiring` says, then `throwbar plan --keep`"),
        );
    }
    notes
}

/// `wires W1, W2 and 3 more are`.
fn listed<S>(wires: &[(String, S)]) -> String {
    let ids: Vec<&str> = wires.iter().take(IDS_MAX).map(|(id, _)| id.as_str()).collect();
    let ids = ids.join(", ");
    match wires.len() {
        1 => format!("wire {ids} is"),
        count if count <= IDS_MAX => format!("wires {ids} are"),
        count => format!("wires {ids} and {} more are", count - IDS_MAX),
    }
}
