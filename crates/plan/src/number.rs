//! Lever numbers: along the lines in the order they stand in the file, then whatever stands on no line.
//!
//! Machines that one lever moves share its number. A pinned number is taken out of the sequence and kept. After each
//! line that gave out numbers, `spare_per_line` numbers are left free for later. Where something is built, every number in
//! the as-built record stays, and what is new gets the lowest one free beside those of its line, or else the next after all.

mod beside_built;

use crate::kept::Kept;
use crate::model::LeverNumber;
use crate::reason::{
    FIRST_NUMBER, MOVE_TOGETHER, NEXT_ALONG_LINE, NEXT_OFF_LINES, NUMBERS_KEPT_FREE, PINNED, PINNED_BESIDE,
    PINNED_ELSEWHERE,
};
use network::{LeverId, LineId, Network};
use notice::{Because, Decided};
use std::collections::BTreeSet;

/// A lever with its number and the first line it stands on.
#[derive(Clone, Debug)]
pub(crate) struct Numbered {
    pub(crate) lever: LeverId,
    pub(crate) number: Decided<LeverNumber>,
    pub(crate) line: Option<LineId>,
}

/// The levers along a line, in its direction, each once.
pub(crate) fn levers_along(network: &Network, line: LineId) -> Vec<LeverId> {
    let mut levers = Vec::new();
    let mut seen = BTreeSet::new();
    for pass in &network.line(line).passes {
        for (machine, _) in network.met(*pass) {
            let lever = network.machine(machine).lever;
            if seen.insert(lever) {
                levers.push(lever);
            }
        }
    }
    levers
}

/// Gives every lever a number; the result is in the order of the numbers.
pub(crate) fn number_levers(network: &Network, kept: &Kept<'_>) -> Vec<Numbered> {
    if !kept.is_unnumbered() {
        return beside_built::number_levers(network, kept);
    }
    let numbering = &network.described.numbering;
    let mut counter = Counter {
        next: numbering.first,
        last: None,
        pinned: (0..network.levers.len())
            .filter_map(|index| network.pin(LeverId::at(index), |pins| pins.number))
            .map(|pin| pin.value)
            .collect(),
        beside: kept.accessory_numbers(network),
    };
    let mut numbered: Vec<Numbered> = Vec::new();
    let mut done = vec![false; network.levers.len()];
    let mut kept_free: Option<Because> = None;
    for index in 0..network.lines.len() {
        let line = LineId::at(index);
        let mut gave = false;
        for lever in levers_along(network, line) {
            if std::mem::replace(&mut done[lever.index()], true) {
                continue;
            }
            let line_name = network.line(line).name.as_str();
            let number = pinned(network, lever).unwrap_or_else(|| {
                let (number, skipped) = counter.take();
                let why = match counter.last {
                    None => Because::new(&FIRST_NUMBER, [number.into()]),
                    Some(last) => Because::new(&NEXT_ALONG_LINE, [line_name.into(), last.into()]),
                };
                counter.last = Some(number);
                gave = true;
                with_reasons(Decided::new(number, why), kept_free.take(), skipped)
            });
            numbered.push(Numbered { lever, number: shared(network, lever, number), line: Some(line) });
        }
        let spare = numbering.spare_per_line;
        if gave && spare > 0 {
            counter.next = counter.next.saturating_add(spare);
            let line_name = network.line(line).name.as_str();
            kept_free = Some(Because::new(&NUMBERS_KEPT_FREE, [spare.into(), line_name.into()]));
        }
    }
    let off_lines = done.iter().enumerate().filter(|(_, done)| !**done).map(|(index, _)| LeverId::at(index));
    for lever in off_lines {
        let number = pinned(network, lever).unwrap_or_else(|| {
            let (number, skipped) = counter.take();
            let why = match counter.last {
                None => Because::new(&FIRST_NUMBER, [number.into()]),
                Some(last) => Because::new(&NEXT_OFF_LINES, [last.into()]),
            };
            counter.last = Some(number);
            with_reasons(Decided::new(number, why), kept_free.take(), skipped)
        });
        numbered.push(Numbered { lever, number: shared(network, lever, number), line: None });
    }
    numbered.sort_by_key(|numbered| (numbered.number.value, numbered.lever));
    numbered
}

struct Counter {
    next: LeverNumber,
    last: Option<LeverNumber>,
    pinned: BTreeSet<LeverNumber>,
    /// Numbers that signals and lights are pinned to.
    beside: BTreeSet<LeverNumber>,
}

impl Counter {
    /// The next number that is not pinned, and why others are passed over.
    fn take(&mut self) -> (LeverNumber, Vec<Because>) {
        let mut skipped = Vec::new();
        while self.next < LeverNumber::MAX {
            let why = match (self.pinned.contains(&self.next), self.beside.contains(&self.next)) {
                (true, _) => &PINNED_ELSEWHERE,
                (false, true) => &PINNED_BESIDE,
                (false, false) => break,
            };
            skipped.push(Because::new(why, [self.next.into()]));
            self.next += 1;
        }
        let number = self.next;
        self.next = self.next.saturating_add(1);
        (number, skipped)
    }
}

fn pinned(network: &Network, lever: LeverId) -> Option<Decided<LeverNumber>> {
    let pin = network.pin(lever, |pins| pins.number)?;
    let words = format!("number = {}", pin.value);
    Some(Decided::new(pin.value, Because::new(&PINNED, [words.into()])))
}

fn with_reasons(
    mut number: Decided<LeverNumber>,
    kept_free: Option<Because>,
    skipped: Vec<Because>,
) -> Decided<LeverNumber> {
    if let Some(kept_free) = kept_free {
        number = number.and(kept_free);
    }
    skipped.into_iter().fold(number, Decided::and)
}

/// Adds the reason why one number serves several machines.
fn shared(network: &Network, lever: LeverId, number: Decided<LeverNumber>) -> Decided<LeverNumber> {
    let machines = &network.lever(lever).machines;
    if machines.len() < 2 {
        return number;
    }
    let names: Vec<&str> = machines.iter().map(|machine| network.machine(*machine).name.as_str()).collect();
    number.and(Because::new(&MOVE_TOGETHER, [names.join(" and ").into()]))
}
