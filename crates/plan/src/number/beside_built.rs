//! Numbers where some are built: those stay, and new levers get free ones.

use super::{Numbered, levers_along, pinned, shared};
use crate::kept::Kept;
use crate::model::LeverNumber;
use crate::reason::{AFTER_ALL_BUILT, BESIDE_OFF_LINES, BUILT_AS, FIRST_NUMBER, KEPT_BUILT, SPARE_OF_LINE};
use network::{LeverId, LineId, Network};
use notice::{Because, Decided};
use std::collections::BTreeSet;

/// Levers that are numbered one after the other: along a line, or on none.
struct Group {
    line: Option<LineId>,
    levers: Vec<LeverId>,
}

/// Gives every lever a number; the result is in the order of the numbers.
pub(super) fn number_levers(network: &Network, kept: &Kept<'_>) -> Vec<Numbered> {
    let groups = groups(network);
    let mut used = kept.numbers_out_of_use();
    used.extend(kept.pinned_numbers.keys());
    used.extend(kept.accessory_numbers(network));
    let mut numbered: Vec<Numbered> = Vec::new();
    let mut new: Vec<(&Group, Vec<LeverId>, Vec<LeverNumber>)> = Vec::new();
    for group in &groups {
        let (mut without, mut have) = (Vec::new(), Vec::new());
        for &lever in &group.levers {
            match pinned(network, lever).or_else(|| built(network, kept, lever)) {
                Some(number) => {
                    used.insert(number.value);
                    have.push(number.value);
                    let number = shared(network, lever, number);
                    numbered.push(Numbered { lever, number, line: group.line });
                }
                None => without.push(lever),
            }
        }
        new.push((group, without, have));
    }
    for (group, levers, have) in new {
        let mut free = Free::new(network, group, &have, &used);
        for lever in levers {
            let number = free.take(network, group, &mut used);
            numbered.push(Numbered { lever, number: shared(network, lever, number), line: group.line });
        }
    }
    numbered.sort_by_key(|numbered| (numbered.number.value, numbered.lever));
    numbered
}

/// Every lever once: by the first line it stands on, in the order of the lines, then those on none.
fn groups(network: &Network) -> Vec<Group> {
    let mut seen: BTreeSet<LeverId> = BTreeSet::new();
    let mut groups: Vec<Group> = Vec::new();
    for line in (0..network.lines.len()).map(LineId::at) {
        let mut levers = levers_along(network, line);
        levers.retain(|lever| seen.insert(*lever));
        groups.push(Group { line: Some(line), levers });
    }
    let levers = (0..network.levers.len()).map(LeverId::at).filter(|lever| !seen.contains(lever)).collect();
    groups.push(Group { line: None, levers });
    groups
}

/// The number that a lever is built with.
fn built(network: &Network, kept: &Kept<'_>, lever: LeverId) -> Option<Decided<LeverNumber>> {
    let (number, id) = kept.number_built(lever)?;
    let words = format!("number {number}");
    let number = Decided::new(number, Because::new(&KEPT_BUILT, [words.into()]));
    Some(if network.lever(lever).id == id {
        number
    } else {
        number.and(Because::new(&BUILT_AS, [id.into()]))
    })
}

/// Where the new levers of one group find their numbers.
struct Free {
    /// The lowest and the highest number to look at among those beside the group.
    window: Option<(LeverNumber, LeverNumber)>,
    /// Where the numbers behind all others begin.
    behind: LeverNumber,
    is_first: bool,
}

impl Free {
    fn new(network: &Network, group: &Group, have: &[LeverNumber], used: &BTreeSet<LeverNumber>) -> Self {
        let numbering = &network.described.numbering;
        let spare = numbering.spare_per_line;
        let highest = used.last().copied();
        let beside = if group.line.is_some() { spare } else { 0 };
        let window = have.iter().min().zip(have.iter().max()).map(|(low, high)| {
            // Behind the last number of all there is no other line to keep clear of.
            let reach = if Some(*high) == highest { beside.max(1) } else { beside };
            (*low, high.saturating_add(reach))
        });
        let is_last = have.iter().max() == highest.as_ref();
        let behind = match highest {
            None => numbering.first,
            Some(highest) if is_last => highest.saturating_add(1),
            Some(highest) => highest.saturating_add(spare).saturating_add(1),
        };
        Self { window, behind: behind.max(numbering.first), is_first: highest.is_none() }
    }

    fn take(
        &mut self,
        network: &Network,
        group: &Group,
        used: &mut BTreeSet<LeverNumber>,
    ) -> Decided<LeverNumber> {
        let beside = self.window.and_then(|(low, high)| (low..=high).find(|number| !used.contains(number)));
        let number = beside.unwrap_or_else(|| {
            let behind = (self.behind..=LeverNumber::MAX).find(|number| !used.contains(number));
            behind.unwrap_or(LeverNumber::MAX)
        });
        used.insert(number);
        let why = match (beside, group.line) {
            (Some(_), Some(line)) => {
                Because::new(&SPARE_OF_LINE, [number.into(), network.line(line).name.as_str().into()])
            }
            (Some(_), None) => Because::new(&BESIDE_OFF_LINES, [number.into()]),
            (None, _) if std::mem::take(&mut self.is_first) => Because::new(&FIRST_NUMBER, [number.into()]),
            (None, _) => Because::new(&AFTER_ALL_BUILT, [number.into()]),
        };
        Decided::new(number, why)
    }
}
