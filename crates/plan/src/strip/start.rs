//! Where strips start.

use super::clash::Asked;
use super::place::{Choice, place};
use super::{Beside, Seated, Wanted};
use crate::model::Strip;
use crate::reason::{FEWEST_CHANGES, FOLLOWS_STRIP, KEPT_BUILT, LOWEST_RUN, PINNED, START_FROM_PIN};
use network::{AccessoryId, LeverId, Network};
use notice::{Because, Decided, Diagnostic, Span, code};
use packet::UserAddress;
use std::collections::BTreeSet;

/// How many changes a pin on a lever of a new strip is worth: more than a strip has pairs. One that is built does not move
/// for a pin: then the two are at odds, and the user says which is meant.
const PIN_WEIGHT: u32 = 1_000;

/// Where the first strip of each chain starts; none, with a note, where no run of addresses is free.
///
/// What is built stays: of all ways to place the chains one is taken at which the fewest strips start anew and the fewest
/// levers lose their addresses. Of those that are alike in this a chain stays where it is, or else lies over the fewest
/// addresses that others have, or else takes the lowest start.
pub(super) fn chain_starts(
    beside: &Beside<'_>,
    chains: &[&[Wanted<'_>]],
    notes: &mut Vec<Diagnostic>,
) -> Vec<Option<Decided<UserAddress>>> {
    let fixed: Vec<Option<Fixed>> = chains.iter().map(|chain| fixed_start(beside, chain)).collect();
    let strips = ranges_in_use(beside.network, chains, &fixed);
    let lengths: Vec<u32> = chains.iter().map(|chain| length(chain)).collect();
    let options = chains
        .iter()
        .zip(&fixed)
        .map(|(chain, fixed)| if fixed.is_some() { Vec::new() } else { options(beside, chain, &strips) })
        .collect();
    let free: Vec<bool> = fixed.iter().map(Option::is_none).collect();
    let placed = place(options, &lengths, &free);
    let seated = (0..chains.len()).filter(|chain| placed.get(*chain).is_some_and(Option::is_some)).collect();
    let mut asked = Asked::new(beside, chains, &fixed, seated);
    let mut starts = Vec::with_capacity(chains.len());
    for (index, (chain, placed)) in chains.iter().zip(placed).enumerate() {
        starts.push(match &fixed[index] {
            Some(fixed) => Some(fixed.start.clone()),
            None => {
                let start = placed.map(|option| because_of(beside, chain, option));
                if start.is_none() {
                    notes.push(asked.explain(index, none_free(beside.network, chain)));
                }
                start.flatten()
            }
        });
    }
    starts
}

/// A start that nothing is weighed against, and where it is written.
#[derive(Clone, Debug)]
pub(super) struct Fixed {
    pub(super) start: Decided<UserAddress>,
    pub(super) span: Span,
}

/// A start that nothing is weighed against: pinned, or where nothing is built from a lever whose address is pinned.
fn fixed_start(beside: &Beside<'_>, chain: &[Wanted<'_>]) -> Option<Fixed> {
    if let Some(start) = chain[0].panel.start {
        let words = format!("start = {}", start.value);
        let value = UserAddress::new(start.value)?;
        let decided = Decided::new(value, Because::new(&PINNED, [words.into()]));
        return Some(Fixed { start: decided, span: start.span });
    }
    let is_new = beside.kept.record.is_empty();
    if is_new { start_from_pin(beside.network, chain) } else { None }
}

pub(super) fn length(chain: &[Wanted<'_>]) -> u32 {
    chain.iter().map(|strip| u32::from(strip.pair_count)).sum()
}

fn none_free(network: &Network, chain: &[Wanted<'_>]) -> Diagnostic {
    let message = format!(
        "no {} addresses in a row are free up to {} for the chain of strip `{}`",
        length(chain),
        network.described.system.last_address,
        chain[0].panel.id.value
    );
    Diagnostic::error(code::ADDRESS_NONE_FREE, chain[0].panel.id.span, message)
        .help("free some of `taken` in [system], raise `last_address`, or use shorter strips")
}

/// The starts that a chain can have beside all that does not move, best first.
fn options(beside: &Beside<'_>, chain: &[Wanted<'_>], strips: &[(u32, u32)]) -> Vec<Choice> {
    let is_new = beside.kept.record.is_empty();
    let length = length(chain);
    let last_address = u32::from(beside.network.described.system.last_address);
    let used = points_in_use(beside, chain);
    let built = start_built(chain);
    let fits = |start: u32| {
        let end = start + length - 1;
        let clear = |&(low, high): &(u32, u32)| end < low || high < start;
        let has_room = built == Some(start) || has_room(chain, start, &used);
        end <= last_address && strips.iter().all(clear) && has_room
    };
    let starts = (1..=last_address).step_by(4).chain(built).filter(|&start| fits(start));
    let mut options: Vec<Choice> = starts
        .map(|start| Choice {
            changes: changes(beside, chain, start),
            moves: built != Some(start),
            shared: used.range(start..start + length).count(),
            start,
        })
        .filter(|option| !is_new || option.shared == 0)
        .collect();
    options.sort_unstable();
    options.dedup();
    options
}

fn because_of(beside: &Beside<'_>, chain: &[Wanted<'_>], option: Choice) -> Option<Decided<UserAddress>> {
    let start = u16::try_from(option.start).ok().and_then(UserAddress::new)?;
    if !option.moves {
        let words = format!("start {}", start.number());
        return Some(Decided::new(start, Because::new(&KEPT_BUILT, [words.into()])));
    }
    let why = Because::new(&LOWEST_RUN, [start.number().into(), length(chain).into()]);
    let decided = Decided::new(start, why);
    let plain = beside.kept.record.is_empty() || start_built(chain).is_none() && option.changes == 0;
    Some(if plain { decided } else { decided.and(Because::new(&FEWEST_CHANGES, [option.changes.into()])) })
}

/// What no strip may lie over: ranges that are taken, strips of chains that do not move, and strips that are pinned.
fn ranges_in_use(network: &Network, chains: &[&[Wanted<'_>]], fixed: &[Option<Fixed>]) -> Vec<(u32, u32)> {
    let system = &network.described.system;
    let taken = system.taken.iter().map(|range| (range.value.0.into(), range.value.1.into()));
    let mut used: Vec<(u32, u32)> = taken.collect();
    for (chain, fixed) in chains.iter().zip(fixed) {
        let mut next = fixed.as_ref().map(|fixed| u32::from(fixed.start.value.number()));
        for strip in *chain {
            let first = strip.panel.start.map(|start| u32::from(start.value)).or(next);
            next = first.map(|first| first + u32::from(strip.pair_count));
            used.extend(first.zip(next).map(|(first, next)| (first, next.max(first + 1) - 1)));
        }
    }
    used
}

/// Whether every lever of a chain finds a pair where it would start, those left out whose addresses others have.
pub(super) fn has_room(chain: &[Wanted<'_>], start: u32, used: &BTreeSet<u32>) -> bool {
    let mut first = start;
    chain.iter().all(|strip| {
        let end = first + u32::from(strip.pair_count);
        let spare = usize::from(strip.pair_count) - used.range(first..end).count();
        first = end;
        strip.seats.len() <= spare
    })
}

/// Single addresses that others have, whose pairs have to stay without a lever.
fn points_in_use(beside: &Beside<'_>, chain: &[Wanted<'_>]) -> BTreeSet<u32> {
    let on_chain: BTreeSet<Seated> = chain.iter().flat_map(|strip| strip.seats.iter().copied()).collect();
    let network = beside.network;
    let levers = (0..network.levers.len()).map(|at| Seated::Lever(LeverId::at(at)));
    let accessories = (0..network.accessories.len()).map(|at| Seated::Accessory(AccessoryId::at(at)));
    let others = levers.chain(accessories).filter(|seated| !on_chain.contains(seated));
    others
        .filter_map(|seated| seated.pin(network))
        .chain(beside.blocked.iter().copied())
        .map(u32::from)
        .collect()
}

/// Where a chain starts as it is built, by the first of its strips that is.
pub(super) fn start_built(chain: &[Wanted<'_>]) -> Option<u32> {
    let mut before = 0;
    for strip in chain {
        if let Some((_, built)) = strip.built {
            return u32::from(built.first_address).checked_sub(before).filter(|start| *start >= 1);
        }
        before += u32::from(strip.pair_count);
    }
    None
}

/// How many strips of a chain would start anew, and how many levers on it would lose the address that they are pinned to
/// or have, if it started there.
fn changes(beside: &Beside<'_>, chain: &[Wanted<'_>], start: u32) -> u32 {
    let mut first = start;
    let mut count = 0;
    for strip in chain {
        let moves = strip.built.is_some_and(|(_, built)| u32::from(built.first_address) != first);
        let end = first + u32::from(strip.pair_count);
        let lost = strip.seats.iter().filter(|seated| {
            beside.wish(**seated).is_some_and(|wish| !(first..end).contains(&u32::from(wish)))
        });
        let is_pinned = |seated: &Seated| seated.pin(beside.network).is_some();
        count += u32::from(moves);
        count += lost
            .map(|seated| if strip.built.is_none() && is_pinned(seated) { PIN_WEIGHT } else { 1 })
            .sum::<u32>();
        first = end;
    }
    count
}

/// The start that follows from the first pinned address among the levers of a chain.
fn start_from_pin(network: &Network, chain: &[Wanted<'_>]) -> Option<Fixed> {
    let mut before: u16 = 0;
    for strip in chain {
        if strip.panel.start.is_some() {
            // From here on the chain no longer follows from its first strip.
            return None;
        }
        for (&seated, pair) in strip.seats.iter().zip(1u16..) {
            let Some(pin) = seated.pinned(network) else { continue };
            let start = pin.value.checked_sub(before.saturating_add(pair - 1)).and_then(UserAddress::new);
            if let Some(start) = start {
                let saw = [seated.words(network).into(), pair.into(), pin.value.into()];
                let start = Decided::new(start, Because::new(&START_FROM_PIN, saw));
                return Some(Fixed { start, span: pin.span });
            }
        }
        before = before.saturating_add(strip.pair_count);
    }
    None
}

pub(super) fn none_behind(wanted: &Wanted<'_>, before: &Wanted<'_>) -> Diagnostic {
    let (strip, before) = (&wanted.panel.id, &before.panel.id);
    let message = format!(
        "no address is left for strip `{}` behind strip `{}` on its chain",
        strip.value, before.value
    );
    Diagnostic::error(code::ADDRESS_NONE_FREE, strip.span, message)
        .help("start the chain lower, or give the strip a chain of its own")
        .related(before.span, "this strip takes the last address there is")
}

/// The start of a strip behind another: its pin, or the address after the one before.
pub(super) fn following(wanted: &Wanted<'_>, before: Option<&Strip>) -> Option<Decided<UserAddress>> {
    if let Some(pin) = wanted.panel.start {
        let words = format!("start = {}", pin.value);
        return UserAddress::new(pin.value)
            .map(|start| Decided::new(start, Because::new(&PINNED, [words.into()])));
    }
    let before = before?;
    let last = u16::try_from(before.last()).ok()?;
    let saw = [before.panel.as_str().into(), last.into()];
    UserAddress::new(last.checked_add(1)?).map(|start| Decided::new(start, Because::new(&FOLLOWS_STRIP, saw)))
}
