//! Terminals: a wire that comes from another place ends at one of the place that it serves.
//!
//! Cab bus cables have plugs of their own. What is at a position stays there; what is new goes to the lowest free one.

use super::Kept;
use super::id::name_all;
use crate::model::{CoreAt, Terminal, TerminalStrip, Wire};
use crate::reason::TERMINALS_HERE;
use notice::{Because, Decided, natural};
use std::collections::BTreeMap;

/// The most positions at one place that a record can ask for; the rest of what it says is not followed.
const POSITIONS_MAX: u16 = 9_999;

/// Puts the far end of each wire from elsewhere on a terminal of the place it serves.
pub(super) fn land(wires: &mut [Wire], kept: &Kept) -> Vec<TerminalStrip> {
    let mut landing: Vec<(String, Vec<CoreAt>)> = Vec::new();
    let mut index_of: BTreeMap<String, usize> = BTreeMap::new();
    for (index, wire) in wires.iter().enumerate() {
        let [Some(from), Some(to)] = wire.ends.each_ref().map(|end| end.at.as_deref()) else { continue };
        if from == to || wire.kind.has_own_plugs() {
            continue;
        }
        let at = *index_of.entry(to.to_owned()).or_insert_with(|| {
            landing.push((to.to_owned(), Vec::new()));
            landing.len() - 1
        });
        landing[at].1.extend((0..wire.cores.len()).map(|core| CoreAt { wire: index, core }));
    }
    landing.sort_by(|(a, _), (b, _)| natural(a, b));
    let mut strips = Vec::with_capacity(landing.len());
    for (index, (at, cores)) in landing.into_iter().enumerate() {
        let words = cores.iter().map(|core| position_key(&at, wires, *core));
        let words: Vec<String> = words.collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let own = kept_of(kept, &format!("terminal {at}: "));
        let given = name_all(&words, &own, |number| number.to_string());
        let mut positions: Vec<Option<CoreAt>> = Vec::new();
        for (core, given) in cores.iter().zip(given) {
            let Some(position) = given.value.parse().ok().filter(|at| (1..=POSITIONS_MAX).contains(at))
            else {
                continue;
            };
            let slot = usize::from(position) - 1;
            if positions.len() <= slot {
                positions.resize(slot + 1, None);
            }
            positions[slot] = Some(*core);
            wires[core.wire].cores[core.core].terminal = Some(Terminal { strip: index, position });
        }
        let why = Because::new(&TERMINALS_HERE, [cores.len().into(), at.as_str().into()]);
        strips.push(TerminalStrip { at, positions, why: Decided::new((), why) });
    }
    strips
}

/// What a position is for, in words that stay.
fn position_key(at: &str, wires: &[Wire], core: CoreAt) -> String {
    super::terminal_key(at, &wires[core.wire].key, core.core)
}

/// What was kept of one kind, so that numbers of another do not count as taken.
pub(super) fn kept_of(kept: &Kept, kind: &str) -> Kept {
    let own = kept.iter().filter(|(key, _)| key.starts_with(kind));
    own.map(|(key, id)| (key.clone(), id.clone())).collect()
}
